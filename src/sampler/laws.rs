//! The rules of one colony, made ready for drawing: where its genes lie and what is unknown.

use super::Dice;
use crate::records::{Colony, CrossoverRates, Gene, GeneId, Genotype, Penetrance, Sex, SexSystem};

/// Genes that travel together, in map order.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Chain {
    pub genes: Vec<GeneId>,
    /// Recombination between neighbours in dams and in sires.
    pub female: Vec<f64>,
    pub male: Vec<f64>,
    /// Position in `genes` of the gene that ties the chain to the sex-determining region, with
    /// the recombination between the two in the heterogametic sex.
    pub anchor: Option<(usize, f64)>,
}

impl Chain {
    /// Recombination between neighbours in a parent of this sex.
    pub fn rates(&self, sex: Sex) -> &[f64] {
        match sex {
            Sex::Female => &self.female,
            Sex::Male => &self.male,
        }
    }
}

/// The rules of one colony; what the keeper does not know is drawn once and then holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Laws {
    pub sex_system: SexSystem,
    /// Every gene is in exactly one chain.
    pub chains: Vec<Chain>,
    /// The drawn penetrance of each gene whose penetrance is unknown.
    pub penetrance: Vec<Option<f64>>,
    /// The rates of each linkage group, in dams and in sires.
    pub crossover: Vec<[Vec<f64>; 2]>,
    /// Genes in an order in which each comes behind the genes whose looks can hide it.
    pub calling_order: Vec<GeneId>,
}

impl Laws {
    /// The rules of `colony`; an unknown penetrance is uniform on [1/2, 1], an unknown crossover
    /// uniform on [0, 1/2], one value for each interval and both sexes.
    pub fn new(colony: &Colony, dice: &mut Dice) -> Self {
        let crossover: Vec<_> = colony
            .linkage
            .iter()
            .map(|group| match &group.crossover {
                CrossoverRates::Known { female, male } => [female.clone(), male.clone()],
                CrossoverRates::Unknown => {
                    let intervals = group.genes.len().saturating_sub(1);
                    let rates: Vec<_> = (0..intervals).map(|_| dice.uniform() / 2.0).collect();
                    [rates.clone(), rates]
                }
            })
            .collect();
        let penetrance = colony
            .genes
            .iter()
            .map(|gene| match gene.penetrance {
                Some(Penetrance::Unknown) => Some(0.5 + dice.uniform() / 2.0),
                _ => None,
            })
            .collect();
        Laws {
            sex_system: colony.sex_system,
            chains: chains(colony, &crossover),
            penetrance,
            crossover,
            calling_order: calling_order(colony),
        }
    }

    /// The sex with two unlike sex chromosomes, if chromosomes decide.
    pub fn heterogametic(&self) -> Option<Sex> {
        match self.sex_system {
            SexSystem::Xy => Some(Sex::Male),
            SexSystem::Zw => Some(Sex::Female),
            SexSystem::Environmental => None,
        }
    }

    /// Whether animals of this sex have a single copy of the gene.
    pub fn one_copy(&self, gene: &Gene, sex: Sex) -> bool {
        self.x_or_z_only(gene) && self.heterogametic() == Some(sex)
    }

    /// Whether the gene lies on X or Z and not on Y or W.
    pub fn x_or_z_only(&self, gene: &Gene) -> bool {
        self.heterogametic().is_some() && gene.sex_linked.is_some_and(|at| at.crossover.is_none())
    }

    /// The genotypes an animal can have at a gene; of unknown sex, those of either sex.
    pub fn genotypes(&self, gene: &Gene, sex: Option<Sex>) -> Vec<Genotype> {
        let both = [Sex::Female, Sex::Male];
        let may_be = |one: bool| {
            both.iter().any(|&s| sex.is_none_or(|sex| sex == s) && self.one_copy(gene, s) == one)
        };
        let mut genotypes = Vec::new();
        if may_be(false) {
            genotypes.extend(gene.two_copy_genotypes());
        }
        if may_be(true) {
            genotypes.extend((0..=gene.alleles.len()).map(Genotype::One));
        }
        genotypes
    }
}

/// The linkage groups, then every other gene alone.
fn chains(colony: &Colony, crossover: &[[Vec<f64>; 2]]) -> Vec<Chain> {
    let grouped = colony.linkage.iter().zip(crossover).map(|(group, [female, male])| Chain {
        anchor: anchor(colony, &group.genes),
        genes: group.genes.clone(),
        female: female.clone(),
        male: male.clone(),
    });
    let alone = colony
        .gene_ids()
        .filter(|gene| !colony.linkage.iter().any(|group| group.genes.contains(gene)))
        .map(|gene| Chain {
            genes: vec![gene],
            female: Vec::new(),
            male: Vec::new(),
            anchor: anchor(colony, &[gene]),
        });
    grouped.chain(alone).collect()
}

// METHOD: a linkage group with a gene on the sex chromosomes hangs on the sex-determining region
// by the one of its genes that lies nearest to it; the others follow by the rates of the group.
fn anchor(colony: &Colony, genes: &[GeneId]) -> Option<(usize, f64)> {
    if colony.sex_system == SexSystem::Environmental {
        return None;
    }
    let distance = |gene: &GeneId| {
        colony.gene(*gene).sex_linked.map(|linkage| linkage.crossover.unwrap_or(0.0))
    };
    genes
        .iter()
        .enumerate()
        .filter_map(|(position, gene)| distance(gene).map(|rate| (position, rate)))
        .min_by(|(_, one), (_, other)| one.total_cmp(other))
}

/// Genes behind those that can hide them; where masks run in a circle, in order of declaration.
fn calling_order(colony: &Colony) -> Vec<GeneId> {
    let hides = |one: GeneId, other: GeneId| {
        one != other
            && colony.masks.iter().any(|mask| {
                mask.looks.iter().any(|look| look.gene == one)
                    && mask.hides.iter().any(|hidden| super::call::hidden_gene(*hidden) == other)
            })
    };
    let mut left: Vec<_> = colony.gene_ids().collect();
    let mut order = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let free = |gene: &GeneId| !left.iter().any(|&other| hides(other, *gene));
        let next = left.iter().position(free).unwrap_or(0);
        order.push(left.remove(next));
    }
    order
}
