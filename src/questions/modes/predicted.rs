//! What a mode expected of a clutch before it hatched.

use super::rates::Rate;
use crate::numbers::{beta_binomial, exp, ln_multinomial};

/// The distribution of the calls of one clutch, given all earlier ones.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::questions) enum Predicted {
    /// Chances of each call for each possible pair of parents, and the chance of the pair.
    Parents(Vec<(Vec<f64>, f64)>),
    /// At a rate, and which of two looks is shown.
    Rate(Rate, [f64; 2]),
}

impl Predicted {
    /// The expected share of each call; a look without a name is in none.
    pub(super) fn shares(&self, names: usize) -> Vec<f64> {
        match self {
            Predicted::Parents(pairs) => (0..names)
                .map(|class| pairs.iter().map(|(row, weight)| row[class] * weight).sum())
                .collect(),
            Predicted::Rate(rate, [first, second]) => {
                let (rate, of_first) = (rate.mean(), first / (first + second));
                let mut shares = vec![1.0 - rate, rate];
                if names > 2 {
                    shares = vec![1.0 - rate, rate * of_first, rate * (1.0 - of_first)];
                }
                shares.truncate(names);
                shares
            }
        }
    }

    /// The chance of these counts, of which the last is of young with a look that has no name.
    pub(in crate::questions) fn chance_with_rest(&self, counts: &[u32]) -> f64 {
        let (rest, named) = match counts.split_last() {
            Some((rest, named)) => (*rest, named),
            None => return 1.0,
        };
        match self {
            Predicted::Parents(pairs) => {
                let chance = |(row, weight): &(Vec<f64>, f64)| {
                    let nameless = (1.0 - row.iter().sum::<f64>()).max(0.0);
                    let chances: Vec<f64> = row.iter().copied().chain([nameless]).collect();
                    weight * exp(ln_multinomial(counts, &chances))
                };
                pairs.iter().map(chance).sum()
            }
            Predicted::Rate(..) if rest > 0 => 0.0,
            Predicted::Rate(rate, which) => {
                let hits: u32 = named[1..].iter().sum();
                let split = match named {
                    [_, first, second] => split_chance(*which, *first, *second),
                    _ => 1.0,
                };
                rate.chance_of(hits, named[0]) * split
            }
        }
    }

    /// The chance of counts at most as probable as these.
    ///
    /// # Source
    ///
    /// Fit: for each clutch the probability, given all earlier ones under the winner, of outcomes
    /// at most as probable as what hatched.
    pub(super) fn tail(&self, counts: &[u32]) -> f64 {
        match self {
            Predicted::Parents(pairs) => {
                let mut counts = counts.to_vec();
                let nameless = |row: &[f64]| (1.0 - row.iter().sum::<f64>()).max(0.0);
                let mut pairs = pairs.clone();
                if pairs.iter().any(|(row, _)| nameless(row) > 1e-9) {
                    counts.push(0);
                    pairs.iter_mut().for_each(|(row, _)| row.push(nameless(row)));
                }
                let rows: Vec<Vec<f64>> = pairs.iter().map(|(row, _)| row.clone()).collect();
                let weights: Vec<f64> = pairs.iter().map(|(_, weight)| *weight).collect();
                super::super::fit::tail(&counts, &rows, &weights)
            }
            Predicted::Rate(rate, _) => {
                let hits: u32 = counts[1..].iter().sum();
                let total = hits + counts[0];
                let seen = rate.chance_of(hits, counts[0]) * (1.0 + 1e-9);
                (0..=total)
                    .map(|hits| rate.chance_of(hits, total - hits))
                    .filter(|chance| *chance <= seen)
                    .sum()
            }
        }
    }
}

/// The chance that so many of the affected show the first and the second of two looks.
fn split_chance(which: [f64; 2], first: u32, second: u32) -> f64 {
    let ways = ln_multinomial(&[first, second], &[1.0, 1.0]);
    exp(ways + beta_binomial(which, f64::from(first), f64::from(second)))
}
