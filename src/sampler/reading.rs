//! Readings: tests of the genotype itself.

use super::laws::Laws;
use super::{Dice, Genome};
use crate::records::{Colony, Genotype, Reading, ReadingKind, Sex};

impl Laws {
    /// The reading an animal would give to the test of `design`.
    ///
    /// A result is right with its reliability, else any other genotype possible for the recorded
    /// sex, each equally likely. A list of likelihoods is that of such a test too, of the
    /// reliability that the largest share in the list of `design` stands for.
    pub fn reading(
        &self,
        colony: &Colony,
        design: &Reading,
        genome: &Genome,
        recorded: Option<Sex>,
        dice: &mut Dice,
    ) -> Reading {
        let possible = self.genotypes(colony.gene(design.gene), recorded);
        let truth = genome.genotype(design.gene);
        let mut result = |reliability: f64| {
            let others: Vec<_> = possible.iter().filter(|&&other| other != truth).collect();
            let right = dice.coin(reliability);
            if right { truth } else { dice.pick(&others).map_or(truth, |other| **other) }
        };
        let kind = match &design.kind {
            ReadingKind::Result { reliability, .. } => {
                ReadingKind::Result { genotype: result(*reliability), reliability: *reliability }
            }
            ReadingKind::Likelihood(listed) => {
                let reliability = largest_share(listed);
                let found = result(reliability);
                let wrong = (1.0 - reliability) / (possible.len().max(2) - 1) as f64;
                let weight = |genotype| if genotype == found { reliability } else { wrong };
                ReadingKind::Likelihood(possible.iter().map(|&g| (g, weight(g))).collect())
            }
        };
        Reading { kind, ..design.clone() }
    }
}

fn largest_share(listed: &[(Genotype, f64)]) -> f64 {
    let total: f64 = listed.iter().map(|(_, weight)| weight).sum();
    let largest = listed.iter().fold(0.0_f64, |most, (_, weight)| most.max(*weight));
    if total > 0.0 { largest / total } else { 1.0 }
}
