//! To be written.

pub mod diagnostics;
