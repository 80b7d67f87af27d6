//! `genotypes`: what does each animal carry?

use proveout::presentation::{genotypes_text, json};
use proveout::questions::genotypes;

use super::args::Genotypes;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, chart, output};

pub fn run(options: &Genotypes) -> Result<(), Failure> {
    let question = &options.question;
    let source = Source::read(&question.records)?;
    let mut asked = source.asked(question)?;
    asked.explain |= options.chart.is_some();
    let working = Progress::begin("working out the genotypes");
    let answer = genotypes(&source.colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    chart::genotypes(&source, &asked, options, &answer)?;
    let out = question.records.out.as_deref();
    if question.records.json {
        output::answer_in_pieces(json::genotypes_in_pieces(&source.colony, &answer), out)?;
        // The program ends here: to take a large answer apart would be for nothing.
        std::mem::forget(answer);
        return Ok(());
    }
    source.show_notices();
    output::answer(&genotypes_text(&source.colony, &answer), out)
}
