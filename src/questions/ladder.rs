//! How each clutch moved the odds, in date order.

use super::{Model, Proposition};
use crate::inference::{Domains, JunctionTree, NoPlan, Workspace};
use crate::network::{ColonyNetwork, Evidence, Item};
use crate::records::{ClutchId, Colony};

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
pub(super) fn in_date_order(colony: &Colony) -> Vec<ClutchId> {
    let mut clutches: Vec<ClutchId> = colony.clutch_ids().collect();
    clutches.sort_by_key(|id| {
        let date = colony.clutch(*id).date();
        (date.is_none(), date.map(|date| date.earliest()))
    });
    clutches
}

/// What is known at one height: the records of all earlier clutches.
pub(super) struct Height<'c> {
    pub(super) tree: &'c JunctionTree,
    pub(super) work: &'c mut Workspace,
    /// The clutch that comes next; `None` at the top.
    pub(super) next: Option<ClutchId>,
}

/// Why a climb ended before the top.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stopped {
    /// The tables would take this many bytes, about.
    TooLarge(u64),
    /// It would take more arithmetic than allowed.
    TooLong,
    /// What came next cannot be.
    Impossible,
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
    visit: impl FnMut(&mut Height<'_>),
) -> Option<Vec<ClutchId>> {
    let ground = Ground { colony: model.colony, net: &model.net, memory: model.memory };
    // With everything known fewer states are left than on the way: where even that is far too much, a
    // plan for the way is not made.
    let least = work(&items_by_clutch(&ground, &model.tree), &model.tree) / 2;
    if least > multiplications {
        return None;
    }
    climb_from(&ground, multiplications, |_| (), visit).ok()
}

/// What is climbed.
pub(super) struct Ground<'g> {
    pub(super) colony: &'g Colony,
    pub(super) net: &'g ColonyNetwork,
    pub(super) memory: u64,
}

/// The same from a start to which `certain` adds what is known beforehand.
///
/// # Errors
///
/// [`Stopped`] says why; every height before was shown.
pub(super) fn climb_from(
    ground: &Ground<'_>,
    multiplications: usize,
    certain: impl FnOnce(&mut Evidence),
    mut visit: impl FnMut(&mut Height<'_>),
) -> Result<Vec<ClutchId>, Stopped> {
    let net = ground.net;
    let full = Domains::full(&net.graph);
    let tree = JunctionTree::plan_for(&net.graph, &full, ground.memory).map_err(|no| match no {
        NoPlan::Impossible(_) => Stopped::Impossible,
        NoPlan::TooLarge { needed } => Stopped::TooLarge(needed),
    })?;
    let clutches = in_date_order(ground.colony);
    let by_clutch = items_by_clutch(ground, &tree);
    if work(&by_clutch, &tree) > multiplications {
        return Err(Stopped::TooLong);
    }
    let impossible = |_| Stopped::Impossible;
    let mut evidence = net.evidence(|item: &Item| item.clutch.is_none());
    certain(&mut evidence);
    let mut work = tree.workspace();
    work.run(&tree, &evidence).map_err(impossible)?;
    for clutch in &clutches {
        visit(&mut Height { tree: &tree, work: &mut work, next: Some(*clutch) });
        let (items, components) = &by_clutch[clutch.0];
        items.iter().for_each(|item| net.count_in(&net.items[*item], &mut evidence));
        let mut weigh = |at: &usize| work.weigh_component(&tree, *at, &evidence);
        components.iter().try_for_each(&mut weigh).map_err(impossible)?;
    }
    visit(&mut Height { tree: &tree, work: &mut work, next: None });
    Ok(clutches)
}

/// Multiplications of counting in clutch after clutch, about.
fn work(by_clutch: &[ClutchItems], tree: &JunctionTree) -> usize {
    let components = by_clutch.iter().flat_map(|(_, components)| components);
    components.map(|at| tree.multiplications_of(*at)).sum()
}

/// The items of a clutch, and the parts of the network they touch.
type ClutchItems = (Vec<usize>, Vec<usize>);

fn items_by_clutch(ground: &Ground<'_>, tree: &JunctionTree) -> Vec<ClutchItems> {
    let mut by_clutch = vec![(Vec::new(), Vec::new()); ground.colony.clutches.len()];
    for (at, item) in ground.net.items.iter().enumerate() {
        if let Some(clutch) = item.clutch {
            by_clutch[clutch.0].0.push(at);
            let touched = ground.net.touched(item).filter_map(|v| tree.component_of(v));
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
    work: &mut Workspace,
    propositions: &[Proposition],
) -> Vec<f64> {
    let mut chance = |proposition: &Proposition| {
        let variable = model.net.variable(proposition.animal, proposition.gene);
        work.reach(tree, variable);
        let marginal = work.marginal(tree, variable);
        let weights = model.net.by_genotype(proposition.animal, proposition.gene, &marginal);
        proposition.chance(model.net.locus(proposition.gene), &weights)
    };
    propositions.iter().map(&mut chance).collect()
}
