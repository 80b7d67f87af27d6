//! Animals, what was seen on them and what was told of them.

use super::{ClutchId, Date, GeneId, Genotype, Look, Place};

/// Position of an animal in [`Colony::animals`](super::Colony::animals).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AnimalId(pub usize);

/// Sex as recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sex {
    /// Can be a dam.
    Female,
    /// Can be a sire.
    Male,
}

/// What became of an animal; only `Kept` takes part in planning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// In the colony and bred.
    Kept,
    /// In the colony, not bred for now.
    Resting,
    /// In the colony, no longer bred.
    Retired,
    /// Sold.
    Sold,
    /// Dead.
    Dead,
    /// Owned by somebody else.
    Elsewhere,
}

impl Status {
    /// Its word in a records file.
    pub fn word(self) -> &'static str {
        match self {
            Status::Kept => "kept",
            Status::Resting => "resting",
            Status::Retired => "retired",
            Status::Sold => "sold",
            Status::Dead => "dead",
            Status::Elsewhere => "elsewhere",
        }
    }
}

/// Where an animal comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// No recorded parents.
    Founder,
    /// Hatched in a clutch of this file.
    Clutch(ClutchId),
}

/// One of several identities that an uncertain call names.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    /// The looks of this identity; empty = normal. At most one look a gene.
    pub looks: Vec<Look>,
    /// How well the look fits it; as written, not normalised.
    pub fit: f64,
}

/// What the look was called.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Call {
    /// No looks were recorded: every gene is unread.
    #[default]
    NotRecorded,
    /// These looks and no others; empty = normal. At most one look a gene.
    Looks(Vec<Look>),
    /// One of these identities; at least one has positive weight.
    Either(Vec<Alternative>),
}

/// What was seen at one time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Observation {
    /// What the look was called.
    pub call: Call,
    /// Genes nobody judged.
    pub unread: Vec<GeneId>,
    /// Where it stands; `None` when nothing was written.
    pub place: Option<Place>,
}

/// What a seller said of one gene.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Says {
    /// The animal shows this look class (1 or more).
    Look(usize),
    /// One copy of the allele with this chance, otherwise none: `66% het x` is 2/3.
    Het {
        /// The mutant allele, from 1.
        allele: usize,
        /// 1 for `het x`, 2/3 for `66%` and `67%`, 1/3 for `33%`, otherwise as written.
        chance: f64,
    },
    /// No copy of the allele.
    NotHet {
        /// The mutant allele, from 1.
        allele: usize,
    },
}

/// One statement of a seller.
#[derive(Clone, Debug, PartialEq)]
pub struct Statement {
    /// The gene it is about.
    pub gene: GeneId,
    /// What it says.
    pub says: Says,
    /// As written.
    pub text: String,
    /// Where it stands.
    pub place: Place,
}

/// Evidence on a genotype itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The gene that was read.
    pub gene: GeneId,
    /// What was read.
    pub kind: ReadingKind,
    /// Where it stands.
    pub place: Place,
}

/// The two ways to write a reading.
#[derive(Clone, Debug, PartialEq)]
pub enum ReadingKind {
    /// The result has likelihood `reliability`, every other genotype possible for the animal's
    /// sex `(1 - reliability) / (n - 1)`.
    Result {
        /// The stated genotype.
        genotype: Genotype,
        /// Chance that the test is right.
        reliability: f64,
    },
    /// A likelihood for every genotype the animal can have; only ratios matter.
    Likelihood(Vec<(Genotype, f64)>),
}

/// A founder or a hatchling.
#[derive(Clone, Debug, PartialEq)]
pub struct Animal {
    /// Its id; only a hatchling may have none.
    pub id: Option<String>,
    /// Where its record begins (the id, or the hatchling's table).
    pub place: Place,
    /// Founder or hatchling.
    pub origin: Origin,
    /// Recorded sex, or fixed by being a dam or sire.
    pub sex: Option<Sex>,
    /// When it hatched; for a hatchling the clutch's date.
    pub hatched: Option<Date>,
    /// What was seen: on a founder as an adult (or not grown), on a hatchling at hatching.
    pub seen: Observation,
    /// Whether `seen` counts as grown for `from_age` (founders unless `grown = false`).
    pub seen_grown: bool,
    /// Later calls on a hatchling that grew up.
    pub grown: Option<Observation>,
    /// The keeper's numbers in `either` are overall beliefs, pairing included.
    pub believed: bool,
    /// What sellers said; founders only, one a gene.
    pub statements: Vec<Statement>,
    /// Chance that the statements are right; absent = `Assumptions::trust`.
    pub trust: Option<f64>,
    /// Evidence on the genotype itself.
    pub readings: Vec<Reading>,
    /// What became of it; for a hatchling kept if it is a parent, else elsewhere, unless written.
    pub status: Status,
    /// A remark; never read by the program.
    pub note: Option<String>,
}
