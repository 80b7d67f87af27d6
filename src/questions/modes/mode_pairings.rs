//! Which pairing tells most about how a suspected gene is inherited.

use super::compare::{compare, prepared};
use super::deciding::{bits, outcomes, standing};
use super::hypotheses::hypotheses;
use super::predicted::Predicted;
use crate::genetics::Mode;
use crate::questions::Unanswerable;
use crate::records::{AnimalId, Colony, GeneId};

/// A pairing that tells less than this says nothing.
const SAYS_NOTHING: f64 = 1e-4;

/// What one number of young of each look would say of the modes.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeOutcome {
    /// How many are called each look class; the last number is of young with a look that has no
    /// name.
    pub counts: Vec<u32>,
    /// Its chance.
    pub probability: f64,
    /// The chance of each mode after it.
    pub posterior: Vec<(Mode, f64)>,
}

/// A pairing, and what it would say of the modes that still stand.
#[derive(Clone, Debug, PartialEq)]
pub struct ModePairing {
    /// The dam.
    pub dam: AnimalId,
    /// The sire.
    pub sire: AnimalId,
    /// What one clutch tells, in bits.
    pub bits: f64,
    /// What all clutches of a season tell.
    pub bits_per_season: f64,
    /// What a clutch may show, likeliest first.
    pub outcomes: Vec<ModeOutcome>,
}

/// The pairs that would tell most about how a suspected gene is inherited, best first: among the
/// three likeliest modes.
///
/// # Errors
///
/// [`Unanswerable`] as for the modes themselves.
pub(in crate::questions) fn mode_pairings(
    colony: &Colony,
    gene: GeneId,
    pairs: &[(AnimalId, AnimalId)],
    [young, season]: [u32; 2],
    memory: u64,
) -> Result<Vec<ModePairing>, Unanswerable> {
    let prepared = prepared(colony, gene);
    let colony = prepared.as_ref();
    let comparison = compare(colony, gene, &hypotheses(colony, gene), memory, true)?;
    let mut standing = standing(colony, gene, &comparison, memory)?;
    let names = colony.gene(gene).looks.len() + 1;
    let shares: Vec<f64> = standing.iter().map(|one| one.share).collect();
    let mut found = Vec::new();
    for (dam, sire) in pairs {
        let expected: Vec<Predicted> =
            standing.iter_mut().map(|one| one.expects(gene, Some(*dam), Some(*sire))).collect();
        let told = bits(&expected, &shares, names, young);
        if told < SAYS_NOTHING {
            continue;
        }
        let modes: Vec<Mode> = standing.iter().map(|one| one.mode).collect();
        found.push(ModePairing {
            dam: *dam,
            sire: *sire,
            bits: told,
            bits_per_season: if season == young {
                told
            } else {
                bits(&expected, &shares, names, season)
            },
            outcomes: likely_outcomes(&expected, &shares, &modes, names, young),
        });
    }
    found.sort_by(|a, b| b.bits.total_cmp(&a.bits).then((a.dam, a.sire).cmp(&(b.dam, b.sire))));
    Ok(found)
}

fn likely_outcomes(
    expected: &[Predicted],
    shares: &[f64],
    modes: &[Mode],
    names: usize,
    young: u32,
) -> Vec<ModeOutcome> {
    let mut all = Vec::new();
    for counts in outcomes(young, names + 1) {
        let joint: Vec<f64> = expected
            .iter()
            .zip(shares)
            .map(|(one, share)| share * one.chance_with_rest(&counts))
            .collect();
        let probability: f64 = joint.iter().sum();
        if probability > 1e-12 {
            let posterior = modes.iter().zip(&joint).map(|(mode, one)| (*mode, one / probability));
            all.push(ModeOutcome { counts, probability, posterior: posterior.collect() });
        }
    }
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all
}
