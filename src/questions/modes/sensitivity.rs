//! Does the likeliest mode stay so under other assumptions?

use super::compare::compare;
use super::hypotheses::Hypothesis;
use crate::genetics::Mode;
use crate::questions::Unanswerable;
use crate::records::{Colony, GeneId};

/// The answer with one assumption changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensitivity {
    /// The key of the assumption.
    pub assumption: &'static str,
    /// Its value here.
    pub value: f64,
    /// The likeliest mode then.
    pub winner: Mode,
    /// Its chance.
    pub posterior: f64,
    /// Whether another mode was the likeliest.
    pub changes: bool,
}

const BACKGROUND: [f64; 3] = [0.0005, 0.005, 0.05];
const MISREAD: [f64; 4] = [0.0, 0.001, 0.01, 0.05];
const EGG_LOSS: [f64; 3] = [0.02, 0.1, 0.4];

/// The likeliest mode over a range of each assumption.
///
/// # Source
///
/// Sensitivity: over background 0.0005 … 0.05, misread 0 … 0.05, egg_loss 0.02 … 0.4 where it
/// matters, and the prior: does the winner change?
pub(super) fn sensitivity(
    colony: &Colony,
    gene: GeneId,
    hypotheses: &[Hypothesis],
    winner: Mode,
    memory: u64,
) -> Result<Vec<Sensitivity>, Unanswerable> {
    let eggs = colony.clutches.iter().any(|one| one.lost_eggs().is_some());
    let lethal = hypotheses.iter().any(|one| one.mode == Mode::LethalIncompleteDominant)
        || colony.genes.iter().any(|gene| !gene.lethal.is_empty());
    let mut changed: Vec<(&'static str, f64)> = Vec::new();
    changed.extend(BACKGROUND.map(|value| ("background", value)));
    changed.extend(MISREAD.map(|value| ("misread", value)));
    if eggs && lethal {
        changed.extend(EGG_LOSS.map(|value| ("egg_loss", value)));
    }
    let mut found = Vec::new();
    for (assumption, value) in changed {
        let mut other = colony.clone();
        other.assumptions.set(assumption, value);
        let comparison = match compare(&other, gene, hypotheses, memory, false) {
            Ok(comparison) => comparison,
            // At the edge of an assumption the records may be impossible; then it says nothing.
            Err(Unanswerable::Impossible(_)) => continue,
            Err(error) => return Err(error),
        };
        let best = comparison.candidates.iter().max_by(|a, b| a.posterior.total_cmp(&b.posterior));
        let Some(best) = best else { continue };
        found.push(Sensitivity {
            assumption,
            value,
            winner: best.hypothesis.mode,
            posterior: best.posterior,
            changes: best.hypothesis.mode != winner,
        });
    }
    Ok(found)
}
