//! An independent judge: the model of a colony summed over everything in exact rationals.
//!
//! It is written from the model's definition, shares nothing with the engine but the types of the
//! records, and prefers what is plainly right to what is fast. Use [`judge`] on any
//! [`Colony`], for instance one made with [`Build`]; what it does not cover panics with
//! `judge: not covered: …`.
//!
//! How: the genes that something ties together are looked at together ([`coupling`]). For every
//! choice of whole-clutch sires the tables of founders and young ([`stage`], [`broods`]) are multiplied and
//! summed ([`sums`]).

// Each test binary uses a part.
#![allow(dead_code, unused_imports)]

pub mod belief;
pub mod broods;
pub mod build;
mod build_names;
pub mod calls;
pub mod coupling;
pub mod exact;
pub mod founders;
pub mod genome;
pub mod stage;
pub mod sums;
pub mod tables;
pub mod verdict;

pub use build::Build;
pub use exact::{Exact, exact, float, fraction, ln};
pub use verdict::{Verdict, judge, judge_evidence, judge_literally, judge_prior};
