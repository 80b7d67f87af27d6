//! How is a suspected gene inherited?
//!
//! Every mode is a complete model of the whole file, run by the same engine and compared by its
//! log evidence.

pub(super) mod averaged;
mod compare;
pub(super) mod deciding;
mod hypotheses;
mod inherited;
pub(super) mod mode_pairings;
pub(super) mod predicted;
mod rates;
mod scored;
mod sensitivity;

pub use self::averaged::{Suspected, UnderMode};
use self::compare::{Candidate, Comparison, compare, prepared};
pub use self::deciding::{Decides, DecidingCross, Mate};
pub use self::hypotheses::{Family, Hypothesis, PriorOf, hypotheses, set_priors};
pub use self::mode_pairings::{ModeOutcome, ModePairing};
pub use self::sensitivity::Sensitivity;
use super::ladder::in_date_order;
use super::{Method, Unanswerable};
use crate::genetics::Mode;
use crate::numbers::exp;
use crate::records::{AnimalId, Assumptions, ClutchId, Colony, GeneId};

/// A mode with less than this chance no longer stands.
const STANDS: f64 = 0.05;

/// What is asked about a suspected gene.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeAsked {
    /// The gene, whose inheritance is unknown.
    pub gene: GeneId,
    /// Priors the keeper sets; what is left is shared by the others.
    pub priors: Vec<PriorOf>,
    /// Whether to work out what the answer rests on, and what would decide.
    pub explain: bool,
    /// Bytes that the tables of one model may take.
    pub memory: u64,
}

/// One mode of inheritance.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeResult {
    /// The mode.
    pub mode: Mode,
    /// Its family.
    pub family: Family,
    /// Its chance before the records.
    pub prior: f64,
    /// Natural log of the probability of all records.
    pub log_evidence: f64,
    /// Its chance given all records.
    pub posterior: f64,
    /// What each step adds to the log evidence: the animals' own records, then each clutch in the
    /// order of [`ModeAnswer::clutches`].
    pub by_clutch: Vec<f64>,
    /// Its chance after each of those steps.
    pub path: Vec<f64>,
    /// The share of each look class expected in each clutch before it hatched.
    pub expected: Vec<Option<Vec<f64>>>,
}

/// How well the likeliest mode fits one clutch.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeFit {
    /// The clutch.
    pub clutch: ClutchId,
    /// How many young were called each look class.
    pub counts: Vec<u32>,
    /// The chance of outcomes at most as probable as this one.
    pub tail: f64,
}

/// How a suspected gene is inherited.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeAnswer {
    /// How it was computed.
    pub method: Method,
    /// The gene.
    pub gene: GeneId,
    /// The animals it was first noticed on.
    pub first_seen: Vec<AnimalId>,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// Every mode that applies, in the order of their families.
    pub modes: Vec<ModeResult>,
    /// The clutches in date order, undated ones last.
    pub clutches: Vec<ClutchId>,
    /// The likeliest mode, and the next.
    pub likeliest: [usize; 2],
    /// By how many times the records are likelier under the likeliest mode than under the next.
    pub bayes_factor: f64,
    /// By how many times the prior odds of the next against the likeliest mode would have to rise
    /// for both to be as likely.
    pub draws_level: f64,
    /// How well the likeliest mode fits each clutch that was judged.
    pub fit: Vec<ModeFit>,
    /// Whether some clutch fits even the likeliest mode badly.
    pub best_of_a_bad_lot: bool,
    /// The answer under other assumptions.
    pub sensitivity: Vec<Sensitivity>,
    /// Crosses that would separate the modes that still stand.
    pub deciding: Vec<DecidingCross>,
}

impl ModeAnswer {
    /// The modes that still stand, likeliest first.
    pub fn standing(&self) -> Vec<&ModeResult> {
        let mut standing: Vec<&ModeResult> =
            self.modes.iter().filter(|one| one.posterior >= STANDS).collect();
        standing.sort_by(|a, b| b.posterior.total_cmp(&a.posterior));
        standing
    }

    /// The chance that it is inherited at all.
    pub fn inherited(&self) -> f64 {
        let inherited = self.modes.iter().filter(|one| one.mode.is_inherited());
        inherited.map(|one| one.posterior).sum()
    }
}

/// Answers how a suspected gene is inherited.
///
/// # Source
///
/// Mode of inheritance: each hypothesis is a complete model of the whole file compared by log
/// evidence; evidence by clutch by the chain rule in date order.
///
/// # Errors
///
/// [`Unanswerable`]; a prior that cannot be is `Impossible` with its message.
pub fn mode(colony: &Colony, asked: &ModeAsked) -> Result<ModeAnswer, Unanswerable> {
    let gene = asked.gene;
    let named = colony.animals.len();
    let prepared = prepared(colony, gene);
    let colony = prepared.as_ref();
    let mut all = hypotheses(colony, gene);
    if let Err(message) = set_priors(&mut all, &asked.priors) {
        return Err(Unanswerable::Question(message));
    }
    let comparison = compare(colony, gene, &all, asked.memory, true)?;
    let clutches = in_date_order(colony);
    let likeliest = likeliest(&comparison);
    let fit = fit(colony, gene, &comparison.candidates[likeliest[0]], &clutches);
    let [top, next] = likeliest.map(|at| comparison.candidates[at].log_evidence());
    let judged = fit.len() as f64;
    let mut warnings = comparison.warnings.clone();
    let others = |id: &GeneId| *id != gene;
    let unknown = super::genotypes::unknown_inheritance(colony).filter(others);
    warnings.extend(unknown.map(|id| {
        format!("{} is not counted here: how it is inherited is not known", colony.gene(id).name)
    }));
    let (sensitivity, deciding) = if asked.explain {
        let winner = comparison.candidates[likeliest[0]].hypothesis.mode;
        let sensitivity = sensitivity::sensitivity(colony, gene, &all, winner, asked.memory)?;
        (sensitivity, deciding::deciding(colony, gene, &comparison, asked.memory)?)
    } else {
        (Vec::new(), Vec::new())
    };
    // One that was only counted has no name to tell.
    let first = colony.gene(gene).first_seen.animals.iter().filter(|id| id.0 < named);
    Ok(ModeAnswer {
        method: Method::Exact,
        gene,
        first_seen: first.copied().collect(),
        assumptions: colony.assumptions,
        warnings,
        likeliest,
        bayes_factor: exp(top - next),
        draws_level: {
            let [top, next] = likeliest.map(|at| comparison.candidates[at].posterior);
            top / next
        },
        best_of_a_bad_lot: fit.iter().any(|one| one.tail * judged < 0.01),
        fit,
        modes: results(colony, gene, &comparison),
        clutches,
        sensitivity,
        deciding,
    })
}

/// The positions of the likeliest mode and of the next.
fn likeliest(comparison: &Comparison) -> [usize; 2] {
    let mut order: Vec<usize> = (0..comparison.candidates.len()).collect();
    let key = |at: &usize| {
        let one = &comparison.candidates[*at];
        (one.posterior, one.log_evidence())
    };
    order.sort_by(|a, b| {
        let ((p, e), (q, f)) = (key(a), key(b));
        q.total_cmp(&p).then(f.total_cmp(&e))
    });
    [order[0], order.get(1).copied().unwrap_or(order[0])]
}

fn results(colony: &Colony, gene: GeneId, comparison: &Comparison) -> Vec<ModeResult> {
    let names = colony.gene(gene).looks.len() + 1;
    let candidates = &comparison.candidates;
    let steps = candidates[0].weighed.logs.len();
    let mut paths = vec![Vec::with_capacity(steps); candidates.len()];
    for step in 0..steps {
        let weights: Vec<f64> = candidates
            .iter()
            .map(|one| crate::numbers::ln(one.hypothesis.prior) + one.weighed.logs[step])
            .collect();
        let all = crate::numbers::log_sum_exp(&weights);
        for (path, weight) in paths.iter_mut().zip(weights) {
            path.push(exp(weight - all));
        }
    }
    let result = |(one, path): (&Candidate, Vec<f64>)| {
        let logs = &one.weighed.logs;
        let by_clutch = std::iter::once(logs[0]).chain(logs.windows(2).map(|pair| {
            if pair[1] == f64::NEG_INFINITY { f64::NEG_INFINITY } else { pair[1] - pair[0] }
        }));
        let expected = one.weighed.predicted.iter();
        ModeResult {
            mode: one.hypothesis.mode,
            family: one.hypothesis.family,
            prior: one.hypothesis.prior,
            log_evidence: one.log_evidence(),
            posterior: one.posterior,
            by_clutch: by_clutch.collect(),
            path,
            expected: expected.map(|p| p.as_ref().map(|p| p.shares(names))).collect(),
        }
    };
    candidates.iter().zip(paths).map(result).collect()
}

/// How often each look was called in each clutch, the first finds left out.
pub(super) fn counts(colony: &Colony, gene: GeneId, clutch: ClutchId) -> Vec<u32> {
    let mut counts = vec![0; colony.gene(gene).looks.len() + 1];
    for score in scored::scores(colony, gene) {
        if let (Some(class), true) = (score.class(), score.clutch == Some(clutch)) {
            counts[class] += score.number;
        }
    }
    counts
}

fn fit(colony: &Colony, gene: GeneId, winner: &Candidate, order: &[ClutchId]) -> Vec<ModeFit> {
    let mut fits = Vec::new();
    for (clutch, predicted) in order.iter().zip(&winner.weighed.predicted) {
        let counts = counts(colony, gene, *clutch);
        let Some(predicted) = predicted.as_ref().filter(|_| counts.iter().sum::<u32>() > 0) else {
            continue;
        };
        fits.push(ModeFit { clutch: *clutch, tail: predicted.tail(&counts), counts });
    }
    fits
}
