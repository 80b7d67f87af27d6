//! Chances of counts.

use statrs::function::factorial::ln_factorial;

/// Natural log of the multinomial chance of these counts; minus infinity when it is zero.
///
/// `counts` and `chances` have one entry for each kind; the chances sum to one.
pub fn ln_multinomial(counts: &[u32], chances: &[f64]) -> f64 {
    let total: u64 = counts.iter().map(|count| u64::from(*count)).sum();
    let mut log = ln_factorial(total);
    for (count, chance) in counts.iter().zip(chances).filter(|(count, _)| **count > 0) {
        log += f64::from(*count) * chance.ln() - ln_factorial(u64::from(*count));
    }
    log
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_counts_together_have_chance_one() {
        let chances = [0.5, 0.3, 0.2];
        let mut sum = 0.0;
        for a in 0..=6 {
            for b in 0..=6 - a {
                sum += ln_multinomial(&[a, b, 6 - a - b], &chances).exp();
            }
        }
        assert!((sum - 1.0).abs() < 1e-12);
        assert_eq!(ln_multinomial(&[1, 1], &[1.0, 0.0]), f64::NEG_INFINITY);
    }
}
