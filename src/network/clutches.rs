//! The young of each clutch, kept apart or only counted.

use rustc_hash::FxHashMap;

use super::VariableId;
use super::assemble::{Builder, Grouping};
use super::colony_network::GenotypeVariable;
use super::items::ItemKind;
use super::pending::{Pending, Weights, records};
use super::siring::{Parentage, Sire, SireInDoubt};
use crate::genetics::{Unit, count_sheet};
use crate::records::{AnimalId, ClutchId, Count, Sex};

/// What tells leaf siblings apart at one unit: their sex where it matters, and their weights.
type Key = (usize, Option<Sex>, Vec<u64>);

/// Variables that leaf siblings share.
type Alike = FxHashMap<Key, GenotypeVariable>;

/// One young before it has variables.
struct Young {
    /// Its number, for a hatchling kept apart.
    animal: Option<AnimalId>,
    sex: Option<Sex>,
    /// Whether it can have been mixed up: it has an id.
    may_be_mixed_up: bool,
    pending: Vec<Pending>,
}

impl Builder<'_> {
    pub(super) fn clutch(&mut self, id: ClutchId) {
        let parentage = self.parentage(id);
        let first = |unit: usize| {
            let known = parentage.sire.as_ref().map(|sire| sire.variables[unit]);
            [known.unwrap_or(parentage.dams[unit]), parentage.dams[unit]]
        };
        let parents: Vec<[VariableId; 2]> = (0..self.net.units.len()).map(first).collect();
        // A pairing can be asked about where the clutch has one sire, whoever he is.
        let one = parentage.sire.is_some() && !parentage.fatherless();
        let slots = parents.iter().map(|pair| one.then(|| self.net.graph.slot(pair)));
        self.net.what_if.push(slots.collect());
        self.net.parents.push(parents);
        if let Some(selector) = parentage.sire.as_ref().and_then(|sire| sire.selector) {
            self.in_doubt(&parentage, None, selector);
        }
        self.young(&parentage);
        self.sexes_of_clutch(&parentage);
        self.eggs(&parentage);
        self.select_clutch(&parentage);
    }

    fn in_doubt(
        &mut self,
        parentage: &Parentage,
        hatchling: Option<AnimalId>,
        selector: VariableId,
    ) {
        self.net.sires.push(SireInDoubt {
            clutch: parentage.clutch,
            hatchling,
            candidates: parentage.candidates.clone(),
            selector,
        });
    }

    fn young(&mut self, parentage: &Parentage) {
        let colony = self.colony;
        let clutch = colony.clutch(parentage.clutch);
        let mut alike = Alike::default();
        for id in &clutch.hatchlings {
            let animal = colony.animal(*id);
            let young = Young {
                animal: Some(*id),
                sex: animal.sex,
                may_be_mixed_up: animal.id.is_some() && colony.assumptions.mix_up > 0.0,
                pending: self.pending(*id),
            };
            self.one_young(parentage, young, &mut alike);
        }
        for count in &clutch.counts {
            self.count(parentage, count, &mut alike);
        }
    }

    fn count(&mut self, parentage: &Parentage, count: &Count, alike: &mut Alike) {
        let sheet = count_sheet(self.colony, self.colony.clutch(parentage.clutch), count);
        let sexes = [Some(Sex::Male), Some(Sex::Female), None];
        let mut own = Alike::default();
        for (sex, number) in sexes.into_iter().zip(count.number).filter(|(_, n)| *n > 0) {
            let pending = self.sheet_pending(&sheet, count.place, sex);
            for _ in 0..number {
                let grouped = self.grouping == Grouping::Siblings;
                let alike = if grouped { &mut *alike } else { &mut own };
                let pending = pending.clone();
                let young = Young { animal: None, sex, may_be_mixed_up: false, pending };
                self.one_young(parentage, young, alike);
            }
        }
    }

    fn one_young(&mut self, parentage: &Parentage, young: Young, alike: &mut Alike) {
        let apart = young.animal.is_some_and(|id| self.is_apart(id));
        if apart
            || parentage.sire.is_none()
            || young.may_be_mixed_up
            || self.sex_ties(parentage, &young)
        {
            self.separate_young(parentage, young);
        } else {
            self.shared_young(parentage, young, alike);
        }
    }

    /// Whether the unknown sex of a young ties units together, or ties them to its sire.
    fn sex_ties(&self, parentage: &Parentage, young: &Young) -> bool {
        let linked = self.net.units.iter().filter(|unit| unit.is_sex_linked()).count();
        young.sex.is_none() && (linked > 1 || (linked > 0 && parentage.fatherless()))
    }

    /// A young with variables of its own.
    fn separate_young(&mut self, parentage: &Parentage, young: Young) {
        let needed =
            |unit: usize| young.animal.is_some() || young.pending.iter().any(|p| p.touches(unit));
        let units: Vec<usize> = (0..self.net.units.len()).filter(|unit| needed(*unit)).collect();
        let sire = match &parentage.sire {
            Some(sire) => sire.clone(),
            None => self.new_sire(parentage),
        };
        if let (None, Some(selector), Some(id)) = (&parentage.sire, sire.selector, young.animal) {
            self.in_doubt(parentage, Some(id), selector);
        }
        let mixed_up = young.may_be_mixed_up.then(|| {
            let variable = self.net.graph.variable(2);
            let chance = self.colony.assumptions.mix_up;
            self.net.base.push((variable, vec![1.0 - chance, chance]));
            variable
        });
        let own = young.animal.filter(|id| !self.net.animals[id.0].is_empty());
        let mut variables = vec![GenotypeVariable::absent(); self.net.units.len()];
        for unit in units {
            let made = match own {
                Some(id) => self.net.animals[id.0][unit].clone(),
                None => self.new_variable(unit, young.sex),
            };
            let pair = [sire.variables[unit], parentage.dams[unit]];
            self.transmit(unit, young.sex, made.variable, pair, parentage.fatherless(), mixed_up);
            variables[unit] = made;
        }
        let ids: Vec<VariableId> = variables.iter().map(|made| made.variable).collect();
        self.sex_of_young(parentage, &sire, young.sex, &ids, mixed_up);
        self.select_young(parentage, &sire, young.animal, 1);
        if let Some(id) = young.animal {
            self.net.animals[id.0] = variables;
        }
        for part in records(young.pending) {
            self.tie(parentage.clutch, young.animal, &ids, part);
        }
        self.egg_that_hatched(parentage, &sire);
    }

    fn tie(
        &mut self,
        clutch: ClutchId,
        animal: Option<AnimalId>,
        variables: &[VariableId],
        part: Vec<Pending>,
    ) {
        let item = self.attach_to(variables, animal, part);
        if let (Some(item), None) = (item, animal) {
            self.net.items[item].kind = ItemKind::Count;
            self.net.items[item].clutch = Some(clutch);
        }
    }

    /// A young that shares its variables with earlier ones that nothing tells apart.
    fn shared_young(&mut self, parentage: &Parentage, young: Young, alike: &mut Alike) {
        let Some(sire) = &parentage.sire else { return };
        let needed = young.animal.is_some();
        let mut variables = Vec::with_capacity(self.net.units.len());
        let mut fresh = Vec::with_capacity(self.net.units.len());
        for unit in 0..self.net.units.len() {
            let linked = self.net.units[unit].is_sex_linked();
            let key = key(unit, young.sex.filter(|_| linked), &young.pending);
            if let Some(shared) = key.as_ref().and_then(|key| alike.get(key)) {
                self.net.graph.another_copy(shared.variable);
                variables.push(shared.clone());
                fresh.push(false);
                continue;
            }
            if !needed && key.as_ref().is_some_and(|(_, _, weights)| weights.is_empty()) {
                variables.push(GenotypeVariable::absent());
                fresh.push(false);
                continue;
            }
            let made = self.new_variable(unit, young.sex);
            let pair = [sire.variables[unit], parentage.dams[unit]];
            self.transmit(unit, young.sex, made.variable, pair, parentage.fatherless(), None);
            if let Some(key) = key {
                alike.insert(key, made.clone());
            }
            variables.push(made);
            fresh.push(true);
        }
        let ids: Vec<VariableId> = variables.iter().map(|made| made.variable).collect();
        match young.sex {
            Some(Sex::Female) => self.sexed[0] += 1,
            Some(Sex::Male) => self.sexed[1] += 1,
            None => {}
        }
        self.chosen += 1;
        if let Some(id) = young.animal {
            self.net.animals[id.0] = variables;
        }
        for mut part in records(young.pending) {
            part.retain(|p| p.touches_any(&fresh));
            self.tie(parentage.clutch, young.animal, &ids, part);
        }
    }

    /// Eggs of a clutch whose sire is one: those that hatched and those that were lost.
    fn eggs(&mut self, parentage: &Parentage) {
        if !self.net.units.iter().any(Unit::can_be_lethal) {
            return;
        }
        let clutch = self.colony.clutch(parentage.clutch);
        let Some(lost) = clutch.lost_eggs() else { return };
        match &parentage.sire {
            Some(sire) => self.egg_losses(parentage, &sire.clone(), clutch.recorded(), lost),
            None => {
                for _ in 0..lost {
                    let sire = self.new_sire(parentage);
                    self.egg_losses(parentage, &sire, 0, 1);
                }
            }
        }
    }

    /// Where each egg has its own sire, a hatched one counts by itself.
    fn egg_that_hatched(&mut self, parentage: &Parentage, sire: &Sire) {
        let lethal = self.net.units.iter().any(Unit::can_be_lethal);
        let known = self.colony.clutch(parentage.clutch).lost_eggs().is_some();
        if parentage.sire.is_none() && lethal && known {
            self.egg_losses(parentage, sire, 1, 0);
        }
    }
}

/// What tells a leaf sibling apart at one unit; `None` when a record ties it to other units.
fn key(unit: usize, sex: Option<Sex>, pending: &[Pending]) -> Option<Key> {
    let mut bits = Vec::new();
    for part in pending.iter().filter(|part| part.touches(unit)) {
        match &part.weights {
            Weights::One(_, weights) => bits.extend(weights.iter().map(|w| w.to_bits())),
            Weights::Several(..) => return None,
        }
    }
    Some((unit, sex, bits))
}
