//! Not inherited: how likely the calls are when animals, or clutches, show the look at a rate.

use std::num::NonZeroUsize;

use super::scored::{Score, Selects, scores, selects};
use crate::numbers::{at_least_one, beta_binomial, exp, ln, ln_beta, log_sum_exp, uniform_nodes};
use crate::records::{Clutch, ClutchId, Colony, GeneId};

/// How often any animal shows the look by chance: Beta(1, 99).
const BY_CHANCE: [f64; 2] = [1.0, 99.0];
/// How often the young of one clutch show it: Beta(0.1, 0.9).
const BY_CLUTCH: [f64; 2] = [0.1, 0.9];
/// Which of two looks is shown: uniform.
const WHICH: [f64; 2] = [1.0, 1.0];

/// A rate at which animals show the look, and what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::questions) struct Rate {
    /// The distribution it began with; `None` when it is fixed.
    prior: Option<[f64; 2]>,
    fixed: f64,
    hits: f64,
    misses: f64,
    /// Sizes of clutches that are in the records only because one young showed the look.
    kept: Vec<u32>,
}

impl Rate {
    fn unknown(prior: [f64; 2]) -> Self {
        Rate { prior: Some(prior), fixed: 0.0, hits: 0.0, misses: 0.0, kept: Vec::new() }
    }

    fn by_chance(look_alikes: Option<f64>) -> Self {
        let unknown = Rate::unknown(BY_CHANCE);
        match look_alikes {
            Some(fixed) => Rate { prior: None, fixed, ..unknown },
            None => unknown,
        }
    }

    /// The mean of the rate given what was counted.
    pub(super) fn mean(&self) -> f64 {
        match self.prior {
            None => self.fixed,
            Some([a, b]) => (a + self.hits) / (a + b + self.hits + self.misses),
        }
    }

    /// Natural log of the chance of everything counted.
    fn log_chance(&self) -> f64 {
        let Some([a, b]) = self.prior else {
            let kept: f64 = self.kept.iter().map(|n| ln(at_least_one(self.fixed, *n))).sum();
            return power(self.fixed, self.hits) + power(1.0 - self.fixed, self.misses) - kept;
        };
        if self.kept.is_empty() {
            return beta_binomial([a, b], self.hits, self.misses);
        }
        // METHOD: near 0 and 1 the density may be infinite; tenth powers make it smooth there.
        const NODES: NonZeroUsize = NonZeroUsize::new(160).unwrap();
        let term = |rate: f64, rest: f64| {
            let kept: f64 = self.kept.iter().map(|n| ln(at_least_one(rate, *n))).sum();
            (a - 1.0 + self.hits) * ln(rate) + (b - 1.0 + self.misses) * ln(rest) - kept
        };
        let half = |low: bool| {
            uniform_nodes(0.0, 1.0, NODES).into_iter().map(move |(u, weight)| {
                let near = 0.5 * u.powi(10);
                let (rate, rest) = if low { (near, 1.0 - near) } else { (1.0 - near, near) };
                term(rate, rest) + ln(weight * 5.0 * u.powi(9))
            })
        };
        let logs: Vec<f64> = half(true).chain(half(false)).collect();
        log_sum_exp(&logs) - ln_beta(a, b)
    }

    /// The chance that `hits` of `hits + misses` more animals show the look, in any order.
    pub(super) fn chance_of(&self, hits: u32, misses: u32) -> f64 {
        let ways = crate::numbers::ln_multinomial(&[hits, misses], &[1.0, 1.0]);
        let more = [f64::from(hits), f64::from(misses)];
        let sequence = match self.prior {
            None => power(self.fixed, more[0]) + power(1.0 - self.fixed, more[1]),
            Some([a, b]) => beta_binomial([a + self.hits, b + self.misses], more[0], more[1]),
        };
        exp(ways + sequence)
    }
}

fn power(base: f64, exponent: f64) -> f64 {
    if exponent == 0.0 { 0.0 } else { exponent * ln(base) }
}

/// What each step of the way through the records weighs when the look is not inherited.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ByRate {
    /// Natural logs: animals without parents here first, then each clutch in date order.
    pub(super) logs: Vec<f64>,
    /// What was known of each clutch's rate before it hatched, and of which of two looks is shown.
    pub(super) before: Vec<(Rate, [f64; 2])>,
    /// What is known of the rate of a clutch to come.
    pub(super) next: (Rate, [f64; 2]),
    /// For each score whose class is not certain, the chance of each identity's class.
    pub(super) uncertain: Vec<(Score, Vec<f64>)>,
    /// Doubts about these numbers.
    pub(super) warnings: Vec<String>,
}

/// The calls of a gene as chance, or as an effect of the clutch.
///
/// # Source
///
/// Mode of inheritance: not inherited, chance: every scored animal shows it at the same unknown
/// rate, Beta(1, 99), or `look_alikes` when given; clutch effect: each clutch its own rate,
/// Beta(0.1, 0.9), animals outside clutches by chance. The calls of the first finds stay out.
pub(super) fn by_rate(
    colony: &Colony,
    gene: GeneId,
    order: &[ClutchId],
    clutch_effect: bool,
) -> ByRate {
    let declared = colony.gene(gene);
    let two = declared.looks.len() > 1;
    let scores = scores(colony, gene);
    let mut chance = Rate::by_chance(declared.first_seen.look_alikes);
    let mut which = WHICH;
    let (mut logs, mut before, mut uncertain, mut warnings) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut means = Vec::new();
    let places = std::iter::once(None).chain(order.iter().map(|clutch| Some(*clutch)));
    for place in places {
        let mut own = Rate::unknown(BY_CLUTCH);
        let rate = if clutch_effect && place.is_some() { &mut own } else { &mut chance };
        if place.is_some() {
            before.push((rate.clone(), which));
        }
        let start = rate.log_chance();
        let started = which;
        let here = |score: &&Score| score.clutch == place;
        let selection = place.map_or(Selects::Others, |id| {
            let clutch = colony.clutch(id);
            let only = selects(colony, gene, &clutch.recorded_only);
            if only == Selects::Others { selects(colony, gene, &clutch.kept_if) } else { only }
        });
        let only = place.is_some_and(|id| {
            selects(colony, gene, &colony.clutch(id).recorded_only) != Selects::Others
        });
        if let (Selects::Both, Some(id)) = (selection, place) {
            warnings.push(mixed_selection(colony.clutch(id)));
        }
        for score in scores.iter().filter(here) {
            let Some(class) = score.class() else { continue };
            let number = f64::from(score.number);
            let told = matches!(selection, Selects::OnlyThis { .. }) && only;
            if !told {
                *if class > 0 { &mut rate.hits } else { &mut rate.misses } += number;
            }
            if class > 0 && !(told && selection == (Selects::OnlyThis { all: false })) {
                which[class.min(2) - 1] += number;
            }
        }
        if let (Selects::OnlyThis { .. }, false, Some(id)) = (selection, only, place) {
            // With a first find among its young it was certain to be kept.
            let clutch = colony.clutch(id);
            let first = &declared.first_seen.animals;
            if !clutch.hatchlings.iter().any(|young| first.contains(young)) {
                rate.kept.push(clutch.recorded());
            }
        }
        let split = if two {
            beta_binomial(started, which[0] - started[0], which[1] - started[1])
        } else {
            0.0
        };
        logs.push(rate.log_chance() - start + split);
        means.push((place, rate.mean()));
    }
    let last = chance.mean();
    let first = if two { which[0] / (which[0] + which[1]) } else { 1.0 };
    for score in scores.into_iter().filter(Score::is_uncertain) {
        let own = means.iter().find(|(place, _)| *place == score.clutch).map(|(_, mean)| *mean);
        let outside = score.clutch.is_none();
        let rate = if clutch_effect && !outside { own.unwrap_or(last) } else { last };
        let chance = |class: Option<usize>| match class {
            None => 1.0,
            Some(0) => 1.0 - rate,
            Some(1) => rate * first,
            Some(_) => rate * (1.0 - first),
        };
        let chances = score.classes.iter().map(|(class, _)| chance(*class)).collect();
        uncertain.push((score, chances));
    }
    if uncertain.iter().map(|(score, _)| score.number).sum::<u32>() > 1 {
        warnings.push(
            "several calls of the suspected look are uncertain: where it is not inherited each is \
             weighed at the mean rate of the others"
                .into(),
        );
    }
    let next = if clutch_effect { Rate::unknown(BY_CLUTCH) } else { chance };
    ByRate { logs, before, next: (next, which), uncertain, warnings }
}

fn mixed_selection(clutch: &Clutch) -> String {
    format!(
        "clutch {} was selected for the suspected look and for others: where the look is not \
         inherited the selection is not counted",
        clutch.id
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kept_clutch_of_one_says_nothing_of_the_rate() {
        for prior in [BY_CHANCE, BY_CLUTCH] {
            let rate = Rate { hits: 1.0, kept: vec![1], ..Rate::unknown(prior) };
            assert!(rate.log_chance().abs() < 1e-9, "{prior:?}: {}", rate.log_chance());
        }
    }

    #[test]
    fn the_numeric_way_agrees_with_a_closed_form() {
        // 1 / (1 − (1 − r)) = 1 / r: one hit fewer.
        let kept = Rate { hits: 3.0, misses: 4.0, kept: vec![1], ..Rate::unknown(BY_CLUTCH) };
        let closed = Rate { hits: 2.0, misses: 4.0, ..Rate::unknown(BY_CLUTCH) };
        assert!(
            (kept.log_chance() - closed.log_chance()).abs() < 1e-9,
            "{} {}",
            kept.log_chance(),
            closed.log_chance()
        );
    }

    #[test]
    fn chances_of_all_outcomes_sum_to_one() {
        let rate = Rate { hits: 2.0, misses: 1.0, ..Rate::unknown(BY_CHANCE) };
        let sum: f64 = (0..=6).map(|hits| rate.chance_of(hits, 6 - hits)).sum();
        assert!((sum - 1.0).abs() < 1e-12, "{sum}");
    }
}
