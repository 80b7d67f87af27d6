//! The page of one suspected gene.

use crate::presentation::report::mode_html;
use crate::questions::ModeAnswer;
use crate::records::Colony;

/// How it is inherited, with its picture, its table and the cross that decides.
pub fn gene(colony: &Colony, answer: &ModeAnswer) -> String {
    mode_html(colony, answer)
}
