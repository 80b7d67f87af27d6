//! Selective records: what was only written down, or kept, for a look.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::assemble::Builder;
use super::items::{Effect, ItemKind};
use super::siring::{Parentage, Sire, Source};
use super::{FactorId, VariableId};
use crate::genetics::{Naming, Unit, fatherless_sex};
use crate::records::{AnimalId, GeneId, Look, Sex, SexSystem};

/// The chance that a hatched young of given parents is called by a look of the selection.
pub(super) struct Shown {
    /// The units it depends on.
    units: Vec<usize>,
    /// For each combination of sire and dam at those units, sire and dam of the first slowest.
    chances: Vec<f64>,
    /// The same for an animal from unrelated stock.
    unrelated: f64,
}

impl Builder<'_> {
    /// Divides the term of recorded young by the chance that they would be recorded.
    ///
    /// # Source
    ///
    /// Selection: `recorded_only` R: each recorded hatchling's term is divided by P(its call names
    /// a look of R, and it hatches | parents' genotypes, the sire chosen), misread, masks and
    /// penetrance included, inside the sum over parents; 0/0 = 0.
    pub(super) fn select_young(
        &mut self,
        parentage: &Parentage,
        sire: &Sire,
        animal: Option<AnimalId>,
        number: u32,
    ) {
        let clutch = self.colony.clutch(parentage.clutch);
        if number == 0 || !self.selects(&clutch.recorded_only) {
            return;
        }
        if animal.is_some_and(|id| self.is_first_of(id, &clutch.recorded_only)) {
            return;
        }
        let has_id = animal.is_some_and(|id| self.colony.animal(id).id.is_some());
        let mix_up = if has_id { self.colony.assumptions.mix_up } else { 0.0 };
        let Some(shown) = self.shown(parentage, &clutch.recorded_only, None) else { return };
        let exponent = i32::try_from(number).unwrap_or(i32::MAX);
        let factor = |chance: &f64| {
            let recorded = (1.0 - mix_up) * chance + mix_up * shown.unrelated;
            if recorded > 0.0 { recorded.recip().powi(exponent) } else { 0.0 }
        };
        let values = shown.chances.iter().map(factor).collect();
        let scope = parents(&shown.units, &sire.variables, &parentage.dams);
        let slot = self.net.graph.slot(&scope);
        self.selection_item(parentage, slot, values);
    }

    /// The selection of a whole clutch, and of its young that share their variables.
    ///
    /// # Source
    ///
    /// Selection: `kept_if` R with n recorded: the clutch is divided by
    /// 1 − (1 − P(call in R | parents))^n.
    pub(super) fn select_clutch(&mut self, parentage: &Parentage) {
        let number = std::mem::take(&mut self.chosen);
        if let Some(sire) = parentage.sire.clone() {
            self.select_young(parentage, &sire, None, number);
        }
        let clutch = self.colony.clutch(parentage.clutch);
        let first = |id: &AnimalId| self.is_first_of(*id, &clutch.kept_if);
        if !self.selects(&clutch.kept_if) || clutch.hatchlings.iter().any(first) {
            return;
        }
        let each_egg = parentage.sire.is_none().then_some(parentage);
        let Some(shown) = self.shown(parentage, &clutch.kept_if, each_egg) else { return };
        let with_id = clutch.hatchlings.iter().filter(|id| self.colony.animal(**id).id.is_some());
        let with_id = i32::try_from(with_id.count()).unwrap_or(i32::MAX);
        let without_id = i32::try_from(clutch.recorded()).unwrap_or(i32::MAX) - with_id;
        let mix_up = self.colony.assumptions.mix_up;
        let unrelated = shown.unrelated;
        let factor = |chance: f64| {
            let mixed = (1.0 - mix_up) * chance + mix_up * unrelated;
            let kept = 1.0 - (1.0 - chance).powi(without_id) * (1.0 - mixed).powi(with_id);
            if kept > 0.0 { kept.recip() } else { 0.0 }
        };
        let (scope, chances) = match &parentage.sire {
            Some(sire) => {
                let scope = parents(&shown.units, &sire.variables, &parentage.dams);
                (scope, shown.chances.clone())
            }
            None => self.over_candidates(parentage, &shown),
        };
        let slot = self.net.graph.slot(&scope);
        self.selection_item(parentage, slot, chances.into_iter().map(factor).collect());
    }

    /// Whether these looks select at all: what a gene of unknown inheritance selects says nothing
    /// where it is left out.
    fn selects(&self, looks: &[Look]) -> bool {
        let here =
            |look: &Look| self.net.units.iter().any(|unit| unit.locus_of(look.gene).is_some());
        !looks.is_empty() && looks.iter().all(here)
    }

    /// Whether a suspected gene of one of these looks was first noticed on an animal.
    ///
    /// METHOD: that it certainly shows the look is given, so that it was written down, or its
    /// clutch kept, says no more.
    fn is_first_of(&self, animal: AnimalId, looks: &[Look]) -> bool {
        let first = |look: &Look| self.colony.gene(look.gene).first_seen.animals.contains(&animal);
        looks.iter().any(first)
    }

    fn selection_item(&mut self, parentage: &Parentage, slot: FactorId, values: Vec<f64>) {
        let place = self.colony.clutch(parentage.clutch).place;
        let item = self.item(ItemKind::Selection, None, None, place);
        self.net.items[item].clutch = Some(parentage.clutch);
        self.net.items[item].effects.push(Effect::Fill(slot, values));
    }

    /// The chance over the dam and every candidate, where each egg has its own sire.
    fn over_candidates(&self, parentage: &Parentage, shown: &Shown) -> (Vec<VariableId>, Vec<f64>) {
        let mut scope: Vec<VariableId> = shown.units.iter().map(|u| parentage.dams[*u]).collect();
        let mut place: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for (at, unit) in shown.units.iter().enumerate() {
            for (candidate, source) in parentage.sources[*unit].iter().enumerate() {
                if let Source::Variable(variable) = source {
                    place.insert((candidate, at), scope.len());
                    scope.push(*variable);
                }
            }
        }
        let sizes: Vec<usize> = scope.iter().map(|v| self.net.graph.states(*v)).collect();
        let behind = |at: usize| sizes[at + 1..].iter().product::<usize>();
        let strides: Vec<usize> = (0..sizes.len()).map(behind).collect();
        let kept_both = self.kept_both(parentage.fatherless());
        let sires = |unit: &usize| {
            let males = self.net.units[*unit].states_of(Some(Sex::Male)).len();
            males + usize::from(kept_both.is_some())
        };
        let sires: Vec<usize> = shown.units.iter().map(sires).collect();
        let entries = sizes.iter().product();
        let mut values = Vec::with_capacity(entries);
        for entry in 0..entries {
            let state = |at: usize| entry / strides[at] % sizes[at];
            let mut chance = 0.0;
            for (candidate, (_, weight)) in parentage.candidates.iter().enumerate() {
                let mut index = 0;
                for (at, sires) in sires.iter().enumerate() {
                    let sire = place.get(&(candidate, at)).map_or(sires - 1, |at| state(*at));
                    let dam = state(at);
                    index = (index * sires + sire) * sizes[at] + dam;
                }
                chance += weight * shown.chances[index];
            }
            values.push(chance);
        }
        (scope, values)
    }

    /// Whether there is room for the tables of a selection; a graph that lacks one says how much
    /// it would have taken.
    ///
    /// `each_egg` are the parents of a clutch whose eggs have sires of their own.
    fn fits(&mut self, naming: &Naming, units: &[usize], each_egg: Option<&Parentage>) -> bool {
        /// Chances, as they are summed up; the record that holds them, the evidence that does.
        const COPIES: u64 = 4;
        let all = |sizes: &mut dyn Iterator<Item = usize>| {
            sizes.fold(size_of::<f64>() as u64, |all, size| all.saturating_mul(size as u64))
        };
        let mut of_sex = |sex: Sex| {
            let sizes: Vec<usize> =
                units.iter().map(|at| self.states(*at, Some(sex)).len()).collect();
            sizes
        };
        let (dams, sires) = (of_sex(Sex::Female), of_sex(Sex::Male));
        let pairs = all(&mut dams.iter().copied().chain(sires.iter().map(|sires| sires + 1)));
        let candidates = each_egg.map_or(0, |parentage| {
            let known = units.iter().zip(&sires).flat_map(|(at, sires)| {
                let own = |source: &&Source| matches!(source, Source::Variable(_));
                parentage.sources[*at].iter().filter(own).map(|_| *sires)
            });
            all(&mut dams.iter().copied().chain(known))
        });
        let looks = naming.looks().saturating_mul(size_of::<usize>() as u64 * 8);
        let bytes = pairs.saturating_add(candidates).saturating_mul(COPIES).saturating_add(looks);
        self.takes(bytes, 0)
    }

    /// `None` where there is no room for it.
    fn shown(
        &mut self,
        parentage: &Parentage,
        looks: &[Look],
        each_egg: Option<&Parentage>,
    ) -> Option<Arc<Shown>> {
        let naming = Naming::new(self.colony, &self.net.units, looks);
        let mut units: Vec<usize> = naming.genes().map(|gene| self.net.genes[gene.0].0).collect();
        units.sort_unstable();
        units.dedup();
        if !self.fits(&naming, &units, each_egg) {
            return None;
        }
        let key = (looks.to_vec(), parentage.fatherless());
        if let Some(shown) = self.shown.get(&key) {
            return Some(shown.clone());
        }
        let kept_both = self.kept_both(parentage.fatherless());
        // Sex-linked units are independent given the sex only.
        let linked = units.iter().any(|unit| self.net.units[*unit].is_sex_linked());
        let sexes: &[Option<Sex>] =
            if linked { &[Some(Sex::Female), Some(Sex::Male)] } else { &[None] };
        let genes: Vec<Vec<GeneId>> = units
            .iter()
            .map(|unit| self.net.units[*unit].loci.iter().map(|locus| locus.gene).collect())
            .collect();
        let mut chances: Vec<f64> = Vec::new();
        let mut unrelated = 0.0;
        for sex in sexes {
            let by_unit: Vec<Vec<Vec<f64>>> = units
                .iter()
                .map(|unit| {
                    let of = &self.net.units[*unit];
                    let sex = sex.filter(|_| of.is_sex_linked());
                    let young: Vec<f64> = of.brood(kept_both).hatched(sex).into_iter().collect();
                    naming.classes(of, &of.states_of(sex), &young)
                })
                .collect();
            let of_sex = self.of_sex(parentage, *sex, &units);
            let summed = naming.over_parents(&by_unit, &genes);
            if chances.is_empty() {
                chances = vec![0.0; summed.len()];
            }
            for (at, (sum, chance)) in chances.iter_mut().zip(summed).enumerate() {
                *sum += of_sex(at) * chance;
            }
            let strangers: Vec<Vec<Vec<f64>>> = units
                .iter()
                .map(|unit| {
                    let of = &self.net.units[*unit];
                    let sex = sex.filter(|_| of.is_sex_linked());
                    naming.classes(of, &of.states_of(sex), &self.unrelated(*unit, sex))
                })
                .collect();
            let share = if linked { 0.5 } else { 1.0 };
            unrelated +=
                share * naming.over_parents(&strangers, &genes).first().copied().unwrap_or(0.0);
        }
        let shown = Arc::new(Shown { units, chances, unrelated });
        self.shown.insert(key, shown.clone());
        Some(shown)
    }

    /// The chance of a sex for each combination of parents; 1 where sex does not matter.
    fn of_sex<'b>(
        &'b self,
        parentage: &'b Parentage,
        sex: Option<Sex>,
        units: &'b [usize],
    ) -> impl Fn(usize) -> f64 + 'b {
        let heterogametic = match self.colony.sex_system {
            SexSystem::Xy => Some(Sex::Male),
            SexSystem::Zw => Some(Sex::Female),
            SexSystem::Environmental => None,
        };
        let kept_both = self.colony.assumptions.virgin_heterozygosity;
        let fatherless = parentage.fatherless();
        let last = units.last().copied();
        move |at: usize| {
            let Some(sex) = sex else { return 1.0 };
            let Some(last) = last.filter(|_| fatherless) else { return 0.5 };
            let of: &Unit = &self.net.units[last];
            let dams = of.states_of(Some(Sex::Female)).len();
            let males = of.states_of(Some(Sex::Male)).len();
            // The last state of a sire is "no father", and all units agree on it.
            if at / dams % (males + 1) == males {
                fatherless_sex(heterogametic, kept_both, sex)
            } else {
                0.5
            }
        }
    }
}

/// The variables of the parents at these units: sire and dam of each in turn.
fn parents(units: &[usize], sires: &[VariableId], dams: &[VariableId]) -> Vec<VariableId> {
    units.iter().flat_map(|unit| [sires[*unit], dams[*unit]]).collect()
}
