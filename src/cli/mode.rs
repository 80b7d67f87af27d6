//! `mode`: how is the new gene inherited?

use proveout::presentation::{mode_text, modes_json, names};
use proveout::questions::{Family, Hypothesis, ModeAsked, PriorOf, hypotheses, mode};
use proveout::records::{Colony, GeneId, Inheritance, nearest, normalise};

use super::args::ModeArgs;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(args: &ModeArgs) -> Result<(), Failure> {
    let source = Source::read(&args.records)?;
    let colony = &source.colony;
    let gene = suspected(colony, &args.gene)?;
    let asked = ModeAsked {
        gene,
        priors: priors(colony, gene, &args.prior)?,
        explain: true,
        memory: args.limits.bytes(),
    };
    let working = Progress::begin("comparing the ways of inheritance");
    let answer = mode(colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    super::chart::mode(&source, args.chart.as_deref(), &answer)?;
    let text = if args.records.json {
        modes_json::mode(colony, &answer)
    } else {
        source.show_notices();
        mode_text(colony, &answer)
    };
    output::answer(&text, args.records.out.as_deref())
}

/// The gene of that name, whose inheritance has to be unknown.
pub fn suspected(colony: &Colony, name: &str) -> Result<GeneId, Failure> {
    let names = || colony.genes.iter().map(|gene| gene.name.as_str());
    let Some(gene) = colony.find_gene(&normalise(name)) else {
        return Err(super::input::unknown("gene", name, nearest(name, names())));
    };
    if colony.gene(gene).inheritance == Inheritance::Unknown {
        return Ok(gene);
    }
    Err(Failure::Usage(format!(
        "how `{name}` is inherited is declared; to ask, declare it with `inheritance = \"unknown\"` \
         and the names of its looks: `looks = [\"…\"]`"
    )))
}

/// Reads `recessive=0.4,chance=0.1`.
fn priors(colony: &Colony, gene: GeneId, texts: &[String]) -> Result<Vec<PriorOf>, Failure> {
    let all = hypotheses(colony, gene);
    let mut priors = Vec::new();
    // The names hold commas themselves: a part begins where a number has ended.
    for text in texts {
        let mut rest = text.trim();
        while !rest.is_empty() {
            let Some((name, after)) = rest.split_once('=') else {
                return Err(Failure::Usage(format!("--prior wants WAY=CHANCE, not `{rest}`")));
            };
            let (number, next) = after.split_once(',').unwrap_or((after, ""));
            let Ok(chance) = number.trim().parse::<f64>() else {
                let message = format!("the prior of `{}` is no number: `{number}`", name.trim());
                return Err(Failure::Usage(message));
            };
            priors.push(prior(colony, &all, name.trim(), chance)?);
            rest = next.trim();
        }
    }
    Ok(priors)
}

fn prior(colony: &Colony, all: &[Hypothesis], name: &str, chance: f64) -> Result<PriorOf, Failure> {
    if let Some(family) = Family::ALL.into_iter().find(|family| names::family(*family) == name) {
        return Ok(PriorOf::Family(family, chance));
    }
    let known: Vec<String> = all.iter().map(|one| names::mode(colony, one.mode)).collect();
    if let Some(at) = known.iter().position(|known| known == name) {
        return Ok(PriorOf::Mode(all[at].mode, chance));
    }
    let mut possible: Vec<&str> = Family::ALL.into_iter().map(names::family).collect();
    possible.extend(known.iter().map(String::as_str));
    let near = nearest(name, possible);
    Err(super::input::unknown("way of inheritance", name, near))
}
