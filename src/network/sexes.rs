//! Sex: evidence where chromosomes decide it, and what ties sex-linked units together where it is
//! not known.

use super::VariableId;
use super::assemble::Builder;
use super::siring::{Parentage, Sire};
use crate::genetics::fatherless_sex;
use crate::records::{AnimalId, Candidate, Sex, SexSystem};

const SEXES: [Sex; 2] = [Sex::Female, Sex::Male];

impl Builder<'_> {
    /// The sex with unlike chromosomes, where chromosomes decide.
    fn heterogametic(&self) -> Option<Sex> {
        match self.colony.sex_system {
            SexSystem::Xy => Some(Sex::Male),
            SexSystem::Zw => Some(Sex::Female),
            SexSystem::Environmental => None,
        }
    }

    /// The chance that a young without a father keeps both alleles, where that is possible.
    pub(super) fn kept_both(&self, fatherless: bool) -> Option<f64> {
        fatherless.then_some(self.colony.assumptions.virgin_heterozygosity)
    }

    /// A founder of unknown sex is of the same sex at every sex-linked unit.
    pub(super) fn sex_of_founder(&mut self, id: AnimalId) {
        let linked = self.linked();
        if self.colony.animal(id).sex.is_some() || linked.len() < 2 {
            return;
        }
        let variables: Vec<VariableId> =
            self.net.animals[id.0].iter().map(|made| made.variable).collect();
        let sex = self.sex_variable(&linked, &variables);
        // One half belongs to each unit's own table; it is to count once.
        let weight = f64::from(1 << (linked.len() - 1));
        self.net.base.push((sex, vec![weight; 2]));
    }

    fn linked(&self) -> Vec<usize> {
        (0..self.net.units.len()).filter(|at| self.net.units[*at].is_sex_linked()).collect()
    }

    /// A variable for the sex of an animal, tied to its states at these units.
    fn sex_variable(&mut self, linked: &[usize], variables: &[VariableId]) -> VariableId {
        let sex = self.net.graph.variable(2);
        for unit in linked {
            let states = self.states(*unit, None);
            let of = &self.net.units[*unit];
            let fits = |sex: &Sex| -> Vec<f64> {
                let one = |state: &usize| f64::from(u8::from(of.sex[*state] == Some(*sex)));
                states.iter().map(one).collect()
            };
            let values = SEXES.iter().flat_map(fits).collect();
            let table = self.net.graph.table(values);
            self.net.graph.factor(&[sex, variables[*unit]], table);
        }
        sex
    }

    /// Counts the sex of one young in: evidence on whether there was a father.
    ///
    /// # Source
    ///
    /// Each sex has chance one half with a father; without one as [`fatherless_sex`] says.
    /// Environmental sex says nothing.
    pub(super) fn sex_of_young(
        &mut self,
        parentage: &Parentage,
        sire: &Sire,
        sex: Option<Sex>,
        variables: &[VariableId],
        mixed_up: Option<VariableId>,
    ) {
        if self.heterogametic().is_none() {
            return;
        }
        match sex {
            Some(sex) => {
                let datum = self.net.graph.variable(1);
                self.tie_sex(parentage, sire, datum, &[sex], 1.0, mixed_up);
            }
            None => self.unknown_sex(parentage, sire, variables, mixed_up),
        }
    }

    /// Counts in the sexes of the young of a clutch that share their variables.
    pub(super) fn sexes_of_clutch(&mut self, parentage: &Parentage) {
        let numbers = std::mem::take(&mut self.sexed);
        let Some(sire) = parentage.sire.clone() else { return };
        if self.heterogametic().is_none() {
            return;
        }
        for (sex, number) in SEXES.into_iter().zip(numbers).filter(|(_, number)| *number > 0) {
            let datum = self.net.graph.copies_of_variable(1, number);
            self.tie_sex(parentage, &sire, datum, &[sex], 1.0, None);
        }
    }

    fn unknown_sex(
        &mut self,
        parentage: &Parentage,
        sire: &Sire,
        variables: &[VariableId],
        mixed_up: Option<VariableId>,
    ) {
        let present = |unit: &usize| variables[*unit] != VariableId(usize::MAX);
        let linked: Vec<usize> = self.linked().into_iter().filter(present).collect();
        if linked.is_empty() || (linked.len() < 2 && !parentage.fatherless()) {
            return;
        }
        let sex = self.sex_variable(&linked, variables);
        // One half belongs to each unit's own table already.
        let doubled = f64::from(1 << linked.len());
        self.tie_sex(parentage, sire, sex, &SEXES, doubled, mixed_up);
    }

    /// Ties a variable for sex, whose states are `sexes`, to who the sire is.
    fn tie_sex(
        &mut self,
        parentage: &Parentage,
        sire: &Sire,
        variable: VariableId,
        sexes: &[Sex],
        scale: f64,
        mixed_up: Option<VariableId>,
    ) {
        let kept_both = self.colony.assumptions.virgin_heterozygosity;
        let of = |candidate: Candidate, sex: Sex| match candidate {
            Candidate::NoFather => fatherless_sex(self.heterogametic(), kept_both, sex),
            _ => 0.5,
        };
        if !parentage.fatherless() {
            self.net.base.push((variable, vec![0.5 * scale; sexes.len()]));
            return;
        }
        let mut values = Vec::new();
        for sex in sexes {
            for (candidate, _) in &parentage.candidates {
                values.push(scale * of(*candidate, *sex));
                values.extend(mixed_up.map(|_| scale * 0.5));
            }
        }
        let scope: Vec<VariableId> =
            [Some(variable), sire.selector, mixed_up].into_iter().flatten().collect();
        let table = self.net.graph.table(values);
        self.net.graph.factor(&scope, table);
    }
}
