//! `identify`: which hatchling is what?

use proveout::presentation::{identify_text, json};
use proveout::questions::identify;

use super::args::Identify;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, chart, output};

pub fn run(options: &Identify) -> Result<(), Failure> {
    let question = &options.question;
    let source = Source::read(&question.records)?;
    let asked = source.asked(question)?;
    let working = Progress::begin("working out the identities");
    let answer = identify(&source.colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    chart::identify(&source, options.chart.as_deref(), &answer)?;
    let text = if question.records.json {
        json::identify(&source.colony, &answer)
    } else {
        source.show_notices();
        identify_text(&source.colony, &answer)
    };
    output::answer(&text, question.records.out.as_deref())
}
