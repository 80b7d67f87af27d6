//! Which tables a sum multiplies.

use std::collections::{BTreeMap, HashMap};

use proveout::records::{AnimalId, Candidate, ClutchId, Colony, Origin, Parent, SiringMode};

use super::coupling::candidates;
use super::exact::Exact;
use super::stage::Stage;
use super::sums::{Table, sum_all};

/// The tables of one set for one choice of sires.
pub struct Tables {
    /// Founders, unrecorded parents, counts, lost eggs, selection.
    fixed: Vec<Table>,
    /// Hatchlings by animal number: the whole table, and for those without young of their own
    /// what is left of it when the hatchling is summed out.
    hatchlings: Hatchlings,
}

/// What a clutch makes for a choice of its sire: all but the hatchlings, and the hatchlings.
type OfClutch = (Vec<Table>, Hatchlings);
type Hatchlings = BTreeMap<usize, (Table, Option<Table>)>;
/// The tables of each clutch and choice that were made already.
pub type Made = HashMap<(ClutchId, Option<usize>), OfClutch>;

fn clutch(colony: &Colony, stage: &Stage, (id, chosen): (ClutchId, Option<usize>)) -> OfClutch {
    let hatchling = |&hatchling: &AnimalId| {
        let whole = stage.hatchling(id, chosen, hatchling, None);
        let summed = (!is_parent(colony, hatchling)).then(|| whole.without(hatchling.0));
        (hatchling.0, (whole, summed))
    };
    let hatchlings = colony.clutch(id).hatchlings.iter().map(hatchling).collect();
    (stage.rest_of_clutch(id, chosen), hatchlings)
}

impl Tables {
    /// Collects the tables; those made before for another choice are taken from `made`.
    pub fn new(colony: &Colony, stage: &Stage, chosen: &[Option<usize>], made: &mut Made) -> Self {
        let mut fixed = stage.origins(chosen);
        let mut hatchlings = BTreeMap::new();
        for id in colony.clutch_ids() {
            let key = (id, chosen[id.0]);
            let (rest, young) = made.entry(key).or_insert_with(|| clutch(colony, stage, key));
            fixed.extend(rest.iter().cloned());
            hatchlings.extend(young.iter().map(|(animal, tables)| (*animal, tables.clone())));
        }
        Tables { fixed, hatchlings }
    }

    /// The tables for a sum that keeps `kept`.
    pub fn for_sum(&self, kept: Option<AnimalId>) -> Vec<Table> {
        let table = |(animal, (whole, summed)): (&usize, &(Table, Option<Table>))| match summed {
            Some(summed) if kept.is_none_or(|kept| kept.0 != *animal) => summed.clone(),
            _ => whole.clone(),
        };
        self.fixed.iter().cloned().chain(self.hatchlings.iter().map(table)).collect()
    }

    /// Every table, with every hatchling.
    pub fn every(&self) -> Vec<Table> {
        let whole = self.hatchlings.values().map(|(whole, _)| whole.clone());
        self.fixed.iter().cloned().chain(whole).collect()
    }

    /// For a hatchling of a clutch with mixed siring: the sum for each candidate.
    pub fn egg_sires(
        &self,
        colony: &Colony,
        stage: &Stage,
        chosen: &[Option<usize>],
        animal: AnimalId,
    ) -> Vec<(usize, Exact)> {
        let Origin::Clutch(id) = colony.animal(animal).origin else { return vec![] };
        let clutch = colony.clutch(id);
        let candidates = candidates(colony, clutch).len();
        if clutch.siring.mode == SiringMode::One || candidates == 1 {
            return vec![];
        }
        let sum = |place: usize| {
            let mut tables =
                Tables { fixed: self.fixed.clone(), hatchlings: self.hatchlings.clone() };
            let only = stage.hatchling(id, chosen[id.0], animal, Some(place));
            tables.hatchlings.insert(animal.0, (only, None));
            (place, sum_all(&tables.for_sum(None)))
        };
        (0..candidates).map(sum).collect()
    }
}

fn is_parent(colony: &Colony, animal: AnimalId) -> bool {
    colony.clutches.iter().any(|clutch| {
        clutch.dam == Parent::Known(animal)
            || clutch.siring.candidates.iter().any(|(c, _)| *c == Candidate::Known(animal))
    })
}
