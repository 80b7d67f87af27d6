//! The variables of animals without recorded parents.

use super::VariableId;
use super::assemble::Builder;
use super::colony_network::GenotypeVariable;
use super::items::ItemKind;
use super::pending::{Pending, Weights, single};
use crate::genetics::{
    CallSheet, FounderEvidence, GeneCall, Sighting, Unit, doubtful_sheets, first_found,
};
use crate::records::{AnimalId, GeneId, Inheritance, Says, Sex, Statement};

/// One founder at one unit: how it starts out depends on which of its records are counted in.
#[derive(Clone, Debug)]
pub(super) struct Founder {
    pub(super) variable: VariableId,
    pub(super) unit: usize,
    pub(super) sex: Option<Sex>,
    /// For each locus of the unit.
    pub(super) told: Vec<Told>,
    /// An uncertain call between identities that takes the place of the starting term.
    pub(super) replaced_by: Option<(usize, CallSheet)>,
    /// The weights with every statement and own look counted in, filled once.
    pub(super) start: Vec<f64>,
}

/// What is known of a founder at one locus, each with the item it comes from.
#[derive(Clone, Debug, Default)]
pub(super) struct Told {
    pub(super) statement: Option<(usize, Says, f64)>,
    pub(super) own_look: Option<(usize, GeneCall)>,
    /// The look class it certainly shows: a suspected gene was first noticed on it.
    pub(super) certain: Option<usize>,
}

impl Told {
    fn counted<'a>(&'a self, counted: &dyn Fn(usize) -> bool) -> FounderEvidence<'a> {
        let statement = self.statement.as_ref().filter(|(item, ..)| counted(*item));
        let own_look = self.own_look.as_ref().filter(|(item, _)| counted(*item));
        FounderEvidence {
            statement: statement.map(|(_, says, trust)| (*says, *trust)),
            own_look: own_look.map(|(_, call)| call),
            certain: self.certain,
        }
    }
}

impl Founder {
    /// The starting weights of its states given which items are counted in; `None` when an
    /// uncertain call takes their place.
    pub(super) fn weights(&self, units: &[Unit], on: &[bool]) -> Option<Vec<f64>> {
        if let Some((item, _)) = &self.replaced_by {
            let start = || self.compute(&units[self.unit], &|item| on[item]);
            return (!on[*item]).then(start);
        }
        if self.items().all(|item| on[item]) {
            return Some(self.start.clone());
        }
        Some(self.compute(&units[self.unit], &|item| on[item]))
    }

    /// What it may be, given which items are counted in: nothing that those leave open is ruled out.
    pub(super) fn freed(&self, units: &[Unit], on: &[bool]) -> Option<Vec<f64>> {
        if self.items().all(|item| on[item]) {
            return self.weights(units, on);
        }
        if self.replaced_by.as_ref().is_some_and(|(item, _)| on[*item]) {
            return None;
        }
        let counted: Vec<FounderEvidence<'_>> =
            self.told.iter().map(|told| told.counted(&|item| on[item])).collect();
        let whole = |(told, counted): (&Told, &FounderEvidence<'_>)| {
            let all = told.counted(&|_| true);
            counted.statement.is_some() == all.statement.is_some()
                && counted.own_look.is_some() == all.own_look.is_some()
                && self.replaced_by.is_none()
        };
        let whole: Vec<bool> = self.told.iter().zip(&counted).map(whole).collect();
        Some(units[self.unit].founder_support(self.sex, &counted, &whole))
    }

    /// Whether an uncertain call takes its place, and weighs otherwise since a statement is left
    /// out.
    pub(super) fn reweighs(&self, item: usize, on: &[bool]) -> bool {
        self.replaced_by.as_ref().is_some_and(|(by, _)| *by == item)
            && !self.items().all(|item| on[item])
    }

    /// The weights under each identity of the uncertain call that takes its place, given which
    /// items are counted in; with `freeing`, nothing that those leave open is ruled out.
    pub(super) fn by_identity(&self, units: &[Unit], on: &[bool], freeing: bool) -> Vec<Vec<f64>> {
        let unit = &units[self.unit];
        let alternatives = self.replaced_by.iter().flat_map(|(_, sheet)| &sheet.alternatives);
        let under = |(_, calls): &(f64, Vec<GeneCall>)| {
            let calls: Vec<_> = unit.loci.iter().map(|locus| &calls[locus.gene.0]).collect();
            self.under(unit, &calls, &|item| on.get(item).copied().unwrap_or(true), freeing)
        };
        alternatives.map(under).collect()
    }

    /// The weights of an uncertain call that concerns no other unit, or on which all identities
    /// agree here.
    pub(super) fn by_all_identities(&self, units: &[Unit], under: &[Vec<f64>]) -> Vec<f64> {
        let Some((_, sheet)) = self.replaced_by.as_ref().filter(|_| !self.agree(units)) else {
            return under.first().cloned().unwrap_or_default();
        };
        let mut mixture = vec![0.0; units[self.unit].states_of(self.sex).len()];
        for ((fit, _), under) in sheet.alternatives.iter().zip(under) {
            mixture.iter_mut().zip(under).for_each(|(sum, weight)| *sum += fit * weight);
        }
        mixture
    }

    /// Whether every identity of the uncertain call says the same of this unit.
    fn agree(&self, units: &[Unit]) -> bool {
        let alternatives = self.replaced_by.iter().flat_map(|(_, sheet)| &sheet.alternatives);
        let mut calls = alternatives.map(|(_, calls)| {
            units[self.unit].loci.iter().map(|locus| &calls[locus.gene.0]).collect::<Vec<_>>()
        });
        let first = calls.next();
        calls.all(|other| Some(&other) == first.as_ref())
    }

    /// The items that its starting weights depend on.
    pub(super) fn items(&self) -> impl Iterator<Item = usize> + '_ {
        let told = self.told.iter().flat_map(|told| {
            let statement = told.statement.as_ref().map(|(item, ..)| *item);
            [statement, told.own_look.as_ref().map(|(item, _)| *item)]
        });
        told.chain([self.replaced_by.as_ref().map(|(item, _)| *item)]).flatten()
    }

    /// Fills in how it starts out with every statement and own look counted in.
    ///
    /// Where a call names several identities, each weighs as the call says.
    pub(super) fn started(mut self, units: &[Unit]) -> Self {
        let unit = &units[self.unit];
        let Some((_, sheet)) = &self.replaced_by else {
            self.start = self.compute(unit, &|_| true);
            return self;
        };
        let looks_only = |call: &GeneCall| match call.named() {
            Some(_) => call.clone(),
            None => GeneCall::Unread,
        };
        let mut mixture = vec![0.0; unit.states_of(self.sex).len()];
        for (fit, calls) in &sheet.alternatives {
            let calls: Vec<GeneCall> =
                unit.loci.iter().map(|locus| looks_only(&calls[locus.gene.0])).collect();
            let calls: Vec<&GeneCall> = calls.iter().collect();
            let under = self.under(unit, &calls, &|_| true, false);
            mixture.iter_mut().zip(under).for_each(|(sum, weight)| *sum += fit * weight);
        }
        self.start = mixture;
        self
    }

    fn compute(&self, unit: &Unit, counted: &dyn Fn(usize) -> bool) -> Vec<f64> {
        let evidence: Vec<FounderEvidence<'_>> =
            self.told.iter().map(|told| told.counted(counted)).collect();
        unit.founder(self.sex, &evidence)
    }

    /// The weights under one identity of an uncertain call: its calls, one for each locus.
    ///
    /// # Source
    ///
    /// In an `either` list each alternative has the term of an own look: with a statement
    /// t·P(G | S)·P(call | G) + (1−t)·B(G), without one B(G).
    fn under(
        &self,
        unit: &Unit,
        calls: &[&GeneCall],
        counted: &dyn Fn(usize) -> bool,
        freeing: bool,
    ) -> Vec<f64> {
        let mut evidence: Vec<FounderEvidence<'_>> =
            self.told.iter().map(|told| told.counted(counted)).collect();
        let less = |(told, of): (&Told, &FounderEvidence<'_>)| {
            told.statement.is_some() != of.statement.is_some()
        };
        let whole: Vec<bool> =
            self.told.iter().zip(&evidence).map(|pair| !(freeing && less(pair))).collect();
        let states = unit.states_of(self.sex);
        let mut likelihood = vec![1.0; states.len()];
        for (at, call) in calls.iter().enumerate() {
            if call.named().is_some() {
                evidence[at].own_look = Some(call);
            } else {
                let weights = unit.spread(at, &call.likelihood(&unit.loci[at]), &states);
                likelihood.iter_mut().zip(weights).for_each(|(l, w)| *l *= w);
            }
        }
        let start = if freeing {
            unit.founder_support(self.sex, &evidence, &whole)
        } else {
            unit.founder(self.sex, &evidence)
        };
        start.into_iter().zip(likelihood).map(|(s, l)| s * l).collect()
    }
}

impl Builder<'_> {
    pub(super) fn founder(&mut self, id: AnimalId) {
        let colony = self.colony;
        let animal = colony.animal(id);
        let first = self.net.founders.len();
        self.net.first_founder[id.0] = Some(first);
        for unit in 0..self.net.units.len() {
            let made = self.new_founder(unit, animal.sex);
            self.net.animals[id.0].push(made);
        }
        self.sex_of_founder(id);
        let known = |s: &&Statement| colony.gene(s.gene).inheritance != Inheritance::Unknown;
        for statement in animal.statements.iter().filter(known) {
            let trust = animal.trust.unwrap_or(colony.assumptions.trust);
            let item =
                self.item(ItemKind::Statement, Some(id), Some(statement.gene), statement.place);
            self.told(first, statement.gene).statement = Some((item, statement.says, trust));
        }
        for (gene, class) in first_found(colony, id) {
            self.told(first, gene).certain = Some(class);
        }
        for sighting in doubtful_sheets(colony, id) {
            self.founder_sighting(id, first, &sighting);
        }
        for pending in self.readings(animal) {
            self.attach(id, pending);
        }
    }

    /// A founder's variable at one unit, drawn from unrelated stock until something is told.
    pub(super) fn new_founder(&mut self, unit: usize, sex: Option<Sex>) -> GenotypeVariable {
        let made = self.new_variable(unit, sex);
        self.net.founders.push(Founder {
            variable: made.variable,
            unit,
            sex,
            told: vec![Told::default(); self.net.units[unit].loci.len()],
            replaced_by: None,
            start: Vec::new(),
        });
        made
    }

    fn told(&mut self, first: usize, gene: GeneId) -> &mut Told {
        let (unit, locus) = self.net.genes[gene.0];
        &mut self.net.founders[first + unit].told[locus]
    }

    fn founder_sighting(&mut self, id: AnimalId, first: usize, sighting: &Sighting) {
        if let [(_, calls)] = sighting.sheet.alternatives.as_slice() {
            for gene in sighting.sheet.genes() {
                let call = &calls[gene.0];
                if call.named().is_some() {
                    let item = self.item(ItemKind::OwnLook, Some(id), Some(gene), sighting.place);
                    self.told(first, gene).own_look = Some((item, call.clone()));
                } else {
                    let weights = self.call_weights(id, gene, call);
                    self.attach(id, single(ItemKind::Call, gene, sighting.place, weights));
                }
            }
            return;
        }
        // METHOD: an own look holds for each identity of the call, so the identity takes the
        // place of the starting term at every unit that the call reads.
        let item = self.net.items.len();
        let fits: Vec<f64> = sighting.sheet.alternatives.iter().map(|(fit, _)| *fit).collect();
        let read = self.units_read(&sighting.sheet);
        for unit in &read {
            self.net.founders[first + unit].replaced_by = Some((item, sighting.sheet.clone()));
        }
        let units = &self.net.units;
        let founder = |unit: usize| &self.net.founders[first + unit];
        let (alone, mut together): (Vec<usize>, Vec<usize>) =
            read.into_iter().partition(|unit| founder(*unit).agree(units));
        let alone =
            if together.len() == 1 { [alone, together.split_off(0)].concat() } else { alone };
        let under = |unit: usize| founder(unit).by_identity(units, &[], false);
        let one =
            |unit: usize| Weights::One(unit, founder(unit).by_all_identities(units, &under(unit)));
        let mut weights: Vec<Weights> = alone.into_iter().map(one).collect();
        if !together.is_empty() {
            let by_unit = together.into_iter().map(|unit| (unit, under(unit))).collect();
            weights.push(Weights::Several(fits, by_unit));
        }
        let place = sighting.place;
        let part = |weights| Pending { kind: ItemKind::Either, gene: None, place, weights };
        self.attach_together(id, weights.into_iter().map(part).collect());
    }
}
