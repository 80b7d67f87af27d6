//! Words, tables and JSON. Computes nothing: every number comes with the answer.

pub mod diagnostics;
pub mod goal_json;
pub mod json;
pub mod modes_json;
pub mod names;
pub mod page;
pub mod planning_json;
pub mod report;
pub mod wording;

pub mod charts;

mod allelic_text;
mod cautions;
mod check_text;
mod conflicts_text;
mod doubts;
mod genotypes_json;
mod genotypes_text;
mod goal_text;
mod identify_text;
mod isolated;
mod labels_csv;
mod labels_json;
mod labels_text;
mod modes_text;
mod planning_text;
mod report_json;
mod sheet_json;
mod sheet_text;

pub use allelic_text::allelic_text;
pub use check_text::check_text;
pub use conflicts_text::conflicts_text;
pub use genotypes_text::genotypes_text;
pub use goal_text::goal_text;
pub use identify_text::identify_text;
pub use isolated::isolated;
pub use labels_csv::labels_csv;
pub use labels_text::labels_text;
pub use modes_text::mode_text;
pub use planning_text::{eggs_text, pairings_text};
pub use report_json::report as report_json;
pub use sheet_json::{import_json, questions_json};
pub use sheet_text::{Written, import_text, proposed_text, questions_text};
