//! Overall beliefs of the keeper: what the pairing says already is divided out of them.

use std::borrow::Cow;

use super::Unanswerable;
use crate::genetics::{CallSheet, Unit, call_sheets};
use crate::inference::{JunctionTree, NoPlan};
use crate::network::{ColonyNetwork, Evidence, Grouping, assemble_units, assemble_within};
use crate::numbers::exp;
use crate::records::{Alternative, Animal, AnimalId, Call, Colony, Observation, RecordError};

/// A belief, and what was divided out of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Divided {
    /// Whose identity is believed.
    pub animal: AnimalId,
    /// For each identity named: the belief, and the chance that the other records alone give.
    pub identities: Vec<(Alternative, f64)>,
}

/// A colony whose beliefs have become fits.
pub(super) struct Resolved<'a> {
    pub(super) colony: Cow<'a, Colony>,
    pub(super) divided: Vec<Divided>,
}

/// Turns every belief into a fit.
///
/// # Source
///
/// `believed`: b_k normalised, π_k = P(calls of alternative k | all records except those of
/// believed hatchlings), computed once for all of them; f_k = b_k/π_k is then used like `fit`.
///
/// # Errors
///
/// [`Unanswerable::Impossible`] for a belief in what the pairing cannot give.
pub(super) fn resolve(colony: &Colony, memory: u64) -> Result<Resolved<'_>, Unanswerable> {
    resolve_units(colony, None, memory)
}

/// The same where the genes are passed on as these units say.
///
/// # Errors
///
/// As [`resolve`].
pub(super) fn resolve_units<'c>(
    colony: &'c Colony,
    units: Option<&[Unit]>,
    memory: u64,
) -> Result<Resolved<'c>, Unanswerable> {
    let believed: Vec<AnimalId> =
        colony.animal_ids().filter(|id| colony.animal(*id).believed).collect();
    if believed.is_empty() {
        return Ok(Resolved { colony: Cow::Borrowed(colony), divided: Vec::new() });
    }
    let mut others = colony.clone();
    for id in &believed {
        let animal = &mut others.animals[id.0];
        animal.seen.call = Call::NotRecorded;
        animal.grown = None;
        animal.readings.clear();
        animal.believed = false;
    }
    let rest = Rest::new(&others, units, memory)?;
    let mut resolved = colony.clone();
    let mut divided = Vec::new();
    let mut errors = Vec::new();
    for id in believed {
        let mut identities = Vec::new();
        let sheet = uncertain_sheet(colony, id);
        let animal = &mut resolved.animals[id.0];
        animal.believed = false;
        let place = animal.seen.place.unwrap_or(animal.place);
        let Some(list) = alternatives(animal) else { continue };
        for (at, alternative) in list.iter_mut().enumerate() {
            let given = sheet.as_ref().map_or(1.0, |sheet| rest.chance(id, sheet, at));
            identities.push((alternative.clone(), given));
            if alternative.fit > 0.0 && given == 0.0 {
                errors.push(cannot_give(colony, id, place));
            } else if given > 0.0 {
                alternative.fit /= given;
            }
        }
        divided.push(Divided { animal: id, identities });
    }
    if errors.is_empty() {
        Ok(Resolved { colony: Cow::Owned(resolved), divided })
    } else {
        Err(Unanswerable::Impossible(errors))
    }
}

fn cannot_give(colony: &Colony, id: AnimalId, place: crate::records::Place) -> RecordError {
    let name = colony.animal(id).id.clone().unwrap_or_default();
    RecordError {
        place,
        message: format!("this pairing cannot give what is believed of {name}"),
        help: Some("give that identity no weight, or check who the parents are".into()),
        related: None,
    }
}

/// The uncertain call of an animal: the later one, if it has grown.
fn alternatives(animal: &mut Animal) -> Option<&mut Vec<Alternative>> {
    let of = |seen: &'_ Observation| matches!(seen.call, Call::Either(_));
    let grown = animal.grown.as_ref().is_some_and(of);
    let seen = if grown { animal.grown.as_mut()? } else { &mut animal.seen };
    match &mut seen.call {
        Call::Either(list) => Some(list),
        _ => None,
    }
}

fn uncertain_sheet(colony: &Colony, id: AnimalId) -> Option<CallSheet> {
    let sightings = call_sheets(colony, colony.animal(id));
    let uncertain = |sheet: &CallSheet| sheet.alternatives.len() > 1;
    sightings.into_iter().map(|sighting| sighting.sheet).rfind(uncertain)
}

/// All records except those of believed hatchlings.
struct Rest {
    net: ColonyNetwork,
    tree: JunctionTree,
    evidence: Evidence,
    log: f64,
}

impl Rest {
    fn new(others: &Colony, units: Option<&[Unit]>, memory: u64) -> Result<Self, Unanswerable> {
        let net = match units {
            None => assemble_within(others, Grouping::Apart, memory),
            Some(units) => assemble_units(others, units.to_vec(), Grouping::Apart, memory),
        };
        let evidence = net.all_evidence();
        let impossible = || super::impossible::impossible(others, memory);
        let tree = match JunctionTree::plan(&net.graph, &evidence, memory) {
            Ok(tree) => tree,
            Err(NoPlan::Impossible(_)) => return Err(impossible()),
            Err(NoPlan::TooLarge { needed }) => {
                return Err(Unanswerable::TooLarge { needed, allowed: memory });
            }
        };
        let log = tree.calibrate(&evidence).map_err(|_| impossible())?.log_evidence().ln();
        Ok(Rest { net, tree, evidence, log })
    }

    /// P(calls of one identity | the rest).
    fn chance(&self, animal: AnimalId, sheet: &CallSheet, at: usize) -> f64 {
        let (_, calls) = &sheet.alternatives[at];
        let mut evidence = self.evidence.clone();
        for gene in sheet.genes() {
            let likelihood = calls[gene.0].likelihood(self.net.locus(gene));
            let weights = self.net.by_state(animal, gene, &likelihood);
            evidence.weigh(self.net.variable(animal, gene), &weights);
        }
        match self.tree.calibrate(&evidence) {
            Ok(run) => exp(run.log_evidence().ln() - self.log),
            Err(_) => 0.0,
        }
    }
}
