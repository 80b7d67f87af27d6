//! The breeder wants to know…
//!
//! One file for each question. An answer is plain data that holds every number that is shown;
//! wording and rounding belong to `presentation`.

mod averaged;
mod because;
mod belief;
mod called;
mod conflicts;
mod expected;
mod fit;
mod genotypes;
mod identify;
mod identities;
mod impossible;
mod ladder;
mod levels;
mod model;
mod priors;
mod propositions;
mod record_name;
mod slips;
mod unknowns;
mod what_if;
mod working;

pub use because::{Because, Floor};
pub use belief::Divided;
pub use called::{look_called, unnamed_young};
pub use conflicts::{ConflictsAnswer, Slip, SlipKind, conflicts};
pub use expected::{Expectation, expected};
pub use fit::ClutchFit;
pub use genotypes::{
    Asked, GenotypeAnswer, GenotypesAnswer, SireAnswer, Step, StepRole, Story, Young, genotypes,
};
pub use identify::{HatchlingAnswer, IdentifyAnswer, TellApart, identify};
pub use identities::Identity;
pub use levels::{Conclusion, LEVELS, conclusion};
pub use model::{Method, Model, Unanswerable};
pub use propositions::{Copies, Proposition};
pub use record_name::record_name;
pub use what_if::{Curve, Knob, Turn, WhatIf, what_if};
pub use working::{Working, working};
