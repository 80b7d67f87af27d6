//! The young of each clutch, kept apart or only counted, and its lost eggs.

use rustc_hash::FxHashMap;

use super::VariableId;
use super::assemble::{Builder, Grouping, Pending, Weights};
use super::colony_network::GenotypeVariable;
use super::items::{Effect, ItemKind};
use crate::genetics::count_sheet;
use crate::records::{AnimalId, Clutch, ClutchId, Count, Sex};

/// What tells leaf siblings apart at one unit: their sex where it matters, and their weights.
type Key = (usize, Option<Sex>, Vec<u64>);

impl Builder<'_> {
    pub(super) fn clutch(&mut self, id: ClutchId) {
        let parents: Vec<[VariableId; 2]> =
            (0..self.net.units.len()).map(|unit| self.parent_variables(id, unit)).collect();
        let slots = parents.iter().map(|pair| self.net.graph.slot(pair)).collect();
        self.net.what_if.push(slots);
        self.net.parents.push(parents);
        let mut alike: FxHashMap<Key, GenotypeVariable> = FxHashMap::default();
        let colony = self.colony;
        for hatchling in &colony.clutch(id).hatchlings {
            self.hatchling(id, *hatchling, &mut alike);
        }
        for count in &colony.clutch(id).counts {
            self.count(id, count, &mut alike);
        }
        if self.net.units.iter().any(crate::genetics::Unit::can_be_lethal) {
            self.egg_losses(id);
        }
    }

    fn hatchling(
        &mut self,
        clutch: ClutchId,
        id: AnimalId,
        alike: &mut FxHashMap<Key, GenotypeVariable>,
    ) {
        let animal = self.colony.animal(id);
        let pending = self.pending(id);
        if self.is_apart(id) {
            for unit in 0..self.net.units.len() {
                let child = self.net.animals[id.0][unit].variable;
                self.transmit(unit, animal.sex, child, self.net.parents[clutch.0][unit]);
            }
            for part in records(pending) {
                self.attach_together(id, part);
            }
            return;
        }
        let (variables, fresh) = self.share(clutch, animal.sex, &pending, alike, true);
        self.net.animals[id.0] = variables;
        let ids: Vec<VariableId> = self.net.animals[id.0].iter().map(|v| v.variable).collect();
        for mut part in records(pending) {
            part.retain(|p| touches(p, &fresh));
            self.attach_to(&ids, Some(id), part);
        }
    }

    /// Variables for one young at every unit: shared with earlier ones that nothing tells apart.
    ///
    /// Also says for each unit whether its variable is new. Unless they are `needed`, units that
    /// no record weighs have none: such a young says nothing about its parents.
    fn share(
        &mut self,
        clutch: ClutchId,
        sex: Option<Sex>,
        pending: &[Pending],
        alike: &mut FxHashMap<Key, GenotypeVariable>,
        needed: bool,
    ) -> (Vec<GenotypeVariable>, Vec<bool>) {
        let mut variables = Vec::with_capacity(self.net.units.len());
        let mut fresh = Vec::with_capacity(self.net.units.len());
        for unit in 0..self.net.units.len() {
            let key = key(unit, sex.filter(|_| self.net.units[unit].is_sex_linked()), pending);
            let known = key.as_ref().and_then(|key| alike.get(key)).cloned();
            if let Some(shared) = known {
                self.net.graph.another_copy(shared.variable);
                variables.push(shared);
                fresh.push(false);
                continue;
            }
            if !needed && key.as_ref().is_some_and(|(_, _, weights)| weights.is_empty()) {
                variables.push(GenotypeVariable::absent());
                fresh.push(false);
                continue;
            }
            let made = self.new_variable(unit, sex);
            self.transmit(unit, sex, made.variable, self.net.parents[clutch.0][unit]);
            if let Some(key) = key {
                alike.insert(key, made.clone());
            }
            variables.push(made);
            fresh.push(true);
        }
        (variables, fresh)
    }

    fn count(
        &mut self,
        clutch: ClutchId,
        count: &Count,
        alike: &mut FxHashMap<Key, GenotypeVariable>,
    ) {
        let sheet = count_sheet(self.colony, self.colony.clutch(clutch), count);
        let sexes = [Some(Sex::Male), Some(Sex::Female), None];
        let mut own = FxHashMap::default();
        for (sex, number) in sexes.into_iter().zip(count.number).filter(|(_, n)| *n > 0) {
            let pending = self.sheet_pending(&sheet, count.place, sex);
            if pending.is_empty() {
                continue;
            }
            let grouped = self.grouping == Grouping::Siblings;
            for _ in 0..number {
                let alike = if grouped { &mut *alike } else { &mut own };
                let (made, fresh) = self.share(clutch, sex, &pending, alike, false);
                if !fresh.contains(&true) {
                    continue;
                }
                let ids: Vec<VariableId> = made.iter().map(|v| v.variable).collect();
                for mut part in records(pending.clone()) {
                    part.retain(|p| touches(p, &fresh));
                    if let Some(item) = self.attach_to(&ids, None, part) {
                        self.net.items[item].kind = ItemKind::Count;
                        self.net.items[item].clutch = Some(clutch);
                    }
                }
            }
        }
    }

    /// Eggs that were lost, where a genotype can be lethal and the losses are known.
    fn egg_losses(&mut self, id: ClutchId) {
        let clutch = self.colony.clutch(id);
        let Some(lost) = lost_eggs(clutch) else { return };
        let hatched = clutch.recorded();
        let alive = 1.0 - self.colony.assumptions.egg_loss;
        let lethal: Vec<usize> =
            (0..self.net.units.len()).filter(|at| self.net.units[*at].can_be_lethal()).collect();
        let item = self.item(ItemKind::EggLosses, None, None, clutch.place);
        self.net.items[item].clutch = Some(id);
        let viable: Vec<Vec<f64>> = lethal
            .iter()
            .map(|unit| self.net.units[*unit].viability().into_iter().collect())
            .collect();
        for (at, (unit, viable)) in lethal.iter().zip(&viable).enumerate() {
            // The chance of a genotype that can hatch, which the term of each hatched young is
            // divided by, is counted in again.
            let mut values: Vec<f64> = viable.iter().map(|v| power(*v, hatched)).collect();
            if at == 0 {
                let all_alive = power(alive, hatched);
                values.iter_mut().for_each(|value| *value *= all_alive);
            }
            if lethal.len() == 1 {
                let chances = values.iter_mut().zip(viable);
                chances.for_each(|(value, v)| *value *= power(1.0 - alive * v, lost));
            }
            let slot = self.net.graph.slot(&self.net.parents[id.0][*unit]);
            self.net.items[item].effects.push(Effect::Fill(slot, values));
        }
        if lethal.len() > 1 && lost > 0 {
            self.causes_of_loss(item, id, &lethal, &viable, lost);
        }
    }

    /// Why an egg was lost, when several units can be lethal: a hidden cause for each lost egg.
    ///
    /// METHOD: 1 − (1−ℓ)·s₁·s₂… = ℓ + (1−ℓ)·[(1−s₁) + s₁·(1−s₂) + …]: the egg died by chance, or
    /// else the first unit that is lethal killed it. Each cause is a product over units.
    fn causes_of_loss(
        &mut self,
        item: usize,
        clutch: ClutchId,
        lethal: &[usize],
        viable: &[Vec<f64>],
        lost: u32,
    ) {
        let causes = lethal.len() + 1;
        let cause = self.net.graph.copies_of_variable(causes, lost);
        let mut unknown = vec![0.0; causes];
        unknown[0] = 1.0;
        self.net.base.push((cause, unknown));
        for (at, (unit, viable)) in lethal.iter().zip(viable).enumerate() {
            let chance = |which: usize, v: f64| match which {
                0 => 1.0,
                _ if which - 1 == at => 1.0 - v,
                _ if which - 1 > at => v,
                _ => 1.0,
            };
            let values =
                (0..causes).flat_map(|which| viable.iter().map(move |v| chance(which, *v)));
            let table = self.net.graph.table(values.collect());
            let [sire, dam] = self.net.parents[clutch.0][*unit];
            self.net.graph.factor(&[cause, sire, dam], table);
        }
        let loss = self.colony.assumptions.egg_loss;
        let mut weights = vec![1.0 - loss; causes];
        weights[0] = loss;
        self.net.items[item].effects.push(Effect::Replace(cause, weights));
    }
}

/// How many fertile eggs were lost, when that is known.
///
/// # Source
///
/// Eggs: losses are known when the clutch is complete and either `died`, or both `eggs` and
/// `slugs`, are given.
fn lost_eggs(clutch: &Clutch) -> Option<u32> {
    match (clutch.complete, clutch.died, clutch.eggs, clutch.slugs) {
        (true, Some(died), _, _) => Some(died),
        (true, None, Some(eggs), Some(slugs)) => {
            Some(eggs.saturating_sub(slugs).saturating_sub(clutch.recorded()))
        }
        _ => None,
    }
}

fn power(base: f64, exponent: u32) -> f64 {
    base.powi(i32::try_from(exponent).unwrap_or(i32::MAX))
}

/// What tells a leaf sibling apart at one unit; `None` when a record ties it to other units.
fn key(unit: usize, sex: Option<Sex>, pending: &[Pending]) -> Option<Key> {
    let mut bits = Vec::new();
    for part in pending {
        match &part.weights {
            Weights::One(of, weights) if *of == unit => {
                bits.extend(weights.iter().map(|w| w.to_bits()));
            }
            Weights::Several(_, by_unit) if by_unit.iter().any(|(of, _)| *of == unit) => {
                return None;
            }
            _ => {}
        }
    }
    Some((unit, sex, bits))
}

/// Whether a record weighs any unit whose variable is new.
fn touches(pending: &Pending, fresh: &[bool]) -> bool {
    match &pending.weights {
        Weights::One(unit, _) => fresh[*unit],
        Weights::Several(..) => true,
    }
}

/// The parts of each record together: an uncertain call that was taken apart is one record.
fn records(pending: Vec<Pending>) -> Vec<Vec<Pending>> {
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
