//! From the text of a records file to a checked [`Colony`](super::Colony).
//!
//! Both notations become one tree of values with their places; everything after that is written
//! once. Ids and sexes are collected before anything refers to them, so the order of the file
//! does not matter. Nothing stops at the first mistake.

mod animals;
mod checks;
mod clutches;
mod fields;
mod file;
mod from_json;
mod from_toml;
mod gene;
mod gene_options;
mod genotype;
mod groups;
pub(in crate::records) mod guard;
mod lines;
mod observation;
mod reader;
mod roster;
mod stretches;
mod told;
mod top;
mod tree;
mod vocabulary;

pub use file::{Checked, Format, read};
pub use guard::MAX_BYTES;
