//! What the young of a pairing may show, and what that would say about a question.

use crate::numbers::{exp, ln, ln_multinomial};

/// More outcomes than these are told apart only by whether a look is seen.
const OUTCOMES: usize = 10_000;

/// One possible pair of parents: the chance of each call of a young, and how likely the pair is
/// together with each answer to the question.
#[derive(Clone, Debug, PartialEq)]
struct Kind {
    row: Vec<f64>,
    yes: f64,
    no: f64,
}

/// What a pairing may show, given all records: every possible pair of parents with its young.
///
/// The chances of all pairs, with yes and with no, sum to one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prospect {
    kinds: Vec<Kind>,
}

/// One outcome of a number of young.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// How many are called each look class.
    pub counts: Vec<u32>,
    /// Its chance.
    pub probability: f64,
    /// The chance of yes after it.
    pub posterior: f64,
}

impl Prospect {
    /// Adds a pair of parents.
    pub(super) fn add(&mut self, row: &[f64], yes: f64, no: f64) {
        if yes + no < 1e-13 {
            return;
        }
        match self.kinds.iter_mut().find(|kind| kind.row == row) {
            Some(kind) => {
                kind.yes += yes;
                kind.no += no;
            }
            None => self.kinds.push(Kind { row: row.to_vec(), yes, no }),
        }
    }

    /// The chance of yes today.
    pub fn today(&self) -> f64 {
        let (yes, all) =
            self.kinds.iter().fold((0.0, 0.0), |(yes, all), k| (yes + k.yes, all + k.yes + k.no));
        if all > 0.0 { yes / all } else { 0.0 }
    }

    /// Every outcome of so many young, each with the chance of yes after it.
    ///
    /// Exact over the counts of looks; where there are too many of them, over the number of young
    /// that show any look.
    pub fn outcomes(&self, young: u32) -> Vec<Outcome> {
        let names = self.kinds.first().map_or(1, |kind| kind.row.len());
        let mut ways = 1usize;
        for step in 1..names {
            ways = ways.saturating_mul(young as usize + step) / step;
        }
        if ways > OUTCOMES {
            return self.seen_or_not().outcomes(young);
        }
        let mut all = Vec::new();
        every_outcome(young, 0, &mut vec![0; names], &mut |counts| {
            let (mut yes, mut no) = (0.0, 0.0);
            for kind in &self.kinds {
                let chance = exp(ln_multinomial(counts, &kind.row));
                yes += kind.yes * chance;
                no += kind.no * chance;
            }
            if yes + no > 0.0 {
                let (probability, posterior) = (yes + no, yes / (yes + no));
                all.push(Outcome { counts: counts.to_vec(), probability, posterior });
            }
        });
        all
    }

    /// Only whether a look is seen.
    fn seen_or_not(&self) -> Prospect {
        let mut made = Prospect::default();
        for kind in &self.kinds {
            made.add(&[kind.row[0], 1.0 - kind.row[0]], kind.yes, kind.no);
        }
        made
    }

    /// What so many young tell, in bits.
    ///
    /// # Source
    ///
    /// Information of a pairing about a question: H(Q) − E[H(Q | outcome)].
    pub fn bits(&self, young: u32) -> f64 {
        let left: f64 =
            self.outcomes(young).iter().map(|one| one.probability * entropy(one.posterior)).sum();
        (entropy(self.today()) - left).max(0.0)
    }

    /// The chance of a look among so many young if the answer is yes.
    ///
    /// # Source
    ///
    /// *Proves*: P(a visual | carrier).
    pub fn proves(&self, young: u32) -> f64 {
        let of = |kind: &Kind| kind.yes * (1.0 - power(kind.row[0], young));
        let yes: f64 = self.kinds.iter().map(|kind| kind.yes).sum();
        if yes > 0.0 { self.kinds.iter().map(of).sum::<f64>() / yes } else { 0.0 }
    }

    /// The chance of yes that is left when so many young all look normal.
    pub fn after_normals(&self, young: u32) -> f64 {
        let sum = |of: &dyn Fn(&Kind) -> f64| -> f64 {
            self.kinds.iter().map(|kind| of(kind) * power(kind.row[0], young)).sum()
        };
        let (yes, no) = (sum(&|kind| kind.yes), sum(&|kind| kind.no));
        if yes + no > 0.0 { yes / (yes + no) } else { 0.0 }
    }

    /// The chance of yes that no number of normal young can undercut.
    pub fn floor(&self) -> f64 {
        let top = self.kinds.iter().map(|kind| kind.row[0]).fold(0.0, f64::max);
        let (yes, no) = self
            .kinds
            .iter()
            .filter(|kind| kind.row[0] >= top - 1e-12)
            .fold((0.0, 0.0), |(yes, no), kind| (yes + kind.yes, no + kind.no));
        if yes + no > 0.0 { yes / (yes + no) } else { 0.0 }
    }

    /// The chance that so many young bring yes or no to the level.
    ///
    /// # Source
    ///
    /// *Settles*: P(either | today's odds).
    pub fn settles(&self, young: u32, level: f64) -> f64 {
        // A level that is just met counts: rounding must not decide.
        let reached =
            |one: &&Outcome| one.posterior >= level - 1e-12 || one.posterior <= 1.0 - level + 1e-12;
        let sum: f64 = self.outcomes(young).iter().filter(reached).map(|one| one.probability).sum();
        // Many small chances are added up: certainty stays certainty.
        if sum > 1.0 - 1e-11 { 1.0 } else { sum }
    }
}

/// What the outcomes of a number of young come to at a level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdicts {
    /// The chance that they bring yes to the level.
    pub proven: f64,
    /// The chance that they bring no to the level.
    pub cleared: f64,
    /// The chance that they do neither.
    pub open: f64,
    /// The least and the greatest chance of yes that are left then.
    pub between: [f64; 2],
}

impl Verdicts {
    /// Of these outcomes, whose chances sum to one.
    pub fn of(outcomes: &[Outcome], level: f64) -> Self {
        let sum = |of: &dyn Fn(f64) -> bool| -> f64 {
            outcomes.iter().filter(|one| of(one.posterior)).map(|one| one.probability).sum()
        };
        let (proven, cleared) = (sum(&|p| p >= level), sum(&|p| p <= 1.0 - level));
        let neither = outcomes.iter().map(|one| one.posterior);
        let neither = neither.filter(|p| *p < level && *p > 1.0 - level);
        let between = neither.fold([1.0f64, 0.0f64], |[l, h], p| [l.min(p), h.max(p)]);
        let open = (1.0 - proven - cleared).max(0.0);
        Verdicts { proven: proven.min(1.0), cleared: cleared.min(1.0), open, between }
    }
}

/// Entropy of yes or no, in bits.
pub(super) fn entropy(chance: f64) -> f64 {
    let of = |p: f64| if p > 0.0 { -p * ln(p) } else { 0.0 };
    (of(chance) + of(1.0 - chance)) / std::f64::consts::LN_2
}

fn power(base: f64, exponent: u32) -> f64 {
    base.powi(i32::try_from(exponent).unwrap_or(i32::MAX))
}

fn every_outcome(left: u32, at: usize, outcome: &mut Vec<u32>, visit: &mut dyn FnMut(&[u32])) {
    if at + 1 == outcome.len() {
        outcome[at] = left;
        visit(outcome);
        return;
    }
    for number in (0..=left).rev() {
        outcome[at] = number;
        every_outcome(left - number, at + 1, outcome, visit);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn possible_het(mates: &[(f64, f64)]) -> Prospect {
        let mut prospect = Prospect::default();
        for (share, visual) in mates {
            prospect.add(&[1.0 - visual, *visual], share * 2.0 / 3.0, 0.0);
            prospect.add(&[1.0, 0.0], 0.0, share / 3.0);
        }
        prospect
    }

    #[test]
    fn six_young_of_a_possible_het_tell_what_the_closed_form_says() {
        let close = |mates: &[(f64, f64)], bits: f64| {
            let found = possible_het(mates).bits(6);
            assert!((found - bits).abs() < 0.005, "{found} for {bits}");
        };
        close(&[(1.0, 0.5)], 0.85);
        close(&[(1.0, 0.25)], 0.54);
        close(&[(2.0 / 3.0, 0.25), (1.0 / 3.0, 0.0)], 0.28);
        close(&[(0.5, 0.25), (0.5, 0.0)], 0.20);
        assert!((entropy(2.0 / 3.0) - 0.918).abs() < 0.0005);
    }

    #[test]
    fn a_doubtful_mate_can_prove_but_not_clear() {
        let sure = possible_het(&[(1.0, 0.5)]);
        assert!(sure.floor() == 0.0 && sure.after_normals(40) < 1e-10);
        let doubtful = possible_het(&[(0.5, 0.25), (0.5, 0.0)]);
        assert!((doubtful.floor() - 0.5).abs() < 1e-12, "{}", doubtful.floor());
    }

    #[test]
    fn outcomes_sum_to_one_and_keep_the_mean() {
        let prospect = possible_het(&[(0.5, 0.25), (0.5, 0.0)]);
        let all = prospect.outcomes(7);
        let sum: f64 = all.iter().map(|one| one.probability).sum();
        let mean: f64 = all.iter().map(|one| one.probability * one.posterior).sum();
        assert!((sum - 1.0).abs() < 1e-12 && (mean - 2.0 / 3.0).abs() < 1e-12);
    }
}
