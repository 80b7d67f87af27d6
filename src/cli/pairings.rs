//! `pairings`: which test pairing next?

use proveout::presentation::{pairings_text, planning_json};
use proveout::questions::{PairingsAsked, pairings};

use super::args::PairingsArgs;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(args: &PairingsArgs) -> Result<(), Failure> {
    let question = &args.question;
    let source = Source::read(&question.records)?;
    let carrier = match args.carrier.as_slice() {
        [animal, gene] => Some((source.animal(animal)?, source.gene(gene)?)),
        _ => None,
    };
    let asked = PairingsAsked {
        asked: source.asked(question)?,
        carrier,
        mode: args
            .mode
            .as_ref()
            .map(|name| super::mode::suspected(&source.colony, name))
            .transpose()?,
        young: args.young,
        level: args.level,
    };
    let working = Progress::begin("comparing the pairings");
    let answer = pairings(&source.colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    super::chart::pairings(&source, args.chart.as_deref(), &answer)?;
    let text = if question.records.json {
        planning_json::pairings(&source.colony, &answer)
    } else {
        source.show_notices();
        pairings_text(&source.colony, &answer)
    };
    output::answer(&text, question.records.out.as_deref())
}
