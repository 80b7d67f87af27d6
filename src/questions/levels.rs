//! From which chance on a breeder acts.

use std::ops::RangeInclusive;

/// At most the first a proposition counts as ruled out, at least the second as shown, when it is
/// to be acted on: the twentieth that is customary for test matings.
///
/// # Source
///
/// The five normals of the handbooks' test mating with a visual mate leave 1 in 32, below 1 in 20.
pub const LEVELS: [f64; 2] = [0.05, 0.95];

/// Between these a chance is in doubt: it is worth telling, and whoever knows more may want to say.
pub const IN_DOUBT: RangeInclusive<f64> = 0.02..=0.98;

/// What a chance comes to for somebody who has to act.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Conclusion {
    /// At most the lower level.
    RuledOut,
    /// Between the levels.
    Open,
    /// At least the upper level.
    Shown,
}

/// What a chance comes to.
pub fn conclusion(chance: f64) -> Conclusion {
    match chance {
        _ if chance <= LEVELS[0] => Conclusion::RuledOut,
        _ if chance >= LEVELS[1] => Conclusion::Shown,
        _ => Conclusion::Open,
    }
}
