//! Genotype inference from clutch evidence.
//!
//! A keeper writes down what was seen, told and assumed in one records file. This library reads
//! it, builds one exact Bayesian model of the colony, and answers questions about it: what each
//! animal carries, what each hatchling is.
//!
//! Data moves one way, and each module looks only to its left:
//!
//! ```text
//! records -> genetics -> network -> inference -> questions -> presentation -> cli
//! ```
//!
//! [`numbers`] lies below all of them. `DEVELOPERS.md` holds the map of the rooms.

#![warn(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

pub mod genetics;
pub mod inference;
pub mod network;
pub mod numbers;
pub mod presentation;
pub mod questions;
pub mod records;
pub mod sampler;
