//! An independent judge: the model of a colony summed over everything in exact rationals.
//!
//! It is written from the definition of the model, shares nothing with the engine but the types of
//! the records, and prefers what is plainly right to what is fast. What it does not cover panics
//! with `judge: not covered: …`.
//!
//! ```ignore
//! mod judge;
//! let colony = judge::Build::exact().recessive("ash").founder("Dam", Female)….colony();
//! let verdict = judge::judge(&colony);
//! let carries = verdict.chance(colony.find_animal("Dam").unwrap(), 0, Genotype::Two(0, 1));
//! assert!((judge::float(&carries) - engine).abs() < 1e-12);
//! assert!((judge::ln(&verdict.evidence) - log_evidence).abs() < 1e-12);
//! ```
//!
//! How: the genes that something ties together are looked at together ([`coupling`]). For every
//! choice of whole-clutch sires the tables of founders ([`stage`], [`founders`]) and of young
//! ([`broods`]) are multiplied and summed ([`sums`]).

// Each test binary uses a part.
#![allow(dead_code, unused_imports)]

pub mod belief;
pub mod broods;
pub mod build;
pub mod build_clutches;
mod build_names;
pub mod calls;
pub mod coupling;
pub mod exact;
pub mod founders;
pub mod genome;
pub mod samples;
pub mod stage;
pub mod sums;
pub mod tables;
pub mod verdict;

pub use build::Build;
pub use exact::{Exact, exact, float, fraction, ln};
pub use verdict::{Verdict, judge, judge_evidence, judge_literally, judge_prior};
