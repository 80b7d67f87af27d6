//! Records before they are tied to variables: what each weighs, unit by unit.

use super::assemble::Builder;
use super::items::ItemKind;
use crate::genetics::{CallSheet, GeneCall, doubtful_sheets, reading_likelihood};
use crate::records::{Animal, AnimalId, GeneId, Inheritance, Place, Reading, Sex};

/// One record before it is tied to variables: its weights over the states of each unit.
#[derive(Clone, Debug)]
pub(super) struct Pending {
    pub(super) kind: ItemKind,
    pub(super) gene: Option<GeneId>,
    pub(super) place: Place,
    pub(super) weights: Weights,
}

/// What a record weighs.
#[derive(Clone, Debug)]
pub(super) enum Weights {
    /// The states of one unit.
    One(usize, Vec<f64>),
    /// Identities with their weights, and under each identity the states of several units.
    Several(Vec<f64>, Vec<(usize, Vec<Vec<f64>>)>),
}

impl Pending {
    /// Whether it weighs a unit.
    pub(super) fn touches(&self, unit: usize) -> bool {
        match &self.weights {
            Weights::One(of, _) => *of == unit,
            Weights::Several(_, by_unit) => by_unit.iter().any(|(of, _)| *of == unit),
        }
    }

    /// Whether it weighs any of the marked units.
    pub(super) fn touches_any(&self, marked: &[bool]) -> bool {
        marked.iter().enumerate().any(|(unit, marked)| *marked && self.touches(unit))
    }
}

impl Builder<'_> {
    /// The records of a hatchling, not yet tied to its variables.
    pub(super) fn pending(&self, id: AnimalId) -> Vec<Pending> {
        let animal = self.colony.animal(id);
        let mut pending = Vec::new();
        for sighting in doubtful_sheets(self.colony, id) {
            pending.extend(self.sheet_pending(&sighting.sheet, sighting.place, animal.sex));
        }
        pending.extend(self.readings(animal));
        pending
    }

    /// What a sheet says of a young of this sex, not yet tied to its variables.
    pub(super) fn sheet_pending(
        &self,
        sheet: &CallSheet,
        place: Place,
        sex: Option<Sex>,
    ) -> Vec<Pending> {
        let weigh = |unit: usize, calls: &[GeneCall]| -> Vec<f64> {
            let of = &self.net.units[unit];
            let states = of.states_of(sex);
            let mut product = vec![1.0; states.len()];
            for (at, locus) in of.loci.iter().enumerate() {
                let weights = of.spread(at, &calls[locus.gene.0].likelihood(locus), &states);
                product.iter_mut().zip(weights).for_each(|(p, w)| *p *= w);
            }
            product
        };
        if let [(_, calls)] = sheet.alternatives.as_slice() {
            let one = |gene: GeneId| {
                let (unit, at) = self.net.genes[gene.0];
                let of = &self.net.units[unit];
                let likelihood = calls[gene.0].likelihood(&of.loci[at]);
                let weights = of.spread(at, &likelihood, &of.states_of(sex));
                single(ItemKind::Call, gene, place, (unit, weights))
            };
            return sheet.genes().map(one).collect();
        }
        let fits = sheet.alternatives.iter().map(|(fit, _)| *fit).collect();
        let under = |unit: usize| sheet.alternatives.iter().map(|(_, c)| weigh(unit, c)).collect();
        let by_unit = self.units_read(sheet).into_iter().map(|unit| (unit, under(unit))).collect();
        let weights = Weights::Several(fits, by_unit);
        simplify(Pending { kind: ItemKind::Either, gene: None, place, weights })
    }

    pub(super) fn units_read(&self, sheet: &CallSheet) -> Vec<usize> {
        let mut read: Vec<usize> = sheet.genes().map(|gene| self.net.genes[gene.0].0).collect();
        read.sort_unstable();
        read.dedup();
        read
    }

    pub(super) fn readings(&self, animal: &Animal) -> Vec<Pending> {
        let one = |reading: &Reading| {
            let (unit, at) = self.net.genes[reading.gene.0];
            let of = &self.net.units[unit];
            let likelihood = reading_likelihood(&of.loci[at], animal.sex, reading);
            let weights = of.spread(at, &likelihood, &of.states_of(animal.sex));
            single(ItemKind::Reading, reading.gene, reading.place, (unit, weights))
        };
        let known = |r: &&Reading| self.colony.gene(r.gene).inheritance != Inheritance::Unknown;
        animal.readings.iter().filter(known).map(one).collect()
    }
}

pub(super) fn single(
    kind: ItemKind,
    gene: GeneId,
    place: Place,
    (unit, weights): (usize, Vec<f64>),
) -> Pending {
    Pending { kind, gene: Some(gene), place, weights: Weights::One(unit, weights) }
}

/// Takes out of an uncertain call what does not depend on the identity.
///
/// A unit on which the identities agree is weighed once; a single unit is weighed by the mixture.
fn simplify(pending: Pending) -> Vec<Pending> {
    let Pending { kind, gene, place, weights: Weights::Several(fits, by_unit) } = pending else {
        return vec![pending];
    };
    let agree = |weights: &[Vec<f64>]| weights.iter().all(|w| *w == weights[0]);
    let (same, mut differ): (Vec<_>, Vec<_>) =
        by_unit.into_iter().partition(|(_, weights)| agree(weights));
    let one = |unit, weights| Pending { kind, gene, place, weights: Weights::One(unit, weights) };
    let mut parts: Vec<Pending> = same
        .into_iter()
        .filter_map(|(unit, mut weights)| Some(one(unit, weights.pop()?)))
        .collect();
    if differ.len() > 1 {
        let weights = Weights::Several(fits, differ);
        parts.push(Pending { kind, gene, place, weights });
    } else if let Some((unit, weights)) = differ.pop() {
        let states = weights.first().map_or(0, Vec::len);
        let mixed = |s: usize| fits.iter().zip(&weights).map(|(fit, w)| fit * w[s]).sum::<f64>();
        parts.push(one(unit, (0..states).map(mixed).collect()));
    }
    parts
}

/// The parts of each record together: an uncertain call that was taken apart is one record.
pub(super) fn records(pending: Vec<Pending>) -> Vec<Vec<Pending>> {
    let mut grouped: Vec<Vec<Pending>> = Vec::new();
    for part in pending {
        match grouped.last_mut() {
            Some(last)
                if part.kind == ItemKind::Either
                    && last[0].kind == ItemKind::Either
                    && last[0].place == part.place =>
            {
                last.push(part);
            }
            _ => grouped.push(vec![part]),
        }
    }
    grouped
}
