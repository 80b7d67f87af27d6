//! Who sired a clutch, or an egg: selectors, and the sire's effective genotype.
//!
//! METHOD: a table of the child over the dam and all candidates would grow with each candidate.
//! The sire's *effective* genotype is a variable of its own, tied to each candidate by one small
//! factor: whoever the selector names, the effective genotype is his.

use super::assemble::Builder;
use super::{TableId, VariableId};
use crate::records::{AnimalId, Candidate, Clutch, ClutchId, Parent, Sex, SiringMode};

/// The parents of a clutch, as variables.
#[derive(Clone, Debug)]
pub(super) struct Parentage {
    pub(super) clutch: ClutchId,
    pub(super) candidates: Vec<(Candidate, f64)>,
    /// The dam at each unit.
    pub(super) dams: Vec<VariableId>,
    /// The sire of the whole clutch; `None` when each egg has its own.
    pub(super) sire: Option<Sire>,
    /// The candidates at each unit, where each egg has its own sire.
    pub(super) sources: Vec<Vec<Source>>,
}

/// One sire, of a clutch or of an egg.
#[derive(Clone, Debug)]
pub(super) struct Sire {
    /// His genotype at each unit, or the effective one.
    pub(super) variables: Vec<VariableId>,
    /// Which candidate he is, where that is in doubt.
    pub(super) selector: Option<VariableId>,
}

/// Where the genotype of a candidate comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Source {
    /// A variable of its own.
    Variable(VariableId),
    /// Unrelated stock; nobody else needs to know him.
    Unrelated,
    /// There is no father.
    Nobody,
}

/// Tables that effective sires share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum SireTable {
    /// "Is this candidate, or another": unit, candidate, number of candidates, with no father.
    Is(usize, usize, usize, bool),
}

impl Parentage {
    /// Whether a birth without a father is possible.
    pub(super) fn fatherless(&self) -> bool {
        self.candidates.iter().any(|(candidate, _)| *candidate == Candidate::NoFather)
    }
}

impl Builder<'_> {
    /// The candidates of a clutch with their weights, the unrecorded other sire included.
    ///
    /// # Source
    ///
    /// `other_sire` adds `unknown` with that weight to every clutch with exactly one named sire.
    pub(super) fn candidates(&self, clutch: &Clutch) -> Vec<(Candidate, f64)> {
        let other = self.colony.assumptions.other_sire;
        match clutch.siring.candidates.as_slice() {
            [(Candidate::Known(sire), _)] if other > 0.0 => {
                vec![(Candidate::Known(*sire), 1.0 - other), (Candidate::Unknown, other)]
            }
            given => given.to_vec(),
        }
    }

    pub(super) fn parentage(&mut self, id: ClutchId) -> Parentage {
        let clutch = self.colony.clutch(id);
        let candidates = self.candidates(clutch);
        let units = 0..self.net.units.len();
        let dams = units.clone().map(|unit| self.dam(clutch.dam, unit)).collect();
        let mixed = clutch.siring.mode == SiringMode::Mixed && candidates.len() > 1;
        let mut parentage =
            Parentage { clutch: id, candidates, dams, sire: None, sources: Vec::new() };
        parentage.sources =
            units.map(|unit| self.sources(&parentage.candidates, unit, mixed)).collect();
        if !mixed {
            parentage.sire = Some(self.new_sire(&parentage));
        }
        parentage
    }

    fn dam(&mut self, dam: Parent, unit: usize) -> VariableId {
        match dam {
            Parent::Known(dam) => self.net.animals[dam.0][unit].variable,
            Parent::Unknown => self.new_founder(unit, Some(Sex::Female)).variable,
        }
    }

    /// Where each candidate's genotype comes from. An unrecorded male is one for the clutch: he
    /// needs a variable of his own where each egg chooses for itself, or where he is the only one.
    fn sources(
        &mut self,
        candidates: &[(Candidate, f64)],
        unit: usize,
        mixed: bool,
    ) -> Vec<Source> {
        let alone = candidates.len() == 1;
        let source = |(candidate, _): &(Candidate, f64)| match candidate {
            Candidate::Known(sire) => Source::Variable(self.net.animals[sire.0][unit].variable),
            Candidate::NoFather => Source::Nobody,
            Candidate::Unknown if mixed || alone => {
                Source::Variable(self.new_founder(unit, Some(Sex::Male)).variable)
            }
            Candidate::Unknown => Source::Unrelated,
        };
        candidates.iter().map(source).collect()
    }

    /// A sire for the clutch, or for one egg of it.
    pub(super) fn new_sire(&mut self, parentage: &Parentage) -> Sire {
        let units = 0..self.net.units.len();
        if parentage.candidates.len() == 1 {
            let of = |unit: usize| match parentage.sources[unit][0] {
                Source::Variable(sire) => sire,
                _ => self.nobody(unit),
            };
            return Sire { variables: units.map(of).collect(), selector: None };
        }
        let selector = self.net.graph.variable(parentage.candidates.len());
        let weights = parentage.candidates.iter().map(|(_, weight)| *weight).collect();
        self.net.base.push((selector, weights));
        let variables =
            units.map(|unit| self.effective(selector, &parentage.sources[unit], unit)).collect();
        Sire { variables, selector: Some(selector) }
    }

    /// A sire that is known not to be.
    fn nobody(&mut self, unit: usize) -> VariableId {
        let males = self.states(unit, Some(Sex::Male)).len();
        let variable = self.net.graph.variable(males + 1);
        self.holds_genotypes(variable, unit);
        let mut weights = vec![0.0; males + 1];
        weights[males] = 1.0;
        self.net.base.push((variable, weights));
        variable
    }

    /// The effective genotype of whoever the selector names.
    fn effective(&mut self, selector: VariableId, sources: &[Source], unit: usize) -> VariableId {
        let males = self.states(unit, Some(Sex::Male)).len();
        let fatherless = sources.contains(&Source::Nobody);
        let states = males + usize::from(fatherless);
        let effective = self.net.graph.variable(states);
        self.holds_genotypes(effective, unit);
        for (place, source) in sources.iter().enumerate() {
            if let Source::Variable(candidate) = source {
                let table = self.is_table(unit, place, sources.len(), males, fatherless);
                self.net.graph.factor(&[effective, selector, *candidate], table);
            }
        }
        if sources.iter().any(|source| !matches!(source, Source::Variable(_))) {
            let unrelated = self.unrelated(unit, Some(Sex::Male));
            let value = |state: usize, source: &Source| match source {
                Source::Variable(_) => 1.0,
                Source::Unrelated => unrelated.get(state).copied().unwrap_or(0.0),
                Source::Nobody => f64::from(u8::from(state == males)),
            };
            let values = (0..states)
                .flat_map(|state| sources.iter().map(move |source| value(state, source)));
            let table = self.net.graph.table(values.collect());
            self.net.graph.factor(&[effective, selector], table);
        }
        effective
    }

    /// f(E, S, G) = 1 when S is another candidate, else whether E is G.
    fn is_table(
        &mut self,
        unit: usize,
        place: usize,
        candidates: usize,
        males: usize,
        fatherless: bool,
    ) -> TableId {
        let key = SireTable::Is(unit, place, candidates, fatherless);
        if let Some(table) = self.sire_tables.get(&key) {
            return *table;
        }
        let states = males + usize::from(fatherless);
        let mut values = Vec::with_capacity(states * candidates * males);
        for effective in 0..states {
            for chosen in 0..candidates {
                for own in 0..males {
                    let fits = chosen != place || effective == own;
                    values.push(f64::from(u8::from(fits)));
                }
            }
        }
        let table = self.net.graph.table(values);
        self.sire_tables.insert(key, table);
        table
    }

    /// Chance of each state of an animal from unrelated stock.
    pub(super) fn unrelated(&self, unit: usize, sex: Option<Sex>) -> Vec<f64> {
        let of = &self.net.units[unit];
        of.founder(sex, &[])
    }
}

/// Whose sire is in doubt: a clutch, or one hatchling of it.
#[derive(Clone, Debug, PartialEq)]
pub struct SireInDoubt {
    /// The clutch.
    pub clutch: ClutchId,
    /// The hatchling, where each egg has its own sire.
    pub hatchling: Option<AnimalId>,
    /// The candidates with their weights, in the order of the states of the variable.
    pub candidates: Vec<(Candidate, f64)>,
    /// The variable that selects one of them.
    pub selector: VariableId,
}
