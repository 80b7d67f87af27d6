//! Genes as the breeder declares them.

use super::{Date, Place};

/// Position of a gene in [`Colony::genes`](super::Colony::genes).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct GeneId(pub usize);

/// A genotype at one gene; allele 0 is the wild type `+`, allele `a` is `Gene::alleles[a - 1]`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Genotype {
    /// Two copies, the lower allele number first: `+/ash`, `fern/moss`.
    Two(usize, usize),
    /// The only copy in the one-copy sex: `ash/Y`, `+/W`.
    One(usize),
}

impl Genotype {
    /// Two copies, written in either order.
    pub fn two(one: usize, other: usize) -> Self {
        Genotype::Two(one.min(other), one.max(other))
    }

    /// How many copies of `allele` it has.
    pub fn copies_of(self, allele: usize) -> usize {
        match self {
            Genotype::Two(a, b) => usize::from(a == allele) + usize::from(b == allele),
            Genotype::One(a) => usize::from(a == allele),
        }
    }

    /// How many copies of any mutant allele it has.
    pub fn mutant_copies(self) -> usize {
        match self {
            Genotype::Two(a, b) => usize::from(a > 0) + usize::from(b > 0),
            Genotype::One(a) => usize::from(a > 0),
        }
    }
}

/// A look: a visible class of one gene. Class 0, "shows nothing", is never written as a `Look`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Look {
    /// The gene whose look it is.
    pub gene: GeneId,
    /// Look class, from 1; its name is `Gene::looks[class - 1]`.
    pub class: usize,
}

/// How a gene was declared to be inherited.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inheritance {
    /// Two copies show the look.
    Recessive,
    /// One or two copies show the look.
    Dominant,
    /// One copy shows one look, two copies another.
    IncompleteDominant,
    /// Several mutant alleles; `Gene::shows` lists what each genotype shows.
    Alleles,
    /// Suspected: how it is inherited is the question.
    Unknown,
}

/// Chances that a call on a gene names the wrong look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Misread {
    /// One chance for every wrong call together.
    Any(f64),
    /// The ways of going wrong told apart.
    Apart {
        /// A look is called nothing.
        missed: f64,
        /// Nothing is called a look.
        imagined: f64,
        /// One look of the gene is called another.
        confused: f64,
    },
}

/// Chance that a genotype shows its look.
#[derive(Clone, Debug, PartialEq)]
pub enum Penetrance {
    /// One chance for all genotypes that show a look.
    All(f64),
    /// Given for single genotypes; the others always show their look.
    Some(Vec<(Genotype, f64)>),
    /// Not known: one value for all, to be integrated over.
    Unknown,
}

/// That a gene lies on a sex chromosome.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SexLinkage {
    /// `None`: on X or Z only. `Some(r)`: a copy on both sex chromosomes, `r` the recombination
    /// with the sex-determining region in the heterogametic sex.
    pub crossover: Option<f64>,
}

/// What was declared about the first find of a gene of unknown inheritance.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FirstSeen {
    /// The animals it was noticed on.
    pub animals: Vec<super::AnimalId>,
    /// Whether nobody said so: it is the earliest animal recorded with the look.
    pub assumed: bool,
    /// Share of ordinary young that would be taken for it.
    pub look_alikes: Option<f64>,
}

/// One declared gene: a locus with its wild-type allele `+` and its mutant alleles.
#[derive(Clone, Debug, PartialEq)]
pub struct Gene {
    /// Name of the gene (the key after `gene.`).
    pub name: String,
    /// Where its declaration begins.
    pub place: Place,
    /// Other names, accepted everywhere, never printed.
    pub aka: Vec<String>,
    /// A warning to print wherever the gene matters to an animal's welfare.
    pub caution: Option<String>,
    /// How it was declared to be inherited.
    pub inheritance: Inheritance,
    /// Names of the mutant alleles; allele `a` is `alleles[a - 1]`.
    pub alleles: Vec<String>,
    /// Names of the looks; class `c` is `looks[c - 1]`. In order of first mention.
    pub looks: Vec<String>,
    /// Which genotypes show which class; a genotype that is not listed shows nothing (class 0).
    ///
    /// Complete for every kind of inheritance but `Unknown`, where it is empty.
    pub shows: Vec<(Genotype, usize)>,
    /// Genotypes that never hatch.
    pub lethal: Vec<Genotype>,
    /// Chance that a genotype shows its look; absent = always.
    pub penetrance: Option<Penetrance>,
    /// Misread of this gene; absent = `Assumptions::misread`.
    pub misread: Option<Misread>,
    /// Frequency of each mutant allele in unrelated stock; absent = `Assumptions::background`.
    pub background: Option<Vec<f64>>,
    /// Present when the gene lies on a sex chromosome.
    pub sex_linked: Option<SexLinkage>,
    /// `from_age = "adult"`: hatchlings are unread for it unless the call names it.
    pub from_age_adult: bool,
    /// Animals and clutches recorded earlier are unread for it unless they name it.
    pub judged_since: Option<Date>,
    /// For a gene of unknown inheritance.
    pub first_seen: FirstSeen,
}

impl Gene {
    /// Every unordered genotype with two copies, in the fixed order `0/0, 0/1, …, 1/1, …`.
    pub fn two_copy_genotypes(&self) -> Vec<Genotype> {
        let alleles = self.alleles.len() + 1;
        (0..alleles).flat_map(|a| (a..alleles).map(move |b| Genotype::Two(a, b))).collect()
    }

    /// Name of an allele: `+` for 0.
    pub fn allele_name(&self, allele: usize) -> &str {
        if allele == 0 { "+" } else { &self.alleles[allele - 1] }
    }

    /// Name of a look class: `normal` for 0; the last class of a suspected gene may have none.
    pub fn look_name(&self, class: usize) -> &str {
        match class.checked_sub(1) {
            None => "normal",
            Some(at) => self.looks.get(at).map_or("a look without a name", String::as_str),
        }
    }

    /// A genotype as it is written: `+/ash`, and in the one-copy sex `ash/Y` or `ash/W`.
    pub fn genotype_name(&self, genotype: Genotype, system: super::SexSystem) -> String {
        let other = if system == super::SexSystem::Zw { "W" } else { "Y" };
        match genotype {
            Genotype::Two(a, b) => format!("{}/{}", self.allele_name(a), self.allele_name(b)),
            Genotype::One(a) => format!("{}/{other}", self.allele_name(a)),
        }
    }

    /// The look class a genotype shows when it shows what it can.
    pub fn class_of(&self, genotype: Genotype) -> usize {
        self.shows.iter().find(|(shown, _)| *shown == genotype).map_or(0, |(_, class)| *class)
    }
}
