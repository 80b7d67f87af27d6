//! What any two animals would give if they were bred, and what an unrelated mate is like.

use super::ColonyNetwork;
use crate::genetics::{GeneCall, unrelated};
use crate::records::{AnimalId, GeneId, Sex};

impl ColonyNetwork {
    /// The chance that a hatched young is called each look class, for each pair of parents: sire
    /// slowest, then dam.
    pub fn chances_of_calls(&self, gene: GeneId) -> Vec<Vec<f64>> {
        let (unit, at) = self.genes[gene.0];
        let of = &self.units[unit];
        let locus = &of.loci[at];
        let young = of.brood(None).hatched(None);
        let states = of.states_of(None);
        let mut rows = vec![vec![0.0; locus.names]; young.len() / states.len()];
        for class in 0..locus.names {
            let call = GeneCall::Class { class, hidden: Vec::new() };
            let likelihood = of.spread(at, &call.likelihood(locus), &states);
            for (chances, weight) in young.outer_iter().zip(&likelihood) {
                rows.iter_mut().zip(chances).for_each(|(row, c)| row[class] += weight * c);
            }
        }
        rows
    }

    /// The same for the looks of two genes that are passed on together: the class of the first
    /// counts slowest.
    pub fn chances_of_two_calls(&self, genes: [GeneId; 2]) -> Vec<Vec<f64>> {
        let (unit, _) = self.genes[genes[0].0];
        debug_assert_eq!(unit, self.genes[genes[1].0].0, "genes of one unit");
        let of = &self.units[unit];
        let young = of.brood(None).hatched(None);
        let states = of.states_of(None);
        let likelihoods = genes.map(|gene| {
            let at = self.genes[gene.0].1;
            let locus = &of.loci[at];
            let of_class = |class: usize| {
                let call = GeneCall::Class { class, hidden: Vec::new() };
                of.spread(at, &call.likelihood(locus), &states)
            };
            (0..locus.names).map(of_class).collect::<Vec<_>>()
        });
        let width = likelihoods[1].len();
        let mut rows = vec![vec![0.0; likelihoods[0].len() * width]; young.len() / states.len()];
        for (first, of_first) in likelihoods[0].iter().enumerate() {
            for (second, of_second) in likelihoods[1].iter().enumerate() {
                let called = of_first.iter().zip(of_second).map(|(a, b)| a * b);
                for (chances, weight) in young.outer_iter().zip(called) {
                    let row = rows.iter_mut().zip(chances);
                    row.for_each(|(row, c)| row[first * width + second] += weight * c);
                }
            }
        }
        rows
    }

    /// Chances of the states of an animal as a dam or a sire, in the order of
    /// [`Unit::states_of`](crate::genetics::Unit::states_of) that sex; an animal of unknown sex is
    /// taken to have it.
    pub fn as_parent(&self, animal: AnimalId, gene: GeneId, sex: Sex, weights: &[f64]) -> Vec<f64> {
        let (unit, _) = self.genes[gene.0];
        let places = self.units[unit].states_of(Some(sex));
        let own = &self.animals[animal.0][unit].states;
        let of = |state: &usize| own.iter().position(|s| s == state).map_or(0.0, |at| weights[at]);
        let chances: Vec<f64> = places.iter().map(of).collect();
        let total: f64 = chances.iter().sum();
        chances.iter().map(|chance| if total > 0.0 { chance / total } else { 0.0 }).collect()
    }

    /// The same for a sire and a dam together, sire slowest.
    pub fn as_parents(&self, parents: [AnimalId; 2], gene: GeneId, joint: &[f64]) -> Vec<f64> {
        let chances = self.weights_of_parents(parents, gene, joint);
        let total: f64 = chances.iter().sum();
        chances.iter().map(|chance| if total > 0.0 { chance / total } else { 0.0 }).collect()
    }

    /// The same without making the chances sum to one.
    pub fn weights_of_parents(
        &self,
        [sire, dam]: [AnimalId; 2],
        gene: GeneId,
        joint: &[f64],
    ) -> Vec<f64> {
        let (unit, _) = self.genes[gene.0];
        let places = |animal: AnimalId, sex: Sex| -> Vec<Option<usize>> {
            let own = &self.animals[animal.0][unit].states;
            let states = self.units[unit].states_of(Some(sex));
            states.iter().map(|state| own.iter().position(|s| s == state)).collect()
        };
        let [sires, dams] = [places(sire, Sex::Male), places(dam, Sex::Female)];
        let width = self.states(dam, gene);
        let of = |s: &Option<usize>, d: &Option<usize>| match (s, d) {
            (Some(s), Some(d)) => joint[s * width + d],
            _ => 0.0,
        };
        sires.iter().flat_map(|s| dams.iter().map(move |d| of(s, d))).collect()
    }

    /// How many states the variable of an animal at a gene has.
    pub fn states(&self, animal: AnimalId, gene: GeneId) -> usize {
        self.animals[animal.0][self.genes[gene.0].0].states.len()
    }

    /// Chances of the states of an animal of this sex from unrelated stock that was called so.
    pub fn unrelated_called(&self, gene: GeneId, sex: Sex, call: &GeneCall) -> Vec<f64> {
        let (unit, at) = self.genes[gene.0];
        let of = &self.units[unit];
        let likelihood = of.spread(at, &call.likelihood(&of.loci[at]), &of.states_of(Some(sex)));
        let start = of.founder(Some(sex), &[]);
        let weights: Vec<f64> = start.iter().zip(likelihood).map(|(s, l)| s * l).collect();
        let total: f64 = weights.iter().sum();
        weights.iter().map(|weight| weight / total).collect()
    }

    /// The chance of each genotype of a hatched young at a gene, for each pair of parents: sire
    /// slowest, then dam.
    pub fn chances_of_genotypes(&self, gene: GeneId) -> Vec<Vec<f64>> {
        let (unit, at) = self.genes[gene.0];
        let of = &self.units[unit];
        let young = of.brood(None).hatched(None);
        let states = of.states_of(None);
        let mut rows = vec![vec![0.0; of.loci[at].genotypes.len()]; young.len() / states.len()];
        for (state, chances) in states.iter().zip(young.outer_iter()) {
            let genotype = of.genotype[at][*state];
            rows.iter_mut().zip(chances).for_each(|(row, chance)| row[genotype] += chance);
        }
        rows
    }

    /// The chance that a fertile egg has a genotype that can hatch at the unit of a gene, for each
    /// pair of parents: sire slowest, then dam.
    pub fn chances_of_hatching(&self, gene: GeneId) -> Vec<f64> {
        self.units[self.genes[gene.0].0].brood(None).viability().into_iter().collect()
    }

    /// The chance that an animal from unrelated stock is called each look class.
    pub fn chances_of_calls_elsewhere(&self, gene: GeneId) -> Vec<f64> {
        let locus = self.locus(gene);
        let chance = |class: usize, sex: Option<Sex>| -> f64 {
            let call = GeneCall::Class { class, hidden: Vec::new() };
            let weights = unrelated(locus, sex).into_iter().zip(call.likelihood(locus));
            weights.map(|(chance, called)| chance * called).sum()
        };
        let of = |class: usize| match locus.one_copy_sex {
            None => chance(class, None),
            Some(_) => {
                0.5 * [Sex::Female, Sex::Male]
                    .map(|sex| chance(class, Some(sex)))
                    .iter()
                    .sum::<f64>()
            }
        };
        (0..locus.names).map(of).collect()
    }
}
