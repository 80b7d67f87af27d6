//! How well each clutch fits what was known before it.

use rustc_hash::FxHashMap;

use super::Model;
use super::ladder::{Height, climb};
use crate::genetics::{CallSheet, GeneCall, call_sheets, count_sheet};
use crate::network::Grouping;
use crate::numbers::{exp, ln_multinomial};
use crate::records::{AnimalId, ClutchId, Colony, GeneId};

/// Above this many possible outcomes each class is compared by itself.
const OUTCOMES: usize = 20_000;

/// How surprising one clutch is.
#[derive(Clone, Debug, PartialEq)]
pub struct ClutchFit {
    /// The clutch.
    pub clutch: ClutchId,
    /// The gene at which it is most surprising.
    pub gene: GeneId,
    /// The chance of outcomes at most as probable as what hatched, for the most surprising gene,
    /// times the number of genes that were judged.
    pub tail: f64,
}

/// The fit of every clutch that was judged; `None` when it would take too long.
///
/// # Source
///
/// Fit: for each clutch the probability, given all earlier clutches, of outcomes at most as
/// probable as what hatched.
pub(super) fn fit(model: &Model<'_>, multiplications: usize) -> Option<Vec<ClutchFit>> {
    let mut fits = Vec::new();
    let mut rows = FxHashMap::default();
    climb(model, multiplications, |height| {
        fits.extend(height.next.and_then(|clutch| clutch_fit(model, height, clutch, &mut rows)));
    })?;
    Some(fits)
}

/// Arithmetic that the fit of a whole colony may take.
const MULTIPLICATIONS: usize = 2_000_000_000;

/// The fit of every clutch of a colony; empty when it cannot be worked out.
pub(super) fn of_colony(colony: &Colony, memory: u64) -> Vec<ClutchFit> {
    // Impossible records have no fit: the records themselves are the answer then.
    let Ok(model) = Model::solve(colony, Grouping::Siblings, memory) else { return Vec::new() };
    fit(&model, MULTIPLICATIONS).unwrap_or_default()
}

/// A sound colony warns at most this often.
const WARNS: f64 = 0.01;

/// Arithmetic that the warning may add to another question.
const ASIDE: usize = 40_000_000;

/// The clutch that fits so badly that a record may be wrong, if there is one.
///
/// # Source
///
/// Warning: smallest clutch tail probability × number of clutches < 0.01, which a sound colony
/// meets at most once in a hundred.
pub(super) fn surprise(model: &Model<'_>) -> Option<ClutchFit> {
    if model.colony.clutch_ids().all(|clutch| called(model.colony, clutch).is_empty()) {
        return None;
    }
    let fits = fit(model, ASIDE)?;
    let clutches = fits.len() as f64;
    let worst = fits.into_iter().min_by(|a, b| a.tail.total_cmp(&b.tail))?;
    (worst.tail * clutches < WARNS).then_some(worst)
}

/// Chances of each call for each pair of parents, by gene.
type Rows = FxHashMap<GeneId, Vec<Vec<f64>>>;

fn clutch_fit(
    model: &Model<'_>,
    height: &mut Height<'_>,
    clutch: ClutchId,
    rows: &mut Rows,
) -> Option<ClutchFit> {
    let of = model.colony.clutch(clutch);
    if !of.recorded_only.is_empty() || !of.kept_if.is_empty() {
        // What was chosen for its look is not what hatches.
        return None;
    }
    let mut worst: Option<(f64, GeneId)> = None;
    let mut judged = 0u32;
    let mix_up = model.colony.assumptions.mix_up;
    for Judged { gene, counts, with_id } in called(model.colony, clutch) {
        judged += 1;
        let Some(pair) = model.net.pairing(clutch, gene) else { continue };
        pair.iter().for_each(|parent| height.work.reach(height.tree, *parent));
        let Some(parents) = height.work.joint(height.tree, pair) else { continue };
        let rows = rows.entry(gene).or_insert_with(|| model.net.chances_of_calls(gene));
        let tail = if with_id && mix_up > 0.0 {
            let elsewhere = model.net.chances_of_calls_elsewhere(gene);
            let mixed = |row: &Vec<f64>| -> Vec<f64> {
                let pairs = row.iter().zip(&elsewhere);
                pairs.map(|(own, other)| (1.0 - mix_up) * own + mix_up * other).collect()
            };
            tail(&counts, &rows.iter().map(mixed).collect::<Vec<_>>(), &parents)
        } else {
            tail(&counts, rows, &parents)
        };
        if worst.is_none_or(|(least, _)| tail < least) {
            worst = Some((tail, gene));
        }
    }
    let (tail, gene) = worst?;
    Some(ClutchFit { clutch, gene, tail: (tail * f64::from(judged)).min(1.0) })
}

/// How often each class was called at a gene, among young of a clutch that have an id or have none.
pub(super) struct Judged {
    pub(super) gene: GeneId,
    pub(super) counts: Vec<u32>,
    /// Only these can have been mixed up.
    with_id: bool,
}

/// What the young of a clutch were called, for each gene that was judged.
///
/// Uncertain calls are left out, and genes that are only read where a look of them is named, as on
/// young too small or too early for them, or under a mask: whether they count would depend on what
/// they are.
pub(super) fn called(colony: &Colony, clutch: ClutchId) -> Vec<Judged> {
    let of = colony.clutch(clutch);
    let none = |gene: &crate::records::Gene| vec![0; gene.looks.len() + 1];
    let nothing: Vec<Vec<u32>> = colony.genes.iter().map(none).collect();
    let mut counts = [nothing.clone(), nothing];
    for hatchling in &of.hatchlings {
        let animal = colony.animal(*hatchling);
        let may_be_mixed_up = animal.id.is_some() && colony.assumptions.mix_up > 0.0;
        let sightings = call_sheets(colony, animal);
        for gene in colony.gene_ids() {
            let judged = sightings.iter().rev().filter(|s| judges(&s.sheet, gene));
            let class = judged.into_iter().find_map(|s| class_called(&s.sheet, gene));
            class.into_iter().for_each(|c| counts[usize::from(may_be_mixed_up)][gene.0][c] += 1);
        }
    }
    for count in &of.counts {
        let sheet = count_sheet(colony, of, count);
        for gene in colony.gene_ids().filter(|gene| judges(&sheet, *gene)) {
            let class = class_called(&sheet, gene);
            class.into_iter().for_each(|class| counts[0][gene.0][class] += count.total());
        }
    }
    let mut all = Vec::new();
    for (with_id, counts) in [false, true].into_iter().zip(counts) {
        for (at, counts) in counts.into_iter().enumerate() {
            if counts.iter().any(|count| *count > 0) {
                all.push(Judged { gene: GeneId(at), counts, with_id });
            }
        }
    }
    all
}

/// Whether a sheet is certain, and would count at a gene whatever it called it.
fn judges(sheet: &CallSheet, gene: GeneId) -> bool {
    sheet.alternatives.len() == 1 && !sheet.by_name_only.contains(&gene)
}

/// The look class an animal was called at a gene, by its latest record that reads it.
pub(super) fn own_call(colony: &Colony, animal: AnimalId, gene: GeneId) -> Option<usize> {
    let sightings = call_sheets(colony, colony.animal(animal));
    sightings.iter().rev().find_map(|sighting| class_called(&sighting.sheet, gene))
}

/// The class that a sheet calls a gene, where all identities agree and nothing hides it.
pub(super) fn class_called(sheet: &CallSheet, gene: GeneId) -> Option<usize> {
    let class = |calls: &Vec<GeneCall>| match &calls[gene.0] {
        GeneCall::Class { class, hidden } if hidden.is_empty() => Some(*class),
        _ => None,
    };
    let mut classes = sheet.alternatives.iter().map(|(_, calls)| class(calls));
    let first = classes.next()??;
    classes.all(|class| class == Some(first)).then_some(first)
}

/// The chance of counts at most as probable as these.
pub(super) fn tail(counts: &[u32], rows: &[Vec<f64>], parents: &[f64]) -> f64 {
    let likely: Vec<(&Vec<f64>, f64)> =
        rows.iter().zip(parents.iter().copied()).filter(|(_, weight)| *weight > 1e-12).collect();
    let total: u32 = counts.iter().sum();
    if outcomes(total, counts.len()) > OUTCOMES {
        return one_by_one(counts, &likely);
    }
    let chance = |counts: &[u32]| -> f64 {
        likely.iter().map(|(row, weight)| weight * exp(ln_multinomial(counts, row))).sum()
    };
    let seen = chance(counts) * (1.0 + 1e-9);
    let mut sum = 0.0;
    let mut outcome = vec![0; counts.len()];
    every_outcome(total, 0, &mut outcome, &mut |outcome| {
        let chance = chance(outcome);
        if chance <= seen {
            sum += chance;
        }
    });
    sum
}

/// The least tail of one class against all others, times the number of classes.
fn one_by_one(counts: &[u32], likely: &[(&Vec<f64>, f64)]) -> f64 {
    let total: u32 = counts.iter().sum();
    let of_class = |class: usize| -> f64 {
        let chance = |number: u32| -> f64 {
            let of = |(row, weight): &(&Vec<f64>, f64)| {
                let chances = [row[class], 1.0 - row[class]];
                weight * exp(ln_multinomial(&[number, total - number], &chances))
            };
            likely.iter().map(of).sum()
        };
        let seen = chance(counts[class]) * (1.0 + 1e-9);
        (0..=total).map(chance).filter(|chance| *chance <= seen).sum()
    };
    let least = (0..counts.len()).map(of_class).fold(1.0, f64::min);
    (least * counts.len() as f64).min(1.0)
}

/// How many ways there are to spread young over classes.
fn outcomes(total: u32, classes: usize) -> usize {
    let mut ways = 1usize;
    for step in 1..classes {
        ways = ways.saturating_mul(total as usize + step) / step;
    }
    ways
}

fn every_outcome(left: u32, at: usize, outcome: &mut [u32], visit: &mut dyn FnMut(&[u32])) {
    if at + 1 == outcome.len() {
        outcome[at] = left;
        visit(outcome);
        return;
    }
    for number in 0..=left {
        outcome[at] = number;
        every_outcome(left - number, at + 1, outcome, visit);
    }
}
