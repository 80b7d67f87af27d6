//! Chances that cannot hold nonsense.

/// A chance: a finite number from 0 to 1.
///
/// # Examples
///
/// ```
/// use proveout::numbers::Probability;
/// assert_eq!(Probability::new(0.25).unwrap().complement().value(), 0.75);
/// assert!(Probability::new(1.5).is_none());
/// assert!(Probability::new(f64::NAN).is_none());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Probability(f64);

impl Probability {
    /// The chance `value`, or `None` when it is not a number from 0 to 1.
    pub fn new(value: f64) -> Option<Self> {
        (0.0..=1.0).contains(&value).then_some(Probability(value))
    }

    /// A computed chance: rounding may have carried it just outside, so it is clamped.
    pub fn clamped(value: f64) -> Self {
        Probability(value.clamp(0.0, 1.0))
    }

    /// The number.
    pub fn value(self) -> f64 {
        self.0
    }

    /// The chance of the opposite.
    pub fn complement(self) -> Self {
        Probability(1.0 - self.0)
    }

    /// Odds for it: `p / (1 - p)`, infinite for 1.
    pub fn odds(self) -> f64 {
        self.0 / (1.0 - self.0)
    }
}

/// A stretch that holds a stated share of a distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub lower: f64,
    /// Its upper end.
    pub upper: f64,
    /// The share of the distribution it holds.
    pub mass: Probability,
}
