//! What each animal carries, where an exact answer would be too large: sampled, with its error.

use super::genotypes::known_genes;
use super::model::Case;
use super::priors::Priors;
use super::{
    Asked, Divided, GenotypeAnswer, GenotypesAnswer, Method, Proposition, SireAnswer, Story,
    Unanswerable,
};
use crate::genetics::Locus;
use crate::inference::{Estimates, NoEstimate, Sampling, estimate, loop_breakers};
use crate::network::{ColonyNetwork, Grouping, assemble_units, assemble_within};
use crate::records::{AnimalId, Colony, GeneId};

/// Sampling stops when no figure is off by more than this, one standard error …
const ERROR: f64 = 0.005;
/// … or after so many steps of arithmetic, a minute or so.
const WORK: u64 = 120_000_000_000;

/// Chains that lie further apart than this do not agree.
const APART: f64 = 1.1;

/// How good an estimate is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The seed: the same seed gives the same figures.
    pub seed: u64,
    /// Chains that began apart.
    pub chains: usize,
    /// Passes of each chain that count.
    pub passes: usize,
    /// The largest Monte-Carlo standard error of a figure.
    pub largest_error: f64,
    /// The smallest effective number of independent draws behind a figure.
    pub effective: f64,
    /// How much further the chains lie apart than each moves; above 1.1 they disagree.
    pub apart: f64,
}

impl Estimate {
    fn of(seed: u64, found: &Estimates) -> Self {
        let Estimates { chains, passes, largest_error, effective, apart, .. } = *found;
        Estimate { seed, chains, passes, largest_error, effective, apart }
    }

    /// Whether the chains agree with each other.
    pub fn settled(&self) -> bool {
        self.apart < APART
    }
}

/// Animals at genes that close so many loops that an exact answer is too large.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopClosers {
    /// Animals and genes; if these were known, the tables would fit.
    pub animals: Vec<(AnimalId, GeneId)>,
    /// Bytes that the tables would take then.
    pub needed: u64,
}

/// Names animals whose genotypes, if they were known, would let an exact answer fit into memory.
pub fn loop_closers(colony: &Colony, memory: u64) -> LoopClosers {
    let net = assemble_within(colony, Grouping::Siblings, memory);
    if net.graph.left_out().is_some() {
        return LoopClosers { animals: Vec::new(), needed: u64::MAX };
    }
    let (held, needed) = loop_breakers(&net.graph, &net.all_evidence(), memory);
    let mut animals = Vec::new();
    for animal in colony.animal_ids().filter(|id| colony.animal(*id).id.is_some()) {
        for gene in known_genes(colony) {
            if held.contains(&net.variable(animal, gene)) {
                animals.push((animal, gene));
            }
        }
    }
    LoopClosers { animals, needed }
}

/// The answer of a colony whose exact tables are too large.
///
/// # Errors
///
/// [`Unanswerable`]; where no beginning for the chains is found, the exact answer remains too large:
/// it would take `needed` bytes.
pub(super) fn genotypes(
    case: Case<'_>,
    asked: &Asked,
    divided: &[Divided],
    (seed, needed): (u64, u64),
) -> Result<GenotypesAnswer, Unanswerable> {
    let (colony, memory) = (case.colony, asked.memory);
    let net = match case.units {
        None => assemble_within(colony, Grouping::Siblings, memory),
        Some(units) => assemble_units(colony, units, Grouping::Siblings, memory),
    };
    let mut evidence = net.all_evidence();
    for (animal, gene, class) in &case.certain {
        net.certainly_shows(*animal, *gene, *class, &mut evidence);
    }
    let (error, work, table) = (ERROR, WORK, Sampling::TABLE);
    let how = Sampling { seed, error, work, memory, table };
    let found = estimate(&net.graph, &evidence, &how).map_err(|why| match why {
        NoEstimate::Impossible(_) => super::impossible::impossible(colony, memory),
        NoEstimate::TooLarge { needed } => Unanswerable::TooLarge { needed, allowed: memory },
        NoEstimate::NoStart => Unanswerable::TooLarge { needed, allowed: memory },
    })?;
    // Before anything was seen the chains move freely, and a rough figure will do.
    let priors =
        Priors::or_estimated(&net, &Sampling { error: 2.0 * ERROR, work: WORK / 16, ..how });
    let view = View { colony, net: &net, found: &found, priors: &priors };
    let named = |id: &AnimalId| colony.animal(*id).id.is_some() && asked.wants(colony, *id);
    let mut answers = Vec::new();
    for animal in colony.animal_ids().filter(named) {
        for gene in known_genes(colony).filter(|gene| asked.wants_gene(*gene)) {
            answers.push(view.genotype(animal, gene));
        }
    }
    let stories = if asked.explain { view.stories(&answers) } else { Vec::new() };
    let quality = Estimate::of(seed, &found);
    Ok(GenotypesAnswer {
        method: Method::Estimated,
        log_evidence: f64::NAN,
        estimate: Some(quality),
        assumptions: colony.assumptions,
        warnings: warnings(&quality),
        divided: divided.to_vec(),
        genotypes: answers,
        surprise: None,
        sires: view.sires(asked),
        cautions: super::cautions::of_all_genes(colony),
        stories,
    })
}

/// What has to be known of an estimate.
fn warnings(quality: &Estimate) -> Vec<String> {
    let mut warnings = vec![
        "estimated by sampling: the tables of an exact answer would be too large. The error beside \
         each figure is one standard error of the sampling; no clutch was checked for its fit, no \
         story told clutch by clutch, and of cautions only those of whole genes"
            .to_owned(),
    ];
    if !quality.settled() {
        warnings.push(
            "the chains of the sampling do not agree with each other yet, so that the figures may \
             be further off than their errors say; try another --seed, or give more --memory"
                .to_owned(),
        );
    }
    warnings
}

/// The error of the chance of a proposition is that of its opposite as well, and at most the sum
/// of the errors of either.
fn error_of(proposition: Proposition, locus: &Locus, errors: &[f64]) -> f64 {
    let (mut yes, mut no) = (0.0, 0.0);
    for (genotype, error) in locus.genotypes.iter().zip(errors) {
        *(if proposition.holds(genotype) { &mut yes } else { &mut no }) += error;
    }
    yes.min(no)
}

/// Estimates as they concern animals.
struct View<'a> {
    colony: &'a Colony,
    net: &'a ColonyNetwork,
    found: &'a Estimates,
    priors: &'a Priors,
}

impl View<'_> {
    fn genotype(&self, animal: AnimalId, gene: GeneId) -> GenotypeAnswer {
        let (net, locus) = (self.net, self.net.locus(gene));
        let sex = self.colony.animal(animal).sex;
        let variable = net.variable(animal, gene);
        let marginal = self.found.marginal(variable);
        let own = |weights: Vec<f64>| locus.in_own_alleles(sex, &weights);
        let values = |own: Vec<(_, f64)>| own.into_iter().map(|(_, value)| value).collect();
        let prior = own(self.priors.of(self.net, animal, gene));
        // Errors of states that are one genotype are added up, which is never too little.
        let error = own(net.by_genotype(animal, gene, self.found.error(variable)));
        GenotypeAnswer {
            animal,
            gene,
            sex: if sex.is_none() { net.by_sex(animal, gene, marginal) } else { None },
            suspected: None,
            genotypes: prior.iter().map(|(genotype, _)| *genotype).collect(),
            prior: values(prior),
            posterior: values(own(net.by_genotype(animal, gene, marginal))),
            error: Some(values(error)),
        }
    }

    fn stories(&self, answers: &[GenotypeAnswer]) -> Vec<Story> {
        let mut stories = Vec::new();
        for answer in answers {
            let locus = self.net.locus(answer.gene);
            let variable = self.net.variable(answer.animal, answer.gene);
            let by_genotype =
                |values: &[f64]| self.net.by_genotype(answer.animal, answer.gene, values);
            let posterior = by_genotype(self.found.marginal(variable));
            let errors = by_genotype(self.found.error(variable));
            let before = self.priors.of(self.net, answer.animal, answer.gene);
            for proposition in Proposition::all(answer.animal, locus) {
                let after = proposition.chance(locus, &posterior);
                if !super::genotypes::worth_telling(after, after) {
                    continue;
                }
                stories.push(Story {
                    proposition,
                    before: proposition.chance(locus, &before),
                    after,
                    steps: Vec::new(),
                    because: Vec::new(),
                    floor: None,
                    error: Some(error_of(proposition, locus, &errors)),
                });
            }
        }
        stories
    }

    fn sires(&self, asked: &Asked) -> Vec<SireAnswer> {
        let wanted = |clutch| asked.clutches.is_empty() || asked.clutches.contains(&clutch);
        let answer = |one: &crate::network::SireInDoubt| {
            let after = self.found.marginal(one.selector);
            let candidates = one.candidates.iter().zip(after);
            SireAnswer {
                clutch: one.clutch,
                hatchling: one.hatchling,
                candidates: candidates.map(|((c, weight), after)| (*c, *weight, *after)).collect(),
            }
        };
        self.net.sires.iter().filter(|one| wanted(one.clutch)).map(answer).collect()
    }
}
