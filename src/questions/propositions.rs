//! What can be said of one animal at one gene: yes or no, with a chance.

use crate::genetics::Locus;
use crate::records::{AnimalId, GeneId, Genotype};

/// How many copies of an allele a proposition is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Copies {
    /// It has one or more.
    Any,
    /// It has two.
    Two,
}

/// "This animal has a copy of this allele", or "two copies".
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Proposition {
    /// The animal.
    pub animal: AnimalId,
    /// The gene.
    pub gene: GeneId,
    /// The mutant allele, from 1.
    pub allele: usize,
    /// How many copies.
    pub copies: Copies,
}

impl Proposition {
    /// Every proposition about an animal at a gene.
    pub fn all(animal: AnimalId, locus: &Locus) -> impl Iterator<Item = Proposition> + use<> {
        let gene = locus.gene;
        (1..locus.frequencies.len()).flat_map(move |allele| {
            [Copies::Any, Copies::Two].map(|copies| Proposition { animal, gene, allele, copies })
        })
    }

    /// Whether it is true of an animal of this genotype.
    pub fn holds(&self, genotype: &Genotype) -> bool {
        let needed = match self.copies {
            Copies::Any => 1,
            Copies::Two => 2,
        };
        genotype.copies_of(self.allele) >= needed
    }

    /// Its chance, from a weight for each genotype of the locus.
    pub fn chance(&self, locus: &Locus, weights: &[f64]) -> f64 {
        let hits = locus.genotypes.iter().zip(weights);
        let (yes, all) = hits.fold((0.0, 0.0), |(yes, all), (genotype, weight)| {
            (if self.holds(genotype) { yes + weight } else { yes }, all + weight)
        });
        if all > 0.0 { (yes / all).clamp(0.0, 1.0) } else { 0.0 }
    }
}

/// Odds for a chance; infinite for 1.
pub(super) fn odds(chance: f64) -> f64 {
    crate::numbers::Probability::clamped(chance).odds()
}
