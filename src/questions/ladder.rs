//! How each clutch moved the odds, in date order.

use super::{Model, Proposition};
use crate::inference::{Domains, JunctionTree, Workspace};
use crate::network::{Evidence, Item};
use crate::records::ClutchId;

/// Above this much arithmetic the way is left out and only its two ends are told.
const MULTIPLICATIONS: usize = 2_000_000_000;

/// The chance of each proposition with the founders' own records alone, and after each clutch.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Ladder {
    /// The clutches in date order; undated ones last, in file order.
    pub(super) clutches: Vec<ClutchId>,
    /// `chances[step][proposition]`: step 0 is before any clutch.
    pub(super) chances: Vec<Vec<f64>>,
}

/// Clutches in date order, undated ones last, in file order.
pub(super) fn in_date_order(model: &Model<'_>) -> Vec<ClutchId> {
    let mut clutches: Vec<ClutchId> = model.colony.clutch_ids().collect();
    clutches.sort_by_key(|id| {
        let date = model.colony.clutch(*id).date();
        (date.is_none(), date.map(|date| date.earliest()))
    });
    clutches
}

/// Climbs the ladder; `None` when it would take too long or some step has no answer.
///
/// # Source
///
/// Evidence by clutch: the chain rule in date order, beginning with the animals' own records.
pub(super) fn ladder(model: &Model<'_>, propositions: &[Proposition]) -> Option<Ladder> {
    let net = &model.net;
    let full = Domains::full(&net.graph);
    let tree = JunctionTree::plan_for(&net.graph, &full, model.memory).ok()?;
    let clutches = in_date_order(model);
    let components = tree.components().max(1);
    let work_of_all = tree.cost().multiplications / components * 2;
    if work_of_all.saturating_mul(clutches.len()) > MULTIPLICATIONS {
        return None;
    }
    let own = |item: &Item| item.clutch.is_none();
    let mut evidence = net.evidence(own);
    let mut work = tree.workspace();
    work.run(&tree, &evidence).ok()?;
    let mut chances = vec![read(model, &tree, &work, propositions)];
    for clutch in &clutches {
        step(model, &tree, *clutch, &mut evidence, &mut work)?;
        chances.push(read(model, &tree, &work, propositions));
    }
    Some(Ladder { clutches, chances })
}

/// Counts the records of one clutch in and runs what depends on them.
fn step(
    model: &Model<'_>,
    tree: &JunctionTree,
    clutch: ClutchId,
    evidence: &mut Evidence,
    work: &mut Workspace,
) -> Option<()> {
    let mut touched = Vec::new();
    for item in model.net.items.iter().filter(|item| item.clutch == Some(clutch)) {
        model.net.count_in(item, evidence);
        touched.extend(model.net.touched(item).filter_map(|v| tree.component_of(v)));
    }
    touched.sort_unstable();
    touched.dedup();
    touched.into_iter().try_for_each(|at| work.run_component(tree, at, evidence)).ok()
}

fn read(
    model: &Model<'_>,
    tree: &JunctionTree,
    work: &Workspace,
    propositions: &[Proposition],
) -> Vec<f64> {
    let chance = |proposition: &Proposition| {
        let variable = model.net.variable(proposition.animal, proposition.gene);
        let marginal = work.marginal(tree, variable);
        let weights = model.net.by_genotype(proposition.animal, proposition.gene, &marginal);
        proposition.chance(model.net.locus(proposition.gene), &weights)
    };
    propositions.iter().map(chance).collect()
}
