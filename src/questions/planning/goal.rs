//! How do I get to that animal? Breeding plans over generations.

use super::goal_crosses::{Crosses, SEXES};
use super::goal_plans::Plans;
use super::goal_route::Calendar;
use super::goal_search::{Search, Source};
use super::planner::{Planner, Prepared};
use super::young::Young;
use crate::network::ColonyNetwork;
use crate::questions::{Asked, Method, Unanswerable};
use crate::records::{
    AnimalId, Assumptions, Colony, GeneId, Genotype, Inheritance, Look, Maturity, Status,
};

/// More states of one animal than these are too many to search: five genes of two alleles.
const STATES: usize = 250;
/// An animal that is of the goal with this chance is named.
const ALREADY: f64 = 0.5;

/// The animal that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub enum Target {
    /// It shows these looks, at most one a gene.
    Looks(Vec<Look>),
    /// It has these genotypes, one a gene.
    Genotypes(Vec<(GeneId, Genotype)>),
}

impl Target {
    /// The genes it is about, in order of declaration.
    pub fn genes(&self) -> Vec<GeneId> {
        let mut genes: Vec<GeneId> = match self {
            Target::Looks(looks) => looks.iter().map(|look| look.gene).collect(),
            Target::Genotypes(list) => list.iter().map(|(gene, _)| *gene).collect(),
        };
        genes.sort_unstable();
        genes.dedup();
        genes
    }

    /// The chance that an animal of these genotypes is one.
    pub(super) fn chance(&self, net: &ColonyNetwork, at: &dyn Fn(GeneId) -> usize) -> f64 {
        match self {
            Target::Looks(looks) => {
                let shows = |look: &Look| net.locus(look.gene).shows[at(look.gene)][look.class];
                looks.iter().map(shows).product()
            }
            Target::Genotypes(list) => {
                let has = |(gene, wanted): &(GeneId, Genotype)| {
                    net.locus(*gene).own[at(*gene)] == *wanted
                };
                f64::from(u8::from(list.iter().all(has)))
            }
        }
    }
}

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct GoalAsked {
    /// The animal that is wanted.
    pub target: Target,
    /// How surely a whole plan is to succeed.
    pub assurance: f64,
    /// Seasons that a plan may take.
    pub seasons: u32,
    /// Hatched young of a clutch, instead of what the records say.
    pub young: Option<f64>,
    /// Bytes that the tables may take.
    pub memory: u64,
}

/// A parent in a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GoalParent {
    /// An animal of the records.
    Animal(AnimalId),
    /// So many young kept from an earlier step, counted from 1.
    Kept {
        /// The step.
        step: usize,
        /// How many are bred side by side.
        number: u32,
    },
}

/// A look at the genes of the goal; a class is `None` where another look hides the gene.
pub type GoalLook = Vec<(GeneId, Option<usize>)>;

/// Young to be kept from a step.
#[derive(Clone, Debug, PartialEq)]
pub struct GoalKeep {
    /// Their look at the genes of the goal.
    pub looks: GoalLook,
    /// Their sex.
    pub sex: crate::records::Sex,
    /// How many.
    pub number: u32,
    /// The chance that a hatched young is of this sex and look.
    pub each: f64,
}

/// What may harm the young of a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GoalHarm {
    /// The gene.
    pub gene: GeneId,
    /// The share of fertile eggs that never hatch for it.
    pub lethal: f64,
    /// The share of the young that show one of its looks, where the keeper wrote a caution.
    pub shown: f64,
}

/// One step of a plan: a pairing, and what to keep.
#[derive(Clone, Debug, PartialEq)]
pub struct GoalStep {
    /// The first and the last season, from 1.
    pub seasons: [u32; 2],
    /// The dam.
    pub dam: GoalParent,
    /// The sire.
    pub sire: GoalParent,
    /// Hatched young planned.
    pub young: u32,
    /// Fertile eggs planned.
    pub eggs: u32,
    /// Clutches that makes.
    pub clutches: u32,
    /// What to keep; nothing from the last step.
    pub keep: Vec<GoalKeep>,
    /// The chance that this step succeeds, if those before it did.
    pub chance: f64,
    /// In the last step: the chance that one young is of the goal.
    pub each: Option<f64>,
    /// Inbreeding of the young; `None` where there are too many ancestors to work it out.
    pub inbreeding: Option<f64>,
    /// The share of fertile eggs that never hatch for their genotype.
    pub lethal: f64,
    /// What may harm the young, gene by gene.
    pub harms: Vec<GoalHarm>,
}

/// One way to the goal.
#[derive(Clone, Debug, PartialEq)]
pub struct GoalPlan {
    /// The season in which it ends.
    pub seasons: u32,
    /// Hatched young of all steps.
    pub young: u32,
    /// Fertile eggs of all steps.
    pub eggs: u32,
    /// The chance that all steps succeed with so many hatched young.
    pub assurance: f64,
    /// The same with so many fertile eggs, however many of them hatch.
    pub by_eggs: f64,
    /// How the animal of the goal looks, and the chance that a young of that look is one.
    pub seen_as: Option<(GoalLook, f64)>,
    /// The steps.
    pub steps: Vec<GoalStep>,
}

/// Plans to a goal, those of fewest seasons first, then of fewest eggs.
#[derive(Clone, Debug, PartialEq)]
pub struct GoalAnswer {
    /// How it was computed.
    pub method: Method,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// The animal that is wanted.
    pub target: Target,
    /// How surely a plan is to succeed.
    pub assurance: f64,
    /// Seasons that a plan may take.
    pub limit: u32,
    /// Hatched young of a clutch.
    pub young: Young,
    /// Seasons that a young female and a young male need before they breed.
    pub wait: [u32; 2],
    /// Whether the records say so.
    pub wait_known: bool,
    /// Females and males that can be bred within the seasons.
    pub animals: [usize; 2],
    /// Kept animals that may be of the goal already, with their chance.
    pub already: Vec<(AnimalId, f64)>,
    /// The plans.
    pub plans: Vec<GoalPlan>,
    /// Where there is none: the highest chance that any route reaches.
    pub at_most: Option<f64>,
}

/// Answers how to breed an animal of given looks or genotypes.
///
/// Routes are searched by the chances of single animals; the most promising of each kind are then
/// worked out exactly, with the joint posterior of all the animals that take part. What is hidden
/// stays hidden: young are kept for their look, and their genotypes are weighed by it.
///
/// # Source
///
/// Planning: n counts hatched young; eggs = young ÷ hatch rate.
///
/// # Errors
///
/// [`Unanswerable`]; `Question` when nothing says how many young a clutch has, when a gene's
/// inheritance is not known, or when the goal is about too many genes.
pub fn goal(colony: &Colony, asked: &GoalAsked) -> Result<GoalAnswer, Unanswerable> {
    let young = Young::of(colony, asked.young)?;
    refuse_unknown(colony, &asked.target)?;
    let quick = Asked { memory: asked.memory, ..Asked::default() };
    let prepared = Prepared::new(colony, &quick)?;
    let mut planner = prepared.planner(&quick)?;
    let states = Crosses::size(&planner.model.net, &asked.target);
    if states > STATES {
        return Err(Unanswerable::Question(format!(
            "the goal is about too many genes at once: an animal can be in {states} states, and \
             {STATES} can be searched; ask for a part of it first"
        )));
    }
    let crosses = Crosses::new(&planner.model.net, planner.model.colony, &asked.target, None);
    let (wait, wait_known) = waits(colony);
    let mut calendar = Calendar {
        clutch: young.mean,
        clutches: young.clutches.max(1e-3),
        wait,
        ready: rustc_hash::FxHashMap::default(),
    };
    let animals = [0, 1].map(|sex| planner.to_come(SEXES[sex], asked.seasons));
    for (animal, season) in animals.iter().flatten() {
        calendar.ready.insert(*animal, *season);
    }
    let source = |sex: usize, animal: AnimalId| {
        Source::animal(
            super::goal_route::Slot::Animal(animal),
            alone(&planner, &crosses, animal, sex),
        )
    };
    let sources = [0, 1]
        .map(|sex| animals[sex].iter().map(|(animal, _)| source(sex, *animal)).collect::<Vec<_>>());
    let already = already(&planner, &crosses);
    let search = Search { crosses: &crosses, calendar: &calendar, limit: asked.seasons };
    let routes = search.routes(sources);
    let plans = Plans { crosses: &crosses, calendar: &calendar, asked };
    let (plans, at_most) = plans.of(&mut planner, routes);
    Ok(GoalAnswer {
        method: Method::Exact,
        assumptions: colony.assumptions,
        warnings: prepared.warnings.clone(),
        target: asked.target.clone(),
        assurance: asked.assurance,
        limit: asked.seasons,
        young,
        wait,
        wait_known,
        animals: [animals[0].len(), animals[1].len()],
        already,
        plans,
        at_most,
    })
}

fn refuse_unknown(colony: &Colony, target: &Target) -> Result<(), Unanswerable> {
    for gene in target.genes() {
        if colony.gene(gene).inheritance == Inheritance::Unknown {
            return Err(Unanswerable::Question(format!(
                "how `{}` is inherited is not known: ask `mode` first, which names the cross that \
                 decides",
                colony.gene(gene).name
            )));
        }
    }
    if target.genes().is_empty() {
        return Err(Unanswerable::Question("say which looks or genotypes are wanted".into()));
    }
    Ok(())
}

/// Seasons before a young female and a young male breed, and whether the records say so.
fn waits(colony: &Colony) -> ([u32; 2], bool) {
    let seasons = |months: f64| (months / 12.0 - 1e-9).ceil().clamp(1.0, 100.0) as u32;
    match colony.mature_at {
        Some(Maturity { female, male }) => ([seasons(female), seasons(male)], true),
        None => ([1, 1], false),
    }
}

/// Chances of the whole states of an animal of this sex, the units taken apart.
fn alone(planner: &Planner<'_>, crosses: &Crosses, animal: AnimalId, sex: usize) -> Vec<f64> {
    let model = &planner.model;
    let by_unit: Vec<Vec<f64>> = crosses
        .genes
        .iter()
        .map(|gene| {
            let marginal = model.work.marginal(&model.tree, model.net.variable(animal, *gene));
            model.net.as_parent(animal, *gene, SEXES[sex], &marginal)
        })
        .collect();
    crosses.product(&by_unit)
}

/// Kept animals that may be of the goal already.
fn already(planner: &Planner<'_>, crosses: &Crosses) -> Vec<(AnimalId, f64)> {
    let colony = planner.model.colony;
    let mut found = Vec::new();
    for id in colony.animal_ids() {
        let animal = colony.animal(id);
        if animal.id.is_none() || !matches!(animal.status, Status::Kept | Status::Resting) {
            continue;
        }
        let of = |sex: usize| -> f64 {
            let chances = alone(planner, crosses, id, sex);
            chances.iter().zip(&crosses.goal[sex]).map(|(p, goal)| p * goal).sum()
        };
        let chance = match animal.sex {
            Some(sex) => of(usize::from(sex == SEXES[1])),
            None => f64::midpoint(of(0), of(1)),
        };
        if chance >= ALREADY {
            found.push((id, chance));
        }
    }
    found
}
