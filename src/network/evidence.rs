//! What is known: a likelihood for the states of each variable, and the filled slots.

use super::{FactorGraph, FactorId, Source, VariableId};

/// The likelihood of each state of each variable, and the numbers of the slots.
///
/// Made neutral (all ones) for one graph; only ratios within one variable matter for posteriors,
/// while the log evidence counts the weights as they are.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    likelihoods: Vec<f64>,
    starts: Vec<usize>,
    slots: Vec<f64>,
}

impl Evidence {
    /// Nothing known.
    pub fn neutral(graph: &FactorGraph) -> Self {
        let starts = (0..graph.variables()).map(|v| graph.likelihood_start(VariableId(v)));
        let starts = starts.chain([graph.likelihood_len()]).collect();
        let likelihoods = vec![1.0; graph.likelihood_len()];
        Evidence { likelihoods, starts, slots: vec![1.0; graph.slot_len()] }
    }

    /// The likelihood of each state of a variable.
    pub fn likelihood(&self, variable: VariableId) -> &[f64] {
        &self.likelihoods[self.starts[variable.0]..self.starts[variable.0 + 1]]
    }

    /// The likelihood of each state of a variable, to be changed.
    pub fn likelihood_mut(&mut self, variable: VariableId) -> &mut [f64] {
        &mut self.likelihoods[self.starts[variable.0]..self.starts[variable.0 + 1]]
    }

    /// Multiplies the likelihood of each state of a variable.
    pub fn weigh(&mut self, variable: VariableId, weights: &[f64]) {
        for (value, weight) in self.likelihood_mut(variable).iter_mut().zip(weights) {
            *value *= weight;
        }
    }

    /// The numbers of the slots, one slot after the other.
    pub fn slots(&self) -> &[f64] {
        &self.slots
    }

    /// Makes a slot neutral again.
    pub fn empty(&mut self, graph: &FactorGraph, factor: FactorId, len: usize) {
        if let Source::Slot(start) = graph.source(factor) {
            self.slots[start..start + len].fill(1.0);
        }
    }

    /// Gives a slot these numbers; a factor with a shared table is left alone.
    pub fn refill(&mut self, graph: &FactorGraph, factor: FactorId, values: &[f64]) {
        if let Source::Slot(start) = graph.source(factor) {
            self.slots[start..start + values.len()].copy_from_slice(values);
        }
    }

    /// Multiplies the numbers of a slot; a factor with a shared table is left alone.
    pub fn fill(&mut self, graph: &FactorGraph, factor: FactorId, values: &[f64]) {
        if let Source::Slot(start) = graph.source(factor) {
            for (value, filled) in self.slots[start..].iter_mut().zip(values) {
                *value *= filled;
            }
        }
    }
}
