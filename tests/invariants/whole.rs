//! Whole answers, by the names of things rather than by their numbers.

use std::collections::BTreeMap;

use proptest::prelude::*;
use proveout::questions::{Asked, Unanswerable, genotypes, identify};
use proveout::records::{AnimalId, Candidate, Colony, Gene, Genotype, Look};

/// An identity that is listed at all has at least this chance, unless it is listed among others of
/// less: lists end when this much is left.
const LEFT_OUT: f64 = 0.001;

/// Everything that both questions answer.
#[derive(Clone, Debug, Default)]
pub struct Whole {
    pub log_evidence: f64,
    /// By animal, gene and genotype.
    pub posteriors: BTreeMap<[String; 3], f64>,
    /// The same before any look, call or reading.
    pub priors: BTreeMap<[String; 3], f64>,
    /// By hatchling and looks.
    pub identities: BTreeMap<(String, Vec<String>), f64>,
    /// By clutch, hatchling where each has its own, and candidate.
    pub sires: BTreeMap<[String; 3], f64>,
}

impl Whole {
    /// Only what is said of animals that `keep` keeps.
    pub fn only(mut self, keep: impl Fn(&str) -> bool) -> Self {
        self.posteriors.retain(|[animal, ..], _| keep(animal));
        self.priors.retain(|[animal, ..], _| keep(animal));
        self.identities.retain(|(animal, _), _| keep(animal));
        self.sires.retain(|[_, animal, _], _| animal.is_empty() || keep(animal));
        self
    }
}

/// A genotype that reads the same whatever the order of alleles.
pub fn genotype_name(gene: &Gene, genotype: Genotype) -> String {
    match genotype {
        Genotype::One(a) => gene.allele_name(a).to_owned(),
        Genotype::Two(a, b) => {
            let mut names = [gene.allele_name(a), gene.allele_name(b)];
            names.sort_unstable();
            names.join("/")
        }
    }
}

fn look_names(colony: &Colony, looks: &[Look]) -> Vec<String> {
    let name = |look: &Look| {
        let gene = colony.gene(look.gene);
        format!("{}: {}", gene.name, gene.look_name(look.class))
    };
    let mut names: Vec<String> = looks.iter().map(name).collect();
    names.sort_unstable();
    names
}

/// Both answers.
pub fn whole(colony: &Colony) -> Result<Whole, Unanswerable> {
    let name = |id: AnimalId| colony.animal(id).id.clone().unwrap_or_default();
    let answer = genotypes(colony, &Asked::default())?;
    let mut whole = Whole { log_evidence: answer.log_evidence, ..Whole::default() };
    for one in &answer.genotypes {
        let gene = colony.gene(one.gene);
        for (at, genotype) in one.genotypes.iter().enumerate() {
            let key = [name(one.animal), gene.name.clone(), genotype_name(gene, *genotype)];
            whole.posteriors.insert(key.clone(), one.posterior[at]);
            whole.priors.insert(key, one.prior[at]);
        }
    }
    for one in &answer.sires {
        let clutch = colony.clutch(one.clutch).id.clone();
        let hatchling = one.hatchling.map(name);
        if hatchling.as_deref() == Some("") {
            continue;
        }
        for (candidate, _, after) in &one.candidates {
            let candidate = match candidate {
                Candidate::Known(sire) => name(*sire),
                Candidate::Unknown => "unknown".into(),
                Candidate::NoFather => "none".into(),
            };
            let key = [clutch.clone(), hatchling.clone().unwrap_or_default(), candidate];
            whole.sires.insert(key, *after);
        }
    }
    for one in &identify(colony, &Asked::default())?.hatchlings {
        for identity in &one.identities {
            let key = (name(one.animal), look_names(colony, &identity.looks));
            whole.identities.insert(key, identity.probability);
        }
    }
    Ok(whole)
}

fn same_numbers<K: Ord + std::fmt::Debug>(
    what: &str,
    one: &BTreeMap<K, f64>,
    other: &BTreeMap<K, f64>,
    tolerance: f64,
) -> Result<(), TestCaseError> {
    prop_assert!(one.keys().eq(other.keys()), "{what}: {:?} and {:?}", one.keys(), other.keys());
    for ((key, a), b) in one.iter().zip(other.values()) {
        prop_assert!((a - b).abs() <= tolerance, "{what} of {key:?}: {a} and {b}");
    }
    Ok(())
}

/// The same answers, apart from the log evidence.
pub fn same_but_evidence(one: &Whole, other: &Whole, tolerance: f64) -> Result<(), TestCaseError> {
    same_numbers("posterior", &one.posteriors, &other.posteriors, tolerance)?;
    same_numbers("prior", &one.priors, &other.priors, tolerance)?;
    same_numbers("sire", &one.sires, &other.sires, tolerance)?;
    for (these, those) in
        [(&one.identities, &other.identities), (&other.identities, &one.identities)]
    {
        for (key, a) in these {
            // Which of the least probable identities are listed may hang on the last bit.
            let Some(b) = those.get(key) else {
                prop_assert!(*a <= LEFT_OUT + tolerance, "identity {key:?} of {a} is left out");
                continue;
            };
            prop_assert!((a - b).abs() <= tolerance, "identity {key:?}: {a} and {b}");
        }
    }
    Ok(())
}

/// The same answers; or no answer, for the same reason.
pub fn same(
    one: &Result<Whole, Unanswerable>,
    other: &Result<Whole, Unanswerable>,
    tolerance: f64,
) -> Result<(), TestCaseError> {
    match (one, other) {
        (Ok(one), Ok(other)) => {
            let (a, b) = (one.log_evidence, other.log_evidence);
            let allowed = tolerance * a.abs().max(1.0);
            prop_assert!((a - b).abs() <= allowed, "log evidence {a} and {b}");
            same_but_evidence(one, other, tolerance)
        }
        (Err(Unanswerable::Impossible(_)), Err(Unanswerable::Impossible(_))) => Ok(()),
        // One way of writing the same records down may take more room than another.
        (Err(Unanswerable::TooLarge { .. }), _) | (_, Err(Unanswerable::TooLarge { .. })) => {
            Err(TestCaseError::reject("too large to be compared"))
        }
        _ => Err(TestCaseError::fail(format!("{one:?}\nbut\n{other:?}"))),
    }
}
