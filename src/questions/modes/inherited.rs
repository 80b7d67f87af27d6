//! An inherited mode as a complete model: its evidence, step by step through the records.

use std::num::NonZeroUsize;

use super::predicted::Predicted;
use crate::genetics::{
    Compound, FounderEvidence, Locus, Mode, Particulars, Unit, as_if, suspected_units,
};
use crate::network::{ColonyNetwork, Evidence, Grouping, assemble_units};
use crate::numbers::{exp, ln, log_sum_exp, uniform_nodes};
use crate::questions::Unanswerable;
use crate::questions::belief::resolve_units;
use crate::questions::ladder::{Ground, Stopped, climb_from, in_date_order};
use crate::questions::model::{Case, log_of};
use crate::questions::unknowns;
use crate::records::{AnimalId, Clutch, ClutchId, Colony, GeneId, Origin};

/// Arithmetic that one model may take.
const MULTIPLICATIONS: usize = 4_000_000_000;

/// Nodes of an unknown share where posteriors are averaged over it.
const SHARES: usize = 16;

/// How far the log evidence may still move when the nodes of a share are doubled.
const STANDS: f64 = 1e-8;

/// Stands for a background of zero.
///
/// METHOD: a first find is conditioned on, also where nothing in the records could have made it;
/// its chance is the limit as the background shrinks, and this is close enough for any double.
const ALMOST_NONE: f64 = 1e-14;

/// What is asked of every mode.
#[derive(Clone, Debug)]
pub(in crate::questions) struct Suspect<'c> {
    pub(super) colony: &'c Colony,
    pub(super) gene: GeneId,
    /// The animals it was first noticed on, with the class they were called.
    pub(super) first: Vec<(AnimalId, usize)>,
    /// Whether lost eggs count in all modes: one of them has eggs that never hatch.
    pub(super) eggs: bool,
    pub(super) memory: u64,
}

/// One value of everything a mode leaves open.
#[derive(Clone, Debug)]
pub(in crate::questions) struct Node {
    /// The colony with the gene declared, every unknown given a value.
    pub(in crate::questions) colony: Colony,
    pub(in crate::questions) particulars: Particulars,
    /// Natural log of its weight before the records.
    pub(in crate::questions) log_weight: f64,
}

/// Chances of each call for each possible pair of parents, and the chance of the pair.
type Pairs = Vec<(Vec<f64>, f64)>;

/// What one node gives.
#[derive(Clone, Debug)]
struct NodeRun {
    log_weight: f64,
    /// Natural log of what is known at each height, the first finds certain.
    logs: Vec<f64>,
    /// Natural log of the chance of the first finds.
    first: f64,
    predicted: Vec<Option<Pairs>>,
}

/// The evidence of a mode.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    /// Natural log evidence with the animals' own records, and after each clutch in date order.
    pub(super) logs: Vec<f64>,
    /// What was expected of each clutch, in the same order.
    pub(super) predicted: Vec<Option<Predicted>>,
}

/// A question of a case without unknowns: its answer and log evidence.
type AskCase<'q, A> = dyn Fn(&Case<'_>) -> Result<(A, f64), Unanswerable> + 'q;

impl Suspect<'_> {
    /// Works out the evidence of an inherited mode.
    ///
    /// # Source
    ///
    /// Ascertainment: log P(all records, the classes of the first finds certain | mode) − log
    /// P(those classes | mode, parentage and statements alone).
    ///
    /// # Errors
    ///
    /// [`Unanswerable::TooLarge`]; or `Impossible` when more than three unknowns meet. Records
    /// that the mode rules out give it a log evidence of minus infinity.
    pub(super) fn weigh(&self, mode: Mode, all_steps: bool) -> Result<Weighed, Unanswerable> {
        let varied = mode.has_variation(self.colony.gene(self.gene));
        let mut shares = if varied { 8 } else { 1 };
        let mut last: Option<Weighed> = None;
        loop {
            let weighed = self.weigh_with(mode, shares, all_steps)?;
            let top = |weighed: &Weighed| weighed.logs.last().copied().unwrap_or(0.0);
            let moved = last.as_ref().map_or(f64::INFINITY, |last| top(last) - top(&weighed));
            // Two impossible ones differ by nothing.
            if !varied || moved.is_nan() || moved.abs() < STANDS || shares >= 512 {
                return Ok(weighed);
            }
            last = Some(weighed);
            shares *= 2;
        }
    }

    fn weigh_with(
        &self,
        mode: Mode,
        shares: usize,
        all_steps: bool,
    ) -> Result<Weighed, Unanswerable> {
        let declared = as_if(self.colony, self.gene, mode);
        let ask = |colony: &Colony| {
            let mut runs = Vec::new();
            for node in self.open(colony, mode, shares) {
                runs.push(self.node_run(&node, mode, all_steps)?);
            }
            let tops: Vec<f64> = runs.iter().map(NodeRun::top).collect();
            Ok((runs, log_sum_exp(&tops)))
        };
        let mixture = unknowns::integrate(&declared, &ask)?;
        let mut runs = Vec::new();
        for (share, log) in mixture.shares.into_iter().zip(mixture.log_weights) {
            runs.extend(share.answer.into_iter().map(|mut run: NodeRun| {
                run.log_weight += log;
                run
            }));
        }
        Ok(combined(&runs))
    }

    /// Every value of what a mode leaves open, but for the unknowns of the records themselves.
    fn open(&self, colony: &Colony, mode: Mode, shares: usize) -> Vec<Node> {
        let compounds: &[Compound] =
            if mode.has_compounds(colony) { &Compound::ALL } else { &[Compound::Older] };
        let firsts = match NonZeroUsize::new(shares).filter(|_| shares > 1) {
            Some(number) => uniform_nodes(0.0, 1.0, number),
            None => vec![(1.0, 1.0)],
        };
        let mut nodes = Vec::new();
        for compound in compounds {
            for (first_share, weight) in &firsts {
                nodes.push(Node {
                    colony: colony.clone(),
                    particulars: Particulars { first_share: *first_share, compound: *compound },
                    log_weight: ln(weight / compounds.len() as f64),
                });
            }
        }
        nodes
    }

    fn node_run(&self, node: &Node, mode: Mode, all_steps: bool) -> Result<NodeRun, Unanswerable> {
        let units = suspected_units(&node.colony, self.gene, mode, node.particulars);
        let can_be_lethal = units.iter().any(Unit::can_be_lethal);
        let order = in_date_order(&node.colony);
        let resolved = match resolve_units(&node.colony, Some(&units), self.memory) {
            Ok(resolved) => resolved,
            Err(Unanswerable::Impossible(_)) => return Ok(NodeRun::ruled_out(node, order.len())),
            Err(other) => return Err(other),
        };
        let colony = resolved.colony.as_ref();
        let net = assemble_units(colony, units, Grouping::Siblings, self.memory);
        let mut run = NodeRun {
            log_weight: node.log_weight,
            logs: Vec::with_capacity(order.len() + 1),
            first: self.chance_of_first(&net)?,
            predicted: Vec::with_capacity(order.len()),
        };
        if run.first == f64::NEG_INFINITY && net.locus(self.gene).frequencies[1..].contains(&0.0) {
            let mut rare = node.clone();
            rare.colony.genes[self.gene.0].background = Some(vec![ALMOST_NONE]);
            return self.node_run(&rare, mode, all_steps);
        }
        if all_steps {
            self.steps(colony, &net, &order, &mut run)?;
        } else {
            let mut evidence = net.all_evidence();
            self.certain(&net, &mut evidence);
            run.logs = vec![f64::NEG_INFINITY; order.len() + 1];
            let top = log_of(&net, &evidence, self.memory)?;
            run.logs.fill(top);
        }
        // Founders are drawn given what they show: how likely that is under this node comes here.
        let unit = &net.units[net.unit(self.gene)];
        let shown = |one| ln(chance_shown(colony, unit, self.gene, one));
        let shown: f64 = self.founders(colony).map(shown).sum();
        run.first += shown;
        run.logs.iter_mut().for_each(|log| *log += shown);
        if self.eggs && !can_be_lethal {
            let mut sum = 0.0;
            for (at, clutch) in order.iter().enumerate() {
                sum += eggs(colony.clutch(*clutch), colony.assumptions.egg_loss);
                run.logs[at + 1] += sum;
            }
        }
        Ok(run)
    }

    fn steps(
        &self,
        colony: &Colony,
        net: &ColonyNetwork,
        order: &[ClutchId],
        run: &mut NodeRun,
    ) -> Result<(), Unanswerable> {
        let ground = Ground { colony, net, memory: self.memory };
        let rows = net.chances_of_calls(self.gene);
        let climbed = climb_from(
            &ground,
            MULTIPLICATIONS,
            |evidence| self.certain(net, evidence),
            |height| {
                run.logs.push(height.work.log_evidence().ln());
                let Some(clutch) = height.next else { return };
                let pair = net.pairing(clutch, self.gene);
                let parents = pair.and_then(|pair| {
                    pair.iter().for_each(|parent| height.work.reach(height.tree, *parent));
                    height.work.joint(height.tree, pair)
                });
                let likely = |parents: Vec<f64>| {
                    let pairs = rows.iter().zip(parents).filter(|(_, weight)| *weight > 1e-12);
                    pairs.map(|(row, weight)| (row.clone(), weight)).collect()
                };
                run.predicted.push(parents.map(likely));
            },
        );
        match climbed {
            Ok(_) => {}
            Err(Stopped::Impossible) => {
                run.logs.resize(order.len() + 1, f64::NEG_INFINITY);
                run.predicted.resize(order.len(), None);
            }
            Err(Stopped::TooLarge(needed)) => {
                return Err(Unanswerable::TooLarge { needed, allowed: self.memory });
            }
            Err(Stopped::TooLong) => {
                return Err(Unanswerable::TooLarge { needed: u64::MAX, allowed: self.memory });
            }
        }
        Ok(())
    }

    /// The first finds without recorded parents.
    fn founders(&self, colony: &Colony) -> impl Iterator<Item = (AnimalId, usize)> {
        let founder = |id: AnimalId| colony.animal(id).origin == Origin::Founder;
        self.first.iter().copied().filter(move |(id, _)| founder(*id))
    }

    /// Adds that the first finds that hatched here truly show what they were called.
    pub(super) fn certain(&self, net: &ColonyNetwork, evidence: &mut Evidence) {
        for (animal, class) in self.hatched() {
            net.certainly_shows(animal, self.gene, class, evidence);
        }
    }

    /// The first finds that hatched here.
    fn hatched(&self) -> impl Iterator<Item = (AnimalId, usize)> {
        let hatched = |id: AnimalId| self.colony.animal(id).origin != Origin::Founder;
        self.first.iter().copied().filter(move |(id, _)| hatched(*id))
    }

    /// Asks a question of an inherited mode at every value of what it leaves open: the answers and
    /// their shares, which sum to one; none where the records rule the mode out.
    pub(super) fn mixture<A>(
        &self,
        mode: Mode,
        ask: &AskCase<'_, A>,
    ) -> Result<Vec<(A, f64)>, Unanswerable> {
        let shares = if mode.has_variation(self.colony.gene(self.gene)) { SHARES } else { 1 };
        let declared = as_if(self.colony, self.gene, mode);
        let whole = |colony: &Colony| {
            let mut answers = Vec::new();
            for mut node in self.open(colony, mode, shares) {
                // A first find is to be possible, also where the background is said to be none.
                let frequency = &mut node.colony.genes[self.gene.0].background;
                let none = frequency.as_ref().map_or(colony.assumptions.background, |f| f[0]);
                if none == 0.0 && self.hatched().next().is_some() {
                    *frequency = Some(vec![ALMOST_NONE]);
                }
                let units = suspected_units(&node.colony, self.gene, mode, node.particulars);
                let own = units.iter().find(|unit| unit.locus_of(self.gene).is_some());
                let shown = |one| own.map_or(0.0, |u| ln(chance_shown(colony, u, self.gene, one)));
                let shown: f64 = self.founders(colony).map(shown).sum();
                let certain = self.hatched().map(|(id, class)| (id, self.gene, class)).collect();
                let case = Case { colony: &node.colony, units: Some(units), certain };
                match ask(&case) {
                    Ok((answer, log)) => answers.push((answer, node.log_weight + log + shown)),
                    Err(Unanswerable::Impossible(_)) => {}
                    Err(other) => return Err(other),
                }
            }
            let logs: Vec<f64> = answers.iter().map(|(_, log)| *log).collect();
            Ok((answers, log_sum_exp(&logs)))
        };
        let mixture = unknowns::integrate(&declared, &whole)?;
        let mut all = Vec::new();
        for (share, outer) in mixture.shares.into_iter().zip(mixture.log_weights) {
            for (answer, log) in share.answer {
                all.push((answer, exp(outer + log - mixture.log_evidence)));
            }
        }
        Ok(all)
    }

    /// Natural log of the chance of the first finds that hatched here, from parentage and
    /// statements alone.
    fn chance_of_first(&self, net: &ColonyNetwork) -> Result<f64, Unanswerable> {
        if self.founders(self.colony).count() == self.first.len() {
            return Ok(0.0);
        }
        let told = net.told_evidence();
        let mut with = told.clone();
        self.certain(net, &mut with);
        // What the statements and doubts weigh is not part of it.
        Ok(log_of(net, &with, self.memory)? - log_of(net, &told, self.memory)?)
    }
}

impl NodeRun {
    fn ruled_out(node: &Node, clutches: usize) -> Self {
        NodeRun {
            log_weight: node.log_weight,
            logs: vec![f64::NEG_INFINITY; clutches + 1],
            first: f64::NEG_INFINITY,
            predicted: vec![None; clutches],
        }
    }

    fn top(&self) -> f64 {
        self.log_weight + self.logs.last().copied().unwrap_or(f64::NEG_INFINITY)
    }
}

/// The chance that a founder shows the class, from what was said of it alone.
fn chance_shown(colony: &Colony, unit: &Unit, gene: GeneId, founder: (AnimalId, usize)) -> f64 {
    let (animal, class) = (colony.animal(founder.0), founder.1);
    let mut rare = unit.clone();
    let frequencies = rare.loci.iter_mut().flat_map(|locus| &mut locus.frequencies);
    frequencies.for_each(|frequency| *frequency = frequency.max(ALMOST_NONE));
    let trust = animal.trust.unwrap_or(colony.assumptions.trust);
    let said = |of: GeneId| animal.statements.iter().find(|statement| statement.gene == of);
    let told = |locus: &Locus| FounderEvidence {
        statement: said(locus.gene).map(|statement| (statement.says, trust)),
        ..FounderEvidence::default()
    };
    let told: Vec<FounderEvidence<'_>> = rare.loci.iter().map(told).collect();
    let Some(at) = rare.locus_of(gene) else { return 1.0 };
    let start = rare.founder(animal.sex, &told);
    let states = rare.states_of(animal.sex);
    let shows = rare.spread(at, &rare.loci[at].class_chance(class), &states);
    start.iter().zip(shows).map(|(start, shows)| start * shows).sum()
}

/// What the eggs of a clutch weigh where no genotype is lethal.
fn eggs(clutch: &Clutch, loss: f64) -> f64 {
    let Some(lost) = clutch.lost_eggs() else { return 0.0 };
    let of = |chance: f64, number: u32| match number {
        0 => 0.0,
        number => f64::from(number) * ln(chance),
    };
    of(1.0 - loss, clutch.recorded()) + of(loss, lost)
}

/// All nodes together.
fn combined(runs: &[NodeRun]) -> Weighed {
    let steps = runs.first().map_or(0, |run| run.logs.len());
    let firsts: Vec<f64> = runs.iter().map(|run| run.log_weight + run.first).collect();
    let first = log_sum_exp(&firsts);
    let at = |step: usize| -> Vec<f64> {
        runs.iter().map(|run| run.log_weight + run.logs[step]).collect()
    };
    let logs = (0..steps).map(|step| match log_sum_exp(&at(step)) {
        log if log == f64::NEG_INFINITY || first == f64::NEG_INFINITY => f64::NEG_INFINITY,
        log => log - first,
    });
    let logs: Vec<f64> = logs.collect();
    let expected = |step: usize| -> Option<Predicted> {
        let here = at(step);
        let whole = log_sum_exp(&here);
        let mut pairs = Vec::new();
        for (run, log) in runs.iter().zip(here) {
            let share = exp(log - whole);
            if share.is_nan() || share < 1e-9 {
                continue;
            }
            let own = run.predicted.get(step)?.as_ref()?;
            pairs.extend(own.iter().map(|(row, weight)| (row.clone(), weight * share)));
        }
        (!pairs.is_empty()).then_some(Predicted::Parents(pairs))
    };
    let predicted = (0..steps.saturating_sub(1)).map(expected).collect();
    Weighed { logs, predicted }
}
