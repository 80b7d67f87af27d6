//! How each clutch moved the odds, in date order.

use super::{Model, Proposition};
use crate::inference::{Domains, JunctionTree, Workspace};
use crate::network::Item;
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

/// What is known at one height: the records of all earlier clutches.
pub(super) struct Height<'c> {
    pub(super) tree: &'c JunctionTree,
    pub(super) work: &'c Workspace,
    /// The clutch that comes next; `None` at the top.
    pub(super) next: Option<ClutchId>,
}

/// Counts clutch after clutch in, in date order, and shows each height to `visit`.
///
/// `None` when there would be more multiplications than allowed, or some height has no answer.
///
/// # Source
///
/// Evidence by clutch: the chain rule in date order, beginning with the animals' own records.
pub(super) fn climb(
    model: &Model<'_>,
    multiplications: usize,
    mut visit: impl FnMut(&Height<'_>),
) -> Option<Vec<ClutchId>> {
    let net = &model.net;
    let full = Domains::full(&net.graph);
    let tree = JunctionTree::plan_for(&net.graph, &full, model.memory).ok()?;
    let clutches = in_date_order(model);
    let by_clutch = items_by_clutch(model, &tree);
    let work_of = |components: &Vec<usize>| -> usize {
        components.iter().map(|at| tree.multiplications_of(*at)).sum()
    };
    let needed: usize = by_clutch.iter().map(|(_, components)| work_of(components)).sum();
    if needed > multiplications {
        return None;
    }
    let mut evidence = net.evidence(|item: &Item| item.clutch.is_none());
    let mut work = tree.workspace();
    work.run(&tree, &evidence).ok()?;
    for clutch in &clutches {
        visit(&Height { tree: &tree, work: &work, next: Some(*clutch) });
        let (items, components) = &by_clutch[clutch.0];
        items.iter().for_each(|item| net.count_in(&net.items[*item], &mut evidence));
        components.iter().try_for_each(|at| work.run_component(&tree, *at, &evidence)).ok()?;
    }
    visit(&Height { tree: &tree, work: &work, next: None });
    Some(clutches)
}

/// The items of each clutch, and the parts of the network they touch.
fn items_by_clutch(model: &Model<'_>, tree: &JunctionTree) -> Vec<(Vec<usize>, Vec<usize>)> {
    let mut by_clutch = vec![(Vec::new(), Vec::new()); model.colony.clutches.len()];
    for (at, item) in model.net.items.iter().enumerate() {
        if let Some(clutch) = item.clutch {
            by_clutch[clutch.0].0.push(at);
            let touched = model.net.touched(item).filter_map(|v| tree.component_of(v));
            by_clutch[clutch.0].1.extend(touched);
        }
    }
    for (_, components) in &mut by_clutch {
        components.sort_unstable();
        components.dedup();
    }
    by_clutch
}

/// Climbs and reads the chance of each proposition at each height.
pub(super) fn ladder(model: &Model<'_>, propositions: &[Proposition]) -> Option<Ladder> {
    let mut chances = Vec::new();
    let clutches = climb(model, MULTIPLICATIONS, |height| {
        chances.push(read(model, height.tree, height.work, propositions));
    })?;
    Some(Ladder { clutches, chances })
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
