//! The report: one page that needs no network and no scripts.
//!
//! A report is a list of sections. Each is a struct with a template of its own under `templates/`,
//! which become part of the program when it is compiled and escape whatever they are given. A
//! section is made from an answer and turned into a [`Section`] by `section()`; [`report`] says in
//! which order they stand.

mod assumptions;
mod families;
mod labels;
mod modes;
mod open;
mod overview;
mod page;
mod plans;
mod summary;
mod table;

pub use page::{About, Parts, Section, report};
