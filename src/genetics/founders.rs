//! How animals without recorded parents start out.

use super::{GeneCall, Locus};
use crate::records::{Genotype, Misread, Reading, ReadingKind, Says, Sex};

/// Chances of two, one and no copies of an allele of this frequency under random mating.
///
/// # Source
///
/// Hardy (1908), Science 28:49–50; Weinberg (1908): p², 2pq, q².
pub fn random_mating(frequency: crate::numbers::Probability) -> [f64; 3] {
    let (p, q) = (frequency.value(), frequency.complement().value());
    [p * p, 2.0 * p * q, q * q]
}

/// What is known of a founder at one gene before its young are looked at.
#[derive(Clone, Debug, Default)]
pub struct FounderEvidence<'a> {
    /// What a seller said, and the chance that it is right.
    pub statement: Option<(Says, f64)>,
    /// A call that names a look of the gene: the animal was bought or kept for it.
    pub own_look: Option<&'a GeneCall>,
}

/// Weight of each genotype of a founder of this sex, before its young are looked at.
///
/// # Shape and units
///
/// One weight for each of [`Locus::genotypes`]; they sum to one, or to less only when what is
/// told or seen cannot be true of any living animal.
///
/// # Source
///
/// Founders: Hardy–Weinberg without statement or look. A statement S of trust t:
/// t·P(G | S) + (1−t)·HW. An own look of class c: B(G) = (1−m)·HW(G | c) + m·HW(G | not c), and
/// the call gives no further term; with a statement as well: t·P(G | S)·P(call | G) + (1−t)·B(G).
/// Animals in the file are alive, so a lethal genotype has weight 0.
pub fn founder_term(locus: &Locus, sex: Option<Sex>, evidence: &FounderEvidence<'_>) -> Vec<f64> {
    let unseen = match evidence.own_look {
        None => given(locus, sex, &vec![1.0; locus.genotypes.len()]),
        Some(call) => own_look(locus, sex, call.named().unwrap_or(0)),
    };
    let Some((says, trust)) = evidence.statement else { return unseen };
    let called = match evidence.own_look {
        None => vec![1.0; unseen.len()],
        Some(call) => call.likelihood(locus),
    };
    let told = told(locus, sex, says);
    let mixed = |((told, called), unseen)| trust * told * called + (1.0 - trust) * unseen;
    told.into_iter().zip(called).zip(unseen).map(mixed).collect()
}

/// One for each genotype of a founder of this sex that what is known leaves open, however rare.
///
/// Nothing is ruled out that [`founder_term`] gives weight to once more is known.
pub fn founder_support(
    locus: &Locus,
    sex: Option<Sex>,
    evidence: &FounderEvidence<'_>,
) -> Vec<f64> {
    let open = |weights: Vec<f64>| weights.into_iter().map(|w| f64::from(u8::from(w > 0.0)));
    let possible = |g: &Genotype| f64::from(u8::from(locus.possible(*g, sex)));
    let mut support: Vec<f64> = locus.genotypes.iter().map(possible).collect();
    let mut rule_out = |open: Vec<f64>| support.iter_mut().zip(open).for_each(|(s, o)| *s *= o);
    if let Some((says, trust)) = evidence.statement.filter(|(_, trust)| *trust == 1.0) {
        let told = FounderEvidence { statement: Some((says, trust)), own_look: None };
        rule_out(open(founder_term(locus, sex, &told)).collect());
    }
    if let Some(call) = evidence.own_look {
        let kept = open(own_look(locus, sex, call.named().unwrap_or(0)));
        let either = kept.zip(open(call.likelihood(locus))).map(|(kept, called)| kept.max(called));
        rule_out(either.collect());
    }
    support
}

/// Weight of each genotype of an animal from unrelated stock.
pub fn unrelated(locus: &Locus, sex: Option<Sex>) -> Vec<f64> {
    founder_term(locus, sex, &FounderEvidence::default())
}

/// Likelihood of a reading for each genotype of the locus.
///
/// # Source
///
/// Readings: a result of reliability r has likelihood r, every other genotype possible for the
/// animal's sex (1−r)/(n−1).
pub fn reading_likelihood(locus: &Locus, sex: Option<Sex>, reading: &Reading) -> Vec<f64> {
    let possible = |g: &Genotype| locus.possible(*g, sex);
    let count = locus.genotypes.iter().filter(|g| possible(g)).count();
    let weight = |g: &Genotype| match &reading.kind {
        _ if !possible(g) => 0.0,
        ReadingKind::Result { genotype, reliability } if genotype == g => *reliability,
        ReadingKind::Result { reliability, .. } => (1.0 - reliability) / (count.max(2) - 1) as f64,
        ReadingKind::Likelihood(list) => {
            list.iter().find(|(listed, _)| listed == g).map_or(0.0, |(_, weight)| *weight)
        }
    };
    locus.genotypes.iter().map(weight).collect()
}

fn own_look(locus: &Locus, sex: Option<Sex>, class: usize) -> Vec<f64> {
    let wrong = match locus.misread {
        Misread::Any(m) => m,
        Misread::Apart { imagined, confused, .. } => {
            imagined + if locus.classes > 2 { confused } else { 0.0 }
        }
    };
    let shows = locus.class_chance(class);
    let right = given(locus, sex, &shows);
    let other = given(locus, sex, &shows.iter().map(|chance| 1.0 - chance).collect::<Vec<_>>());
    right.into_iter().zip(other).map(|(r, o)| (1.0 - wrong) * r + wrong * o).collect()
}

fn told(locus: &Locus, sex: Option<Sex>, says: Says) -> Vec<f64> {
    match says {
        Says::Look(class) => given(locus, sex, &locus.class_chance(class)),
        Says::NotHet { allele } => {
            let without = |g: &Genotype| if g.copies_of(allele) == 0 { 1.0 } else { 0.0 };
            given(locus, sex, &locus.genotypes.iter().map(without).collect::<Vec<_>>())
        }
        Says::Het { allele, chance } => {
            let mut weights = vec![0.0; locus.genotypes.len()];
            let pairs = [(Genotype::two(0, allele), chance), (Genotype::two(0, 0), 1.0 - chance)];
            for (genotype, weight) in pairs {
                if let Some(at) = locus.position(genotype).filter(|at| !locus.lethal[*at]) {
                    weights[at] = weight;
                }
            }
            normalise(weights)
        }
    }
}

/// Hardy–Weinberg given a condition, where `condition` is its chance for each genotype.
///
/// METHOD: without mass it is the limit as the frequencies that are zero shrink together, so
/// the genotypes with the fewest copies of such alleles share the weight. All zeros when no
/// living animal of this sex can meet the condition.
fn given(locus: &Locus, sex: Option<Sex>, condition: &[f64]) -> Vec<f64> {
    let rare = |allele: usize| locus.frequencies[allele] == 0.0;
    let share = |allele: usize| if rare(allele) { 1.0 } else { locus.frequencies[allele] };
    let weigh = |at: usize| {
        let genotype = locus.genotypes[at];
        if condition[at] <= 0.0 || locus.lethal[at] || !locus.possible(genotype, sex) {
            return None;
        }
        let (zeros, weight) = match genotype {
            Genotype::Two(a, b) => {
                let ways = if a == b { 1.0 } else { 2.0 };
                (usize::from(rare(a)) + usize::from(rare(b)), ways * share(a) * share(b))
            }
            Genotype::One(a) => (usize::from(rare(a)), share(a)),
        };
        Some((zeros, weight * condition[at]))
    };
    let weighed: Vec<Option<(usize, f64)>> = (0..locus.genotypes.len()).map(weigh).collect();
    let fewest = weighed.iter().flatten().map(|(zeros, _)| *zeros).min();
    let kept = |w: Option<(usize, f64)>| match (w, fewest) {
        (Some((zeros, weight)), Some(fewest)) if zeros == fewest => weight,
        _ => 0.0,
    };
    normalise(weighed.into_iter().map(kept).collect())
}

fn normalise(mut weights: Vec<f64>) -> Vec<f64> {
    let total: f64 = weights.iter().sum();
    if total > 0.0 {
        weights.iter_mut().for_each(|weight| *weight /= total);
    }
    weights
}
