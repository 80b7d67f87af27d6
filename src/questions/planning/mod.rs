//! What to breed next, and how many eggs it takes.

mod allelic_pairings;
mod eggs;
mod goal;
mod goal_chance;
mod goal_crosses;
mod goal_harm;
mod goal_joint;
mod goal_plans;
mod goal_route;
mod goal_search;
mod pairings;
mod planner;
mod prospect;
mod young;

pub use allelic_pairings::{AllelicOutcome, AllelicPairing, AllelicPairings};
pub use eggs::{EggsAnswer, EggsAsked, EggsNeeded, EggsStep, eggs, eggs_of_best, mates_to_prove};
pub use goal::{
    GoalAnswer, GoalAsked, GoalHarm, GoalKeep, GoalLook, GoalParent, GoalPlan, GoalStep, Target,
    goal,
};
pub use pairings::{ModePairings, Pairing, PairingsAnswer, PairingsAsked, pairings};
pub use planner::Carrier;
pub use prospect::{Outcome, Prospect, Verdicts};
pub use young::Young;
