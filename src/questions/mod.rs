//! The breeder wants to know…
//!
//! One file for each question. An answer is plain data that holds every number that is shown;
//! wording and rounding belong to `presentation`.

mod allelic;
mod averaged;
mod because;
mod belief;
mod called;
mod cautions;
mod conflicts;
mod customary;
mod estimated;
mod expected;
mod fit;
mod genotypes;
mod identify;
mod identities;
mod impossible;
mod label_claims;
mod labels;
mod ladder;
mod levels;
mod model;
mod modes;
mod moves;
mod pair_joint;
mod planning;
mod priors;
mod propositions;
mod record_name;
mod simulate;
mod slips;
mod unknowns;
mod unsettled;
mod what_if;
mod working;

pub use allelic::{
    AllelicAnswer, AllelicAsked, AllelicResult, BothClutch, CrossoverBound, CrossoverRange, allelic,
};
pub use because::{Because, Floor};
pub use belief::Divided;
pub use called::{look_called, unnamed_young};
pub use cautions::{Caution, CautionKind};
pub use conflicts::{ConflictsAnswer, Slip, SlipKind, conflicts};
pub use customary::Customary;
pub use estimated::{Estimate, LoopClosers, loop_closers};
pub use expected::{Expectation, expected};
pub use fit::ClutchFit;
pub use genotypes::{
    Asked, GenotypeAnswer, GenotypesAnswer, SireAnswer, Step, StepRole, Story, Young, genotypes,
};
pub use identify::{HatchlingAnswer, IdentifyAnswer, TellApart, identify, identify_at_once};
pub use identities::{Identity, Visible};
pub use labels::{Claim, Label, LabelsAnswer, Subject, labels};
pub use levels::{Conclusion, IN_DOUBT, LEVELS, conclusion};
pub use model::{Method, Model, Unanswerable};
pub use modes::{
    Decides, DecidingCross, Family, Hypothesis, Mate, ModeAnswer, ModeAsked, ModeFit, ModeOutcome,
    ModePairing, ModeResult, PriorOf, Sensitivity, Suspected, UnderMode, hypotheses, mode,
    set_priors,
};
pub use moves::{CarrierMoved, ModeMoved, Moves, SireMoved, Version, YoungMoved, moves};
pub use planning::{
    AllelicOutcome, AllelicPairing, AllelicPairings, Carrier, EggsAnswer, EggsAsked, EggsNeeded,
    EggsStep, GoalAnswer, GoalAsked, GoalHarm, GoalKeep, GoalLook, GoalParent, GoalPlan, GoalStep,
    ModePairings, Outcome, Pairing, PairingsAnswer, PairingsAsked, Prospect, Target, Verdicts,
    Young as ClutchYoung, eggs, eggs_of_best, goal, mates_to_prove, pairings,
};
pub use propositions::{Copies, Proposition};
pub use record_name::record_name;
pub use simulate::{Drawn, simulate};
pub use unsettled::{Unsettled, unsettled};
pub use what_if::{Curve, Knob, Turn, WhatIf, what_if};
pub use working::{Working, working};
