//! From a colony to its network.

use std::sync::Arc;

use rustc_hash::{FxHashMap, FxHashSet};

use super::colony_network::GenotypeVariable;
use super::founders::{Founder, Told};
use super::items::{Effect, Item, ItemKind};
use super::{ColonyNetwork, FactorGraph, TableId, VariableId};
use crate::genetics::{
    CallSheet, GeneCall, Locus, Sighting, call_sheets, reading_likelihood, units,
};
use crate::records::{
    Animal, AnimalId, Candidate, ClutchId, Colony, GeneId, Origin, Parent, Place, Sex,
};

/// Whether young that nothing tells apart share one variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grouping {
    /// Leaf siblings with equal records are one variable with copies: the fast way.
    Siblings,
    /// Every animal has variables of its own, so that its records can be changed alone.
    Apart,
}

/// Builds the network of a colony.
///
/// The colony must hold only what the model computes (see
/// [`not_computed_yet`](crate::records)); other keys are left out.
pub fn assemble(colony: &Colony, grouping: Grouping) -> ColonyNetwork {
    let mut builder = Builder::new(colony, grouping);
    for animal in colony.animal_ids() {
        if colony.animal(animal).origin == Origin::Founder {
            builder.founder(animal);
        } else if builder.apart.contains(&animal) {
            builder.separate_hatchling(animal);
        }
    }
    for clutch in colony.clutch_ids() {
        builder.clutch(clutch);
    }
    let Builder { mut net, .. } = builder;
    net.founders = net.founders.into_iter().map(|f| f.started(&net.units)).collect();
    net
}

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

pub(super) struct Builder<'a> {
    pub(super) colony: &'a Colony,
    pub(super) grouping: Grouping,
    pub(super) net: ColonyNetwork,
    /// Hatchlings with variables of their own.
    apart: FxHashSet<AnimalId>,
    states: FxHashMap<(usize, Option<Sex>), Arc<[usize]>>,
    transmissions: FxHashMap<(usize, Option<Sex>), TableId>,
}

impl<'a> Builder<'a> {
    fn new(colony: &'a Colony, grouping: Grouping) -> Self {
        let units = units(colony);
        let mut genes = vec![(0, 0); colony.genes.len()];
        for (at, unit) in units.iter().enumerate() {
            for (locus, of) in unit.loci.iter().enumerate() {
                genes[of.gene.0] = (at, locus);
            }
        }
        let net = ColonyNetwork {
            graph: FactorGraph::default(),
            units,
            items: Vec::new(),
            animals: vec![Vec::new(); colony.animals.len()],
            genes,
            founders: Vec::new(),
            first_founder: vec![None; colony.animals.len()],
            base: Vec::new(),
            parents: Vec::with_capacity(colony.clutches.len()),
            what_if: Vec::with_capacity(colony.clutches.len()),
        };
        let apart = match grouping {
            Grouping::Apart => colony.animal_ids().collect(),
            Grouping::Siblings => breeders(colony),
        };
        let (states, transmissions) = Default::default();
        Builder { colony, grouping, net, apart, states, transmissions }
    }

    pub(super) fn states(&mut self, unit: usize, sex: Option<Sex>) -> Arc<[usize]> {
        let sex = if self.net.units[unit].is_sex_linked() { sex } else { None };
        let made = || self.net.units[unit].states_of(sex).into();
        self.states.entry((unit, sex)).or_insert_with(made).clone()
    }

    pub(super) fn new_variable(&mut self, unit: usize, sex: Option<Sex>) -> GenotypeVariable {
        let states = self.states(unit, sex);
        GenotypeVariable { variable: self.net.graph.variable(states.len()), states }
    }

    /// Joins a young to its parents.
    pub(super) fn transmit(
        &mut self,
        unit: usize,
        sex: Option<Sex>,
        child: VariableId,
        [sire, dam]: [VariableId; 2],
    ) {
        let sex = if self.net.units[unit].is_sex_linked() { sex } else { None };
        let table = match self.transmissions.get(&(unit, sex)) {
            Some(table) => *table,
            None => {
                let chances = self.net.units[unit].transmission(sex);
                let table = self.net.graph.table(chances.into_iter().collect());
                self.transmissions.insert((unit, sex), table);
                table
            }
        };
        self.net.graph.factor(&[child, sire, dam], table);
    }

    fn founder(&mut self, id: AnimalId) {
        let colony = self.colony;
        let animal = colony.animal(id);
        let first = self.net.founders.len();
        self.net.first_founder[id.0] = Some(first);
        for unit in 0..self.net.units.len() {
            let made = self.new_founder(unit, animal.sex);
            self.net.animals[id.0].push(made);
        }
        for statement in &animal.statements {
            let trust = animal.trust.unwrap_or(colony.assumptions.trust);
            let item =
                self.item(ItemKind::Statement, Some(id), Some(statement.gene), statement.place);
            self.told(first, statement.gene).statement = Some((item, statement.says, trust));
        }
        for sighting in call_sheets(colony, animal) {
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
        let read = self.units_read(&sighting.sheet);
        let fits = sighting.sheet.alternatives.iter().map(|(fit, _)| *fit).collect();
        let mut by_unit = Vec::new();
        for unit in read {
            self.net.founders[first + unit].replaced_by = Some((item, sighting.sheet.clone()));
            let founder = self.net.founders[first + unit].clone();
            let of = &self.net.units[unit];
            let under = |(_, calls): &(f64, Vec<GeneCall>)| {
                let calls: Vec<_> = of.loci.iter().map(|locus| &calls[locus.gene.0]).collect();
                founder.under(of, &calls)
            };
            by_unit.push((unit, sighting.sheet.alternatives.iter().map(under).collect()));
        }
        let pending = simplify(Pending {
            kind: ItemKind::Either,
            gene: None,
            place: sighting.place,
            weights: Weights::Several(fits, by_unit),
        });
        self.attach_together(id, pending);
    }

    fn separate_hatchling(&mut self, id: AnimalId) {
        let sex = self.colony.animal(id).sex;
        for unit in 0..self.net.units.len() {
            let made = self.new_variable(unit, sex);
            self.net.animals[id.0].push(made);
        }
    }

    /// The records of a hatchling, not yet tied to its variables.
    pub(super) fn pending(&self, id: AnimalId) -> Vec<Pending> {
        let animal = self.colony.animal(id);
        let mut pending = Vec::new();
        for sighting in call_sheets(self.colony, animal) {
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

    fn units_read(&self, sheet: &CallSheet) -> Vec<usize> {
        let mut read: Vec<usize> = sheet.genes().map(|gene| self.net.genes[gene.0].0).collect();
        read.sort_unstable();
        read.dedup();
        read
    }

    fn readings(&self, animal: &Animal) -> Vec<Pending> {
        let one = |reading: &crate::records::Reading| {
            let (unit, at) = self.net.genes[reading.gene.0];
            let of = &self.net.units[unit];
            let likelihood = reading_likelihood(&of.loci[at], animal.sex, reading);
            let weights = of.spread(at, &likelihood, &of.states_of(animal.sex));
            single(ItemKind::Reading, reading.gene, reading.place, (unit, weights))
        };
        animal.readings.iter().map(one).collect()
    }

    fn call_weights(&self, animal: AnimalId, gene: GeneId, call: &GeneCall) -> (usize, Vec<f64>) {
        let (unit, at) = self.net.genes[gene.0];
        let locus: &Locus = &self.net.units[unit].loci[at];
        let states = &self.net.animals[animal.0][unit].states;
        (unit, self.net.units[unit].spread(at, &call.likelihood(locus), states))
    }

    /// Ties a record to the variables of an animal.
    pub(super) fn attach(&mut self, id: AnimalId, pending: Pending) {
        self.attach_together(id, vec![pending]);
    }

    /// Ties the parts of one record to the variables of an animal.
    pub(super) fn attach_together(&mut self, id: AnimalId, parts: Vec<Pending>) {
        let variables: Vec<VariableId> =
            self.net.animals[id.0].iter().map(|made| made.variable).collect();
        self.attach_to(&variables, Some(id), parts);
    }

    /// Ties the parts of one record to the given variables, one for each unit.
    pub(super) fn attach_to(
        &mut self,
        variables: &[VariableId],
        animal: Option<AnimalId>,
        parts: Vec<Pending>,
    ) -> Option<usize> {
        let first = parts.first()?;
        let item = self.item(first.kind, animal, first.gene, first.place);
        for part in parts {
            match part.weights {
                Weights::One(unit, weights) => {
                    let effect = Effect::Weigh(variables[unit], weights);
                    self.net.items[item].effects.push(effect);
                }
                Weights::Several(fits, by_unit) => self.identities(item, variables, fits, by_unit),
            }
        }
        Some(item)
    }

    /// A hidden variable for the identity, joined to each unit that the identities tell apart.
    fn identities(
        &mut self,
        item: usize,
        variables: &[VariableId],
        fits: Vec<f64>,
        by_unit: Vec<(usize, Vec<Vec<f64>>)>,
    ) {
        let identity = self.net.graph.variable(fits.len());
        self.net.base.push((identity, fits));
        for (unit, weights) in by_unit {
            let slot = self.net.graph.slot(&[identity, variables[unit]]);
            self.net.items[item].effects.push(Effect::Fill(slot, weights.concat()));
        }
    }

    pub(super) fn item(
        &mut self,
        kind: ItemKind,
        animal: Option<AnimalId>,
        gene: Option<GeneId>,
        place: Place,
    ) -> usize {
        let clutch = animal.and_then(|id| match self.colony.animal(id).origin {
            Origin::Founder => None,
            Origin::Clutch(clutch) => Some(clutch),
        });
        self.net.items.push(Item { kind, animal, clutch, gene, place, effects: Vec::new() });
        self.net.items.len() - 1
    }

    pub(super) fn is_apart(&self, animal: AnimalId) -> bool {
        self.apart.contains(&animal)
    }

    /// The variables of the sire and the dam of a clutch at one unit.
    pub(super) fn parent_variables(&mut self, clutch: ClutchId, unit: usize) -> [VariableId; 2] {
        let clutch = self.colony.clutch(clutch);
        let sire = match clutch.siring.candidates.first() {
            Some((Candidate::Known(sire), _)) => self.net.animals[sire.0][unit].variable,
            _ => self.new_founder(unit, Some(Sex::Male)).variable,
        };
        let dam = match clutch.dam {
            Parent::Known(dam) => self.net.animals[dam.0][unit].variable,
            Parent::Unknown => self.new_founder(unit, Some(Sex::Female)).variable,
        };
        [sire, dam]
    }
}

/// The hatchlings that are parents themselves.
fn breeders(colony: &Colony) -> FxHashSet<AnimalId> {
    let mut breeders = FxHashSet::default();
    for clutch in &colony.clutches {
        if let Parent::Known(dam) = clutch.dam {
            breeders.insert(dam);
        }
        for (candidate, _) in &clutch.siring.candidates {
            if let Candidate::Known(sire) = candidate {
                breeders.insert(*sire);
            }
        }
    }
    breeders
}

fn single(
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
