//! Unknown rates: the Beta distribution.

/// Natural log of the Beta function; both arguments positive.
pub fn ln_beta(a: f64, b: f64) -> f64 {
    statrs::function::beta::ln_beta(a, b)
}

/// Natural log of the chance of one sequence of `hits` and `misses` at an unknown rate that is
/// Beta(a, b) distributed.
pub fn beta_binomial([a, b]: [f64; 2], hits: f64, misses: f64) -> f64 {
    ln_beta(a + hits, b + misses) - ln_beta(a, b)
}

/// The chance that at least one of `number` trials succeeds, each with chance `rate`.
pub fn at_least_one(rate: f64, number: u32) -> f64 {
    -(f64::from(number) * (-rate).ln_1p()).exp_m1()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_hit_has_the_mean_rate_and_the_order_does_not_matter() {
        assert!((beta_binomial([1.0, 99.0], 1.0, 0.0).exp() - 0.01).abs() < 1e-14);
        let together = beta_binomial([0.1, 0.9], 1.0, 1.0).exp();
        let after = 0.1 * (0.9 / 2.0);
        assert!((together - after).abs() < 1e-14, "{together}");
    }
}
