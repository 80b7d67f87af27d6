//! What could have been expected of each clutch, beside what hatched.

use rustc_hash::FxHashMap;

use super::fit::called;
use super::ladder::climb;
use super::{Asked, Model, Unanswerable};
use crate::network::Grouping;
use crate::numbers::{exp, ln_multinomial};
use crate::records::{ClutchId, Colony, GeneId};

/// The share of clutches that fall into the range that is shown.
const LUCK: f64 = 0.95;
/// Arithmetic that may be spent on it.
const MULTIPLICATIONS: usize = 500_000_000;

/// How many young of one look could have been expected in a clutch.
#[derive(Clone, Debug, PartialEq)]
pub struct Expectation {
    /// The clutch.
    pub clutch: ClutchId,
    /// The gene.
    pub gene: GeneId,
    /// The look class, from 1.
    pub class: usize,
    /// How many were called so.
    pub seen: u32,
    /// How many were judged at the gene.
    pub judged: u32,
    /// The chance of each number from 0 to `judged`, given all earlier clutches.
    pub chances: Vec<f64>,
    /// The range that luck allows: it holds at least 95 in 100 of such clutches, and at most 2.5
    /// in 100 lie below it, as many above.
    pub range: [u32; 2],
}

impl Expectation {
    /// Whether what hatched lies within the range that luck allows.
    pub fn within(&self) -> bool {
        (self.range[0]..=self.range[1]).contains(&self.seen)
    }
}

/// What could have been expected of each clutch, given those before it; in date order.
///
/// Empty where it would take too long, or where a penetrance or crossover is unknown. Clutches in
/// which each egg may have its own sire are left out.
///
/// # Errors
///
/// [`Unanswerable`] when the records cannot all be true.
pub fn expected(colony: &Colony, asked: &Asked) -> Result<Vec<Expectation>, Unanswerable> {
    if super::unknowns::any(colony) {
        return Ok(Vec::new());
    }
    let resolved = super::belief::resolve(colony, asked.memory)?;
    let model = Model::solve(&resolved.colony, Grouping::Siblings, asked.memory)?;
    let mut all = Vec::new();
    let mut rows: FxHashMap<GeneId, Vec<Vec<f64>>> = FxHashMap::default();
    let climbed = climb(&model, MULTIPLICATIONS, |height| {
        let Some(clutch) = height.next else { return };
        if !asked.clutches.is_empty() && !asked.clutches.contains(&clutch) {
            return;
        }
        for (gene, counts) in all_called(model.colony, clutch) {
            let Some(pair) = model.net.pairing(clutch, gene).filter(|_| asked.wants_gene(gene))
            else {
                continue;
            };
            pair.iter().for_each(|parent| height.work.reach(height.tree, *parent));
            let Some(parents) = height.work.joint(height.tree, pair) else { continue };
            let rows = rows.entry(gene).or_insert_with(|| model.net.chances_of_calls(gene));
            let one = |class| expectation(clutch, gene, class, &counts, rows, &parents);
            all.extend((1..counts.len()).map(one));
        }
    });
    Ok(climbed.map_or(Vec::new(), |_| all))
}

fn expectation(
    clutch: ClutchId,
    gene: GeneId,
    class: usize,
    counts: &[u32],
    rows: &[Vec<f64>],
    parents: &[f64],
) -> Expectation {
    let judged: u32 = counts.iter().sum();
    let total: f64 = parents.iter().sum();
    let of = |number: u32, chance: f64| {
        exp(ln_multinomial(&[number, judged - number], &[chance, 1.0 - chance]))
    };
    let pairs = || rows.iter().zip(parents).filter(|(_, weight)| **weight > 0.0);
    let chance = |number: u32| -> f64 {
        pairs().map(|(row, weight)| weight / total * of(number, row[class].clamp(0.0, 1.0))).sum()
    };
    let chances: Vec<f64> = (0..=judged).map(chance).collect();
    let range = range(&chances);
    Expectation { clutch, gene, class, seen: counts[class], judged, chances, range }
}

/// The numbers that leave at most half of what luck does not allow on either side.
fn range(chances: &[f64]) -> [u32; 2] {
    let aside = (1.0 - LUCK) / 2.0;
    let outside = |chances: &mut dyn Iterator<Item = &f64>| {
        let mut sum = 0.0;
        chances
            .take_while(|chance| {
                sum += **chance;
                sum <= aside
            })
            .count()
    };
    let below = outside(&mut chances.iter());
    let above = outside(&mut chances.iter().rev());
    let most = chances.len().saturating_sub(1);
    let number = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    [number(below.min(most)), number(most.saturating_sub(above))]
}

/// What the young of a clutch were called at each gene, with an id or without.
fn all_called(colony: &Colony, clutch: ClutchId) -> Vec<(GeneId, Vec<u32>)> {
    let mut all: Vec<(GeneId, Vec<u32>)> = Vec::new();
    for judged in called(colony, clutch) {
        match all.iter_mut().find(|(gene, _)| *gene == judged.gene) {
            Some((_, sums)) => sums.iter_mut().zip(judged.counts).for_each(|(sum, n)| *sum += n),
            None => all.push((judged.gene, judged.counts)),
        }
    }
    all.sort_by_key(|(gene, _)| *gene);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_range_holds_what_luck_allows_and_no_more() {
        // Ten throws of a coin: at most one or at least nine heads come 22 times in 1,024.
        let coin: Vec<f64> =
            (0..=10).map(|n| exp(ln_multinomial(&[n, 10 - n], &[0.5, 0.5]))).collect();
        assert_eq!(range(&coin), [2, 8]);
        assert_eq!(range(&[1.0]), [0, 0]);
        assert_eq!(range(&[0.0, 0.0, 1.0]), [2, 2]);
    }
}
