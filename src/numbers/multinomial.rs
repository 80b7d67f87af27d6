//! Chances of counts.

use statrs::function::beta::beta_reg;
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

/// The chance of `least` or more successes in `trials` of this chance.
///
/// # Source
///
/// The binomial tail as a regularised incomplete beta function: Abramowitz & Stegun 1964, 26.5.24.
pub fn at_least(least: u32, trials: u32, chance: f64) -> f64 {
    match chance {
        _ if least == 0 => 1.0,
        _ if least > trials || chance <= 0.0 => 0.0,
        _ if chance >= 1.0 => 1.0,
        _ => beta_reg(f64::from(least), f64::from(trials - least) + 1.0, chance),
    }
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

    #[test]
    fn the_tail_is_the_sum_of_its_terms() {
        for (trials, chance) in [(1, 0.1), (6, 0.1), (12, 0.35), (40, 0.02)] {
            for least in 0..=trials {
                let term = |k: u32| ln_multinomial(&[k, trials - k], &[chance, 1.0 - chance]).exp();
                let sum: f64 = (least..=trials).rev().map(term).sum();
                let got = at_least(least, trials, chance);
                assert!((got - sum).abs() <= 1e-10 * sum, "{least} of {trials}: {got}, not {sum}");
            }
        }
        assert_eq!(at_least(3, 2, 0.5), 0.0);
        assert_eq!(at_least(1, 2, 0.0), 0.0);
        assert_eq!(at_least(2, 2, 1.0), 1.0);
    }
}
