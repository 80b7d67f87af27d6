//! `labels`: what may I write on the label?

use proveout::presentation::{json, labels_csv, labels_text};
use proveout::questions::labels;

use super::args::Labels;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(asked_for: &Labels) -> Result<(), Failure> {
    let question = &asked_for.question;
    let source = Source::read(&question.records)?;
    let asked = source.asked(question)?;
    let working = Progress::begin("working out the labels");
    let answer = labels(&source.colony, &asked, asked_for.level);
    drop(working);
    let answer = answer.map_err(|why| source.failure(why))?;
    let text = if question.records.json {
        json::labels(&source.colony, &answer)
    } else {
        source.show_notices();
        let write = if asked_for.csv { labels_csv } else { labels_text };
        write(&source.colony, &answer)
    };
    output::answer(&text, question.records.out.as_deref())
}
