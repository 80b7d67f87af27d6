//! What a random colony is to be like.

use crate::records::{Assumptions, SexSystem};

/// How large a random colony is, how inbred, what is assumed and which features it uses.
#[derive(Clone, Debug, PartialEq)]
pub struct Params {
    /// Animals without recorded parents; at least one of each sex is made.
    pub founders: usize,
    /// Breeding seasons, one year each.
    pub seasons: usize,
    /// Clutches in a season.
    pub clutches: usize,
    /// Fewest and most young of a clutch.
    pub young: (usize, usize),
    /// Chance that a mating is between parent and young, half or full siblings, where possible.
    pub inbreeding: f64,
    /// Number of genes; at least one is made.
    pub genes: usize,
    /// Most mutant alleles of one gene, at least 2 where there are series.
    pub alleles: usize,
    /// How sex is determined.
    pub sex_system: SexSystem,
    /// The assumptions in force; `other_sire` and `mix_up` above 0 take effect.
    pub assumptions: Assumptions,
    /// What may occur.
    pub features: Features,
}

impl Default for Params {
    /// A small colony with everything that concerns autosomal genes and certain sires; mutant
    /// alleles are common, so that there is something to find out.
    fn default() -> Self {
        Params {
            founders: 5,
            seasons: 3,
            clutches: 2,
            young: (2, 6),
            inbreeding: 0.3,
            genes: 3,
            alleles: 3,
            sex_system: SexSystem::Environmental,
            assumptions: Assumptions {
                background: 0.1,
                misread: 0.02,
                trust: 0.9,
                ..Assumptions::default()
            },
            features: Features::default(),
        }
    }
}

impl Params {
    /// A small colony in which everything may occur that the format can say of declared genes.
    pub fn everything() -> Self {
        let plain = Params::default();
        Params {
            genes: 5,
            sex_system: SexSystem::Zw,
            assumptions: Assumptions {
                other_sire: 0.1,
                mix_up: 0.05,
                virgin_heterozygosity: 0.2,
                ..plain.assumptions
            },
            features: Features::all(),
            ..plain
        }
    }
}

/// Which features a random colony may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Features {
    /// Genes of which one copy shows.
    pub visible: bool,
    /// Genes of several mutant alleles.
    pub series: bool,
    /// Genotypes that never hatch.
    pub lethal: bool,
    /// Genotypes that do not always show their look.
    pub penetrance: bool,
    /// Genes with their own misread, its forms told apart.
    pub misread: bool,
    /// Looks that hide genes or other looks.
    pub masks: bool,
    /// Combinations.
    pub combinations: bool,
    /// Genes not judged on the young, or not before a date.
    pub ages: bool,
    /// Uncertain calls.
    pub either: bool,
    /// Unread genes and animals nobody looked at.
    pub unread: bool,
    /// Tests of the genotype.
    pub readings: bool,
    /// Sellers' statements.
    pub statements: bool,
    /// Later calls on hatchlings that grew up.
    pub grown: bool,
    /// Dams and sires nobody recorded.
    pub unknown_parents: bool,
    /// Counts of eggs, slugs and losses, and clutches not wholly written down.
    pub eggs: bool,
    /// Genes on the sex chromosomes, where chromosomes decide the sex.
    pub sex_linked: bool,
    /// Linkage groups.
    pub linkage: bool,
    /// Several candidate sires.
    pub several_sires: bool,
    /// Births without a father.
    pub no_father: bool,
    /// Clutches of which only some looks were written down, or that were kept for a look.
    pub selection: bool,
    /// Penetrance and crossover that the keeper does not know.
    pub unknown_rates: bool,
}

impl Default for Features {
    /// Everything that concerns autosomal, unlinked genes and certain sires.
    fn default() -> Self {
        Features {
            sex_linked: false,
            linkage: false,
            several_sires: false,
            no_father: false,
            selection: false,
            unknown_rates: false,
            ..Features::all()
        }
    }
}

impl Features {
    /// Every feature.
    pub fn all() -> Self {
        Features {
            visible: true,
            series: true,
            lethal: true,
            penetrance: true,
            misread: true,
            masks: true,
            combinations: true,
            ages: true,
            either: true,
            unread: true,
            readings: true,
            statements: true,
            grown: true,
            unknown_parents: true,
            eggs: true,
            sex_linked: true,
            linkage: true,
            several_sires: true,
            no_father: true,
            selection: true,
            unknown_rates: true,
        }
    }

    /// Recessive genes of known pairs, plain calls, and nothing else.
    pub fn none() -> Self {
        Features {
            visible: false,
            series: false,
            lethal: false,
            penetrance: false,
            misread: false,
            masks: false,
            combinations: false,
            ages: false,
            either: false,
            unread: false,
            readings: false,
            statements: false,
            grown: false,
            unknown_parents: false,
            eggs: false,
            sex_linked: false,
            linkage: false,
            several_sires: false,
            no_father: false,
            selection: false,
            unknown_rates: false,
        }
    }
}
