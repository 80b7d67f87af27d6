//! One gene as the model uses it: its genotypes, how often they occur, what they show.

use crate::records::{Assumptions, Gene, GeneId, Genotype, Misread, Penetrance, Sex, SexSystem};

/// One gene with every number of the model filled in from the assumptions.
///
/// All vectors over genotypes follow [`Locus::genotypes`]; look classes count from 0, "shows
/// nothing".
#[derive(Clone, Debug)]
pub struct Locus {
    /// The gene of the records.
    pub gene: GeneId,
    /// Allele frequencies in unrelated stock, wild type first; they sum to one.
    pub frequencies: Vec<f64>,
    /// Genotypes with two copies in the order `0/0, 0/1, …, 1/1, …`; then, for a gene on X or Z
    /// only, those with one copy in the order of the alleles.
    pub genotypes: Vec<Genotype>,
    /// The same genotypes in the gene's own alleles. They differ only where two genes of the
    /// records are taken for one locus: what is not an allele of the gene counts as `+`.
    pub own: Vec<Genotype>,
    /// The look class of each genotype when it shows what it can.
    pub class: Vec<usize>,
    /// `shows[genotype][class]`: chance that the genotype shows the class.
    pub shows: Vec<Vec<f64>>,
    /// Whether each genotype never hatches.
    pub lethal: Vec<bool>,
    /// Number of look classes, "shows nothing" included.
    pub classes: usize,
    /// Number of look classes that have a name: the last class of a suspected gene may have none.
    pub names: usize,
    /// Chances of wrong calls.
    pub misread: Misread,
    /// The sex that has one copy, for a gene on X or Z only.
    pub one_copy_sex: Option<Sex>,
}

impl Locus {
    /// Fills in one gene of the records.
    pub fn new(id: GeneId, gene: &Gene, assumptions: &Assumptions, sex_system: SexSystem) -> Self {
        let alleles = gene.alleles.len() + 1;
        let one_copy_sex = one_copy_sex(gene, sex_system);
        let mut genotypes = gene.two_copy_genotypes();
        if one_copy_sex.is_some() {
            genotypes.extend((0..alleles).map(Genotype::One));
        }
        let mutant =
            gene.background.clone().unwrap_or_else(|| vec![assumptions.background; alleles - 1]);
        let mut frequencies = vec![(1.0 - mutant.iter().sum::<f64>()).max(0.0)];
        frequencies.extend(mutant);
        let class: Vec<usize> = genotypes.iter().map(|g| gene.class_of(*g)).collect();
        Locus {
            gene: id,
            frequencies,
            own: genotypes.clone(),
            shows: genotypes
                .iter()
                .zip(&class)
                .map(|(g, c)| shown(gene.looks.len() + 1, *c, penetrance(gene, *g, *c)))
                .collect(),
            lethal: genotypes.iter().map(|g| gene.lethal.contains(g)).collect(),
            class,
            classes: gene.looks.len() + 1,
            names: gene.looks.len() + 1,
            misread: gene.misread.unwrap_or(Misread::Any(assumptions.misread)),
            one_copy_sex,
            genotypes,
        }
    }

    /// Position of a genotype, if it is one of this gene.
    pub fn position(&self, genotype: Genotype) -> Option<usize> {
        self.genotypes.iter().position(|g| *g == genotype)
    }

    /// Whether an animal of this sex can have the genotype; unknown sex: any.
    pub fn possible(&self, genotype: Genotype, sex: Option<Sex>) -> bool {
        let (Some(one_copy), Some(sex)) = (self.one_copy_sex, sex) else { return true };
        matches!(genotype, Genotype::One(_)) == (sex == one_copy)
    }

    /// Weights in the gene's own alleles: for each of its own genotypes possible for the sex, in
    /// the order of the first that stands for it, the sum of those that do.
    pub fn in_own_alleles(&self, sex: Option<Sex>, weights: &[f64]) -> Vec<(Genotype, f64)> {
        let mut sums: Vec<(Genotype, f64)> = Vec::new();
        for ((genotype, own), weight) in self.genotypes.iter().zip(&self.own).zip(weights) {
            if !self.possible(*genotype, sex) {
                continue;
            }
            match sums.iter_mut().find(|(known, _)| known == own) {
                Some((_, sum)) => *sum += weight,
                None => sums.push((*own, *weight)),
            }
        }
        sums
    }

    /// Whether any genotype never hatches.
    pub fn can_be_lethal(&self) -> bool {
        self.lethal.iter().any(|lethal| *lethal)
    }

    /// Chance that an animal whose true class is `truth` is called `call`.
    ///
    /// # Source
    ///
    /// Calls: P(c | c) = 1 − m, any other class m/(K−1) with K classes; or told apart: missed (a
    /// look called nothing), imagined (nothing called a look, spread evenly), confused (one look
    /// called another, spread evenly). A class without a name gets each call with m/K.
    pub fn call_chance(&self, truth: usize, call: usize) -> f64 {
        let others = |n: usize, chance: f64| if n == 0 { 0.0 } else { chance / n as f64 };
        match self.misread {
            Misread::Any(m) if truth >= self.names => others(self.names, m),
            Misread::Apart { missed, confused, .. } if truth >= self.names => {
                others(self.names, missed + confused)
            }
            Misread::Any(m) if self.names < 2 => {
                if truth == call {
                    1.0
                } else {
                    m
                }
            }
            Misread::Any(m) if truth == call => 1.0 - m,
            Misread::Any(m) => others(self.names - 1, m),
            Misread::Apart { imagined, .. } if truth == 0 => {
                if call == 0 {
                    1.0 - imagined
                } else {
                    others(self.names - 1, imagined)
                }
            }
            Misread::Apart { missed, confused, .. } => {
                let confused = if self.names > 2 { confused } else { 0.0 };
                match call {
                    0 => missed,
                    _ if call == truth => 1.0 - missed - confused,
                    _ => others(self.names - 2, confused),
                }
            }
        }
    }

    /// One for each genotype of the look class, zero for the others.
    ///
    /// # Source
    ///
    /// Look classes partition the genotypes of a gene, whether or not they show.
    pub fn of_class(&self, class: usize) -> Vec<f64> {
        self.class.iter().map(|own| if *own == class { 1.0 } else { 0.0 }).collect()
    }

    /// Chance that each genotype shows the class (penetrance included).
    pub fn class_chance(&self, class: usize) -> Vec<f64> {
        self.shows.iter().map(|shows| shows[class]).collect()
    }
}

/// The chances of all classes for a genotype of this class and penetrance.
pub(super) fn shown(classes: usize, class: usize, penetrance: f64) -> Vec<f64> {
    let mut shows = vec![0.0; classes];
    shows[0] = 1.0 - penetrance;
    shows[class] += penetrance;
    shows
}

fn one_copy_sex(gene: &Gene, sex_system: SexSystem) -> Option<Sex> {
    let on_one_only = gene.sex_linked.is_some_and(|linked| linked.crossover.is_none());
    match sex_system {
        SexSystem::Xy if on_one_only => Some(Sex::Male),
        SexSystem::Zw if on_one_only => Some(Sex::Female),
        _ => None,
    }
}

pub(super) fn penetrance(gene: &Gene, genotype: Genotype, class: usize) -> f64 {
    match &gene.penetrance {
        _ if class == 0 => 1.0,
        Some(Penetrance::All(chance)) => *chance,
        Some(Penetrance::Some(list)) => {
            list.iter().find(|(g, _)| *g == genotype).map_or(1.0, |(_, chance)| *chance)
        }
        Some(Penetrance::Unknown) | None => 1.0,
    }
}
