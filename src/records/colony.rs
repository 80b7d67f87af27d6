//! The whole colony, every name resolved.

use super::{Animal, AnimalId, Assumptions, Clutch, ClutchId, Gene, GeneId, Look, Place};

/// How sex is determined.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SexSystem {
    /// Males XY.
    Xy,
    /// Females ZW.
    Zw,
    /// By temperature or otherwise not by chromosomes; carries no evidence.
    #[default]
    Environmental,
}

/// Hatched young in a clutch; used by planning only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClutchSize {
    /// Mean number of hatched young.
    pub mean: f64,
    /// Standard deviation; 0 for a plain number.
    pub sd: f64,
}

/// Age at first breeding in months.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Maturity {
    /// Of females.
    pub female: f64,
    /// Of males.
    pub male: f64,
}

/// Rates between neighbours of a linkage group.
#[derive(Clone, Debug, PartialEq)]
pub enum CrossoverRates {
    /// Rates in each sex, one fewer than genes.
    Known {
        /// Recombination in dams.
        female: Vec<f64>,
        /// Recombination in sires.
        male: Vec<f64>,
    },
    /// Not known: to be integrated over.
    Unknown,
}

/// Genes that travel together, in map order.
#[derive(Clone, Debug, PartialEq)]
pub struct LinkageGroup {
    /// Two or more genes in map order; a gene is in one group.
    pub genes: Vec<GeneId>,
    /// Rates between neighbours.
    pub crossover: CrossoverRates,
    /// Where it stands.
    pub place: Place,
}

/// What a mask hides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hidden {
    /// A whole gene: it is unread.
    Gene(GeneId),
    /// One look: it and normal cannot be told apart.
    Look(Look),
}

/// A look that hides others.
#[derive(Clone, Debug, PartialEq)]
pub struct Mask {
    /// The looks that must all be recorded for the mask to act (one, or those of a combination).
    pub looks: Vec<Look>,
    /// What they hide.
    pub hides: Vec<Hidden>,
    /// Where it stands.
    pub place: Place,
}

/// Several looks at once under one name.
#[derive(Clone, Debug, PartialEq)]
pub struct Combination {
    /// Its name.
    pub name: String,
    /// The looks it stands for, one a gene.
    pub looks: Vec<Look>,
    /// Where it stands.
    pub place: Place,
}

/// One records file: what the keeper knows, was told and saw.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Colony {
    /// Title.
    pub title: Option<String>,
    /// Species, free text.
    pub species: Option<String>,
    /// How sex is determined.
    pub sex_system: SexSystem,
    /// Hatched young in a clutch.
    pub clutch_size: Option<ClutchSize>,
    /// Clutches of a female in a season.
    pub clutches_per_year: Option<f64>,
    /// Age at first breeding.
    pub mature_at: Option<Maturity>,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Genes in order of declaration.
    pub genes: Vec<Gene>,
    /// Linkage groups.
    pub linkage: Vec<LinkageGroup>,
    /// Masks.
    pub masks: Vec<Mask>,
    /// Combinations.
    pub combinations: Vec<Combination>,
    /// Founders in file order, then the hatchlings of each clutch in file order.
    pub animals: Vec<Animal>,
    /// Clutches in file order.
    pub clutches: Vec<Clutch>,
}

impl Colony {
    /// The animal with this number.
    pub fn animal(&self, id: AnimalId) -> &Animal {
        &self.animals[id.0]
    }

    /// The clutch with this number.
    pub fn clutch(&self, id: ClutchId) -> &Clutch {
        &self.clutches[id.0]
    }

    /// The gene with this number.
    pub fn gene(&self, id: GeneId) -> &Gene {
        &self.genes[id.0]
    }

    /// Every gene's number, in order of declaration.
    pub fn gene_ids(&self) -> impl Iterator<Item = GeneId> + use<> {
        (0..self.genes.len()).map(GeneId)
    }

    /// Every animal's number, founders first.
    pub fn animal_ids(&self) -> impl Iterator<Item = AnimalId> + use<> {
        (0..self.animals.len()).map(AnimalId)
    }

    /// Every clutch's number, in file order.
    pub fn clutch_ids(&self) -> impl Iterator<Item = ClutchId> + use<> {
        (0..self.clutches.len()).map(ClutchId)
    }

    /// The animal called `id`, which must be written as it is recorded (Unicode NFC).
    pub fn find_animal(&self, id: &str) -> Option<AnimalId> {
        self.animals.iter().position(|animal| animal.id.as_deref() == Some(id)).map(AnimalId)
    }

    /// The gene called `name`, or one of whose other names it is.
    pub fn find_gene(&self, name: &str) -> Option<GeneId> {
        let named = |gene: &Gene| gene.name == name || gene.aka.iter().any(|aka| aka == name);
        self.genes.iter().position(named).map(GeneId)
    }

    /// The clutch called `id`.
    pub fn find_clutch(&self, id: &str) -> Option<ClutchId> {
        self.clutches.iter().position(|clutch| clutch.id == id).map(ClutchId)
    }
}
