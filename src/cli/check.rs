//! `check`: is the record sound?

use proveout::presentation::{check_text, json};

use super::args::Records;
use super::input::Source;
use super::{Failure, output};

pub fn run(records: &Records) -> Result<(), Failure> {
    let source = Source::read(records)?;
    let text = if records.json {
        json::check(&source.colony, &source.text, &source.notices)
    } else {
        source.show_notices();
        check_text(&source.colony)
    };
    output::answer(&text, records.out.as_deref())
}
