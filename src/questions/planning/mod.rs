//! What to breed next, and how many eggs it takes.

mod eggs;
mod pairings;
mod planner;
mod prospect;
mod young;

pub use eggs::{EggsAnswer, EggsAsked, EggsStep, eggs, mates_to_prove};
pub use pairings::{ModePairings, Pairing, PairingsAnswer, PairingsAsked, pairings};
pub use planner::Carrier;
pub use prospect::{Outcome, Prospect};
pub use young::Young;
