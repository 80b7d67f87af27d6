//! All modes of a suspected gene on one colony: their evidence and posteriors.

use std::borrow::Cow;

use super::hypotheses::Hypothesis;
use super::inherited::{Suspect, Weighed};
use super::predicted::Predicted;
use super::rates::{ByRate, by_rate};
use super::scored::{Score, Selects, first_classes, selects};
use crate::genetics::Mode;
use crate::numbers::{exp, ln, log_sum_exp};
use crate::questions::Unanswerable;
use crate::questions::ladder::in_date_order;
use crate::records::{
    Animal, AnimalId, Call, ClutchId, Colony, GeneId, Observation, Origin, Sex, Status,
};

/// One mode, weighed.
#[derive(Clone, Debug)]
pub(super) struct Candidate {
    pub(super) hypothesis: Hypothesis,
    pub(super) weighed: Weighed,
    pub(super) posterior: f64,
}

impl Candidate {
    pub(super) fn log_evidence(&self) -> f64 {
        self.weighed.logs.last().copied().unwrap_or(f64::NEG_INFINITY)
    }
}

/// All modes, weighed.
#[derive(Clone, Debug)]
pub(super) struct Comparison {
    pub(super) candidates: Vec<Candidate>,
    pub(super) warnings: Vec<String>,
}

/// Weighs every mode; `all_steps` says whether to go clutch by clutch.
pub(super) fn compare(
    colony: &Colony,
    gene: GeneId,
    hypotheses: &[Hypothesis],
    memory: u64,
    all_steps: bool,
) -> Result<Comparison, Unanswerable> {
    let least = crate::network::least_bytes(colony);
    if least > memory {
        return Err(Unanswerable::TooLarge { needed: least, allowed: memory });
    }
    let lethal = |one: &Hypothesis| one.mode == Mode::LethalIncompleteDominant;
    let eggs = hypotheses.iter().any(lethal);
    let first = first_classes(colony, gene);
    let suspect = Suspect { colony, gene, first, eggs, memory };
    let mut warnings = Vec::new();
    let mut candidates = Vec::new();
    for hypothesis in hypotheses {
        let weighed = match hypothesis.mode {
            Mode::Chance | Mode::ClutchEffect => {
                not_inherited(&suspect, hypothesis.mode, all_steps, &mut warnings)?
            }
            mode => suspect.weigh(mode, all_steps)?,
        };
        candidates.push(Candidate { hypothesis: *hypothesis, weighed, posterior: 0.0 });
    }
    let weights: Vec<f64> =
        candidates.iter().map(|one| ln(one.hypothesis.prior) + one.log_evidence()).collect();
    let all = log_sum_exp(&weights);
    if all == f64::NEG_INFINITY {
        return Err(crate::questions::impossible::impossible(colony, memory));
    }
    for (candidate, weight) in candidates.iter_mut().zip(weights) {
        candidate.posterior = exp(weight - all);
    }
    warnings.sort();
    warnings.dedup();
    Ok(Comparison { candidates, warnings })
}

fn not_inherited(
    suspect: &Suspect<'_>,
    mode: Mode,
    all_steps: bool,
    warnings: &mut Vec<String>,
) -> Result<Weighed, Unanswerable> {
    let order = in_date_order(suspect.colony);
    let rates = by_rate(suspect.colony, suspect.gene, &order, mode == Mode::ClutchEffect);
    warnings.extend(rates.warnings.iter().cloned());
    let (colony, uncertain) = without_gene(suspect.colony, suspect.gene, &rates);
    let others = Suspect { colony: &colony, first: Vec::new(), ..suspect.clone() };
    let mut weighed = others.weigh(mode, all_steps)?;
    let mut sum = 0.0;
    for (step, log) in rates.logs.iter().enumerate() {
        let place = step.checked_sub(1).map(|at| order[at]);
        let here = uncertain.iter().filter(|(clutch, _)| *clutch == place);
        sum += log + here.map(|(_, log)| log).sum::<f64>();
        weighed.logs[step] += sum;
    }
    if !all_steps {
        // The other genes were weighed in one step.
        let top = weighed.logs.last().copied().unwrap_or(f64::NEG_INFINITY);
        weighed.logs.fill(top);
    }
    let before = rates.before.into_iter().map(|(rate, which)| Some(Predicted::Rate(rate, which)));
    weighed.predicted = before.collect();
    Ok(weighed)
}

type UncertainLogs = Vec<(Option<ClutchId>, f64)>;

/// The colony as far as the suspected gene says nothing: without selection for its looks, and with
/// identities weighed by how likely their calls of it are.
fn without_gene<'c>(
    colony: &'c Colony,
    gene: GeneId,
    rates: &ByRate,
) -> (Cow<'c, Colony>, UncertainLogs) {
    let selected = colony.clutches.iter().any(|clutch| {
        [&clutch.recorded_only, &clutch.kept_if]
            .into_iter()
            .any(|looks| selects(colony, gene, looks) != Selects::Others)
    });
    if !selected && rates.uncertain.is_empty() {
        return (Cow::Borrowed(colony), Vec::new());
    }
    let mut made = colony.clone();
    for clutch in &mut made.clutches {
        for looks in [&mut clutch.recorded_only, &mut clutch.kept_if] {
            if selects(colony, gene, looks) != Selects::Others {
                looks.clear();
            }
        }
    }
    let mut logs = Vec::new();
    for (score, chances) in &rates.uncertain {
        let fits: f64 = score.classes.iter().map(|(_, fit)| fit).sum();
        let mean: f64 =
            score.classes.iter().zip(chances).map(|((_, fit), chance)| fit * chance).sum::<f64>()
                / fits;
        logs.push((score.clutch, f64::from(score.number) * ln(mean)));
        for seen in uncertain_records(&mut made, score, gene) {
            if let Call::Either(list) = &mut seen.call {
                for (alternative, chance) in list.iter_mut().zip(chances) {
                    alternative.fit *= chance;
                }
            }
        }
    }
    (Cow::Owned(made), logs)
}

/// The uncertain records of one animal, or of young that were only counted.
fn uncertain_records<'c>(
    colony: &'c mut Colony,
    score: &Score,
    gene: GeneId,
) -> Vec<&'c mut Observation> {
    let differs = |seen: &&mut Observation| match &seen.call {
        Call::Either(list) => {
            let names = |at: usize| list[at].looks.iter().find(|look| look.gene == gene);
            (1..list.len()).any(|at| names(at) != names(0))
        }
        _ => false,
    };
    if let Some(id) = score.animal {
        let animal = &mut colony.animals[id.0];
        let all = std::iter::once(&mut animal.seen).chain(&mut animal.grown);
        return all.filter(differs).collect();
    }
    let (Some(clutch), Some(at)) = (score.clutch, score.count) else { return Vec::new() };
    vec![&mut colony.clutches[clutch.0].counts[at].seen]
}

/// A hatchling of which only this was written down.
pub(super) fn bare_hatchling(colony: &Colony, clutch: ClutchId, seen: Observation) -> Animal {
    Animal {
        id: None,
        place: seen.place.unwrap_or(colony.clutch(clutch).place),
        origin: Origin::Clutch(clutch),
        sex: None,
        hatched: colony.clutch(clutch).date(),
        seen,
        seen_grown: false,
        grown: None,
        believed: false,
        statements: Vec::new(),
        trust: None,
        readings: Vec::new(),
        status: Status::Elsewhere,
        note: None,
    }
}

/// The colony as `mode` looks at it: where the first find was only counted it becomes an animal.
pub(super) fn prepared(colony: &Colony, gene: GeneId) -> Cow<'_, Colony> {
    if !colony.gene(gene).first_seen.animals.is_empty() {
        return Cow::Borrowed(colony);
    }
    let names_it = |seen: &Observation| match &seen.call {
        Call::Looks(looks) => looks.iter().any(|look| look.gene == gene),
        _ => false,
    };
    for clutch in in_date_order(colony) {
        let counts = &colony.clutch(clutch).counts;
        let Some(at) = counts.iter().position(|c| names_it(&c.seen) && c.total() > 0) else {
            continue;
        };
        let mut made = colony.clone();
        let id = AnimalId(made.animals.len());
        let count = &mut made.clutches[clutch.0].counts[at];
        // Unsexed young first: their sex cannot matter.
        let kind = [2, 0, 1].into_iter().find(|kind| count.number[*kind] > 0).unwrap_or(2);
        count.number[kind] -= 1;
        let sex = [Some(Sex::Male), Some(Sex::Female), None][kind];
        let seen = count.seen.clone();
        let animal = Animal { sex, ..bare_hatchling(colony, clutch, seen) };
        made.animals.push(animal);
        made.clutches[clutch.0].hatchlings.push(id);
        made.genes[gene.0].first_seen.animals.push(id);
        return Cow::Owned(made);
    }
    Cow::Borrowed(colony)
}
