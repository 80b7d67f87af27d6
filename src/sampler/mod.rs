//! Colonies and records drawn forwards, from the definition of the model.
//!
//! In: the design of a colony (who was bred to whom, what is judged, what is assumed) and a seed.
//! Out: the same colony with records that could have been written, and the [`Truth`] behind them.
//!
//! Everything is drawn as it would happen: gamete by gamete, egg by egg, call by call. Nothing
//! here knows of a probability table or of the engine; that is what makes it a judge of both.
//!
//! # What is given and what is drawn
//!
//! A founder's sex, statements and looks are given: animals are bought and kept for what one can
//! see, so the model is conditional on them, and the founder's genotype is drawn given them.
//! Everything that is recorded of the young, and every reading, is drawn.
//!
//! # Limits
//!
//! A gene of unknown inheritance cannot be drawn. A hatchling that the design breds from gets the
//! sex it must have by drawing its egg again; where the sex of an egg depends on what its parents
//! carry (lethal genes on a sex chromosome, births without a father) that leans on the parents.
//! [`sample_colony`] chooses parents only after they hatched, and is exact.

mod brood;
mod call;
mod dice;
mod doubt;
mod draw;
mod error;
mod founder;
mod gamete;
mod genome;
mod invent;
mod laws;
mod params;
mod random;
mod reading;
mod stock;
mod truth;

#[cfg(test)]
mod tests;

pub use dice::Dice;
pub use draw::{fill, fill_with};
pub use error::DrawError;
pub use genome::{Genome, Strand};
pub use params::{Features, Params};
pub use random::sample_colony;
pub use truth::{ClutchTruth, Truth};
