//! The network of one colony, and the way back from its variables to animals.

use std::borrow::Cow;

use super::founders::Founder;
use super::items::Effect;
use super::siring::SireInDoubt;
use super::{Evidence, FactorGraph, FactorId, Item, ItemKind, Part, VariableId};
use crate::genetics::{Haplotype, Unit};
use crate::records::{AnimalId, ClutchId, GeneId, Genotype, Sex};

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
    /// The unit of each variable that holds genotypes; `None` for the others.
    pub(super) unit_of: Vec<Option<usize>>,
    /// Clutches and hatchlings whose sire is in doubt.
    pub sires: Vec<SireInDoubt>,
    /// A slot for each clutch and unit, over its sire and dam, for young that may yet hatch;
    /// `None` where each egg has its own sire, or perhaps none.
    pub(super) what_if: Vec<Vec<Option<FactorId>>>,
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

    /// The same, but a founder that lost a statement or look may be anything that the other allows.
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
            let weights = match freeing {
                true => founder.freed(&self.units, on),
                false => founder.weights(&self.units, on),
            };
            if let Some(weights) = weights {
                evidence.weigh(founder.variable, &weights);
            }
        }
        for item in (0..self.items.len()).filter(|item| on[*item]) {
            self.apply(&self.effects(item, on, freeing), &mut evidence);
        }
        evidence
    }

    /// What an item does, given which items are counted in: an uncertain call of a founder weighs
    /// otherwise without a statement about it.
    fn effects(&self, item: usize, on: &[bool], freeing: bool) -> Cow<'_, [Effect]> {
        let effects = &self.items[item].effects;
        let founder = |variable: VariableId| {
            self.founders.iter().find(|founder| founder.variable == variable)
        };
        let own = self.items[item].animal.and_then(|animal| self.first_founder[animal.0]);
        let of_animal =
            own.map_or(&[][..], |first| &self.founders[first..first + self.units.len()]);
        if !of_animal.iter().any(|founder| founder.reweighs(item, on)) {
            return Cow::Borrowed(effects);
        }
        let again = |effect: &Effect| {
            let variable = match effect {
                Effect::Weigh(variable, _) | Effect::Replace(variable, _) => Some(*variable),
                Effect::Fill(slot, _) => self.graph.scope(*slot).last().copied(),
            };
            let Some(founder) = variable.and_then(founder) else { return effect.clone() };
            let under = founder.by_identity(&self.units, on, freeing);
            match effect {
                Effect::Fill(slot, _) => Effect::Fill(*slot, under.concat()),
                _ => {
                    Effect::Weigh(founder.variable, founder.by_all_identities(&self.units, &under))
                }
            }
        };
        Cow::Owned(effects.iter().map(again).collect())
    }

    /// Counts one more item in; not for what a founder was told or bought for.
    pub fn count_in(&self, item: &Item, evidence: &mut Evidence) {
        self.apply(&item.effects, evidence);
    }

    fn apply(&self, effects: &[Effect], evidence: &mut Evidence) {
        for effect in effects {
            match effect {
                Effect::Weigh(variable, weights) => evidence.weigh(*variable, weights),
                Effect::Fill(factor, values) => evidence.fill(&self.graph, *factor, values),
                Effect::Replace(variable, weights) => {
                    evidence.likelihood_mut(*variable).copy_from_slice(weights);
                }
            }
        }
    }

    /// Takes one item out of evidence that counts all of them in.
    pub fn leave_out(&self, item: usize, evidence: &mut Evidence) {
        let mut on = vec![true; self.items.len()];
        on[item] = false;
        let left = &self.items[item];
        for effect in &left.effects {
            if let Effect::Fill(factor, values) = effect {
                evidence.empty(&self.graph, *factor, values.len());
            }
        }
        for variable in self.touched_by_any(left) {
            self.weigh_again(variable, &on, evidence);
        }
        if left.kind == ItemKind::Statement {
            self.call_again(left, &on, evidence);
        }
    }

    /// Fills the slots of the uncertain call of a founder that lost a statement.
    fn call_again(&self, statement: &Item, on: &[bool], evidence: &mut Evidence) {
        let of_animal = |at: &usize| {
            let item = &self.items[*at];
            item.kind == ItemKind::Either && item.animal == statement.animal
        };
        for at in (0..self.items.len()).filter(of_animal) {
            for effect in self.effects(at, on, false).iter() {
                if let Effect::Fill(slot, values) = effect {
                    evidence.empty(&self.graph, *slot, values.len());
                    evidence.fill(&self.graph, *slot, values);
                }
            }
        }
    }

    /// Sets the likelihood of one variable from the items that are counted in.
    fn weigh_again(&self, variable: VariableId, on: &[bool], evidence: &mut Evidence) {
        evidence.likelihood_mut(variable).fill(1.0);
        for (_, weights) in self.base.iter().filter(|(of, _)| *of == variable) {
            evidence.weigh(variable, weights);
        }
        if let Some(at) = self.founders.iter().position(|founder| founder.variable == variable)
            && let Some(weights) = self.founders[at].weights(&self.units, on)
        {
            evidence.weigh(variable, &weights);
        }
        for at in (0..self.items.len()).filter(|at| on[*at]) {
            for effect in self.effects(at, on, false).iter() {
                match effect {
                    Effect::Weigh(of, weights) if *of == variable => {
                        evidence.weigh(variable, weights);
                    }
                    Effect::Replace(of, weights) if *of == variable => {
                        evidence.likelihood_mut(variable).copy_from_slice(weights);
                    }
                    _ => {}
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

    /// Adds to the evidence that an animal certainly shows a look class.
    pub fn certainly_shows(
        &self,
        animal: AnimalId,
        gene: GeneId,
        class: usize,
        evidence: &mut Evidence,
    ) {
        let weights = self.by_state(animal, gene, &self.locus(gene).class_chance(class));
        evidence.weigh(self.variable(animal, gene), &weights);
    }

    /// The variables of the sire and the dam of a clutch at a gene, where it has one of each.
    pub fn pairing(&self, clutch: ClutchId, gene: GeneId) -> Option<[VariableId; 2]> {
        let (unit, _) = self.genes[gene.0];
        self.what_if[clutch.0][unit]?;
        Some(self.parents[clutch.0][unit])
    }

    /// Adds to the evidence that ever more young of a clutch, seen grown, show nothing of a gene.
    ///
    /// Returns the variables of its sire and dam; `None` where it has not one of each.
    pub fn endless_normals(
        &self,
        clutch: ClutchId,
        gene: GeneId,
        evidence: &mut Evidence,
    ) -> Option<[VariableId; 2]> {
        const MANY: i32 = 100_000;
        let (unit, _) = self.genes[gene.0];
        let normal: Vec<f64> = self.chances_of_calls(gene).iter().map(|row| row[0]).collect();
        let top = normal.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let limit: Vec<f64> = normal.iter().map(|chance| (chance / top).powi(MANY)).collect();
        evidence.fill(&self.graph, self.what_if[clutch.0][unit]?, &limit);
        Some(self.parents[clutch.0][unit])
    }

    /// Whether what one unit says of young, before anything was seen, may say something of another:
    /// where eggs die of their genotype, what hatched tells of a sire in doubt, of its own sex or of
    /// whether it was mixed up, and these concern all units.
    pub fn units_are_tied(&self) -> bool {
        let lethal = self.units.iter().any(Unit::can_be_lethal);
        let none = |at: usize| self.unit_of.get(at).copied().flatten().is_none();
        lethal && (0..self.graph.variables()).any(none)
    }

    /// The whole network as one part.
    pub fn whole_part(&self) -> Part {
        let all = (0..self.graph.variables()).map(VariableId);
        Part { graph: self.graph.clone(), place: all.map(|v| (v, v)).collect() }
    }

    /// The network of each unit by itself, as it is before anything was seen: `told` is what is known
    /// then.
    pub fn unit_parts(&self, told: &Evidence) -> Vec<Part> {
        let of = |variable: VariableId| self.unit_of.get(variable.0).copied().flatten();
        self.graph.parts(self.units.len(), &of, told)
    }

    /// The two strands of an animal at a unit, in a state of its variable there.
    pub fn strands(&self, animal: AnimalId, unit: usize, states: &[usize]) -> [&Haplotype; 2] {
        let own = &self.animals[animal.0][unit];
        let state = own.states[states[own.variable.0]];
        self.units[unit].states[state].map(|strand| &self.units[unit].haplotypes[strand])
    }

    /// The unit of a gene.
    pub fn unit(&self, gene: GeneId) -> usize {
        self.genes[gene.0].0
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

    /// Sums the weights of an animal's states into those of females and of males; `None` where the
    /// gene does not tell the sexes apart.
    pub fn by_sex(&self, animal: AnimalId, gene: GeneId, weights: &[f64]) -> Option<[f64; 2]> {
        let (unit, _) = self.genes[gene.0];
        let of = &self.units[unit];
        if !of.is_sex_linked() {
            return None;
        }
        let mut sums = [0.0; 2];
        for (state, weight) in self.animals[animal.0][unit].states.iter().zip(weights) {
            match of.sex[*state] {
                Some(Sex::Female) => sums[0] += weight,
                Some(Sex::Male) => sums[1] += weight,
                None => {}
            }
        }
        Some(sums)
    }

    /// Weights for the states of an animal's variable from weights for its genotypes at a gene.
    pub fn by_state(&self, animal: AnimalId, gene: GeneId, weights: &[f64]) -> Vec<f64> {
        let (unit, at) = self.genes[gene.0];
        self.units[unit].spread(at, weights, &self.animals[animal.0][unit].states)
    }
}
