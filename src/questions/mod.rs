//! The breeder wants to know…
//!
//! One file for each question. An answer is plain data that holds every number that is shown;
//! wording and rounding belong to `presentation`.

mod averaged;
mod because;
mod belief;
mod cautions;
mod conflicts;
mod customary;
mod fit;
mod genotypes;
mod identify;
mod identities;
mod impossible;
mod label_claims;
mod labels;
mod ladder;
mod model;
mod priors;
mod propositions;
mod record_name;
mod simulate;
mod slips;
mod unknowns;

pub use because::{Because, Floor};
pub use belief::Divided;
pub use cautions::{Caution, CautionKind};
pub use conflicts::{ConflictsAnswer, Slip, SlipKind, conflicts};
pub use customary::Customary;
pub use fit::ClutchFit;
pub use genotypes::{
    Asked, GenotypeAnswer, GenotypesAnswer, SireAnswer, Step, StepRole, Story, Young, genotypes,
};
pub use identify::{HatchlingAnswer, IdentifyAnswer, TellApart, identify};
pub use identities::Identity;
pub use labels::{Claim, Label, LabelsAnswer, Subject, labels};
pub use model::{Method, Model, Unanswerable};
pub use propositions::{Copies, Proposition};
pub use record_name::record_name;
pub use simulate::{Drawn, simulate};
