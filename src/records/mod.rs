//! What the breeder wrote, where it stands, and whether it can be true at all.
//!
//! In: the text of a records file. Out: a [`Colony`] in which every name is resolved, with its
//! [`Notice`]s, or every [`RecordError`] of the file at once: see [`read()`]. What the format can
//! say and the model cannot compute yet is refused apart, by [`not_computed_yet()`].

mod animal;
mod assumptions;
mod clutch;
mod colony;
mod date;
pub mod edit;
mod error;
mod gene;
pub mod keep;
mod names;
mod not_yet;
mod read;
pub mod sheet;
mod starter;
mod write;

pub use animal::{
    Alternative, Animal, AnimalId, Call, Observation, Origin, Reading, ReadingKind, Says, Sex,
    Statement, Status,
};
pub use assumptions::Assumptions;
pub use clutch::{Candidate, Clutch, ClutchId, Count, Parent, Siring, SiringMode};
pub use colony::{
    ClutchSize, Colony, Combination, CrossoverRates, Hidden, LinkageGroup, Mask, Maturity,
    SexSystem,
};
pub use date::Date;
pub use error::{Notice, Place, RecordError};
pub use gene::{
    FirstSeen, Gene, GeneId, Genotype, Inheritance, Look, Misread, Penetrance, SexLinkage,
};
pub use names::{nearest, normalise};
pub use not_yet::not_computed_yet;
pub use read::{Checked, Format, MAX_BYTES, read};
pub use starter::STARTER;
pub use write::to_toml;
