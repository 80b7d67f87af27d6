//! The variables of animals without recorded parents.

use super::VariableId;
use crate::genetics::{FounderEvidence, GeneCall, Unit, founder_term};
use crate::records::{Says, Sex};

/// One founder at one unit: how it starts out depends on which of its records are counted in.
#[derive(Clone, Debug)]
pub(super) struct Founder {
    pub(super) variable: VariableId,
    pub(super) unit: usize,
    pub(super) sex: Option<Sex>,
    /// For each locus of the unit.
    pub(super) told: Vec<Told>,
    /// An uncertain call between identities that takes the place of the starting term.
    pub(super) replaced_by: Option<usize>,
    /// The weights with every item counted in, filled once.
    pub(super) complete: Vec<f64>,
}

/// What is known of a founder at one locus, each with the item it comes from.
#[derive(Clone, Debug, Default)]
pub(super) struct Told {
    pub(super) statement: Option<(usize, Says, f64)>,
    pub(super) own_look: Option<(usize, GeneCall)>,
}

impl Told {
    fn counted<'a>(&'a self, counted: &dyn Fn(usize) -> bool) -> FounderEvidence<'a> {
        let statement = self.statement.as_ref().filter(|(item, ..)| counted(*item));
        let own_look = self.own_look.as_ref().filter(|(item, _)| counted(*item));
        FounderEvidence {
            statement: statement.map(|(_, says, trust)| (*says, *trust)),
            own_look: own_look.map(|(_, call)| call),
        }
    }
}

impl Founder {
    /// The starting weights of its states given which items are counted in; `None` when an
    /// uncertain call takes their place.
    pub(super) fn weights(&self, units: &[Unit], on: &[bool]) -> Option<Vec<f64>> {
        if self.replaced_by.is_some_and(|item| on[item]) {
            return None;
        }
        let items = self.told.iter().flat_map(|told| {
            let statement = told.statement.as_ref().map(|(item, ..)| *item);
            [statement, told.own_look.as_ref().map(|(item, _)| *item)].into_iter().flatten()
        });
        if !self.complete.is_empty() && items.into_iter().all(|item| on[item]) {
            return Some(self.complete.clone());
        }
        Some(self.compute(&units[self.unit], &|item| on[item]))
    }

    /// Fills in the weights with every item counted in.
    pub(super) fn complete(mut self, units: &[Unit]) -> Self {
        self.complete = self.compute(&units[self.unit], &|_| true);
        self
    }

    fn compute(&self, unit: &Unit, counted: &dyn Fn(usize) -> bool) -> Vec<f64> {
        let terms = |at: usize, sex: Option<Sex>| {
            founder_term(&unit.loci[at], sex, &self.told[at].counted(counted))
        };
        unit.founder(self.sex, &terms)
    }

    /// The weights under one identity of an uncertain call: its calls, one for each locus.
    pub(super) fn under(&self, unit: &Unit, calls: &[&GeneCall]) -> Vec<f64> {
        let terms = |at: usize, sex: Option<Sex>| {
            let mut told = self.told[at].counted(&|_| true);
            let call = calls[at];
            if call.named().is_some() {
                told.own_look = Some(call);
                return founder_term(&unit.loci[at], sex, &told);
            }
            let start = founder_term(&unit.loci[at], sex, &told);
            start.into_iter().zip(call.likelihood(&unit.loci[at])).map(|(s, l)| s * l).collect()
        };
        unit.founder(self.sex, &terms)
    }
}
