//! What would the answer be under other assumptions?

use super::because::{clutches_of, statements};
use super::levels::conclusion;
use super::{Because, Proposition, Unanswerable};
use crate::inference::JunctionTree;
use crate::network::{Grouping, assemble};
use crate::records::{AnimalId, Candidate, Clutch, Colony, GeneId, Misread, Penetrance};

/// An assumption that can be turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Knob {
    /// `background`, or that of one gene.
    Background(Option<GeneId>),
    /// `misread`, or that of one gene.
    Misread(Option<GeneId>),
    /// `other_sire`.
    OtherSire,
    /// `trust`, or that in what was said of one animal.
    Trust(Option<AnimalId>),
    /// The penetrance of one gene.
    Penetrance(GeneId),
}

/// The answer over a range of one assumption.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The assumption.
    pub knob: Knob,
    /// Its value in force.
    pub now: f64,
    /// Its values, ascending; `now` is one of them.
    pub values: Vec<f64>,
    /// The chance at each value; `None` where the records would be impossible.
    pub chances: Vec<Option<f64>>,
}

/// The smallest change that turns the conclusion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// The assumption.
    pub knob: Knob,
    /// Its value in force.
    pub now: f64,
    /// The nearest of the values tried at which the conclusion is another.
    pub value: f64,
    /// The chance there.
    pub chance: f64,
}

/// How one chance depends on each assumption.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatIf {
    /// What it is about.
    pub proposition: Proposition,
    /// Its chance under the assumptions in force.
    pub chance: f64,
    /// One curve for each assumption that the answer can depend on.
    pub curves: Vec<Curve>,
    /// The smallest change, measured against the range tried, that turns the conclusion.
    pub turn: Option<Turn>,
}

/// Answers propositions over a range of each assumption they can depend on.
///
/// Each curve is exact at each of its values; the other assumptions stay as they are. A gene, or
/// an animal, with a value of its own is asked about that value.
///
/// # Errors
///
/// [`Unanswerable`] when the records as they are have no answer.
pub fn what_if(
    colony: &Colony,
    propositions: &[Proposition],
    memory: u64,
) -> Result<Vec<WhatIf>, Unanswerable> {
    let now = chances(colony, propositions, memory)?;
    let mut all: Vec<WhatIf> = propositions
        .iter()
        .zip(now)
        .map(|(p, chance)| WhatIf { proposition: *p, chance, curves: Vec::new(), turn: None })
        .collect();
    for (knob, now) in knobs(colony, propositions) {
        let of: Vec<usize> = (0..all.len())
            .filter(|at| own_knobs(colony, propositions[*at]).contains(&(knob, now)))
            .collect();
        let asked: Vec<Proposition> = of.iter().map(|at| propositions[*at]).collect();
        let values = values(colony, knob, now);
        let runs = values.iter().map(|value| chances(&set(colony, knob, *value), &asked, memory));
        let runs: Vec<Option<Vec<f64>>> = runs.map(Result::ok).collect();
        for (place, at) in of.into_iter().enumerate() {
            let chances = runs.iter().map(|run| run.as_ref().map(|run| run[place])).collect();
            all[at].curves.push(Curve { knob, now, values: values.clone(), chances });
        }
    }
    all.iter_mut().for_each(|one| one.turn = turn(one));
    Ok(all)
}

/// Every assumption that one of the propositions can depend on, once.
fn knobs(colony: &Colony, propositions: &[Proposition]) -> Vec<(Knob, f64)> {
    let mut all = Vec::new();
    for knob in propositions.iter().flat_map(|p| own_knobs(colony, *p)) {
        if !all.contains(&knob) {
            all.push(knob);
        }
    }
    all
}

/// The assumptions that one proposition can depend on, with their values in force.
fn own_knobs(colony: &Colony, proposition: Proposition) -> Vec<(Knob, f64)> {
    let id = proposition.gene;
    let gene = colony.gene(id);
    let assumed = colony.assumptions;
    let mut knobs = Vec::new();
    match gene.background.as_deref() {
        None => knobs.push((Knob::Background(None), assumed.background)),
        Some([one]) => knobs.push((Knob::Background(Some(id)), *one)),
        Some(_) => {}
    }
    match gene.misread {
        None => knobs.push((Knob::Misread(None), assumed.misread)),
        Some(Misread::Any(chance)) => knobs.push((Knob::Misread(Some(id)), chance)),
        Some(Misread::Apart { .. }) => {}
    }
    let named =
        |clutch: &Clutch| matches!(clutch.siring.candidates.as_slice(), [(Candidate::Known(_), _)]);
    if colony.clutches.iter().any(named) {
        knobs.push((Knob::OtherSire, assumed.other_sire));
    }
    let mates = clutches_of(colony, proposition.animal).filter_map(|(_, mate)| mate);
    let told = std::iter::once(proposition.animal).chain(mates);
    for because in told.flat_map(|animal| statements(colony, Proposition { animal, ..proposition }))
    {
        let Because::Statement { animal, .. } = because else { continue };
        let knob = match colony.animal(animal).trust {
            None => (Knob::Trust(None), assumed.trust),
            Some(own) => (Knob::Trust(Some(animal)), own),
        };
        if !knobs.contains(&knob) {
            knobs.push(knob);
        }
    }
    if let Some(Penetrance::All(chance)) = gene.penetrance {
        knobs.push((Knob::Penetrance(id), chance));
    }
    knobs
}

/// The values tried.
fn values(colony: &Colony, knob: Knob, now: f64) -> Vec<f64> {
    let small = [0.0, 0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.03, 0.04, 0.05];
    let mut values: Vec<f64> = match knob {
        Knob::Background(_) | Knob::Misread(_) => small.to_vec(),
        Knob::OtherSire => (0..=8).map(|step| f64::from(step) / 40.0).collect(),
        Knob::Trust(_) => (0..=10).map(|step| f64::from(step) / 10.0).collect(),
        Knob::Penetrance(_) => (10..=20).map(|step| f64::from(step) / 20.0).collect(),
    };
    let top = match knob {
        Knob::Background(gene) => {
            let alleles = |gene: &crate::records::Gene| gene.alleles.len().max(1);
            let most = gene.map_or_else(
                || colony.genes.iter().map(alleles).max().unwrap_or(1),
                |gene| alleles(colony.gene(gene)),
            );
            0.9 / most as f64
        }
        _ => 1.0,
    };
    if values.last().is_some_and(|last| now >= *last) {
        values.extend([1.5 * now, 2.0 * now]);
    }
    values.push(now);
    values.retain(|value| *value <= top || *value == now);
    values.sort_by(f64::total_cmp);
    values.dedup();
    values
}

fn set(colony: &Colony, knob: Knob, value: f64) -> Colony {
    let mut other = colony.clone();
    match knob {
        Knob::Background(None) => other.assumptions.background = value,
        Knob::Background(Some(gene)) => other.genes[gene.0].background = Some(vec![value]),
        Knob::Misread(None) => other.assumptions.misread = value,
        Knob::Misread(Some(gene)) => other.genes[gene.0].misread = Some(Misread::Any(value)),
        Knob::OtherSire => other.assumptions.other_sire = value,
        Knob::Trust(None) => other.assumptions.trust = value,
        Knob::Trust(Some(animal)) => other.animals[animal.0].trust = Some(value),
        Knob::Penetrance(gene) => {
            other.genes[gene.0].penetrance = Some(Penetrance::All(value));
        }
    }
    other
}

/// The chance of each proposition.
fn chances(
    colony: &Colony,
    propositions: &[Proposition],
    memory: u64,
) -> Result<Vec<f64>, Unanswerable> {
    let ask = |colony: &Colony| known_chances(colony, propositions, memory);
    if !super::unknowns::any(colony) {
        return ask(colony).map(|(chances, _)| chances);
    }
    let mixture = super::unknowns::integrate(colony, &ask)?;
    let mut sums = vec![0.0; propositions.len()];
    for share in &mixture.shares {
        sums.iter_mut().zip(&share.answer).for_each(|(sum, chance)| *sum += share.weight * chance);
    }
    Ok(sums)
}

/// The chance of each proposition, and the log evidence, where nothing is unknown.
fn known_chances(
    colony: &Colony,
    propositions: &[Proposition],
    memory: u64,
) -> Result<(Vec<f64>, f64), Unanswerable> {
    let resolved = super::belief::resolve(colony, memory)?;
    // METHOD: at the end of a range the records may be impossible; why is not asked for there.
    let impossible = || Unanswerable::Impossible(Vec::new());
    let net = assemble(&resolved.colony, Grouping::Siblings);
    let evidence = net.all_evidence();
    let tree = JunctionTree::plan(&net.graph, &evidence, memory).map_err(|_| impossible())?;
    let mut work = tree.workspace();
    work.run(&tree, &evidence).map_err(|_| impossible())?;
    let chance = |proposition: &Proposition| {
        let variable = net.variable(proposition.animal, proposition.gene);
        let marginal = work.marginal(&tree, variable);
        let weights = net.by_genotype(proposition.animal, proposition.gene, &marginal);
        proposition.chance(net.locus(proposition.gene), &weights)
    };
    Ok((propositions.iter().map(chance).collect(), work.log_evidence().ln()))
}

/// The smallest change that turns the conclusion.
fn turn(one: &WhatIf) -> Option<Turn> {
    let mut nearest: Option<(f64, Turn)> = None;
    for curve in &one.curves {
        let (Some(first), Some(last)) = (curve.values.first(), curve.values.last()) else {
            continue;
        };
        for (value, chance) in curve.values.iter().zip(&curve.chances) {
            let Some(chance) = *chance else { continue };
            let change = (value - curve.now).abs() / (last - first);
            let nearer = nearest.is_none_or(|(least, _)| change < least);
            if conclusion(chance) != conclusion(one.chance) && nearer {
                let turn = Turn { knob: curve.knob, now: curve.now, value: *value, chance };
                nearest = Some((change, turn));
            }
        }
    }
    nearest.map(|(_, turn)| turn)
}
