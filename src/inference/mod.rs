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
//! Exact only. A tree needs tables as large as its largest clique; `enumerate` is for a dozen
//! variables.

mod calibrated;
mod domains;
mod draw;
mod enumerate;
mod index_maps;
mod logarithmic;
mod order;
mod passes;
mod plan;
mod tree;

pub use calibrated::{Calibrated, Workspace};
pub use domains::Domains;
pub use enumerate::{Exact, enumerate};
pub use order::EliminationOrder;
pub use tree::{Clique, Cost, Impossible, JunctionTree, NoPlan};
