//! One set of genes of one colony: what each animal weighs by itself.

use std::collections::HashMap;

use proveout::records::{Animal, Colony, Origin, Sex};

use super::calls::{Calls, chance_of_call, chance_of_reading};
use super::coupling::GeneSet;
use super::exact::{Exact, exact, fraction, one, zero};
use super::founders::{Weights, founder_term, unrelated};
use super::genome::Genome;
use super::sums::Variable;

/// Everything about one set of genes that does not depend on who the sires are.
pub struct Stage<'a> {
    pub(super) colony: &'a Colony,
    /// The states of the set.
    pub genome: Genome,
    pub(super) eggs: bool,
    /// Whether looks, calls, readings, egg counts and selection count.
    pub(super) records: bool,
    /// For each animal and state: founders their whole term, hatchlings the likelihood.
    pub(super) own: Vec<Vec<Exact>>,
    /// Unrelated animals of unknown sex, dams, sires.
    pub(super) stranger: [Vec<Exact>; 3],
    pub(super) viable: Vec<Exact>,
}

impl<'a> Stage<'a> {
    /// Prepares a set. Without `records` only parentage, sex and statements count.
    pub fn new(colony: &'a Colony, set: &GeneSet, calls: &[Calls], records: bool) -> Self {
        let genome = Genome::new(colony, &set.genes, set.sex);
        let mut stage = Stage {
            colony,
            genome,
            eggs: set.eggs,
            records,
            own: vec![],
            stranger: [vec![], vec![], vec![]],
            viable: vec![],
        };
        stage.viable = (0..stage.genome.states()).map(|state| stage.viability(state)).collect();
        stage.stranger =
            [None, Some(Sex::Female), Some(Sex::Male)].map(|sex| stage.unrelated_weights(sex));
        stage.own = colony
            .animals
            .iter()
            .zip(calls)
            .map(|(animal, calls)| match animal.origin {
                Origin::Founder => stage.founder_weights(animal, calls),
                Origin::Clutch(_) => {
                    let reads = stage.reading_weights(animal);
                    let seen = stage.likelihood(animal.sex, calls);
                    seen.into_iter().zip(reads).map(|(seen, read)| seen * read).collect()
                }
            })
            .collect();
        stage
    }

    fn viability(&self, state: usize) -> Exact {
        if !self.eggs {
            return one();
        }
        let lethal = self
            .genome
            .genes
            .iter()
            .zip(&self.genome.genotypes[state])
            .any(|(&gene, genotype)| self.colony.genes[gene].lethal.contains(genotype));
        if lethal { zero() } else { one() - exact(self.colony.assumptions.egg_loss) }
    }

    /// Chance of a founder's sex: it is given where it is known.
    fn sex_share(&self, state: usize, sex: Option<Sex>) -> Exact {
        match (self.genome.sexes[state], sex) {
            (None, _) => one(),
            (Some(_), None) => fraction(1, 2),
            (Some(have), Some(known)) if have == known => one(),
            _ => zero(),
        }
    }

    /// Product over the genes of what `terms` gives to the genotype, times the share of the phase.
    fn product(&self, state: usize, terms: &[Weights]) -> Exact {
        let genotypes = &self.genome.genotypes[state];
        let values =
            terms.iter().zip(genotypes).map(|(t, g)| t.get(g).cloned().unwrap_or_else(zero));
        values.product::<Exact>() * &self.genome.phase_share[state]
    }

    fn unrelated_weights(&self, sex: Option<Sex>) -> Vec<Exact> {
        self.by_sex(sex, |here| {
            self.genome.genes.iter().map(|&gene| unrelated(self.colony, gene, here)).collect()
        })
    }

    /// For every state the share of its sex times [`Stage::product`] of the terms for that sex.
    fn by_sex(
        &self,
        recorded: Option<Sex>,
        terms: impl Fn(Option<Sex>) -> Vec<Weights>,
    ) -> Vec<Exact> {
        let mut known: HashMap<Option<Sex>, Vec<Weights>> = HashMap::new();
        (0..self.genome.states())
            .map(|state| {
                let share = self.sex_share(state, recorded);
                if share == zero() {
                    return share;
                }
                let sex = self.genome.sexes[state];
                share * self.product(state, known.entry(sex).or_insert_with(|| terms(sex)))
            })
            .collect()
    }

    fn founder_weights(&self, animal: &Animal, calls: &Calls) -> Vec<Exact> {
        let nothing = vec![(one(), vec![None; self.colony.genes.len()])];
        let seen = match &calls[..] {
            _ if !self.records => &nothing,
            [seen] => seen,
            _ => panic!("judge: not covered: a founder that was seen twice"),
        };
        let reads = self.reading_weights(animal);
        let mut weights = vec![zero(); self.genome.states()];
        for (fit, called) in seen {
            let term = |gene: &usize, sex| {
                founder_term(self.colony, animal, *gene, sex, called[*gene].as_ref())
            };
            let here = self
                .by_sex(animal.sex, |sex| self.genome.genes.iter().map(|g| term(g, sex)).collect());
            for (state, value) in here.into_iter().enumerate() {
                weights[state] += fit * value * &reads[state];
            }
        }
        weights
    }

    fn reading_weights(&self, animal: &Animal) -> Vec<Exact> {
        let weight = |state: usize| {
            let mut weight = one();
            for reading in animal.readings.iter().filter(|_| self.records) {
                if let Some(place) = self.genome.genes.iter().position(|&g| g == reading.gene.0) {
                    let genotype = self.genome.genotypes[state][place];
                    weight *= chance_of_reading(self.colony, reading, genotype, animal.sex);
                }
            }
            weight
        };
        (0..self.genome.states()).map(weight).collect()
    }

    /// P(sex and calls | state) of a young.
    pub(super) fn likelihood(&self, sex: Option<Sex>, calls: &Calls) -> Vec<Exact> {
        let chance = |alternatives: &Vec<(Exact, _)>, state: usize| -> Exact {
            let one_way = |called: &Vec<Option<_>>| -> Exact {
                let genes = self.genome.genes.iter().zip(&self.genome.genotypes[state]);
                let call = |(&gene, &genotype): (&usize, &_)| {
                    let call = called[gene].as_ref()?;
                    Some(chance_of_call(self.colony, gene, genotype, call))
                };
                genes.filter_map(call).product()
            };
            alternatives.iter().map(|(fit, called)| fit * one_way(called)).sum()
        };
        (0..self.genome.states())
            .map(|state| match (self.genome.sexes[state], sex) {
                (Some(have), Some(recorded)) if have != recorded => zero(),
                _ if !self.records => one(),
                _ => calls.iter().map(|alternatives| chance(alternatives, state)).product(),
            })
            .collect()
    }

    /// The states with some weight of their own.
    pub(super) fn domain(&self, variable: Variable) -> Vec<usize> {
        let animals = self.colony.animals.len();
        let weights = match variable.checked_sub(animals) {
            None => &self.own[variable],
            Some(parent) => &self.stranger[1 + parent % 2],
        };
        (0..self.genome.states()).filter(|&state| weights[state] != zero()).collect()
    }
}
