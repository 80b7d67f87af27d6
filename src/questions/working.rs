//! The working of one answer, as genetic counselling tables lay it out.

use super::Story;
use super::propositions::odds;
use crate::records::ClutchId;

/// How a chance was arrived at; every pair is "it is so" and "it is not".
///
/// # Source
///
/// The table of prior, conditional, joint and posterior probability (Murphy & Chase 1975,
/// Principles of Genetic Counseling). Of a conditional probability only the ratio matters; the
/// larger of each pair is written as 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Working {
    /// Before any young.
    pub prior: [f64; 2],
    /// How likely the young of each clutch are, against each other.
    pub likelihoods: Vec<([f64; 2], Option<ClutchId>)>,
    /// Prior times all likelihoods.
    pub joint: [f64; 2],
    /// The joint, divided by its sum.
    pub posterior: [f64; 2],
}

/// Lays out the working of a story.
///
/// A likelihood without a clutch stands for all records together, where the way by clutch was not
/// worked out.
pub fn working(story: &Story) -> Working {
    let prior = [story.before, 1.0 - story.before];
    let mut likelihoods: Vec<_> =
        story.steps.iter().map(|step| (relative(step.multiplier), Some(step.clutch))).collect();
    let moved = odds(story.after) / odds(story.before);
    if likelihoods.is_empty() && moved.is_finite() && moved != 1.0 {
        likelihoods.push((relative(moved), None));
    }
    let times = |at: usize| likelihoods.iter().fold(prior[at], |p, (pair, _)| p * pair[at]);
    let joint = [times(0), times(1)];
    let sum = joint[0] + joint[1];
    let posterior = if sum > 0.0 { joint.map(|p| p / sum) } else { [f64::NAN; 2] };
    Working { prior, likelihoods, joint, posterior }
}

/// A factor on the odds as two likelihoods, the larger of them 1.
fn relative(factor: f64) -> [f64; 2] {
    if factor <= 1.0 { [factor, 1.0] } else { [1.0, 1.0 / factor] }
}
