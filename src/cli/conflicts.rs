//! `conflicts`: which record is wrong?

use proveout::presentation::{conflicts_text, json};
use proveout::questions::conflicts;

use super::args::Conflicts;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(asked_for: &Conflicts) -> Result<(), Failure> {
    let question = &asked_for.question;
    let source = Source::read(&question.records)?;
    let asked = source.asked(question)?;
    let working = Progress::begin("looking for the record that is wrong");
    let answer = conflicts(&source.colony, &asked, asked_for.slip);
    drop(working);
    let answer = answer.map_err(|why| source.failure(why))?;
    let text = if question.records.json {
        json::conflicts(&source.colony, &answer)
    } else {
        source.show_notices();
        conflicts_text(&source.colony, &answer)
    };
    output::answer(&text, question.records.out.as_deref())
}
