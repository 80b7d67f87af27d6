//! Which cross would separate the modes that still stand.

use super::compare::Comparison;
use super::compare::bare_hatchling;
use super::inherited::Suspect;
use super::predicted::Predicted;
use super::rates::by_rate;
use super::scored::{Score, first_classes, scores};
use super::{STANDS, likeliest};
use crate::genetics::{GeneCall, Mode, Particulars, as_if, suspected_units};
use crate::inference::{JunctionTree, NoPlan, Workspace};
use crate::network::{ColonyNetwork, Evidence, Grouping, assemble_units};
use crate::questions::ladder::in_date_order;
use crate::questions::{Unanswerable, pair_joint, unknowns};
use crate::records::{AnimalId, ClutchId, Colony, GeneId, Origin, Sex, Status};

/// After the cross some mode shall have this chance among those compared …
const LEVEL: f64 = 0.95;
/// … with this chance.
const ASSURANCE: f64 = 0.9;
/// More hatchlings than these are no longer counted out.
const MOST: u32 = 40;
/// Crosses are compared by what this many hatchlings tell.
const CLUTCH: u32 = 6;
/// Animals whose crosses are looked at.
const ANIMALS: usize = 12;
/// Crosses that are told.
const TOLD: usize = 3;

/// A parent of a cross that is yet to be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mate {
    /// An animal of the records.
    Animal(AnimalId),
    /// One of the young of a clutch that were only counted.
    Young {
        /// The clutch.
        clutch: ClutchId,
        /// Its sex.
        sex: Sex,
        /// The look class of the suspected gene.
        class: usize,
    },
    /// A normal-looking animal from unrelated stock.
    Unrelated,
}

/// A cross, and how well it separates the modes that stand.
#[derive(Clone, Debug, PartialEq)]
pub struct DecidingCross {
    /// The dam.
    pub dam: Mate,
    /// The sire.
    pub sire: Mate,
    /// What each mode expects of it.
    pub decides: Vec<Decides>,
    /// What six hatchlings tell about the mode, in bits.
    pub bits: f64,
    /// Hatchlings after which one mode is left with 95 % in nine of ten cases; `None` when forty
    /// are not enough.
    pub hatchlings: Option<u32>,
}

/// What one mode expects of a cross.
#[derive(Clone, Debug, PartialEq)]
pub struct Decides {
    /// The mode.
    pub mode: Mode,
    /// The share of each look class among its young.
    pub expected: Vec<f64>,
}

/// A mode, and what it expects of any pair.
pub(super) struct Standing {
    pub(super) mode: Mode,
    /// Its chance among those compared.
    pub(super) share: f64,
    runs: Runs,
}

enum Runs {
    Inherited(Box<Run>),
    Rate(Predicted),
}

struct Run {
    net: ColonyNetwork,
    tree: JunctionTree,
    work: Workspace,
    evidence: Evidence,
    rows: Vec<Vec<f64>>,
}

/// The crosses that separate the standing modes best.
pub(super) fn deciding(
    colony: &Colony,
    gene: GeneId,
    comparison: &Comparison,
    memory: u64,
) -> Result<Vec<DecidingCross>, Unanswerable> {
    let (colony, counted) = with_counted_young(colony, gene);
    let colony = &colony;
    let mate = |id: Option<AnimalId>| match id {
        None => Mate::Unrelated,
        Some(id) => counted
            .iter()
            .find(|(young, _)| *young == id)
            .map_or(Mate::Animal(id), |(_, young)| *young),
    };
    let mut standing = standing(colony, gene, comparison, memory)?;
    if standing.len() < 2 {
        return Ok(Vec::new());
    }
    let mut crosses = Vec::new();
    for (dam, sire) in pairs(colony, gene, &standing) {
        let expected: Vec<Predicted> =
            standing.iter_mut().map(|one| one.expects(gene, dam, sire)).collect();
        let shares: Vec<f64> = standing.iter().map(|one| one.share).collect();
        let names = colony.gene(gene).looks.len() + 1;
        let bits = bits(&expected, &shares, names, CLUTCH);
        crosses.push((dam, sire, expected, bits));
    }
    crosses.sort_by(|a, b| b.3.total_cmp(&a.3));
    let names = colony.gene(gene).looks.len() + 1;
    let shares: Vec<f64> = standing.iter().map(|one| one.share).collect();
    let told = crosses.into_iter().filter(|cross| cross.3 > 0.01).take(TOLD);
    Ok(told
        .map(|(dam, sire, expected, bits)| DecidingCross {
            dam: mate(dam),
            sire: mate(sire),
            bits,
            hatchlings: needed(&expected, &shares, names),
            decides: standing
                .iter()
                .zip(&expected)
                .map(|(one, expected)| Decides { mode: one.mode, expected: expected.shares(names) })
                .collect(),
        })
        .collect())
}

/// The likeliest modes, at most three, at least two.
pub(super) fn standing(
    colony: &Colony,
    gene: GeneId,
    comparison: &Comparison,
    memory: u64,
) -> Result<Vec<Standing>, Unanswerable> {
    let mut order: Vec<usize> = (0..comparison.candidates.len()).collect();
    let chance = |at: usize| comparison.candidates[at].posterior;
    order.sort_by(|a, b| chance(*b).total_cmp(&chance(*a)));
    let [top, next] = likeliest(comparison);
    let kept = |at: &usize| chance(*at) >= STANDS || *at == top || *at == next;
    order.retain(|at| kept(at) && chance(*at) > 1e-6);
    order.truncate(3);
    let total: f64 = order.iter().map(|at| chance(*at)).sum();
    let mut standing = Vec::new();
    for at in order {
        let mode = comparison.candidates[at].hypothesis.mode;
        let share = chance(at) / total;
        standing.push(Standing { mode, share, runs: runs(colony, gene, mode, memory)? });
    }
    Ok(standing)
}

/// METHOD: what a mode leaves open takes its middle value here: this plans a cross, it weighs no
/// records.
fn runs(colony: &Colony, gene: GeneId, mode: Mode, memory: u64) -> Result<Runs, Unanswerable> {
    let order = in_date_order(colony);
    if !mode.is_inherited() {
        let (rate, which) = by_rate(colony, gene, &order, mode == Mode::ClutchEffect).next;
        return Ok(Runs::Rate(Predicted::Rate(rate, which)));
    }
    let declared = unknowns::at_their_middle(&as_if(colony, gene, mode));
    let varied = mode.has_variation(colony.gene(gene));
    let first_share = if varied { 0.5 } else { 1.0 };
    let particulars = Particulars { first_share, ..Particulars::default() };
    let units = suspected_units(&declared, gene, mode, particulars);
    let net = assemble_units(&declared, units, Grouping::Apart, memory);
    let mut evidence = net.all_evidence();
    let first = first_classes(colony, gene);
    Suspect { colony, gene, first, eggs: false, memory }.certain(&net, &mut evidence);
    let impossible = || Unanswerable::Impossible(Vec::new());
    let tree = match JunctionTree::plan(&net.graph, &evidence, memory) {
        Ok(tree) => tree,
        Err(NoPlan::Impossible(_)) => return Err(impossible()),
        Err(NoPlan::TooLarge { needed }) => {
            return Err(Unanswerable::TooLarge { needed, allowed: memory });
        }
    };
    let mut work = tree.workspace();
    work.run(&tree, &evidence).map_err(|_| impossible())?;
    let rows = net.chances_of_calls(gene);
    Ok(Runs::Inherited(Box::new(Run { net, tree, work, evidence, rows })))
}

impl Standing {
    pub(super) fn expects(
        &mut self,
        gene: GeneId,
        dam: Option<AnimalId>,
        sire: Option<AnimalId>,
    ) -> Predicted {
        let run = match &mut self.runs {
            Runs::Rate(predicted) => return predicted.clone(),
            Runs::Inherited(run) => run,
        };
        let joint = run.parents(gene, sire, dam);
        let mut pairs: Vec<(Vec<f64>, f64)> = Vec::new();
        for (row, weight) in run.rows.iter().zip(joint).filter(|(_, weight)| *weight > 1e-12) {
            match pairs.iter_mut().find(|(known, _)| known == row) {
                Some((_, sum)) => *sum += weight,
                None => pairs.push((row.clone(), weight)),
            }
        }
        Predicted::Parents(pairs)
    }

    /// The chance that an animal has a copy at all.
    fn carries(&self, gene: GeneId, animal: AnimalId) -> f64 {
        let Runs::Inherited(run) = &self.runs else { return 0.0 };
        let marginal = run.work.marginal(&run.tree, run.net.variable(animal, gene));
        let weights = run.net.by_genotype(animal, gene, &marginal);
        let own = &run.net.locus(gene).own;
        own.iter().zip(weights).filter(|(g, _)| g.mutant_copies() > 0).map(|(_, w)| w).sum()
    }
}

impl Run {
    /// The joint chance of the states of sire and dam, sire slowest.
    fn parents(&mut self, gene: GeneId, sire: Option<AnimalId>, dam: Option<AnimalId>) -> Vec<f64> {
        let normal = GeneCall::Class { class: 0, hidden: Vec::new() };
        let unrelated = |net: &ColonyNetwork, sex: Sex| net.unrelated_called(gene, sex, &normal);
        match (sire, dam) {
            (Some(sire), Some(dam)) => {
                let pair = [sire, dam].map(|animal| self.net.variable(animal, gene));
                let joint = pair_joint::joint(&self.tree, &mut self.work, &self.evidence, pair);
                self.net.as_parents([sire, dam], gene, &joint)
            }
            _ => {
                let of = |animal: Option<AnimalId>, sex: Sex| match animal {
                    None => unrelated(&self.net, sex),
                    Some(animal) => {
                        let variable = self.net.variable(animal, gene);
                        let marginal = self.work.marginal(&self.tree, variable);
                        self.net.as_parent(animal, gene, sex, &marginal)
                    }
                };
                let [sires, dams] = [of(sire, Sex::Male), of(dam, Sex::Female)];
                sires.iter().flat_map(|s| dams.iter().map(move |d| s * d)).collect()
            }
        }
    }
}

/// The pairs that are looked at: animals that may carry the gene, with each other and with a
/// normal animal from unrelated stock.
fn pairs(
    colony: &Colony,
    gene: GeneId,
    standing: &[Standing],
) -> Vec<(Option<AnimalId>, Option<AnimalId>)> {
    let first = &colony.gene(gene).first_seen.animals;
    let here = |id: &AnimalId| {
        let animal = colony.animal(*id);
        let gone = matches!(animal.status, Status::Sold | Status::Dead);
        // A young of this file that nothing more is written of may still be here.
        let young = animal.origin != Origin::Founder || first.contains(id);
        let bred = matches!(animal.status, Status::Kept | Status::Resting);
        animal.id.is_some() && (bred || (young && !gone))
    };
    let interest = |id: AnimalId| -> f64 {
        standing.iter().map(|one| one.share * one.carries(gene, id)).sum()
    };
    let mut animals: Vec<(AnimalId, f64)> =
        colony.animal_ids().filter(here).map(|id| (id, interest(id))).collect();
    animals.retain(|(_, chance)| *chance > 0.02);
    animals.sort_by(|a, b| b.1.total_cmp(&a.1));
    animals.truncate(ANIMALS);
    let animals: Vec<AnimalId> = animals.into_iter().map(|(id, _)| id).collect();
    let sex = |id: AnimalId| colony.animal(id).sex;
    let mut pairs = Vec::new();
    for (at, one) in animals.iter().enumerate() {
        if sex(*one) == Some(Sex::Male) {
            pairs.push((None, Some(*one)));
        } else {
            pairs.push((Some(*one), None));
        }
        for other in &animals[at + 1..] {
            match (sex(*one), sex(*other)) {
                (Some(a), Some(b)) if a == b => {}
                (Some(Sex::Male), _) | (_, Some(Sex::Female)) => {
                    pairs.push((Some(*other), Some(*one)));
                }
                _ => pairs.push((Some(*one), Some(*other))),
            }
        }
    }
    pairs
}

/// Young that were only counted, as animals that can be bred: of each clutch and look a female and
/// a male.
fn with_counted_young(colony: &Colony, gene: GeneId) -> (Colony, Vec<(AnimalId, Mate)>) {
    let mut made = colony.clone();
    let mut young = Vec::new();
    let scored = scores(colony, gene);
    for clutch in colony.clutch_ids() {
        for at in 0..colony.clutch(clutch).counts.len() {
            let score = scored.iter().find(|s| s.clutch == Some(clutch) && s.count == Some(at));
            let Some(class) = score.and_then(Score::class) else { continue };
            for (sex, kind) in [(Sex::Female, 1), (Sex::Male, 0)] {
                let count = &mut made.clutches[clutch.0].counts[at];
                // Males, females and those whose sex nobody wrote down.
                let Some(kind) = [kind, 2].into_iter().find(|kind| count.number[*kind] > 0) else {
                    continue;
                };
                count.number[kind] -= 1;
                let seen = count.seen.clone();
                let id = AnimalId(made.animals.len());
                let mut animal = bare_hatchling(colony, clutch, seen);
                animal.id = Some(format!("\u{0}{}", id.0));
                animal.sex = Some(sex);
                made.animals.push(animal);
                made.clutches[clutch.0].hatchlings.push(id);
                young.push((id, Mate::Young { clutch, sex, class }));
            }
        }
    }
    (made, young)
}

/// Every way in which `young` hatchlings can be called, a look without a name counted last.
pub(in crate::questions) fn outcomes(young: u32, names: usize) -> Vec<Vec<u32>> {
    let mut all = vec![Vec::new()];
    for class in 0..names {
        let longer = |before: &Vec<u32>| -> Vec<Vec<u32>> {
            let left = young - before.iter().sum::<u32>();
            let from = if class + 1 == names { left } else { 0 };
            (from..=left).map(|n| [&before[..], &[n]].concat()).collect()
        };
        all = all.iter().flat_map(longer).collect();
    }
    all
}

/// The chance of each outcome under each mode; where only the number of affected counts, two
/// classes stand for all.
fn table(expected: &[Predicted], names: usize, young: u32) -> Vec<Vec<f64>> {
    let of = |one: &Predicted| -> Vec<f64> {
        outcomes(young, names + 1).iter().map(|counts| one.chance_with_rest(counts)).collect()
    };
    expected.iter().map(of).collect()
}

/// What the calls of `young` hatchlings tell about the mode, in bits.
pub(in crate::questions) fn bits(
    expected: &[Predicted],
    shares: &[f64],
    names: usize,
    young: u32,
) -> f64 {
    let table = table(expected, names, young);
    let entropy = |chances: &[f64]| -> f64 {
        chances.iter().filter(|p| **p > 0.0).map(|p| -p * crate::numbers::ln(*p)).sum::<f64>()
    };
    let mut left = 0.0;
    for outcome in 0..table[0].len() {
        let joint: Vec<f64> = table.iter().zip(shares).map(|(row, s)| row[outcome] * s).collect();
        let all: f64 = joint.iter().sum();
        if all > 0.0 {
            let after: Vec<f64> = joint.iter().map(|one| one / all).collect();
            left += all * entropy(&after);
        }
    }
    ((entropy(shares) - left) / std::f64::consts::LN_2).max(0.0)
}

/// The least number of hatchlings from which on the level is reached with the assurance.
fn needed(expected: &[Predicted], shares: &[f64], names: usize) -> Option<u32> {
    let decided = |young: u32| -> f64 {
        let table = table(expected, names, young);
        let mut sum = 0.0;
        for outcome in 0..table[0].len() {
            let (mut inherited, mut not, mut top) = (0.0, 0.0, 0.0f64);
            for ((row, share), one) in table.iter().zip(shares).zip(expected) {
                let chance = row[outcome] * share;
                match one {
                    Predicted::Parents(_) => {
                        inherited += chance;
                        top = top.max(chance);
                    }
                    // By chance or by clutch: in neither case is it inherited, and that settles it.
                    Predicted::Rate(..) => not += chance,
                }
            }
            let all = inherited + not;
            if top.max(not) >= LEVEL * all {
                sum += all;
            }
        }
        sum
    };
    let enough: Vec<bool> = (1..=MOST).map(|young| decided(young) >= ASSURANCE).collect();
    let last_short = enough.iter().rposition(|enough| !enough);
    match last_short {
        None => Some(1),
        Some(at) if at + 1 < enough.len() => u32::try_from(at + 2).ok(),
        Some(_) => None,
    }
}
