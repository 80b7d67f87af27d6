//! Single slips: what the evidence would be if one record were wrong.

use super::Unanswerable;
use crate::inference::{Domains, JunctionTree, NoPlan, Workspace};
use crate::network::{ColonyNetwork, Evidence, Grouping, Item, ItemKind, assemble_within};
use crate::records::{
    Animal, AnimalId, Call, Candidate, Clutch, ClutchId, Colony, Count, GeneId, Observation,
    Origin, Parent, Siring, SiringMode,
};

/// Log evidence of a colony; minus infinity when it is impossible.
pub(super) fn log_evidence(colony: &Colony, memory: u64) -> Result<f64, Unanswerable> {
    let net = assemble_within(colony, Grouping::Siblings, memory);
    let evidence = net.all_evidence();
    let tree = match JunctionTree::plan(&net.graph, &evidence, memory) {
        Ok(tree) => tree,
        Err(NoPlan::Impossible(_)) => return Ok(f64::NEG_INFINITY),
        Err(NoPlan::TooLarge { needed }) => {
            return Err(Unanswerable::TooLarge { needed, allowed: memory });
        }
    };
    Ok(tree.calibrate(&evidence).map_or(f64::NEG_INFINITY, |run| run.log_evidence().ln()))
}

/// The network of a colony with every record in its own place, to leave single records out.
pub(super) struct Apart {
    pub(super) net: ColonyNetwork,
    tree: JunctionTree,
    evidence: Evidence,
    work: Workspace,
    /// Log evidence of each part of the network with all records.
    parts: Vec<f64>,
    constants: f64,
}

impl Apart {
    pub(super) fn new(colony: &Colony, memory: u64) -> Result<Self, Unanswerable> {
        let net = assemble_within(colony, Grouping::Apart, memory);
        let evidence = net.all_evidence();
        let full = Domains::full(&net.graph);
        let tree = match JunctionTree::plan_for(&net.graph, &full, memory) {
            Ok(tree) => tree,
            Err(NoPlan::TooLarge { needed }) => {
                return Err(Unanswerable::TooLarge { needed, allowed: memory });
            }
            // Every variable of an assembled network has states.
            Err(NoPlan::Impossible(_)) => return Err(Unanswerable::Impossible(Vec::new())),
        };
        let mut work = tree.workspace();
        let mut parts = Vec::with_capacity(tree.components());
        for part in 0..tree.components() {
            let ran = work.weigh_component(&tree, part, &evidence);
            parts.push(ran.map_or(f64::NEG_INFINITY, |()| work.log_evidence_of(part).ln()));
        }
        let constants = work.constants(&tree, &evidence);
        Ok(Apart { net, tree, evidence, work, parts, constants })
    }

    /// Log evidence of all records.
    pub(super) fn all(&self) -> f64 {
        self.constants + self.parts.iter().sum::<f64>()
    }

    /// Log evidence without one item.
    pub(super) fn without(&mut self, item: usize) -> f64 {
        let touched: Vec<_> = self.net.touched_by_any(&self.net.items[item]).collect();
        let before = self.evidence.clone();
        self.net.leave_out(item, &mut self.evidence);
        let mut parts: Vec<usize> =
            touched.iter().filter_map(|v| self.tree.component_of(*v)).collect();
        parts.sort_unstable();
        parts.dedup();
        let mut sum = self.constants;
        for (part, log) in self.parts.iter().enumerate() {
            if !parts.contains(&part) {
                sum += log;
                continue;
            }
            let ran = self.work.weigh_component(&self.tree, part, &self.evidence);
            sum += ran.map_or(f64::NEG_INFINITY, |()| self.work.log_evidence_of(part).ln());
        }
        self.evidence = before;
        sum
    }
}

/// Whether leaving an item out is a slip of its own.
pub(super) fn is_slip(item: &Item) -> bool {
    matches!(item.kind, ItemKind::Call | ItemKind::OwnLook | ItemKind::Either | ItemKind::Statement)
}

/// The colony with an unrecorded male as the sire of a clutch; `None` when it has no named one.
pub(super) fn other_sire(colony: &Colony, clutch: ClutchId) -> Option<Colony> {
    let named = |(candidate, _): &(Candidate, f64)| matches!(candidate, Candidate::Known(_));
    colony.clutch(clutch).siring.candidates.iter().any(named).then(|| {
        let mut other = colony.clone();
        other.clutches[clutch.0].siring =
            Siring { candidates: vec![(Candidate::Unknown, 1.0)], mode: SiringMode::One };
        other
    })
}

/// The colony with an unrecorded female as the dam of a clutch.
pub(super) fn other_dam(colony: &Colony, clutch: ClutchId) -> Option<Colony> {
    matches!(colony.clutch(clutch).dam, Parent::Known(_)).then(|| {
        let mut other = colony.clone();
        other.clutches[clutch.0].dam = Parent::Unknown;
        other
    })
}

/// The colony with one young of a count not judged at a gene; at none, without one.
pub(super) fn one_uncounted(
    colony: &Colony,
    clutch: ClutchId,
    count: usize,
    gene: Option<GeneId>,
) -> Colony {
    let mut other = colony.clone();
    let of = &mut other.clutches[clutch.0].counts;
    let mut unread = of[count].clone();
    if let Some(place) = of[count].number.iter().position(|number| *number > 0) {
        of[count].number[place] -= 1;
        unread.number = [0; 3];
        unread.number[place] = 1;
        match (&mut unread.seen.call, gene) {
            (Call::Looks(looks), Some(gene)) => {
                looks.retain(|look| look.gene != gene);
                unread.seen.unread.push(gene);
            }
            _ => unread.seen = Observation::default(),
        }
        of.push(unread);
    }
    other
}

/// The colony with a hatchling that came from somewhere else: unrelated, or from another clutch.
///
/// An unjudged young takes its place in its own clutch, so that the eggs still add up.
pub(super) fn swapped(colony: &Colony, animal: AnimalId, to: Option<ClutchId>) -> Option<Colony> {
    let Origin::Clutch(from) = colony.animal(animal).origin else { return None };
    let mut other = colony.clone();
    let own = &mut other.clutches[from.0];
    own.hatchlings.retain(|id| *id != animal);
    if own.recorded_only.is_empty() && own.kept_if.is_empty() {
        own.counts.push(stand_in(colony.animal(animal)));
    }
    let to = to.unwrap_or_else(|| {
        let date = colony.clutch(from);
        other.clutches.push(elsewhere(date));
        ClutchId(other.clutches.len() - 1)
    });
    other.clutches[to.0].hatchlings.push(animal);
    other.animals[animal.0].origin = Origin::Clutch(to);
    Some(other)
}

fn stand_in(animal: &Animal) -> Count {
    Count { seen: Observation::default(), number: [0, 0, 1], place: animal.place }
}

/// A clutch nobody recorded: both parents from unrelated stock.
fn elsewhere(like: &Clutch) -> Clutch {
    Clutch {
        id: String::new(),
        dam: Parent::Unknown,
        siring: Siring { candidates: vec![(Candidate::Unknown, 1.0)], mode: SiringMode::One },
        eggs: None,
        slugs: None,
        died: None,
        complete: false,
        hatchlings: Vec::new(),
        counts: Vec::new(),
        recorded_only: Vec::new(),
        kept_if: Vec::new(),
        ..like.clone()
    }
}

/// The colony with nothing recorded of a hatchling, and no tie to its clutch.
pub(super) fn nothing_of(colony: &Colony, animal: AnimalId) -> Option<Colony> {
    let mut other = swapped(colony, animal, None)?;
    let record = &mut other.animals[animal.0];
    record.seen.call = Call::NotRecorded;
    record.grown = None;
    record.readings.clear();
    Some(other)
}

/// The other clutches of a hatchling's season.
pub(super) fn same_season(colony: &Colony, animal: AnimalId) -> Vec<ClutchId> {
    let Origin::Clutch(own) = colony.animal(animal).origin else { return Vec::new() };
    let season = |id: &ClutchId| colony.clutch(*id).date().map(|date| date.year);
    let of = season(&own);
    let ancestors_only = |id: &ClutchId| !descends(colony, *id, animal);
    colony
        .clutch_ids()
        .filter(|id| *id != own && of.is_some() && season(id) == of)
        .filter(ancestors_only)
        .collect()
}

/// Whether the parents of a clutch descend from an animal, or are it.
fn descends(colony: &Colony, clutch: ClutchId, animal: AnimalId) -> bool {
    let mut waiting = vec![clutch];
    let mut seen = std::collections::BTreeSet::new();
    while let Some(clutch) = waiting.pop() {
        if !seen.insert(clutch) {
            continue;
        }
        let of = colony.clutch(clutch);
        let mut parents = Vec::new();
        if let Parent::Known(dam) = of.dam {
            parents.push(dam);
        }
        for (candidate, _) in &of.siring.candidates {
            if let Candidate::Known(sire) = candidate {
                parents.push(*sire);
            }
        }
        if parents.contains(&animal) {
            return true;
        }
        for parent in parents {
            if let Origin::Clutch(of) = colony.animal(parent).origin {
                waiting.push(of);
            }
        }
    }
    false
}
