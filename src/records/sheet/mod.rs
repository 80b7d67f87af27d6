//! Sheets of cells: how they become records, and how records become a sheet.
//!
//! In: the bytes of a [`Sheet`], a [`Mapping`] that its keeper has checked, and perhaps a records
//! file. Out: an [`Outcome`], the text of the records with everything new in it and a [`Report`]
//! on each row that was left out. Nothing is guessed: what the mapping does not say is asked, what
//! is not understood is reported. [`propose()`] makes the first mapping, [`export()`] goes the
//! other way.

mod against;
mod cells;
mod changes;
mod columns;
mod dates;
mod declared;
mod draft;
mod encoding;
mod export;
mod facts;
mod gather;
mod import;
mod kinds;
mod lines;
mod mapping;
mod names;
mod numbers;
mod propose;
mod propose_words;
mod rows;
mod understand;
mod waits;
mod words;

pub use cells::{Row, Sheet, inert};
pub use columns::{is_own, own_mapping};
pub use encoding::Encoding;
pub use export::{export, export_mapping};
pub use import::{Added, CannotImport, Outcome, Report, import};
pub use mapping::{Mapping, Means, Question};
pub use names::Names;
pub use propose::propose;
pub use understand::Trouble;
