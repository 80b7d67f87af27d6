//! Sheets of cells: how they become records, and how records become a sheet.
mod cells;
mod columns;
mod dates;
mod encoding;
mod facts;
mod mapping;
mod names;
mod numbers;
mod rows;
mod understand;
mod words;

pub use cells::{Row, Sheet, inert};
pub use encoding::Encoding;
pub use mapping::{Mapping, Means, Question};
pub use names::Names;
