//! Clutches: who the parents are, and what came out.

use super::{AnimalId, Date, Look, Observation, Place};

/// Position of a clutch in [`Colony::clutches`](super::Colony::clutches).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ClutchId(pub usize);

/// A dam.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parent {
    /// An animal of the file.
    Known(AnimalId),
    /// One animal from unrelated stock for this clutch.
    Unknown,
}

/// Who may have sired a clutch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Candidate {
    /// An animal of the file.
    Known(AnimalId),
    /// One male from unrelated stock for this clutch, that nobody recorded.
    Unknown,
    /// A birth without a father.
    NoFather,
}

/// Whether a clutch has one sire or each egg its own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SiringMode {
    /// One sire for the whole clutch.
    #[default]
    One,
    /// Each egg has its own.
    Mixed,
}

/// The candidates for the sire of a clutch.
#[derive(Clone, Debug, PartialEq)]
pub struct Siring {
    /// Candidates with their normalised weights; never empty. `sire = "x"` is one with weight 1;
    /// no sire key is `Unknown` with weight 1.
    pub candidates: Vec<(Candidate, f64)>,
    /// One sire for the clutch, or each egg its own.
    pub mode: SiringMode,
}

/// Young that were only counted, not kept apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Count {
    /// What was seen on each of them.
    pub seen: Observation,
    /// Males, females and unsexed.
    pub number: [u32; 3],
    /// Where it stands.
    pub place: Place,
}

impl Count {
    /// How many young it counts.
    pub fn total(&self) -> u32 {
        self.number.iter().sum()
    }
}

/// One clutch, or one litter.
#[derive(Clone, Debug, PartialEq)]
pub struct Clutch {
    /// Its id.
    pub id: String,
    /// Where its record begins.
    pub place: Place,
    /// Its dam.
    pub dam: Parent,
    /// Who may have sired it.
    pub siring: Siring,
    /// When it was laid.
    pub laid: Option<Date>,
    /// When it hatched, or was born.
    pub hatched: Option<Date>,
    /// How many eggs were laid.
    pub eggs: Option<u32>,
    /// How many were infertile; absent is not 0.
    pub slugs: Option<u32>,
    /// How many fertile ones died in the egg.
    pub died: Option<u32>,
    /// Whether every hatchling is written down.
    pub complete: bool,
    /// Hatchlings kept apart, in file order (with or without an id).
    pub hatchlings: Vec<AnimalId>,
    /// Hatchlings only counted.
    pub counts: Vec<Count>,
    /// Only hatchlings with one of these looks were written down; empty = no such selection.
    pub recorded_only: Vec<Look>,
    /// The clutch is in the file only because a hatchling showed one of these; empty = no.
    pub kept_if: Vec<Look>,
    /// A remark; never read by the program.
    pub note: Option<String>,
}

impl Clutch {
    /// How many hatchlings are written down, apart and counted.
    pub fn recorded(&self) -> u32 {
        let apart = u32::try_from(self.hatchlings.len()).unwrap_or(u32::MAX);
        self.counts.iter().fold(apart, |sum, count| sum.saturating_add(count.total()))
    }

    /// The day it is put in order by: when it hatched, else when it was laid.
    pub fn date(&self) -> Option<Date> {
        self.hatched.or(self.laid)
    }

    /// The dam, when she is an animal of the file.
    pub fn named_dam(&self) -> Option<AnimalId> {
        match self.dam {
            Parent::Known(dam) => Some(dam),
            Parent::Unknown => None,
        }
    }

    /// The candidates for the sire that are animals of the file.
    pub fn named_sires(&self) -> impl Iterator<Item = AnimalId> + '_ {
        self.siring.candidates.iter().filter_map(|(candidate, _)| match candidate {
            Candidate::Known(sire) => Some(*sire),
            Candidate::Unknown | Candidate::NoFather => None,
        })
    }

    /// The dam and the candidates for the sire that are animals of the file.
    pub fn named_parents(&self) -> impl Iterator<Item = AnimalId> + '_ {
        self.named_dam().into_iter().chain(self.named_sires())
    }

    /// How many fertile eggs were lost, when that is known.
    ///
    /// # Source
    ///
    /// Eggs: losses are known when the clutch is complete and either `died`, or both `eggs` and
    /// `slugs`, are given; where only some hatchlings were written down they are not used.
    pub fn lost_eggs(&self) -> Option<u32> {
        if !self.complete || !self.recorded_only.is_empty() {
            return None;
        }
        match (self.died, self.eggs, self.slugs) {
            (Some(died), _, _) => Some(died),
            (None, Some(eggs), Some(slugs)) => {
                Some(eggs.saturating_sub(slugs).saturating_sub(self.recorded()))
            }
            _ => None,
        }
    }
}
