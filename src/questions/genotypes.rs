//! What does each animal carry?

use rayon::prelude::*;

use super::because::{PROVEN, assumptions, because, clutches_of, floor};
use super::fit::{class_called, own_call};
use super::ladder::ladder;
use super::model::Case;
use super::priors::Priors;
use super::propositions::odds;
use super::{
    Because, Caution, ClutchFit, Copies, Divided, Estimate, Floor, IN_DOUBT, Method, Model,
    Proposition, Suspected, Unanswerable,
};
use crate::genetics::count_sheet;
use crate::network::{ColonyNetwork, Grouping};
use crate::records::{
    AnimalId, Assumptions, Candidate, ClutchId, Colony, GeneId, Genotype, Inheritance, Origin,
};

/// A proposition is told when it is in doubt, or moved by so much.
const WORTH_TELLING: f64 = *IN_DOUBT.start();

/// Answers for fewer animals are made on one thread.
const ANIMALS_A_THREAD: usize = 500;

/// What is asked: all, or some animals and genes; and whether to explain.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Only these animals; empty = all.
    pub animals: Vec<AnimalId>,
    /// Only these genes; empty = all.
    pub genes: Vec<GeneId>,
    /// Only parents and young of these clutches; empty = all.
    pub clutches: Vec<ClutchId>,
    /// Whether to work out the stories: how each clutch moved the odds, and what they rest on.
    pub explain: bool,
    /// Bytes that the tables of an exact answer may take.
    pub memory: u64,
    /// The seed of an estimate where they would take more; `None` accepts an exact answer only.
    pub estimate: Option<u64>,
}

impl Default for Asked {
    fn default() -> Self {
        let (animals, genes, clutches) = Default::default();
        Asked { animals, genes, clutches, explain: false, memory: Asked::MEMORY, estimate: None }
    }
}

impl Asked {
    /// Bytes that the tables of an exact answer may take unless asked otherwise: 1 GiB.
    pub const MEMORY: u64 = 1 << 30;

    /// Whether an animal is asked about.
    pub fn wants(&self, colony: &Colony, animal: AnimalId) -> bool {
        let in_clutch = |clutch: &ClutchId| {
            colony.animal(animal).origin == Origin::Clutch(*clutch)
                || clutches_of(colony, animal).any(|(of, _)| of == *clutch)
        };
        (self.animals.is_empty() || self.animals.contains(&animal))
            && (self.clutches.is_empty() || self.clutches.iter().any(in_clutch))
    }

    /// Whether a gene is asked about.
    pub fn wants_gene(&self, gene: GeneId) -> bool {
        self.genes.is_empty() || self.genes.contains(&gene)
    }
}

/// The genotype of one animal at one gene.
#[derive(Clone, Debug, PartialEq)]
pub struct GenotypeAnswer {
    /// The animal.
    pub animal: AnimalId,
    /// The gene.
    pub gene: GeneId,
    /// The genotypes possible for its sex.
    pub genotypes: Vec<Genotype>,
    /// Their chances before any look, call or reading; for a founder its starting term.
    pub prior: Vec<f64>,
    /// Their chances given all records.
    pub posterior: Vec<f64>,
    /// The Monte-Carlo standard errors of an estimate.
    pub error: Option<Vec<f64>>,
    /// What is known of it mode by mode, where the inheritance of the gene is in doubt; the others
    /// are averages then.
    pub suspected: Option<Suspected>,
    /// The chances that it is female and male, where its sex is not recorded and the gene tells.
    pub sex: Option<[f64; 2]>,
}

impl GenotypeAnswer {
    /// The chance that it has a copy of any mutant allele of the gene.
    pub fn carries(&self) -> f64 {
        let hit = |genotype: &Genotype| genotype.mutant_copies() > 0;
        let hits = self.genotypes.iter().zip(&self.posterior).filter(|(g, _)| hit(g));
        hits.map(|(_, chance)| chance).sum::<f64>().clamp(0.0, 1.0)
    }
}

/// How an animal is tied to a clutch that moved its odds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StepRole {
    /// It is a parent; with the other parent.
    Parent(Option<AnimalId>),
    /// It hatched there.
    Hatchling,
    /// Through relatives.
    Relative,
}

/// Young of one kind in a clutch, as called at one gene.
#[derive(Clone, Debug, PartialEq)]
pub struct Young {
    /// The look class called; `None` when they are unread or uncertain.
    pub class: Option<usize>,
    /// How many.
    pub number: u32,
}

/// One clutch that moved the odds of a proposition.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The clutch.
    pub clutch: ClutchId,
    /// How the animal is tied to it.
    pub role: StepRole,
    /// The genotype of the other parent at the gene, where it is all but certain.
    pub mate: Option<Genotype>,
    /// What its young were called at the gene.
    pub young: Vec<Young>,
    /// The chance after this clutch.
    pub after: f64,
    /// By what the odds were multiplied; 0 and infinity when settled.
    pub multiplier: f64,
}

/// How the chance of one proposition came about.
#[derive(Clone, Debug, PartialEq)]
pub struct Story {
    /// What it is about.
    pub proposition: Proposition,
    /// Its chance before any clutch: from the founders' own records.
    pub before: f64,
    /// Its chance given all records.
    pub after: f64,
    /// The clutches that moved it, in date order; empty when the way is too long to work out.
    pub steps: Vec<Step>,
    /// What it rests on.
    pub because: Vec<Because>,
    /// What more young of the same pairing cannot undercut.
    pub floor: Option<Floor>,
    /// The Monte-Carlo standard error of `after`, where it is an estimate.
    pub error: Option<f64>,
}

/// Who the sire is, of a clutch or of one hatchling.
#[derive(Clone, Debug, PartialEq)]
pub struct SireAnswer {
    /// The clutch.
    pub clutch: ClutchId,
    /// The hatchling, where each egg has its own sire.
    pub hatchling: Option<AnimalId>,
    /// The candidates, with their weights before and after.
    pub candidates: Vec<(Candidate, f64, f64)>,
}

/// What each animal carries.
#[derive(Clone, Debug, PartialEq)]
pub struct GenotypesAnswer {
    /// How it was computed.
    pub method: Method,
    /// Natural log of the probability of all records; not a number where it is not known.
    pub log_evidence: f64,
    /// How good an estimate is; `None` for an exact answer.
    pub estimate: Option<Estimate>,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// What was divided out of the keeper's overall beliefs.
    pub divided: Vec<Divided>,
    /// Every animal with an id at every gene.
    pub genotypes: Vec<GenotypeAnswer>,
    /// The clutch that fits the others so badly that a record may be wrong.
    pub surprise: Option<ClutchFit>,
    /// Every clutch and hatchling whose sire is in doubt.
    pub sires: Vec<SireAnswer>,
    /// What may harm an animal.
    pub cautions: Vec<Caution>,
    /// What there is to tell, animal by animal; only when asked to explain.
    pub stories: Vec<Story>,
}

/// Answers what each animal carries.
///
/// # Errors
///
/// [`Unanswerable`] when the records cannot all be true.
pub fn genotypes(colony: &Colony, asked: &Asked) -> Result<GenotypesAnswer, Unanswerable> {
    if super::modes::averaged::any(colony) {
        return super::modes::averaged::genotypes(colony, asked);
    }
    genotypes_of(&Case::of(colony), asked)
}

/// The same for a colony whose genes are passed on as the case says; a gene whose inheritance is
/// still unknown there is left out.
pub(super) fn genotypes_of(
    case: &Case<'_>,
    asked: &Asked,
) -> Result<GenotypesAnswer, Unanswerable> {
    if super::unknowns::any(case.colony) {
        return super::averaged::over_unknowns(case.colony, asked);
    }
    with_known_rates(case, asked, true)
}

/// The same for a colony in which every penetrance and crossover is known; `warn` says whether to
/// look for a clutch that fits badly.
pub(super) fn with_known_rates(
    case: &Case<'_>,
    asked: &Asked,
    warn: bool,
) -> Result<GenotypesAnswer, Unanswerable> {
    let resolved = super::belief::resolve_units(case.colony, case.units.as_deref(), asked.memory)?;
    let colony = resolved.colony.as_ref();
    let case = Case { colony, ..case.clone() };
    match with_priors(case.clone(), asked.memory) {
        Ok((mut model, priors)) => Ok(answer(&mut model, &priors, asked, &resolved.divided, warn)),
        Err(Unanswerable::TooLarge { needed, allowed }) => match asked.estimate {
            Some(seed) => {
                super::estimated::genotypes(case, asked, &resolved.divided, (seed, needed))
            }
            None => Err(Unanswerable::TooLarge { needed, allowed }),
        },
        Err(why) => Err(why),
    }
}

/// A model that has been run on all records, and what was known before them.
pub(super) fn with_priors(
    case: Case<'_>,
    memory: u64,
) -> Result<(Model<'_>, Priors), Unanswerable> {
    let priors = |net: &ColonyNetwork| Priors::new(net, memory);
    Model::solve_beside(case, Grouping::Siblings, memory, priors)
}

/// The answer of a model that has been run on all records.
pub(super) fn answer(
    model: &mut Model<'_>,
    priors: &Priors,
    asked: &Asked,
    divided: &[Divided],
    warn: bool,
) -> GenotypesAnswer {
    let colony = model.colony;
    let named = |id: &AnimalId| colony.animal(*id).id.is_some() && asked.wants(colony, *id);
    let animals: Vec<AnimalId> = colony.animal_ids().filter(named).collect();
    let genes: Vec<GeneId> = known_genes(colony).filter(|gene| asked.wants_gene(*gene)).collect();
    let of_animal = |animal: &AnimalId| {
        genes.iter().map(|gene| genotype_answer(model, priors, *animal, *gene)).collect()
    };
    let answers: Vec<Vec<GenotypeAnswer>> =
        animals.par_iter().with_min_len(ANIMALS_A_THREAD).map(of_animal).collect();
    let answers = answers.into_iter().flatten().collect::<Vec<_>>();
    let stories = if asked.explain { stories(model, &answers) } else { Vec::new() };
    GenotypesAnswer {
        method: Method::Exact,
        log_evidence: model.log_evidence().ln(),
        estimate: None,
        assumptions: colony.assumptions,
        warnings: priors.missing().map(str::to_owned).into_iter().collect(),
        divided: divided.to_vec(),
        surprise: if warn { super::fit::surprise(model) } else { None },
        genotypes: answers,
        sires: sires(model, asked),
        cautions: super::cautions::cautions(model, asked),
        stories,
    }
}

/// The genes whose inheritance is known.
pub(super) fn known_genes(colony: &Colony) -> impl Iterator<Item = GeneId> + '_ {
    colony.gene_ids().filter(|gene| colony.gene(*gene).inheritance != Inheritance::Unknown)
}

/// The genes whose inheritance is not known.
pub(super) fn unknown_inheritance(colony: &Colony) -> impl Iterator<Item = GeneId> + '_ {
    colony.gene_ids().filter(|gene| colony.gene(*gene).inheritance == Inheritance::Unknown)
}

fn sires(model: &Model<'_>, asked: &Asked) -> Vec<SireAnswer> {
    let wanted = |one: &&crate::network::SireInDoubt| {
        asked.clutches.is_empty() || asked.clutches.contains(&one.clutch)
    };
    let answer = |one: &crate::network::SireInDoubt| {
        let after = model.work.marginal(&model.tree, one.selector);
        let candidates = one.candidates.iter().zip(after);
        SireAnswer {
            clutch: one.clutch,
            hatchling: one.hatchling,
            candidates: candidates
                .map(|((candidate, weight), after)| (*candidate, *weight, after))
                .collect(),
        }
    };
    model.net.sires.iter().filter(wanted).map(answer).collect()
}

fn genotype_answer(
    model: &Model<'_>,
    priors: &Priors,
    animal: AnimalId,
    gene: GeneId,
) -> GenotypeAnswer {
    let locus = model.net.locus(gene);
    let sex = model.colony.animal(animal).sex;
    let by_sex = || {
        let marginal = model.work.marginal(&model.tree, model.net.variable(animal, gene));
        model.net.by_sex(animal, gene, &marginal)
    };
    let own = |weights: Vec<f64>| locus.in_own_alleles(sex, &weights);
    let prior = own(priors.of(&model.net, animal, gene));
    GenotypeAnswer {
        animal,
        gene,
        sex: if sex.is_none() { by_sex() } else { None },
        suspected: None,
        genotypes: prior.iter().map(|(genotype, _)| *genotype).collect(),
        prior: prior.into_iter().map(|(_, chance)| chance).collect(),
        posterior: own(model.posterior(animal, gene)).into_iter().map(|(_, p)| p).collect(),
        error: None,
    }
}

fn stories(model: &mut Model<'_>, answers: &[GenotypeAnswer]) -> Vec<Story> {
    let all = candidates(model, answers);
    let Some(climbed) = ladder(model, &all) else {
        return all.into_iter().filter_map(|p| bare_story(model, p)).collect();
    };
    let last = climbed.chances.len() - 1;
    let told: Vec<usize> = (0..all.len())
        .filter(|at| {
            let (before, after) = (climbed.chances[0][*at], climbed.chances[last][*at]);
            worth_telling(before, after) && !plain_to_see(model, all[*at], after)
        })
        .collect();
    let told: Vec<usize> = without_doubles(&all, told, &climbed.chances);
    let propositions: Vec<Proposition> = told.iter().map(|at| all[*at]).collect();
    let after: Vec<f64> = told.iter().map(|at| climbed.chances[last][*at]).collect();
    let moved_by = assumptions(model, &propositions, &after);
    let mut stories = Vec::new();
    for (((at, proposition), after), moved) in
        told.iter().zip(propositions).zip(after).zip(moved_by)
    {
        let mut reasons = because(model, proposition);
        reasons.extend(moved);
        stories.push(Story {
            proposition,
            before: climbed.chances[0][*at],
            after,
            steps: steps(model, proposition, &climbed, *at),
            because: reasons,
            floor: floor(model, proposition).filter(|floor| floor.chance > 0.01),
            error: None,
        });
    }
    stories
}

/// Every proposition about the animals answered for.
fn candidates(model: &Model<'_>, answers: &[GenotypeAnswer]) -> Vec<Proposition> {
    let of = |answer: &GenotypeAnswer| {
        Proposition::all(answer.animal, model.net.locus(answer.gene)).collect::<Vec<_>>()
    };
    answers.iter().flat_map(of).collect()
}

pub(super) fn worth_telling(before: f64, after: f64) -> bool {
    IN_DOUBT.contains(&after) || (after - before).abs() >= WORTH_TELLING
}

/// Whether the animal's own look settles the proposition, and nothing speaks against it.
fn plain_to_see(model: &Model<'_>, proposition: Proposition, after: f64) -> bool {
    let Some(class) = own_call(model.colony, proposition.animal, proposition.gene) else {
        return false;
    };
    let locus = model.net.locus(proposition.gene);
    let mut weights = locus.class_chance(class);
    let sex = model.colony.animal(proposition.animal).sex;
    for (weight, genotype) in weights.iter_mut().zip(&locus.genotypes) {
        if !locus.possible(*genotype, sex) {
            *weight = 0.0;
        }
    }
    let by_look = proposition.chance(locus, &weights);
    (by_look == 0.0 || by_look == 1.0) && (by_look - after).abs() < WORTH_TELLING
}

/// Leaves out "two copies" where it says the same as "a copy", or is settled by the look.
fn without_doubles(all: &[Proposition], told: Vec<usize>, chances: &[Vec<f64>]) -> Vec<usize> {
    let same = |a: usize, b: usize| chances.iter().all(|step| (step[a] - step[b]).abs() < 0.005);
    let double = |at: &usize| {
        all[*at].copies == Copies::Two
            && *at > 0
            && told.binary_search(&(at - 1)).is_ok()
            && same(at - 1, *at)
    };
    told.iter().copied().filter(|at| !double(at)).collect()
}

fn bare_story(model: &Model<'_>, proposition: Proposition) -> Option<Story> {
    let locus = model.net.locus(proposition.gene);
    let after = proposition.chance(locus, &model.posterior(proposition.animal, proposition.gene));
    let before = model
        .net
        .founder_term(proposition.animal, proposition.gene)
        .map_or(after, |weights| proposition.chance(locus, &weights));
    worth_telling(before, after).then(|| Story {
        proposition,
        before,
        after,
        steps: Vec::new(),
        because: because(model, proposition),
        floor: None,
        error: None,
    })
}

pub(super) fn steps(
    model: &Model<'_>,
    proposition: Proposition,
    climbed: &super::ladder::Ladder,
    at: usize,
) -> Vec<Step> {
    let mut steps = Vec::new();
    for (step, clutch) in climbed.clutches.iter().enumerate() {
        let (before, after) = (climbed.chances[step][at], climbed.chances[step + 1][at]);
        let multiplier = odds(after) / odds(before);
        // Rounding alone moves odds by far less than this.
        if multiplier.is_nan() || (multiplier - 1.0).abs() < 1e-6 {
            continue;
        }
        let role = role(model.colony, proposition.animal, *clutch);
        steps.push(Step {
            clutch: *clutch,
            role,
            mate: match role {
                StepRole::Parent(Some(mate)) => proven(model, mate, proposition.gene),
                _ => None,
            },
            young: young(model.colony, *clutch, proposition.gene),
            after,
            multiplier,
        });
    }
    steps
}

/// The genotype of an animal, where it is all but certain.
fn proven(model: &Model<'_>, animal: AnimalId, gene: GeneId) -> Option<Genotype> {
    let posterior = model.posterior(animal, gene);
    let at = posterior.iter().position(|chance| *chance >= PROVEN)?;
    Some(model.net.locus(gene).genotypes[at])
}

fn role(colony: &Colony, animal: AnimalId, clutch: ClutchId) -> StepRole {
    if let Some((_, mate)) = clutches_of(colony, animal).find(|(of, _)| *of == clutch) {
        return StepRole::Parent(mate);
    }
    if colony.animal(animal).origin == Origin::Clutch(clutch) {
        return StepRole::Hatchling;
    }
    StepRole::Relative
}

/// What the young of a clutch were called at a gene, the most numerous kind first.
fn young(colony: &Colony, clutch: ClutchId, gene: GeneId) -> Vec<Young> {
    let clutch = colony.clutch(clutch);
    let mut kinds: Vec<Young> = Vec::new();
    let mut add =
        |class: Option<usize>, number: u32| match kinds.iter_mut().find(|k| k.class == class) {
            Some(kind) => kind.number += number,
            None => kinds.push(Young { class, number }),
        };
    for hatchling in &clutch.hatchlings {
        add(own_call(colony, *hatchling, gene), 1);
    }
    for count in &clutch.counts {
        add(class_called(&count_sheet(colony, clutch, count), gene), count.total());
    }
    kinds.sort_by_key(|kind| (std::cmp::Reverse(kind.number), kind.class));
    kinds
}
