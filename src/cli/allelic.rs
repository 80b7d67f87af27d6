//! `allelic`: one locus or two?

use proveout::presentation::{allelic_text, modes_json};
use proveout::questions::{AllelicAsked, allelic};
use proveout::records::{nearest, normalise};

use super::args::AllelicArgs;
use super::input::{Source, unknown};
use super::progress::Progress;
use super::{Failure, output};

/// The three possibilities as they are written on the command line.
const NAMES: [&str; 3] = ["same_locus", "linked", "free"];

pub fn run(args: &AllelicArgs) -> Result<(), Failure> {
    let source = Source::read(&args.records)?;
    let colony = &source.colony;
    let gene = |name: &String| {
        let names = colony.genes.iter().map(|gene| gene.name.as_str());
        let found = colony.find_gene(&normalise(name));
        found.ok_or_else(|| unknown("gene", name, nearest(name, names)))
    };
    let asked = AllelicAsked {
        genes: [gene(&args.one)?, gene(&args.other)?],
        priors: priors(&args.prior)?,
        memory: args.limits.bytes(),
    };
    let working = Progress::begin("comparing one locus with two");
    let answer = allelic(colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    let text = if args.records.json {
        modes_json::allelic(colony, &answer)
    } else {
        source.show_notices();
        allelic_text(colony, &answer)
    };
    output::answer(&text, args.records.out.as_deref())
}

/// Reads `same_locus=0.5,free=0.25`; what is not named shares the rest.
fn priors(texts: &[String]) -> Result<[f64; 3], Failure> {
    let mut set: [Option<f64>; 3] = [None; 3];
    for part in texts.iter().flat_map(|text| text.split(',')).filter(|part| !part.is_empty()) {
        let Some((name, number)) = part.split_once('=') else {
            return Err(Failure::Usage(format!("--prior wants NAME=CHANCE, not `{part}`")));
        };
        let Some(at) = NAMES.iter().position(|known| *known == name.trim()) else {
            return Err(unknown("possibility", name.trim(), nearest(name.trim(), NAMES)));
        };
        match number.trim().parse::<f64>() {
            Ok(chance) if (0.0..=1.0).contains(&chance) => set[at] = Some(chance),
            _ => {
                let message = format!("a prior lies between 0 and 1, not `{}`", number.trim());
                return Err(Failure::Usage(message));
            }
        }
    }
    let given: f64 = set.iter().flatten().sum();
    let open = set.iter().filter(|one| one.is_none()).count();
    if given > 1.0 + 1e-9 || (open == 0 && (given - 1.0).abs() > 1e-6) {
        return Err(Failure::Usage(format!("the priors sum to {given}, not to 1")));
    }
    let rest = if open > 0 { (1.0 - given).max(0.0) / open as f64 } else { 0.0 };
    Ok(set.map(|one| one.unwrap_or(rest)))
}
