//! Exact answers from a network.
//!
//! In: a [`FactorGraph`](crate::network::FactorGraph) and the
//! [`Evidence`](crate::network::Evidence) on it. Out: [`Calibrated`], which has every marginal
//! and the log evidence. Knows no animals.
//!
//! Two ways lead there, and they must agree to the last few bits: [`enumerate()`] visits every
//! combination of states in exact fractions and is the definition; a [`JunctionTree`] is planned
//! once for a structure and run many times.
//!
//! # Limits
//!
//! A tree needs tables as large as its largest clique; `enumerate` is for a dozen variables. Where
//! the tables are too large, [`estimate()`] samples and says how far off it may be.

mod calibrated;
mod domains;
mod draw;
mod enumerate;
mod index_maps;
mod logarithmic;
mod order;
mod passes;
mod plan;
mod sampling;
mod structure;
mod tree;

pub use calibrated::{Calibrated, Workspace};
pub use domains::Domains;
pub use enumerate::{Exact, enumerate};
pub use order::EliminationOrder;
pub use sampling::{Estimates, NoEstimate, Sampling, estimate, loop_breakers};
pub use tree::{Clique, Cost, Impossible, JunctionTree, NoPlan};
