//! Weights on the natural log scale.

/// Natural logarithm; minus infinity for 0.
pub fn ln(value: f64) -> f64 {
    value.ln()
}

/// Exponential; 0 for minus infinity.
pub fn exp(value: f64) -> f64 {
    value.exp()
}

/// `ln(Σ exp(x))` without overflow; minus infinity for no terms or when all are.
pub fn log_sum_exp(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return top;
    }
    top + logs.iter().map(|log| (log - top).exp()).sum::<f64>().ln()
}

/// A weight of evidence on the natural log scale; minus infinity is "impossible".
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct LogWeight(f64);

impl LogWeight {
    /// Certain: weight 1.
    pub const ONE: LogWeight = LogWeight(0.0);
    /// Impossible: weight 0.
    pub const ZERO: LogWeight = LogWeight(f64::NEG_INFINITY);

    /// The weight whose natural log is `log`.
    pub fn from_ln(log: f64) -> Self {
        LogWeight(log)
    }

    /// Its natural log.
    pub fn ln(self) -> f64 {
        self.0
    }

    /// Whether the weight is zero.
    pub fn is_zero(self) -> bool {
        self.0 == f64::NEG_INFINITY
    }

    /// The weight of both together.
    pub fn times(self, other: Self) -> Self {
        LogWeight(self.0 + other.0)
    }

    /// How many times heavier than `other`; may be infinite.
    pub fn ratio(self, other: Self) -> f64 {
        (self.0 - other.0).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn log_sum_exp_does_not_overflow_and_knows_nothing_from_zero() {
        assert_eq!(log_sum_exp(&[]), f64::NEG_INFINITY);
        assert_eq!(log_sum_exp(&[f64::NEG_INFINITY; 2]), f64::NEG_INFINITY);
        let sum = log_sum_exp(&[1e4, 1e4]);
        assert!((sum - (1e4 + 2f64.ln())).abs() < 1e-9);
    }
}
