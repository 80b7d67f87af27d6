//! `pairings`: which test pairing next?

use proveout::presentation::{pairings_text, planning_json};
use proveout::questions::{AllelicAsked, PairingsAsked, pairings};

use super::input::Source;
use super::planning_args::PairingsArgs;
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
        allelic: allelic(&source, args)?,
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

/// The two genes of `--allelic`; each of the three ways counts the same before the records.
fn allelic(source: &Source, args: &PairingsArgs) -> Result<Option<AllelicAsked>, Failure> {
    let [one, other] = args.allelic.as_slice() else { return Ok(None) };
    let genes = [source.gene(one)?, source.gene(other)?];
    let memory = args.question.limits.bytes();
    Ok(Some(AllelicAsked { genes, priors: [1.0 / 3.0; 3], memory }))
}
