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
    /// The look class it certainly shows: a suspected gene was first noticed on it.
    pub certain: Option<usize>,
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
    founder_term_of(&[(locus, evidence)], sex)
}

/// The same where several genes of the records are one locus: `genes` has one entry for each,
/// all with the same genotypes and frequencies. None: unrelated stock.
pub fn founder_term_of(genes: &[(&Locus, &FounderEvidence<'_>)], sex: Option<Sex>) -> Vec<f64> {
    let Some((locus, _)) = genes.first() else { return Vec::new() };
    let ones = vec![1.0; locus.genotypes.len()];
    let looks: Vec<Conditions> = genes
        .iter()
        .filter_map(|(gene, of)| Some(own_look(gene, of.own_look?.named().unwrap_or(0))))
        .collect();
    let certain: Vec<Conditions> = genes
        .iter()
        .filter_map(|(gene, of)| Some(vec![(1.0, gene.class_chance(of.certain?))]))
        .collect();
    let unseen = mixture(locus, sex, &[&certain[..], &looks[..]].concat());
    let told: Vec<Conditions> =
        genes.iter().filter_map(|(gene, of)| Some(said(gene, of.statement?.0))).collect();
    let Some(trust) = genes.iter().find_map(|(_, of)| Some(of.statement?.1)) else {
        return unseen;
    };
    let mut called = ones;
    for (gene, of) in genes {
        if let Some(call) = of.own_look {
            called.iter_mut().zip(call.likelihood(gene)).for_each(|(c, l)| *c *= l);
        }
    }
    let told = normalise(mixture(locus, sex, &[certain, told].concat()));
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
        let told = FounderEvidence { statement: Some((says, trust)), ..FounderEvidence::default() };
        rule_out(open(founder_term(locus, sex, &told)).collect());
    }
    if let Some(call) = evidence.own_look {
        let kept = open(mixture(locus, sex, &[own_look(locus, call.named().unwrap_or(0))]));
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
    let mut results: Vec<Genotype> =
        locus.own.iter().copied().filter(|own| locus.possible(*own, sex)).collect();
    results.sort_unstable();
    results.dedup();
    let count = results.len();
    let weight = |g: &Genotype| match &reading.kind {
        _ if !possible(g) => 0.0,
        ReadingKind::Result { genotype, reliability } if genotype == g => *reliability,
        ReadingKind::Result { reliability, .. } => (1.0 - reliability) / (count.max(2) - 1) as f64,
        ReadingKind::Likelihood(list) => {
            list.iter().find(|(listed, _)| listed == g).map_or(0.0, |(_, weight)| *weight)
        }
    };
    locus.own.iter().map(weight).collect()
}

/// Conditions one of which holds, each with its weight: a chance for each genotype.
type Conditions = Vec<(f64, Vec<f64>)>;

/// Hardy–Weinberg under every combination of conditions, one of each list.
fn mixture(locus: &Locus, sex: Option<Sex>, lists: &[Conditions]) -> Vec<f64> {
    let mut combined: Conditions = vec![(1.0, vec![1.0; locus.genotypes.len()])];
    for list in lists {
        let both = |(weight, condition): &(f64, Vec<f64>)| -> Conditions {
            let and = |(w, c): &(f64, Vec<f64>)| {
                (weight * w, condition.iter().zip(c).map(|(one, other)| one * other).collect())
            };
            list.iter().map(and).collect()
        };
        combined = combined.iter().flat_map(both).collect();
    }
    let mut weights = vec![0.0; locus.genotypes.len()];
    for (share, condition) in combined.iter().filter(|(share, _)| *share > 0.0) {
        let under = given(locus, sex, condition);
        weights.iter_mut().zip(under).for_each(|(sum, weight)| *sum += share * weight);
    }
    weights
}

fn own_look(locus: &Locus, class: usize) -> Conditions {
    let wrong = match locus.misread {
        Misread::Any(m) => m,
        Misread::Apart { imagined, confused, .. } => {
            imagined + if locus.names > 2 { confused } else { 0.0 }
        }
    };
    let shows = locus.class_chance(class);
    let other = shows.iter().map(|chance| 1.0 - chance).collect();
    vec![(1.0 - wrong, shows), (wrong, other)]
}

fn said(locus: &Locus, says: Says) -> Conditions {
    let which = |fits: &dyn Fn(Genotype) -> bool| -> Vec<f64> {
        locus.own.iter().map(|own| f64::from(u8::from(fits(*own)))).collect()
    };
    match says {
        Says::Look(class) => vec![(1.0, locus.class_chance(class))],
        Says::NotHet { allele } => vec![(1.0, which(&|own| own.copies_of(allele) == 0))],
        Says::Het { allele, chance } => {
            let het = Genotype::two(0, allele);
            let none = Genotype::two(0, 0);
            vec![(chance, which(&|own| own == het)), (1.0 - chance, which(&|own| own == none))]
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
