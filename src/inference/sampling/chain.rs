//! One chain: a configuration that moves, and the means of what it has seen.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

use super::block::{Block, Run};
use super::figures;
use crate::inference::Domains;
use crate::inference::domains::Shrinking;
use crate::network::{Evidence, FactorGraph};

/// Beginnings that are tried.
const TRIES: usize = 50;

pub(super) struct Chain {
    states: Vec<usize>,
    dice: ChaCha8Rng,
    runs: Vec<Run>,
    /// Where the figures of each variable begin.
    starts: Vec<usize>,
    /// Passes in which a variable was free, in this batch; and the sums of its chances.
    free: Vec<u32>,
    sum: Vec<f64>,
    batches: f64,
    sum_of_means: Vec<f64>,
    sum_of_squares: Vec<f64>,
}

fn uniform(dice: &mut ChaCha8Rng) -> f64 {
    (dice.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

/// A configuration that can be: held variables are settled one by one, and what each rules out
/// elsewhere is excluded; the rest is drawn.
pub(super) fn start(
    graph: &FactorGraph,
    evidence: &Evidence,
    domains: &Domains,
    block: &Block,
    dice: &mut ChaCha8Rng,
) -> Option<Vec<usize>> {
    let mut run = block.run();
    for _ in 0..TRIES {
        let Some(mut states) = settle(graph, evidence, domains, block, dice) else { continue };
        if block.pass(graph, evidence, &states, &mut run) {
            block.draw(&run, &mut states, &mut || uniform(dice));
            return Some(states);
        }
        run = block.run();
    }
    None
}

fn settle(
    graph: &FactorGraph,
    evidence: &Evidence,
    domains: &Domains,
    block: &Block,
    dice: &mut ChaCha8Rng,
) -> Option<Vec<usize>> {
    let mut left = domains.clone();
    let mut shrinking = Shrinking::new(graph, evidence);
    let mut states = vec![0; graph.variables()];
    for variable in &block.held {
        let allowed = left.allowed(*variable).to_vec();
        let likelihood = evidence.likelihood(*variable);
        let total: f64 = allowed.iter().map(|state| likelihood[*state as usize]).sum();
        let mut at = uniform(dice) * total;
        let mut chosen = *allowed.last()?;
        for state in allowed {
            at -= likelihood[state as usize];
            if at < 0.0 {
                chosen = state;
                break;
            }
        }
        if !shrinking.fix(&mut left, *variable, chosen) {
            return None;
        }
        states[variable.0] = chosen as usize;
    }
    Some(states)
}

impl Chain {
    pub(super) fn new(
        graph: &FactorGraph,
        blocks: &[Block],
        states: Vec<usize>,
        dice: ChaCha8Rng,
    ) -> Self {
        let starts = figures(graph);
        let len = starts[graph.variables()];
        let zeros = || vec![0.0; len];
        Chain {
            states,
            dice,
            runs: blocks.iter().map(Block::run).collect(),
            starts,
            free: vec![0; graph.variables()],
            sum: zeros(),
            batches: 0.0,
            sum_of_means: zeros(),
            sum_of_squares: zeros(),
        }
    }

    /// Goes on with other blocks from where it is.
    pub(super) fn take_up(&mut self, blocks: &[Block]) {
        self.runs = blocks.iter().map(Block::run).collect();
    }

    /// Forgets what it has seen, not where it is.
    pub(super) fn forget(&mut self) {
        self.batches = 0.0;
        self.sum_of_means.fill(0.0);
        self.sum_of_squares.fill(0.0);
    }

    /// So many passes over all blocks, whose means count as one figure each.
    pub(super) fn batch(
        &mut self,
        graph: &FactorGraph,
        evidence: &Evidence,
        blocks: &[Block],
        passes: usize,
    ) {
        self.sum.fill(0.0);
        self.free.fill(0);
        for _ in 0..passes {
            for (block, run) in blocks.iter().zip(&mut self.runs) {
                // Where it is has a weight above zero, so that every pass from there can be.
                if !block.pass(graph, evidence, &self.states, run) {
                    *run = block.run();
                    continue;
                }
                for (out, here) in &block.free {
                    let start = self.starts[out.0];
                    let chances = block.marginal(run, *here);
                    self.free[out.0] += 1;
                    self.sum[start..].iter_mut().zip(chances).for_each(|(sum, p)| *sum += p);
                }
                let dice = &mut self.dice;
                block.draw(run, &mut self.states, &mut || uniform(dice));
            }
        }
        self.batches += 1.0;
        for (variable, free) in self.free.iter().enumerate() {
            for at in self.starts[variable]..self.starts[variable + 1] {
                let mean = self.sum[at] / f64::from((*free).max(1));
                self.sum_of_means[at] += mean;
                self.sum_of_squares[at] += mean * mean;
            }
        }
    }

    pub(super) fn mean(&self, at: usize) -> f64 {
        self.sum_of_means[at] / self.batches
    }

    /// The variance of the mean, by the means of batches.
    pub(super) fn variance_of_mean(&self, at: usize) -> f64 {
        let mean = self.mean(at);
        let variance = self.sum_of_squares[at] / self.batches - mean * mean;
        (variance / (self.batches - 1.0)).max(0.0)
    }
}
