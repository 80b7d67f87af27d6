//! The network of one colony, and the way back from its variables to animals.

use super::founders::Founder;
use super::items::Effect;
use super::{Evidence, FactorGraph, FactorId, Item, ItemKind, VariableId};
use crate::genetics::{GeneCall, Unit};
use crate::records::{AnimalId, ClutchId, GeneId, Genotype, Sex};

/// Somebody with a genotype: an animal of the file, or an unrecorded parent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Individual {
    /// An animal of the file.
    Animal(AnimalId),
    /// The unrecorded dam of a clutch.
    UnknownDam(ClutchId),
    /// The unrecorded sire of a clutch.
    UnknownSire(ClutchId),
}

/// A variable that holds the genotype of somebody at the genes of one unit.
#[derive(Clone, Debug)]
pub(super) struct GenotypeVariable {
    pub(super) variable: VariableId,
    /// The states of the unit that the variable's states stand for.
    pub(super) states: std::sync::Arc<[usize]>,
}

impl GenotypeVariable {
    /// The place of a variable that was never made, because nothing would depend on it.
    pub(super) fn absent() -> Self {
        GenotypeVariable { variable: VariableId(usize::MAX), states: [].into() }
    }
}

/// The network of one colony.
#[derive(Clone, Debug)]
pub struct ColonyNetwork {
    /// Its variables and factors.
    pub graph: FactorGraph,
    /// What is passed on together.
    pub units: Vec<Unit>,
    /// Every record that can be counted in or left out.
    pub items: Vec<Item>,
    /// `animals[animal][unit]`.
    pub(super) animals: Vec<Vec<GenotypeVariable>>,
    /// Position of each gene: (unit, locus in the unit).
    pub(super) genes: Vec<(usize, usize)>,
    pub(super) founders: Vec<Founder>,
    /// Where the founders of an animal begin, one for each unit; `None` for a hatchling.
    pub(super) first_founder: Vec<Option<usize>>,
    /// Likelihoods that hold before any item is counted in.
    pub(super) base: Vec<(VariableId, Vec<f64>)>,
    /// The parents of each clutch: `parents[clutch][unit]` = (sire, dam).
    pub(super) parents: Vec<Vec<[VariableId; 2]>>,
    /// A slot for each clutch and unit, over its sire and dam, for young that may yet hatch.
    pub(super) what_if: Vec<Vec<FactorId>>,
}

impl ColonyNetwork {
    /// The evidence of the items that `counted` keeps.
    ///
    /// Statements and own looks of founders are part of how founders start out; without them a
    /// founder is drawn from unrelated stock.
    pub fn evidence(&self, counted: impl Fn(&Item) -> bool) -> Evidence {
        let on: Vec<bool> = self.items.iter().map(counted).collect();
        self.evidence_where(&on)
    }

    /// The evidence of the items marked in `on`, one mark for each of [`ColonyNetwork::items`].
    pub fn evidence_where(&self, on: &[bool]) -> Evidence {
        self.evidence_of(on, false)
    }

    /// The same, but a founder that lost a statement or look may be anything.
    ///
    /// Then fewer items never make the rest less possible, whatever the background frequencies.
    pub fn evidence_freeing(&self, on: &[bool]) -> Evidence {
        self.evidence_of(on, true)
    }

    fn evidence_of(&self, on: &[bool], freeing: bool) -> Evidence {
        let mut evidence = Evidence::neutral(&self.graph);
        for (variable, weights) in &self.base {
            evidence.weigh(*variable, weights);
        }
        for founder in &self.founders {
            if freeing && founder.items().any(|item| !on[item]) {
                continue;
            }
            if let Some(weights) = founder.weights(&self.units, on) {
                evidence.weigh(founder.variable, &weights);
            }
        }
        for (item, _) in self.items.iter().zip(on).filter(|(_, on)| **on) {
            self.count_in(item, &mut evidence);
        }
        evidence
    }

    /// Counts one more item in; not for what a founder was told or bought for.
    pub fn count_in(&self, item: &Item, evidence: &mut Evidence) {
        for effect in &item.effects {
            match effect {
                Effect::Weigh(variable, weights) => evidence.weigh(*variable, weights),
                Effect::Fill(factor, values) => evidence.fill(&self.graph, *factor, values),
                Effect::Replace(variable, weights) => {
                    evidence.likelihood_mut(*variable).copy_from_slice(weights);
                }
            }
        }
    }

    /// The variables an item weighs, those of a founder's starting term included.
    pub fn touched_by_any(&self, item: &Item) -> impl Iterator<Item = VariableId> + '_ {
        let own = match (item.animal, item.kind) {
            (Some(animal), ItemKind::Statement | ItemKind::OwnLook) => match item.gene {
                Some(gene) => vec![self.variable(animal, gene)],
                None => Vec::new(),
            },
            _ => Vec::new(),
        };
        own.into_iter().chain(self.touched(item))
    }

    /// The variables an item weighs when it is counted in.
    pub fn touched(&self, item: &Item) -> impl Iterator<Item = VariableId> + '_ {
        let of = |effect: &Effect| match effect {
            Effect::Weigh(variable, _) | Effect::Replace(variable, _) => vec![*variable],
            Effect::Fill(factor, _) => self.graph.scope(*factor).to_vec(),
        };
        item.effects.iter().map(of).collect::<Vec<_>>().into_iter().flatten()
    }

    /// How a founder starts out at a gene, own look and statements included: a weight for each
    /// genotype of its locus. `None` for an animal with parents.
    pub fn founder_term(&self, animal: AnimalId, gene: GeneId) -> Option<Vec<f64>> {
        let founder = &self.founders[self.first_founder[animal.0]? + self.genes[gene.0].0];
        Some(self.by_genotype(animal, gene, &founder.start))
    }

    /// Adds to the evidence that an animal truly is of a look class.
    pub fn fix_class(&self, animal: AnimalId, gene: GeneId, class: usize, evidence: &mut Evidence) {
        let weights = self.by_state(animal, gene, &self.locus(gene).of_class(class));
        evidence.weigh(self.variable(animal, gene), &weights);
    }

    /// Adds to the evidence that ever more young of a clutch, seen grown, show nothing of a gene.
    ///
    /// Returns the variables of its sire and dam.
    pub fn endless_normals(
        &self,
        clutch: ClutchId,
        gene: GeneId,
        evidence: &mut Evidence,
    ) -> [VariableId; 2] {
        const MANY: i32 = 100_000;
        let (unit, at) = self.genes[gene.0];
        let of = &self.units[unit];
        let call = GeneCall::Class { class: 0, hidden: Vec::new() };
        let likelihood = of.spread(at, &call.likelihood(&of.loci[at]), &of.states_of(None));
        let young = of.transmission(None);
        let mut normal = vec![0.0; young.len() / likelihood.len()];
        for (chances, weight) in young.outer_iter().zip(&likelihood) {
            normal.iter_mut().zip(chances).for_each(|(sum, chance)| *sum += weight * chance);
        }
        let top = normal.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let limit: Vec<f64> = normal.iter().map(|chance| (chance / top).powi(MANY)).collect();
        evidence.fill(&self.graph, self.what_if[clutch.0][unit], &limit);
        self.parents[clutch.0][unit]
    }

    /// All records.
    pub fn all_evidence(&self) -> Evidence {
        self.evidence(|_| true)
    }

    /// Parentage and statements alone, before any look, call, reading or egg count.
    pub fn told_evidence(&self) -> Evidence {
        self.evidence(|item| item.kind == ItemKind::Statement)
    }

    /// The variable of an animal at a gene.
    pub fn variable(&self, animal: AnimalId, gene: GeneId) -> VariableId {
        self.animals[animal.0][self.genes[gene.0].0].variable
    }

    /// The variables of the sire and the dam of a clutch at a gene.
    pub fn parents(&self, clutch: ClutchId, gene: GeneId) -> [VariableId; 2] {
        self.parents[clutch.0][self.genes[gene.0].0]
    }

    /// The genotypes an animal of its recorded sex can have at a gene, in the fixed order.
    pub fn genotypes(&self, gene: GeneId, sex: Option<Sex>) -> Vec<Genotype> {
        let locus = self.locus(gene);
        locus.genotypes.iter().copied().filter(|g| locus.possible(*g, sex)).collect()
    }

    /// The locus of a gene.
    pub fn locus(&self, gene: GeneId) -> &crate::genetics::Locus {
        let (unit, at) = self.genes[gene.0];
        &self.units[unit].loci[at]
    }

    /// Sums the weights of an animal's states into one for each genotype at a gene.
    ///
    /// `weights` has one value for each state of [`ColonyNetwork::variable`]; the result follows
    /// the genotypes of [`ColonyNetwork::locus`].
    pub fn by_genotype(&self, animal: AnimalId, gene: GeneId, weights: &[f64]) -> Vec<f64> {
        let (unit, at) = self.genes[gene.0];
        let mut sums = vec![0.0; self.units[unit].loci[at].genotypes.len()];
        for (state, weight) in self.animals[animal.0][unit].states.iter().zip(weights) {
            sums[self.units[unit].genotype[at][*state]] += weight;
        }
        sums
    }

    /// Weights for the states of an animal's variable from weights for its genotypes at a gene.
    pub fn by_state(&self, animal: AnimalId, gene: GeneId, weights: &[f64]) -> Vec<f64> {
        let (unit, at) = self.genes[gene.0];
        self.units[unit].spread(at, weights, &self.animals[animal.0][unit].states)
    }
}
