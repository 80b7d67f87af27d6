//! Words, tables and JSON. Computes nothing: every number comes with the answer.

pub mod diagnostics;
pub mod json;
pub mod names;
pub mod report;
pub mod wording;

pub mod charts;

mod check_text;
mod conflicts_text;
mod doubts;
mod genotypes_text;
mod identify_text;
mod isolated;
mod report_json;

pub use check_text::check_text;
pub use conflicts_text::conflicts_text;
pub use genotypes_text::genotypes_text;
pub use identify_text::identify_text;
pub use isolated::isolated;
pub use report_json::report as report_json;
