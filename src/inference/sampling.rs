//! Estimates where exact tables would be too large: blocked Gibbs sampling.
//!
//! Some variables that close loops are held at a state, all others are then drawn together, exactly,
//! by a [`JunctionTree`]; the next time other variables are held. Each pass gives the exact chances
//! of what is not held, given what is, and these are averaged.

mod block;
mod chain;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rayon::prelude::*;

use self::block::Block;
use self::chain::{Chain, start};
use super::{Domains, Impossible, structure};
use crate::network::{Evidence, FactorGraph, VariableId};

/// Independent chains.
const CHAINS: usize = 8;
/// Sets of held variables that take turns.
const BLOCKS: usize = 6;
/// Batches of a chain, whose means say how far the estimate may be off.
const BATCHES: usize = 16;
/// Passes of each chain in the first round; each further round takes twice as many, and forgets
/// the one before it, which brought the chains to where they belong.
const FIRST_ROUND: usize = 64;

/// How much to sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampling {
    /// The seed: the same seed gives the same figures.
    pub seed: u64,
    /// Sampling stops when no figure is off by more than this, one standard error …
    pub error: f64,
    /// … or when so many steps of arithmetic have been made.
    pub work: u64,
    /// Bytes that the tables of all blocks may take.
    pub memory: u64,
    /// Entries that one table of a block may have: the more, the fewer variables are held.
    pub table: u64,
}

impl Sampling {
    /// Entries that one table of a block usually has.
    pub const TABLE: u64 = 1 << 14;
}

/// Estimated posteriors.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimates {
    starts: Vec<usize>,
    mean: Vec<f64>,
    error: Vec<f64>,
    /// Passes of each chain that count.
    pub passes: usize,
    /// Chains.
    pub chains: usize,
    /// The largest Monte-Carlo standard error of any figure.
    pub largest_error: f64,
    /// The smallest effective number of independent draws behind any figure that varies.
    pub effective: f64,
    /// How much further the chains lie apart than each moves: near 1 when they agree.
    pub apart: f64,
}

/// Why nothing can be estimated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoEstimate {
    /// The evidence cannot be.
    Impossible(Impossible),
    /// No configuration that can be was found to begin with.
    NoStart,
    /// Even one factor alone takes more memory than allowed.
    TooLarge {
        /// Bytes of all tables together.
        needed: u64,
    },
}

impl Estimates {
    /// The estimated posterior of a variable, for each of its states.
    pub fn marginal(&self, variable: VariableId) -> &[f64] {
        &self.mean[self.starts[variable.0]..self.starts[variable.0 + 1]]
    }

    /// Its Monte-Carlo standard errors.
    pub fn error(&self, variable: VariableId) -> &[f64] {
        &self.error[self.starts[variable.0]..self.starts[variable.0 + 1]]
    }
}

/// Variables whose states, if they were known, would let the tables fit into this many bytes, and
/// the bytes that the tables would take then.
pub fn loop_breakers(
    graph: &FactorGraph,
    evidence: &Evidence,
    bytes: u64,
) -> (Vec<VariableId>, u64) {
    let domains = Domains::shrink(graph, evidence);
    let degree = degrees(graph);
    let mut most = 1 << 24;
    loop {
        let rank = &mut |v: VariableId| u64::from(degree[v.0]);
        let (held, needed) = structure::loop_breakers(graph, &domains, most, rank);
        if needed <= bytes || most <= 64 {
            return (held, needed);
        }
        most /= 4;
    }
}

fn degrees(graph: &FactorGraph) -> Vec<u32> {
    let mut degree = vec![0; graph.variables()];
    for factor in graph.factors() {
        graph.scope(factor).iter().for_each(|v| degree[v.0] += 1);
    }
    degree
}

/// Estimates the posterior of every variable.
///
/// # Errors
///
/// [`NoEstimate`].
///
/// # Source
///
/// Blocked Gibbs sampling with exact blocks: Jensen, Kong & Kjærulff 1995, Int J Human-Computer
/// Studies 42:647–666; conditional means instead of draws: Gelfand & Smith 1990, JASA 85:398–409;
/// errors by means of batches and by chains that begin far apart.
pub fn estimate(
    graph: &FactorGraph,
    evidence: &Evidence,
    how: &Sampling,
) -> Result<Estimates, NoEstimate> {
    if let Some(needed) = graph.left_out() {
        return Err(NoEstimate::TooLarge { needed });
    }
    let domains = Domains::shrink(graph, evidence);
    if let Some(at) = domains.empty() {
        return Err(NoEstimate::Impossible(Impossible { at }));
    }
    let mut dice = ChaCha8Rng::seed_from_u64(how.seed);
    let mut blocks = blocks(graph, evidence, &domains, how, &mut dice)?;
    let seeds: Vec<u64> = (0..CHAINS).map(|_| dice.next_u64()).collect();
    let begin = |seed: &u64| -> Option<Chain> {
        let mut dice = ChaCha8Rng::seed_from_u64(*seed);
        let states = start(graph, evidence, &domains, &blocks[0], &mut dice)?;
        Some(Chain::new(graph, &blocks, states, dice))
    };
    let begun: Option<Vec<Chain>> = seeds.par_iter().map(begin).collect();
    let mut chains = begun.ok_or(NoEstimate::NoStart)?;
    let (mut passes, mut done) = (FIRST_ROUND, 0u64);
    let component = graph.components();
    let mut moves = vec![false; graph.variables()];
    loop {
        for block in &blocks {
            block.held.iter().for_each(|v| moves[component[v.0]] = true);
        }
        let sampled = |v: VariableId, state: usize| {
            let allowed = domains.allowed(v);
            moves[component[v.0]] && allowed.len() > 1 && allowed.contains(&(state as u32))
        };
        let length = passes.div_ceil(BATCHES);
        chains.par_iter_mut().for_each(|chain| {
            chain.forget();
            for _ in 0..BATCHES {
                chain.batch(graph, evidence, &blocks, length);
            }
        });
        let work: u64 = blocks.iter().map(Block::steps).sum();
        done += work * (length * BATCHES * CHAINS) as u64;
        let found = gathered(graph, &chains, length * BATCHES, &sampled);
        let enough = found.largest_error <= how.error && found.apart < 1.1 && passes > FIRST_ROUND;
        if enough || done + 2 * work * (passes * CHAINS) as u64 > how.work {
            return Ok(found);
        }
        passes *= 2;
        // Other variables are held in the next round.
        blocks = self::blocks(graph, evidence, &domains, how, &mut dice)?;
        chains.iter_mut().for_each(|chain| chain.take_up(&blocks));
    }
}

/// Sets of held variables, such that each variable is free in some of them.
fn blocks(
    graph: &FactorGraph,
    evidence: &Evidence,
    domains: &Domains,
    how: &Sampling,
    dice: &mut ChaCha8Rng,
) -> Result<Vec<Block>, NoEstimate> {
    let degree = degrees(graph);
    let mut held_before = vec![0u64; graph.variables()];
    let mut most = how.table;
    let mut made = Vec::new();
    while made.len() < BLOCKS {
        let rank = &mut |v: VariableId| {
            let turn = (BLOCKS as u64).saturating_sub(held_before[v.0]);
            (turn << 40) | (u64::from(degree[v.0].min(0xffff)) << 16) | (dice.next_u64() & 0xffff)
        };
        let (held, needed) = structure::loop_breakers(graph, domains, most, rank);
        // Each chain has its own tables for each block.
        if needed.saturating_mul((BLOCKS * CHAINS) as u64) > how.memory && most > 64 {
            most /= 4;
            continue;
        }
        held.iter().for_each(|v| held_before[v.0] += 1);
        made.push(Block::new(graph, evidence, domains, &held)?);
    }
    Ok(made)
}

/// Where the figures of each variable begin, one for each of its states, and where they end.
fn figures(graph: &FactorGraph) -> Vec<usize> {
    let mut starts = vec![0];
    for v in 0..graph.variables() {
        starts.push(starts[v] + graph.states(VariableId(v)));
    }
    starts
}

/// Means and errors over all chains.
fn gathered(
    graph: &FactorGraph,
    chains: &[Chain],
    passes: usize,
    sampled: &dyn Fn(VariableId, usize) -> bool,
) -> Estimates {
    // METHOD: what is so rare that no pass came by is not known to be impossible.
    let least = 1.0 / (passes * chains.len()) as f64;
    let starts = figures(graph);
    let len = starts[graph.variables()];
    let number = chains.len() as f64;
    let (mut mean, mut error) = (vec![0.0; len], vec![0.0; len]);
    let (mut largest_error, mut effective, mut apart) = (0.0f64, f64::INFINITY, 1.0f64);
    let figures = (0..graph.variables())
        .flat_map(|v| (0..graph.states(VariableId(v))).map(move |s| (VariableId(v), s)));
    for (at, (variable, state)) in figures.enumerate() {
        let of_chains: Vec<f64> = chains.iter().map(|chain| chain.mean(at)).collect();
        mean[at] = of_chains.iter().sum::<f64>() / number;
        let between = variance(&of_chains) / number;
        let within: f64 = chains.iter().map(|chain| chain.variance_of_mean(at)).sum::<f64>();
        let within = within / (number * number);
        // METHOD: whichever is larger: batches miss what moves slowly, chains are few.
        error[at] = between.max(within).sqrt();
        if sampled(variable, state) {
            error[at] = error[at].hypot(least);
        }
        largest_error = largest_error.max(error[at]);
        let spread = mean[at] * (1.0 - mean[at]);
        if error[at] > 1e-6 {
            if mean[at] > 0.01 && mean[at] < 0.99 {
                effective = effective.min(spread / (error[at] * error[at]));
            }
            // Chains that agree lie as far apart as their own batches say.
            if error[at] > 1e-3 && within > 0.0 {
                apart = apart.max((between / within / F95).sqrt());
            }
        }
    }
    let chains = chains.len();
    Estimates { starts, mean, error, passes, chains, largest_error, effective, apart }
}

/// The largest of some hundred ratios of the variance between eight chains to that within, where
/// both say the same, lies about here.
const F95: f64 = 4.0;

fn variance(values: &[f64]) -> f64 {
    let number = values.len() as f64;
    let mean = values.iter().sum::<f64>() / number;
    values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (number - 1.0)
}
