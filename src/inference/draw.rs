//! One configuration drawn from the posterior of a network.

use super::{JunctionTree, Workspace};
use crate::network::VariableId;

impl Workspace {
    /// Draws a state for each variable of the graph from their joint posterior, after
    /// [`Workspace::run`].
    ///
    /// `uniform` gives numbers from 0 up to but not including 1. A variable that stands for several
    /// copies gets the state of one of them.
    ///
    /// # Source
    ///
    /// Backwards along the tree: each variable given its separator, which is drawn before it
    /// (Dawid 1992, Statistics and Computing 2:25–36).
    pub fn draw(&self, tree: &JunctionTree, uniform: &mut dyn FnMut() -> f64) -> Vec<usize> {
        // Positions among the states that are left.
        let mut drawn = vec![0usize; tree.variables.len()];
        for bucket in tree.buckets.iter().rev() {
            let separator = tree.clique(bucket).separator();
            let row = separator
                .iter()
                .fold(0, |row, variable| row * tree.domains.left(*variable) + drawn[variable.0]);
            let start = bucket.belief + row * bucket.card;
            let weights = &self.arena[start..start + bucket.card];
            let mut left = uniform() * weights.iter().sum::<f64>();
            let mut chosen = 0;
            for (state, weight) in weights.iter().enumerate().filter(|(_, weight)| **weight > 0.0) {
                chosen = state;
                if left < *weight {
                    break;
                }
                left -= weight;
            }
            drawn[bucket.variable.0] = chosen;
        }
        let state = |(v, at): (usize, usize)| tree.domains.allowed(VariableId(v))[at] as usize;
        drawn.into_iter().enumerate().map(state).collect()
    }
}

#[cfg(test)]
mod tests {
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::{Rng, SeedableRng};

    use crate::inference::JunctionTree;
    use crate::network::{Evidence, FactorGraph, VariableId};

    /// Four variables in a ring, so that some clique has a separator of two.
    fn ring() -> (FactorGraph, Evidence) {
        let mut graph = FactorGraph::default();
        let all: Vec<VariableId> = [2, 3, 2, 3].iter().map(|n| graph.variable(*n)).collect();
        for (at, start) in [(0, 1.0), (1, 2.0), (2, 0.5), (3, 1.5)] {
            let pair = [all[at], all[(at + 1) % 4]];
            let values = (0..6).map(|k| start + ((k * 7 + at * 3) % 5) as f64).collect();
            let table = graph.table(values);
            graph.factor(&pair, table);
        }
        let mut evidence = Evidence::neutral(&graph);
        evidence.weigh(all[1], &[0.2, 1.0, 0.0]);
        (graph, evidence)
    }

    #[test]
    fn draws_are_as_frequent_as_the_posteriors_say() {
        const DRAWS: usize = 40_000;
        let (graph, evidence) = ring();
        let tree = JunctionTree::plan(&graph, &evidence, 1 << 20).expect("small");
        let mut work = tree.workspace();
        work.run(&tree, &evidence).expect("possible");
        let mut chance = ChaCha8Rng::seed_from_u64(3);
        let mut uniform = || (chance.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
        let draws: Vec<Vec<usize>> = (0..DRAWS).map(|_| work.draw(&tree, &mut uniform)).collect();
        let close = |count: usize, chance: f64, what: &str| {
            // 4.5 standard errors.
            let error = 4.5 * (chance * (1.0 - chance) * DRAWS as f64).sqrt();
            assert!((count as f64 - chance * DRAWS as f64).abs() <= error, "{what}: {count}");
        };
        for v in 0..4 {
            for (state, chance) in work.marginal(&tree, VariableId(v)).iter().enumerate() {
                let count = draws.iter().filter(|draw| draw[v] == state).count();
                close(count, *chance, &format!("variable {v} in {state}"));
            }
            let pair = [v, (v + 1) % 4];
            let sizes = pair.map(|v| graph.states(VariableId(v)));
            let joint = work.joint(&tree, pair.map(VariableId)).expect("a factor joins them");
            for (at, chance) in joint.iter().enumerate() {
                let states = [at / sizes[1], at % sizes[1]];
                let hit = |draw: &&Vec<usize>| pair.map(|v| draw[v]) == states;
                close(draws.iter().filter(hit).count(), *chance, &format!("{pair:?} {states:?}"));
            }
        }
    }
}
