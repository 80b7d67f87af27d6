//! `genotypes`: what does each animal carry?

use proveout::presentation::{genotypes_text, json};
use proveout::questions::genotypes;

use super::args::Question;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(question: &Question) -> Result<(), Failure> {
    let source = Source::read(&question.records)?;
    let asked = source.asked(question)?;
    let working = Progress::begin("working out the genotypes");
    let answer = genotypes(&source.colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    let text = if question.records.json {
        json::genotypes(&source.colony, &answer)
    } else {
        source.show_notices();
        genotypes_text(&source.colony, &answer)
    };
    output::answer(&text, question.records.out.as_deref())
}
