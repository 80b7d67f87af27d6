//! Which pairing tells most about whether two looks are one locus, linked, or free?

use super::planner::{Planner, Prepared};
use super::young::Young;
use crate::questions::allelic::{Arrangement, arrangements};
use crate::questions::modes::deciding::{bits, outcomes};
use crate::questions::modes::predicted::Predicted;
use crate::questions::{AllelicAsked, Asked, Unanswerable};
use crate::records::{AnimalId, Colony, GeneId};

/// A pairing that tells less than this says nothing.
const SAYS_NOTHING: f64 = 1e-4;
/// A pair that is less likely than this to carry both genes between them is not looked at.
const MAY_CARRY: f64 = 0.01;
/// More outcomes than these are told apart only by whether each look is seen.
const OUTCOMES: u64 = 2_000;

/// What one number of young of each look would say of two genes.
#[derive(Clone, Debug, PartialEq)]
pub struct AllelicOutcome {
    /// How many are called each pair of look classes; the class of the second gene counts fastest.
    pub counts: Vec<u32>,
    /// Its chance.
    pub probability: f64,
    /// The chances of one locus, linked and free after it.
    pub posterior: [f64; 3],
}

/// A pairing, and what it would say of two genes.
#[derive(Clone, Debug, PartialEq)]
pub struct AllelicPairing {
    /// The dam.
    pub dam: AnimalId,
    /// The sire.
    pub sire: AnimalId,
    /// What one clutch tells, in bits.
    pub bits: f64,
    /// The same for each egg laid.
    pub bits_per_egg: f64,
    /// What all clutches of a season tell.
    pub bits_per_season: f64,
    /// Inbreeding of the young; `None` where there are too many ancestors to work it out.
    pub inbreeding: Option<f64>,
    /// The chance that a fertile egg has a genotype that never hatches.
    pub lethal: f64,
    /// What a clutch may show, likeliest first.
    pub outcomes: Vec<AllelicOutcome>,
}

/// Pairings that tell whether two looks are one locus, linked, or free.
#[derive(Clone, Debug, PartialEq)]
pub struct AllelicPairings {
    /// The two genes.
    pub genes: [GeneId; 2],
    /// The chances of one locus, linked and free today.
    pub today: [f64; 3],
    /// How many look classes of each gene the outcomes tell apart; two where only a look or none
    /// is told apart.
    pub classes: [usize; 2],
    /// The pairings, the most telling first.
    pub pairings: Vec<AllelicPairing>,
}

/// A pair, and what each way expects of it.
struct Pair {
    dam: AnimalId,
    sire: AnimalId,
    expected: Vec<Predicted>,
    inbreeding: Option<f64>,
    lethal: f64,
}

/// The pairs that would tell most about how two genes lie, best first.
///
/// # Source
///
/// Planning: information of a pairing about a question Q is H(Q) − E[H(Q | outcome)], outcome =
/// counts of looks of the genes in question among n young, exact, both parents' hidden genotypes
/// integrated jointly; here Q is one locus, linked (over all rates that still stand), or free.
///
/// # Errors
///
/// [`Unanswerable`] as for [`allelic`](crate::questions::allelic()).
pub(super) fn allelic_pairings(
    colony: &Colony,
    prepared: &Prepared,
    asked: &Asked,
    about: &AllelicAsked,
    young: &Young,
) -> Result<AllelicPairings, Unanswerable> {
    let ways = arrangements(colony, prepared.colony(), about)?;
    let names = about.genes.map(|gene| colony.gene(gene).looks.len() + 1);
    let classes = if told_apart(names, young.season()) { names } else { [2, 2] };
    let mut today = [0.0; 3];
    ways.iter().for_each(|way| today[way.which] += way.share);
    let shares: Vec<f64> = ways.iter().map(|way| way.share).collect();
    let which: Vec<usize> = ways.iter().map(|way| way.which).collect();
    let mut pairs: Vec<Pair> = Vec::new();
    for way in ways {
        let Arrangement { units, .. } = way;
        let mut planner = prepared.planner_of(units, asked)?;
        if pairs.is_empty() {
            pairs = worth_a_look(&mut planner, about.genes);
        }
        let rows = planner.model.net.chances_of_two_calls(about.genes);
        for pair in &mut pairs {
            let weights = planner.parents(pair.dam, pair.sire, about.genes[0]);
            pair.expected.push(predicted(&rows, &weights, names, classes));
        }
    }
    let eggs = young.mean / (1.0 - colony.assumptions.egg_loss);
    let of = |pair: Pair| -> Option<AllelicPairing> {
        let merged = by_question(&pair.expected, &shares, &which);
        let told = young.mean_of(|number| told(&merged, today, classes, number));
        if told < SAYS_NOTHING {
            return None;
        }
        let season = young.season();
        Some(AllelicPairing {
            dam: pair.dam,
            sire: pair.sire,
            bits: told,
            bits_per_egg: if eggs > 0.0 { told / eggs } else { 0.0 },
            bits_per_season: if season == young.usual() {
                told
            } else {
                self::told(&merged, today, classes, season).max(told)
            },
            inbreeding: pair.inbreeding,
            lethal: pair.lethal,
            outcomes: likely(&merged, today, classes, young.usual()),
        })
    };
    let mut pairings: Vec<AllelicPairing> = pairs.into_iter().filter_map(of).collect();
    pairings.sort_by(|a, b| b.bits.total_cmp(&a.bits).then((a.dam, a.sire).cmp(&(b.dam, b.sire))));
    Ok(AllelicPairings { genes: about.genes, today, classes, pairings })
}

/// Whether the outcomes of so many young are few enough to tell all look classes apart.
fn told_apart(names: [usize; 2], young: u32) -> bool {
    let kinds = (names[0] * names[1]) as u64;
    let ways = (1..kinds)
        .fold(1u64, |ways, step| ways.saturating_mul(u64::from(young).saturating_add(step)) / step);
    ways <= OUTCOMES
}

/// Pairs that carry both genes between them, with some chance, and no expectations yet.
fn worth_a_look(planner: &mut Planner<'_>, genes: [GeneId; 2]) -> Vec<Pair> {
    let carries = |planner: &Planner<'_>, animal: AnimalId| -> [f64; 2] {
        genes.map(|gene| {
            let own = &planner.model.net.locus(gene).own;
            let posterior = planner.model.posterior(animal, gene);
            let yes = own.iter().zip(&posterior).filter(|(g, _)| g.mutant_copies() > 0);
            yes.map(|(_, chance)| chance).sum()
        })
    };
    let mut pairs = Vec::new();
    let [females, males] = planner.breeders.clone();
    let of_males: Vec<[f64; 2]> = males.iter().map(|male| carries(planner, *male)).collect();
    for dam in females {
        let hers = carries(planner, dam);
        for (sire, his) in males.iter().zip(&of_males) {
            let either = |at: usize| 1.0 - (1.0 - hers[at]) * (1.0 - his[at]);
            if either(0) >= MAY_CARRY && either(1) >= MAY_CARRY {
                let (inbreeding, lethal) =
                    (planner.inbreeding(dam, *sire), planner.lethal(dam, *sire));
                pairs.push(Pair { dam, sire: *sire, expected: Vec::new(), inbreeding, lethal });
            }
        }
    }
    pairs
}

/// The calls of the young of a pair, one row for each kind of parents that differs.
fn predicted(
    rows: &[Vec<f64>],
    weights: &[f64],
    names: [usize; 2],
    classes: [usize; 2],
) -> Predicted {
    let mut kinds: Vec<(Vec<f64>, f64)> = Vec::new();
    for (row, weight) in rows.iter().zip(weights).filter(|(_, weight)| **weight > 1e-12) {
        match kinds.iter_mut().find(|(known, _)| known == row) {
            Some((_, sum)) => *sum += weight,
            None => kinds.push((row.clone(), *weight)),
        }
    }
    if names != classes {
        for (row, _) in &mut kinds {
            let mut seen = vec![0.0; classes[0] * classes[1]];
            for (at, chance) in row.iter().enumerate() {
                let [one, other] = [at / names[1], at % names[1]].map(|class| class.min(1));
                seen[one * classes[1] + other] += chance;
            }
            *row = seen;
        }
    }
    Predicted::Parents(kinds)
}

/// One expectation for each of the three possibilities: a mixture over the ways it may be.
fn by_question(expected: &[Predicted], shares: &[f64], which: &[usize]) -> [Predicted; 3] {
    [0, 1, 2].map(|question| {
        let mut kinds = Vec::new();
        let of = || shares.iter().zip(which).filter(|(_, which)| **which == question);
        let total: f64 = of().map(|(share, _)| share).sum();
        for ((one, share), which) in expected.iter().zip(shares).zip(which) {
            if let (Predicted::Parents(pairs), true) = (one, *which == question) {
                kinds.extend(pairs.iter().map(|(row, w)| (row.clone(), w * share / total)));
            }
        }
        Predicted::Parents(kinds)
    })
}

fn told(expected: &[Predicted; 3], today: [f64; 3], classes: [usize; 2], young: u32) -> f64 {
    bits(expected, &today, classes[0] * classes[1], young)
}

fn likely(
    expected: &[Predicted; 3],
    today: [f64; 3],
    classes: [usize; 2],
    young: u32,
) -> Vec<AllelicOutcome> {
    let mut all = Vec::new();
    let kinds = classes[0] * classes[1];
    for mut counts in outcomes(young, kinds + 1) {
        let joint = [0, 1, 2].map(|at| today[at] * expected[at].chance_with_rest(&counts));
        let probability: f64 = joint.iter().sum();
        if probability > 1e-12 {
            counts.truncate(kinds);
            let posterior = joint.map(|one| one / probability);
            all.push(AllelicOutcome { counts, probability, posterior });
        }
    }
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all
}
