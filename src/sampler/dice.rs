//! Chance, from a seed: the same on every machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A seeded source of chance.
///
/// Every draw uses 64 bits of one ChaCha8 stream and no function of the platform's mathematics
/// library, so that a seed gives the same colony everywhere.
#[derive(Clone, Debug)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// Dice whose throws are fixed by `seed`.
    pub fn new(seed: u64) -> Self {
        Dice(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A number from 0 up to but not including 1, each multiple of 2^-53 equally likely.
    pub fn uniform(&mut self) -> f64 {
        const STEPS: f64 = (1_u64 << 53) as f64;
        (self.0.next_u64() >> 11) as f64 / STEPS
    }

    /// True with chance `chance`; never for 0, always for 1.
    pub fn coin(&mut self, chance: f64) -> bool {
        self.uniform() < chance
    }

    /// A number below `count`, each equally likely; 0 when `count` is 0.
    pub fn below(&mut self, count: usize) -> usize {
        let scaled = u128::from(self.0.next_u64()) * count as u128;
        (scaled >> 64) as usize
    }

    /// One of `items`, each equally likely; `None` when there are none.
    pub fn pick<'a, T>(&mut self, items: &'a [T]) -> Option<&'a T> {
        items.get(self.below(items.len()))
    }

    /// A position in `weights` with chance proportional to its weight.
    ///
    /// Weights that are negative or not finite count as 0. `None` when no weight is positive.
    pub fn weighted(&mut self, weights: &[f64]) -> Option<usize> {
        let usable = |weight: &f64| weight.is_finite() && *weight > 0.0;
        let total: f64 = weights.iter().filter(|weight| usable(weight)).sum();
        let mut left = self.uniform() * total;
        let mut last = None;
        for (position, weight) in weights.iter().enumerate().filter(|(_, weight)| usable(weight)) {
            last = Some(position);
            if left < *weight {
                break;
            }
            left -= weight;
        }
        last
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_fixes_every_throw() {
        let throws = |seed| {
            let mut dice = Dice::new(seed);
            (0..5).map(|_| dice.below(1_000_000)).collect::<Vec<_>>()
        };
        assert_eq!(throws(7), throws(7));
        assert_ne!(throws(7), throws(8));
    }

    #[test]
    fn weights_decide_and_nonsense_weighs_nothing() {
        let mut dice = Dice::new(1);
        let weights = [0.0, f64::NAN, 3.0, -1.0, 1.0];
        let drawn: Vec<_> = (0..4000).filter_map(|_| dice.weighted(&weights)).collect();
        let third = drawn.iter().filter(|&&position| position == 2).count();
        assert_eq!(drawn.len(), 4000);
        assert!(drawn.iter().all(|&position| position == 2 || position == 4));
        // 4.5 standard errors of 4000 draws at 3/4.
        assert!((third as f64 - 3000.0).abs() < 4.5 * (4000.0_f64 * 0.1875).sqrt());
        assert_eq!(dice.weighted(&[0.0]), None);
        assert_eq!(dice.weighted(&[]), None);
    }
}
