//! How many eggs does it take?

use super::pairings::{Pairing, PairingsAnswer};
use super::planner::{Carrier, Prepared};
use super::prospect::Prospect;
use super::young::Young;
use crate::questions::{Asked, Method, Unanswerable};
use crate::records::{AnimalId, Assumptions, Colony, GeneId};

/// Young are counted out up to this number.
const MOST: u32 = 120;

/// What is asked about one test.
#[derive(Clone, Debug, PartialEq)]
pub struct EggsAsked {
    /// The animal in question.
    pub animal: AnimalId,
    /// The gene.
    pub gene: GeneId,
    /// The mutant allele, from 1.
    pub allele: usize,
    /// The mate it is to be bred to.
    pub mate: AnimalId,
    /// The level at which the question counts as settled.
    pub level: f64,
    /// How surely that is to be reached.
    pub assurance: f64,
    /// Bytes that the tables may take.
    pub memory: u64,
}

/// One number of young on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EggsStep {
    /// Hatched young.
    pub young: u32,
    /// The chance of a look among them if the animal carries it.
    pub proves: f64,
    /// The chance that it carries it when all look normal.
    pub left: f64,
    /// The chance that the level is reached either way.
    pub settles: f64,
}

/// Young, and what they take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EggsNeeded {
    /// Hatched young.
    pub young: u32,
    /// Fertile eggs, in whole ones.
    pub eggs: f64,
    /// Clutches, in whole ones; `None` where nothing says how many young a clutch has.
    pub clutches: Option<f64>,
}

/// How many young a test takes.
#[derive(Clone, Debug, PartialEq)]
pub struct EggsAnswer {
    /// How it was computed.
    pub method: Method,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// The question.
    pub question: Carrier,
    /// The mate.
    pub mate: AnimalId,
    /// The level, and the assurance.
    pub level: f64,
    /// How surely the level is to be reached.
    pub assurance: f64,
    /// The chance today.
    pub today: f64,
    /// Inbreeding of the young.
    pub inbreeding: Option<f64>,
    /// The chance that a fertile egg has a genotype that never hatches.
    pub lethal: f64,
    /// The chance that ever more normal young would leave.
    pub floor: f64,
    /// Young after which a carrier has shown itself with the chance of the level.
    pub proves: Option<EggsNeeded>,
    /// Young that clear it when all of them look normal.
    pub clears: Option<EggsNeeded>,
    /// Young from which on the level is reached either way with the assurance.
    pub settles: Option<EggsNeeded>,
    /// The share of fertile eggs that hatch.
    pub hatch_rate: f64,
    /// Hatched young of a clutch, where the records say.
    pub clutch: Option<f64>,
    /// The chance that one more clutch of that size brings it to the level, either way.
    pub next_clutch: Option<f64>,
    /// The way there.
    pub curve: Vec<EggsStep>,
}

/// Answers how many eggs a test takes.
///
/// # Source
///
/// Planning: n counts hatched young; *proves* (n with P(a visual | carrier) ≥ level), *clears*
/// (smallest n after which all normals leave at most 1 − level), *settles* (smallest n from which
/// on P(either | today's odds) ≥ assurance).
///
/// # Errors
///
/// [`Unanswerable`]; `Question` for a pair that cannot be bred.
pub fn eggs(colony: &Colony, asked: &EggsAsked) -> Result<EggsAnswer, Unanswerable> {
    let quick = Asked { memory: asked.memory, ..Asked::default() };
    let prepared = Prepared::new(colony, &quick)?;
    let mut planner = prepared.planner(&quick)?;
    let (dam, sire) = super::planner::as_pair(colony, asked.animal, asked.mate)?;
    let question = Carrier { animal: asked.animal, gene: asked.gene, allele: asked.allele };
    let prospect = planner.prospect(question, dam, sire);
    let curve: Vec<EggsStep> =
        (0..=MOST).map(|young| step(&prospect, young, asked.level)).collect();
    let lethal = planner.lethal(dam, sire);
    let hatch_rate = planner.hatch_rate() * (1.0 - lethal);
    let young = Young::of(colony, None).ok();
    let clutch = young.as_ref().map(|young| young.mean);
    let needed = |young: u32| EggsNeeded {
        young,
        eggs: (f64::from(young) / hatch_rate).ceil(),
        clutches: clutch.filter(|size| *size > 0.0).map(|size| (f64::from(young) / size).ceil()),
    };
    let first = |reached: &dyn Fn(&EggsStep) -> bool| {
        curve.iter().find(|step| reached(step)).map(|step| needed(step.young))
    };
    Ok(EggsAnswer {
        method: Method::Exact,
        assumptions: colony.assumptions,
        warnings: prepared.warnings.clone(),
        question,
        mate: asked.mate,
        level: asked.level,
        assurance: asked.assurance,
        today: prospect.today(),
        inbreeding: planner.inbreeding(dam, sire),
        lethal,
        floor: prospect.floor(),
        proves: first(&|step| step.proves >= asked.level),
        clears: first(&|step| step.left <= 1.0 - asked.level),
        settles: settled(&curve, asked.assurance).map(needed),
        hatch_rate,
        clutch,
        next_clutch: young
            .map(|young| young.mean_of(|number| prospect.settles(number, asked.level))),
        curve,
    })
}

/// How many eggs the most telling pairing of each question takes, for the first questions.
///
/// # Errors
///
/// As [`eggs`].
pub fn eggs_of_best(
    colony: &Colony,
    answer: &PairingsAnswer,
    assurance: f64,
    memory: u64,
) -> Result<Vec<EggsAnswer>, Unanswerable> {
    const QUESTIONS: usize = 6;
    let mut best: Vec<&Pairing> = Vec::new();
    let tested = |one: &&Pairing| [one.dam, one.sire].contains(&one.question.animal);
    for one in answer.pairings.iter().filter(tested) {
        let known = best.iter().any(|known| known.question == one.question);
        if !known && best.len() < QUESTIONS {
            best.push(one);
        }
    }
    let of = |one: &Pairing| {
        let Carrier { animal, gene, allele } = one.question;
        let mate = if animal == one.dam { one.sire } else { one.dam };
        let level = answer.level;
        eggs(colony, &EggsAsked { animal, gene, allele, mate, level, assurance, memory })
    };
    best.into_iter().map(of).collect()
}

fn step(prospect: &Prospect, young: u32, level: f64) -> EggsStep {
    EggsStep {
        young,
        proves: prospect.proves(young),
        left: prospect.after_normals(young),
        settles: prospect.settles(young, level),
    }
}

/// The number from which on the assurance is kept.
fn settled(curve: &[EggsStep], assurance: f64) -> Option<u32> {
    let short = curve.iter().rposition(|step| step.settles < assurance);
    match short {
        None => Some(0),
        Some(at) => curve.get(at + 1).map(|step| step.young),
    }
}

/// Young after which a test has shown a carrier with the chance of the level, for mates that each
/// give `each` young and give a look with chance `visual`, or not at all with chance `1 - fit`.
///
/// The handbook figures are special cases: a visual mate (fit 1, visual ½) 5 and 7 young at 95 and
/// 99 %, a proven het (fit 1, visual ¼) 11 and 17, own daughters of a sire with one young each (fit
/// ½, visual ¼) 23 and 35 daughters.
///
/// `None` when no number is enough. The answer counts mates for `each` young apiece; a single mate
/// is one litter of as many young as it takes: give `each` = 1 and fit 1.
pub fn mates_to_prove(fit: f64, visual: f64, each: u32, level: f64) -> Option<u32> {
    let exponent = i32::try_from(each).ok()?;
    let none = 1.0 - fit + fit * (1.0 - visual).powi(exponent);
    let mut missed = 1.0;
    for mates in 1..=10_000 {
        missed *= none;
        if 1.0 - missed >= level {
            return Some(mates);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_handbook_figures_are_special_cases() {
        // Source: progeny-test tables; 16 is printed where 17 is needed strictly.
        let figures = |fit, visual| [0.95, 0.99].map(|level| mates_to_prove(fit, visual, 1, level));
        assert_eq!(figures(1.0, 0.5), [Some(5), Some(7)]);
        assert_eq!(figures(1.0, 0.25), [Some(11), Some(17)]);
        assert_eq!(figures(0.5, 0.25), [Some(23), Some(35)]);
        assert!(1.0 - 0.75f64.powi(16) < 0.99);
    }

    #[test]
    fn larger_litters_need_fewer_daughters() {
        let of = |each| mates_to_prove(0.5, 0.25, each, 0.95).expect("enough");
        assert!(of(8) < of(4) && of(4) < of(1));
        // One daughter in two carries nothing: at least five are needed, however many young.
        assert_eq!(of(200), 5);
    }
}
