//! From a colony to its network.

use std::sync::Arc;

use rustc_hash::{FxHashMap, FxHashSet};

use super::colony_network::GenotypeVariable;
use super::items::{Effect, Item, ItemKind};
use super::pending::{Pending, Weights};
use super::selection::Shown;
use super::siring::SireTable;
use super::{ColonyNetwork, FactorGraph, TableId, VariableId};
use crate::genetics::{GeneCall, Locus, Unit, units};
use crate::records::{
    AnimalId, Candidate, Clutch, Colony, GeneId, Look, Origin, Parent, Place, Sex,
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
/// [`not_computed_yet`](crate::records)); other keys are left out. Its tables may take 1 GiB; see
/// [`assemble_within`].
pub fn assemble(colony: &Colony, grouping: Grouping) -> ColonyNetwork {
    assemble_within(colony, grouping, 1 << 30)
}

/// Builds the network of a colony, whose tables of young and of selective records may take this
/// many bytes.
///
/// The graph of a network that would need more is [left without](FactorGraph::left_out) some of
/// them, and has no plan.
pub fn assemble_within(colony: &Colony, grouping: Grouping, memory: u64) -> ColonyNetwork {
    let least = least_bytes(colony);
    if least > memory {
        let mut builder = Builder::new(colony, grouping, memory, Vec::new());
        builder.net.graph.leaves_out(least);
        return builder.net;
    }
    assemble_units(colony, units(colony), grouping, memory)
}

/// The same for a colony whose genes are passed on as these units say: together they hold every
/// gene of the colony once.
pub fn assemble_units(
    colony: &Colony,
    units: Vec<Unit>,
    grouping: Grouping,
    memory: u64,
) -> ColonyNetwork {
    let mut builder = Builder::new(colony, grouping, memory, units);
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

pub(super) struct Builder<'a> {
    pub(super) colony: &'a Colony,
    pub(super) grouping: Grouping,
    pub(super) net: ColonyNetwork,
    /// Hatchlings with variables of their own.
    apart: FxHashSet<AnimalId>,
    states: FxHashMap<(usize, Option<Sex>), Arc<[usize]>>,
    /// Tables of the young of a unit: of this sex, perhaps without a father, perhaps mixed up.
    transmissions: FxHashMap<(usize, Option<Sex>, bool, bool), TableId>,
    pub(super) sire_tables: FxHashMap<SireTable, TableId>,
    /// What selections by these looks choose, of eggs that may have no father or not.
    pub(super) shown: FxHashMap<(Vec<Look>, bool), Arc<Shown>>,
    /// Chances of an egg of a unit to be viable, with no father possible or not.
    pub(super) viable: FxHashMap<(usize, bool), Vec<f64>>,
    /// Young of the clutch at hand whose sex was recorded, females and males, not yet counted in.
    pub(super) sexed: [u32; 2],
    /// Young of the clutch at hand that its selection concerns, not yet counted in.
    pub(super) chosen: u32,
    /// Bytes that tables of young and of selective records take so far, and may take.
    taken: u64,
    memory: u64,
}

impl<'a> Builder<'a> {
    fn new(colony: &'a Colony, grouping: Grouping, memory: u64, units: Vec<Unit>) -> Self {
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
            unit_of: Vec::new(),
            sires: Vec::new(),
            what_if: Vec::with_capacity(colony.clutches.len()),
        };
        let apart = match grouping {
            Grouping::Apart => colony.animal_ids().collect(),
            Grouping::Siblings => breeders(colony),
        };
        let (states, transmissions, sire_tables, shown, viable) = Default::default();
        Builder {
            colony,
            grouping,
            net,
            apart,
            states,
            transmissions,
            sire_tables,
            shown,
            viable,
            sexed: [0; 2],
            chosen: 0,
            taken: 0,
            memory,
        }
    }

    pub(super) fn states(&mut self, unit: usize, sex: Option<Sex>) -> Arc<[usize]> {
        let sex = if self.net.units[unit].is_sex_linked() { sex } else { None };
        let made = || self.net.units[unit].states_of(sex).into();
        self.states.entry((unit, sex)).or_insert_with(made).clone()
    }

    pub(super) fn new_variable(&mut self, unit: usize, sex: Option<Sex>) -> GenotypeVariable {
        let states = self.states(unit, sex);
        let variable = self.net.graph.variable(states.len());
        self.holds_genotypes(variable, unit);
        GenotypeVariable { variable, states }
    }

    /// Whether there is room for tables of so many bytes, next to others for a while; if there is,
    /// it is taken. A graph that lacks a table says how much it would have taken.
    pub(super) fn takes(&mut self, bytes: u64, for_a_while: u64) -> bool {
        let all = self.taken.saturating_add(bytes).saturating_add(for_a_while);
        let room = all <= self.memory && self.net.graph.left_out().is_none();
        if room {
            self.taken += bytes;
        } else {
            let before = self.net.graph.left_out().unwrap_or(0);
            self.net.graph.leaves_out(before.max(all));
        }
        room
    }

    /// Remembers that a variable holds genotypes of a unit.
    pub(super) fn holds_genotypes(&mut self, variable: VariableId, unit: usize) {
        self.net.unit_of.resize(variable.0 + 1, None);
        self.net.unit_of[variable.0] = Some(unit);
    }

    /// Joins a young to its parents; `mixed_up` says that it may be from elsewhere.
    pub(super) fn transmit(
        &mut self,
        unit: usize,
        sex: Option<Sex>,
        child: VariableId,
        [sire, dam]: [VariableId; 2],
        fatherless: bool,
        mixed_up: Option<VariableId>,
    ) {
        let sex = if self.net.units[unit].is_sex_linked() { sex } else { None };
        let key = (unit, sex, fatherless, mixed_up.is_some());
        let table = match self.transmissions.get(&key) {
            Some(table) => *table,
            None => {
                let [own, fertile] =
                    self.entries_of_young(unit, sex, [fatherless, mixed_up.is_some()]);
                if !self.takes(own.saturating_mul(8), own.saturating_add(fertile).saturating_mul(8))
                {
                    return;
                }
                let values = self.young_of(unit, sex, fatherless, mixed_up.is_some());
                let table = self.net.graph.table(values);
                self.transmissions.insert(key, table);
                table
            }
        };
        match mixed_up {
            None => self.net.graph.factor(&[child, sire, dam], table),
            Some(mixed_up) => self.net.graph.factor(&[mixed_up, child, sire, dam], table),
        };
    }

    /// Numbers in a table of young, and in the one of all fertile eggs that it is made from.
    fn entries_of_young(
        &mut self,
        unit: usize,
        sex: Option<Sex>,
        [fatherless, mixed]: [bool; 2],
    ) -> [u64; 2] {
        let mut of = |sex| self.states(unit, sex).len() as u64;
        let (children, all) = (of(sex), of(None));
        let parents =
            (of(Some(Sex::Male)) + u64::from(fatherless)).saturating_mul(of(Some(Sex::Female)));
        [children.saturating_mul(parents) * (1 + u64::from(mixed)), all.saturating_mul(parents)]
    }

    /// P(child | sire, dam), and where it may be mixed up P(child | mixed up or not, sire, dam).
    fn young_of(&self, unit: usize, sex: Option<Sex>, fatherless: bool, mixed: bool) -> Vec<f64> {
        let young = self.net.units[unit].brood(self.kept_both(fatherless)).hatched(sex);
        let parents = young.shape()[1] * young.shape()[2];
        let mut values: Vec<f64> = young.into_iter().collect();
        if mixed {
            let elsewhere = self.unrelated(unit, sex);
            values.extend(elsewhere.into_iter().flat_map(|w| std::iter::repeat_n(w, parents)));
        }
        values
    }

    fn separate_hatchling(&mut self, id: AnimalId) {
        let sex = self.colony.animal(id).sex;
        for unit in 0..self.net.units.len() {
            let made = self.new_variable(unit, sex);
            self.net.animals[id.0].push(made);
        }
    }

    pub(super) fn call_weights(
        &self,
        animal: AnimalId,
        gene: GeneId,
        call: &GeneCall,
    ) -> (usize, Vec<f64>) {
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
}

/// Bytes that the states of the largest unit and its young take at least, known before any is made.
///
/// A table of young is made from one of all fertile eggs, which stands beside it for a while.
pub fn least_bytes(colony: &Colony) -> u64 {
    let groups = colony.linkage.iter().map(|group| group.genes.as_slice());
    let eggs = |clutch: &Clutch| clutch.recorded() > 0 || clutch.lost_eggs().is_some();
    let hatched = colony.clutches.iter().any(eggs);
    let least = |genes: &[GeneId]| {
        let alleles = |gene: &GeneId| colony.gene(*gene).alleles.len() as u64 + 1;
        let strands = genes.iter().map(alleles).fold(1, u64::saturating_mul);
        let pairs = strands.saturating_mul(strands.saturating_add(1)) / 2;
        let on_both =
            |gene: &GeneId| colony.gene(*gene).sex_linked.map(|at| at.crossover.is_some());
        // The states of the sex with unlike chromosomes, and of both sexes.
        let (one, all) = match genes.iter().filter_map(on_both).max() {
            None => (pairs, pairs),
            Some(false) => (strands, pairs.saturating_add(strands)),
            Some(true) => {
                let unlike = strands.saturating_mul(strands);
                (unlike, pairs.saturating_add(unlike))
            }
        };
        let children = one.min(pairs).saturating_add(all);
        let young = if hatched { children.saturating_mul(one) } else { 2 };
        young.saturating_mul(pairs).saturating_mul(8)
    };
    groups.map(least).max().unwrap_or(0)
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
    // The first finds of a suspected gene certainly show it, which nothing may share with them.
    breeders.extend(colony.genes.iter().flat_map(|gene| &gene.first_seen.animals));
    breeders
}
