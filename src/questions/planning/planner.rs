//! The records as a plan sees them: who can be bred, and what any pairing would show.

use rustc_hash::FxHashMap;

use super::prospect::Prospect;
use crate::genetics::{Kinship, Unit, recorded_candidates};
use crate::network::{ColonyNetwork, Grouping};
use crate::questions::belief::{Resolved, resolve};
use crate::questions::model::Case;
use crate::questions::{Asked, Model, Unanswerable, pair_joint, unknowns};
use crate::records::{AnimalId, Colony, Date, GeneId, Maturity, Sex, Status};

/// Whether an animal has a copy of an allele.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Carrier {
    /// The animal.
    pub animal: AnimalId,
    /// The gene.
    pub gene: GeneId,
    /// The mutant allele, from 1.
    pub allele: usize,
}

/// What every possible mate may be for each state of one animal.
#[derive(Clone, Debug)]
struct Given {
    /// The states of the animal with their chances.
    states: Vec<(usize, f64)>,
    /// `mates[state][animal]`: chances of the states of the other.
    mates: Vec<FxHashMap<AnimalId, Vec<f64>>>,
}

/// A colony whose animals may be paired, on all its records.
pub(super) struct Planner<'a> {
    pub(super) model: Model<'a>,
    /// Animals that can be bred: females, males.
    pub(super) breeders: [Vec<AnimalId>; 2],
    pub(super) kinship: Option<Kinship>,
    given: FxHashMap<(AnimalId, usize), Given>,
    rows: FxHashMap<GeneId, Vec<Vec<f64>>>,
}

/// The colony of a plan: unknown rates at the middle of their range, beliefs made into fits.
pub(super) struct Prepared {
    colony: Colony,
    pub(super) warnings: Vec<String>,
}

impl Prepared {
    pub(super) fn new(colony: &Colony, asked: &Asked) -> Result<Self, Unanswerable> {
        let mut warnings = Vec::new();
        let names = unknowns::names(colony);
        if !names.is_empty() {
            warnings.push(format!(
                "planned with the middle value of what is not known: {}",
                names.join(" and ")
            ));
        }
        let middle = unknowns::at_their_middle(colony);
        let Resolved { colony, .. } = resolve(&middle, asked.memory)?;
        Ok(Prepared { colony: colony.into_owned(), warnings })
    }

    pub(super) fn planner(&self, asked: &Asked) -> Result<Planner<'_>, Unanswerable> {
        self.planner_case(Case::of(&self.colony), asked)
    }

    /// The same with genes that are passed on otherwise than declared.
    pub(super) fn planner_of(
        &self,
        units: Vec<Unit>,
        asked: &Asked,
    ) -> Result<Planner<'_>, Unanswerable> {
        self.planner_case(Case { units: Some(units), ..Case::of(&self.colony) }, asked)
    }

    pub(super) fn colony(&self) -> &Colony {
        &self.colony
    }

    fn planner_case<'a>(
        &'a self,
        case: Case<'a>,
        asked: &Asked,
    ) -> Result<Planner<'a>, Unanswerable> {
        let model = Model::solve_case(case, Grouping::Apart, asked.memory)?;
        let kinship =
            Kinship::new(&self.colony, &|clutch, _| recorded_candidates(&self.colony, clutch));
        let breeders = [Sex::Female, Sex::Male].map(|sex| breeders(&self.colony, sex));
        let (given, rows) = Default::default();
        Ok(Planner { model, breeders, kinship, given, rows })
    }
}

/// The animals of a sex that are kept and of age on the day of the last record.
fn breeders(colony: &Colony, sex: Sex) -> Vec<AnimalId> {
    kept(colony, sex).filter(|id| months_to_go(colony, *id, sex) <= 0.0).collect()
}

/// Months until an animal is of age, counted from the day of the last record.
fn months_to_go(colony: &Colony, id: AnimalId, sex: Sex) -> f64 {
    let (Some(today), Some(Maturity { female, male }), Some(hatched)) =
        (last_day(colony), colony.mature_at, colony.animal(id).hatched)
    else {
        return 0.0;
    };
    let needed = if sex == Sex::Female { female } else { male };
    // What the records leave open counts in favour: a hatching known to the year may be early.
    needed - months(hatched.earliest(), today.latest())
}

/// The animals of a sex that are kept.
fn kept(colony: &Colony, sex: Sex) -> impl Iterator<Item = AnimalId> + '_ {
    let kept = move |id: &AnimalId| {
        let animal = colony.animal(*id);
        animal.id.is_some() && animal.status == Status::Kept && animal.sex == Some(sex)
    };
    colony.animal_ids().filter(kept)
}

/// The latest date of the records: the day the plan is made for.
pub(super) fn last_day(colony: &Colony) -> Option<Date> {
    let hatched = colony.animals.iter().filter_map(|animal| animal.hatched);
    let clutches = colony.clutches.iter().flat_map(|clutch| [clutch.laid, clutch.hatched]);
    hatched.chain(clutches.flatten()).max_by_key(|date| date.latest())
}

/// Months from one day to another.
fn months(from: (i32, u8, u8), to: (i32, u8, u8)) -> f64 {
    let whole = f64::from(to.0 - from.0) * 12.0 + f64::from(to.1) - f64::from(from.1);
    whole + (f64::from(to.2) - f64::from(from.2)) / 31.0
}

/// Two animals as dam and sire.
///
/// # Errors
///
/// `Question` when they are of one sex, or the same.
pub(super) fn as_pair(
    colony: &Colony,
    one: AnimalId,
    other: AnimalId,
) -> Result<(AnimalId, AnimalId), Unanswerable> {
    let sex = |id: AnimalId| colony.animal(id).sex;
    match (sex(one), sex(other)) {
        _ if one == other => {
            Err(Unanswerable::Question("an animal is not bred to itself: name another mate".into()))
        }
        (Some(a), Some(b)) if a == b => {
            Err(Unanswerable::Question("both are of the same sex: name a mate of the other".into()))
        }
        (Some(Sex::Male), _) | (_, Some(Sex::Female)) => Ok((other, one)),
        _ => Ok((one, other)),
    }
}

impl Planner<'_> {
    /// The chance of yes today.
    pub(super) fn today(&self, question: Carrier) -> f64 {
        let posterior = self.model.posterior(question.animal, question.gene);
        let own = &self.model.net.locus(question.gene).own;
        let yes = own.iter().zip(&posterior).filter(|(g, _)| g.copies_of(question.allele) > 0);
        yes.map(|(_, chance)| chance).sum()
    }

    /// The animals of a sex that can be bred within so many seasons, each with the first season
    /// from 1 in which it can.
    pub(super) fn to_come(&self, sex: Sex, seasons: u32) -> Vec<(AnimalId, u32)> {
        let colony = self.model.colony;
        let first = |id: AnimalId| {
            let later = (months_to_go(colony, id, sex) / 12.0 - 1e-9).ceil().clamp(0.0, 1e3);
            (id, 1 + later as u32)
        };
        kept(colony, sex).map(first).filter(|(_, season)| *season <= seasons).collect()
    }

    /// Inbreeding of the young of a pair.
    pub(super) fn inbreeding(&self, dam: AnimalId, sire: AnimalId) -> Option<f64> {
        self.kinship.as_ref().map(|kinship| kinship.between(dam, sire))
    }

    /// The share of fertile eggs of viable genotype that hatch.
    pub(super) fn hatch_rate(&self) -> f64 {
        1.0 - self.model.colony.assumptions.egg_loss
    }

    /// The chance that a fertile egg of a pair has a genotype that never hatches.
    pub(super) fn lethal(&mut self, dam: AnimalId, sire: AnimalId) -> f64 {
        let mut hatches = 1.0;
        let mut done = Vec::new();
        for gene in self.model.colony.gene_ids() {
            let unit = self.model.net.unit(gene);
            if done.contains(&unit) || !self.model.net.units[unit].can_be_lethal() {
                continue;
            }
            done.push(unit);
            let parents = self.parents(dam, sire, gene);
            let viable = self.model.net.chances_of_hatching(gene);
            hatches *= parents.iter().zip(viable).map(|(weight, v)| weight * v).sum::<f64>();
        }
        1.0 - hatches
    }

    /// What the young of a pair may show of a gene, and what it says of one of the two parents.
    pub(super) fn prospect(
        &mut self,
        question: Carrier,
        dam: AnimalId,
        sire: AnimalId,
    ) -> Prospect {
        let Carrier { animal, gene, .. } = question;
        let mate = if animal == dam { sire } else { dam };
        let joint = self.joint(animal, mate, gene);
        let net = &self.model.net;
        let width = net.states(mate, gene);
        // Over the states of the pair as sire and dam, told apart by the answer.
        let carries = Self::carries(net, question);
        let part = |answer: bool| -> Vec<f64> {
            let kept = |(at, chance): (usize, &f64)| {
                if carries[at / width] == answer { *chance } else { 0.0 }
            };
            joint.iter().enumerate().map(kept).collect()
        };
        let ordered = |part: Vec<f64>| -> Vec<f64> {
            let whole = if animal == sire {
                part
            } else {
                // Sire slowest, as the rows are.
                let height = part.len() / width;
                (0..part.len()).map(|at| part[at % height * width + at / height]).collect()
            };
            net.weights_of_parents([sire, dam], gene, &whole)
        };
        let [yes, no] = [ordered(part(true)), ordered(part(false))];
        let rows = self.rows.entry(gene).or_insert_with(|| net.chances_of_calls(gene));
        let mut prospect = Prospect::default();
        for ((row, yes), no) in rows.iter().zip(yes).zip(no) {
            prospect.add(row, yes, no);
        }
        prospect
    }

    /// Pairs without an animal that may still tell of it: one of the two depends on it.
    pub(super) fn pairs_beside(&mut self, question: Carrier) -> Vec<(AnimalId, AnimalId)> {
        /// Chances that differ by less with the state of the animal tell next to nothing.
        const DEPENDS: f64 = 0.01;
        let Carrier { animal, gene, .. } = question;
        let unit = self.learn(animal, gene);
        let Some(Given { mates, .. }) = self.given.get(&(animal, unit)) else { return Vec::new() };
        let depends = |other: &AnimalId| {
            let of: Vec<&Vec<f64>> = mates.iter().filter_map(|mates| mates.get(other)).collect();
            let apart =
                |a: &[f64], b: &[f64]| a.iter().zip(b).any(|(a, b)| (a - b).abs() > DEPENDS);
            of.windows(2).any(|pair| apart(pair[0], pair[1]))
        };
        let [females, males] = &self.breeders;
        let [f, m]: [Vec<bool>; 2] = [females, males].map(|all| all.iter().map(depends).collect());
        let mut pairs = Vec::new();
        for (dam, she) in females.iter().zip(&f).filter(|(dam, _)| **dam != animal) {
            for (sire, he) in males.iter().zip(&m).filter(|(sire, _)| **sire != animal) {
                if *she || *he {
                    pairs.push((*dam, *sire));
                }
            }
        }
        pairs
    }

    /// What the young of a pair may show of a gene, and what it says of a third animal.
    pub(super) fn prospect_beside(
        &mut self,
        question: Carrier,
        dam: AnimalId,
        sire: AnimalId,
    ) -> Prospect {
        let Carrier { animal, gene, .. } = question;
        let Model { net, tree, evidence, work, .. } = &mut self.model;
        let variable = net.variable(animal, gene);
        let carries = Self::carries(net, question);
        let pair = [sire, dam].map(|parent| net.variable(parent, gene));
        let rows = self.rows.entry(gene).or_insert_with(|| net.chances_of_calls(gene));
        let mut prospect = Prospect::default();
        let Some(component) = tree.component_of(variable) else { return prospect };
        let marginal = work.marginal(tree, variable);
        let mut fixed = evidence.clone();
        for (state, chance) in marginal.iter().enumerate().filter(|(_, chance)| **chance > 1e-12) {
            let weight = evidence.likelihood(variable)[state];
            fixed.likelihood_mut(variable).fill(0.0);
            fixed.likelihood_mut(variable)[state] = weight;
            if work.run_component(tree, component, &fixed).is_err() {
                continue;
            }
            let joint = pair_joint::joint(tree, work, &fixed, pair);
            let weights = net.weights_of_parents([sire, dam], gene, &joint);
            for (row, weight) in rows.iter().zip(weights) {
                let weight = weight * chance;
                let (yes, no) = if carries[state] { (weight, 0.0) } else { (0.0, weight) };
                prospect.add(row, yes, no);
            }
        }
        let restored = work.run_component(tree, component, evidence);
        debug_assert!(restored.is_ok(), "it was run before");
        prospect
    }

    /// The joint chance of the states of a dam and a sire at a gene, sire slowest, as rows of
    /// young are.
    pub(super) fn parents(&mut self, dam: AnimalId, sire: AnimalId, gene: GeneId) -> Vec<f64> {
        let joint = self.joint(sire, dam, gene);
        self.model.net.as_parents([sire, dam], gene, &joint)
    }

    /// The joint chance of the states of two animals at a gene, row-major.
    fn joint(&mut self, animal: AnimalId, mate: AnimalId, gene: GeneId) -> Vec<f64> {
        let unit = self.learn(animal, gene);
        let width = self.model.net.states(mate, gene);
        let height = self.model.net.states(animal, gene);
        let mut joint = vec![0.0; width * height];
        let Some(given) = self.given.get(&(animal, unit)) else { return joint };
        let other = self.model.net.variable(mate, gene);
        let alone = || self.model.work.marginal(&self.model.tree, other);
        for ((state, chance), mates) in given.states.iter().zip(&given.mates) {
            let own = mates.get(&mate).cloned().unwrap_or_else(alone);
            for (entry, given) in joint[state * width..].iter_mut().zip(own) {
                *entry = chance * given;
            }
        }
        joint
    }

    /// Sees to it that the mates of an animal are known state by state, for the unit of a gene.
    fn learn(&mut self, animal: AnimalId, gene: GeneId) -> usize {
        let unit = self.model.net.unit(gene);
        if !self.given.contains_key(&(animal, unit)) {
            let given = self.work_out(animal, gene);
            self.given.insert((animal, unit), given);
        }
        unit
    }

    /// Whether each state of the animal asked about answers yes.
    fn carries(net: &ColonyNetwork, question: Carrier) -> Vec<bool> {
        let Carrier { animal, gene, allele } = question;
        let has = |g: &crate::records::Genotype| f64::from(u8::from(g.copies_of(allele) > 0));
        let by_genotype: Vec<f64> = net.locus(gene).own.iter().map(has).collect();
        net.by_state(animal, gene, &by_genotype).iter().map(|has| *has > 0.0).collect()
    }

    /// Fixes an animal state by state and reads all possible mates.
    fn work_out(&mut self, animal: AnimalId, gene: GeneId) -> Given {
        let Model { net, tree, evidence, work, .. } = &mut self.model;
        let variable = net.variable(animal, gene);
        let marginal = work.marginal(tree, variable);
        let states: Vec<(usize, f64)> =
            marginal.into_iter().enumerate().filter(|(_, chance)| *chance > 1e-12).collect();
        let mut mates = vec![FxHashMap::default(); states.len()];
        let Some(component) = tree.component_of(variable) else { return Given { states, mates } };
        let mut fixed = evidence.clone();
        for ((state, _), mates) in states.iter().zip(&mut mates) {
            let weight = evidence.likelihood(variable)[*state];
            fixed.likelihood_mut(variable).fill(0.0);
            fixed.likelihood_mut(variable)[*state] = weight;
            if work.weigh_component(tree, component, &fixed).is_err() {
                continue;
            }
            for mate in self.breeders.iter().flatten().filter(|mate| **mate != animal) {
                let other = net.variable(*mate, gene);
                if tree.component_of(other) == Some(component) {
                    work.reach(tree, other);
                    mates.insert(*mate, work.marginal(tree, other));
                }
            }
        }
        let restored = work.run_component(tree, component, evidence);
        debug_assert!(restored.is_ok(), "it was run before");
        Given { states, mates }
    }
}
