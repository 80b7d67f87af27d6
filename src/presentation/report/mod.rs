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

pub(super) use assumptions::List;
pub(super) use labels::cards as label_cards;
pub(super) use modes::one as mode_html;
pub(super) use open::article;
pub(super) use overview::{Figure, Figures};
pub use page::{About, Parts, Section, report};
pub(super) use table::{Cell, Table, written};
