//! What is true of a drawn colony, and no record says.

use super::Genome;
use crate::records::{AnimalId, Candidate, Colony, GeneId, Genotype};

/// What is true of one clutch.
#[derive(Clone, Debug, PartialEq)]
pub struct ClutchTruth {
    /// The dam, when she is unknown to the records.
    pub unknown_dam: Option<Genome>,
    /// The male nobody recorded, when he is among the candidates.
    pub unknown_sire: Option<Genome>,
    /// Who sired the whole clutch; `None` when each egg has its own sire.
    pub sire: Option<Candidate>,
    /// Who sired each hatchling kept apart, in the order of the clutch; for one mixed up, who sired
    /// the egg whose place it took.
    pub sires: Vec<Candidate>,
    /// The young only counted, count by count, with their sires.
    pub counted: Vec<Vec<(Genome, Candidate)>>,
    /// Fertile eggs that died before the last hatchling was drawn; not kept for selective records.
    pub lost: Vec<Genome>,
}

/// What is true of a drawn colony.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// What each animal carries, by [`AnimalId`].
    pub animals: Vec<Genome>,
    /// Whether a hatchling is not from its clutch, by [`AnimalId`].
    pub mixed_up: Vec<bool>,
    /// What is true of each clutch, by [`ClutchId`](crate::records::ClutchId).
    pub clutches: Vec<ClutchTruth>,
    /// The penetrance of each gene whose penetrance is declared unknown.
    pub penetrance: Vec<Option<f64>>,
    /// The crossover between neighbours of each linkage group, in dams and in sires.
    pub crossover: Vec<[Vec<f64>; 2]>,
}

impl Truth {
    /// The true genotype of an animal at a gene.
    ///
    /// # Panics
    ///
    /// If either is not of the colony this was drawn with.
    pub fn genotype(&self, animal: AnimalId, gene: GeneId) -> Genotype {
        self.animals[animal.0].genotype(gene)
    }

    /// The true identity of an animal: the look class of its genotype at each gene of `colony`,
    /// whether or not it shows it.
    ///
    /// # Panics
    ///
    /// As [`Truth::genotype`].
    pub fn identity(&self, colony: &Colony, animal: AnimalId) -> Vec<usize> {
        let class = |gene| colony.gene(gene).class_of(self.genotype(animal, gene));
        colony.gene_ids().map(class).collect()
    }
}
