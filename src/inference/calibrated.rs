//! A plan after a run: every marginal and the log evidence.

use super::passes::{self, Stop};
use super::{Impossible, JunctionTree, logarithmic};
use crate::network::{Evidence, VariableId};
use crate::numbers::LogWeight;

/// The room that runs need: one arena, used again by every run.
#[derive(Clone, Debug)]
pub struct Workspace {
    pub(super) arena: Vec<f64>,
    pub(super) message: Vec<f64>,
    pub(super) exponents: Vec<i32>,
    pub(super) group_exponents: Vec<i32>,
    constants: f64,
    logs: Vec<f64>,
}

impl Workspace {
    pub(super) fn new(tree: &JunctionTree) -> Self {
        let rows = tree.buckets.iter().map(|bucket| bucket.rows).max().unwrap_or(0);
        Workspace {
            arena: vec![0.0; tree.arena_len],
            message: vec![0.0; rows],
            exponents: vec![0; tree.buckets.len()],
            group_exponents: vec![0; tree.groups.len()],
            constants: 0.0,
            logs: vec![0.0; tree.components.len()],
        }
    }

    /// Runs both passes over every component of the plan it was made for. Allocates nothing.
    ///
    /// # Errors
    ///
    /// [`Impossible`] when the evidence has weight zero.
    pub fn run(&mut self, tree: &JunctionTree, evidence: &Evidence) -> Result<(), Impossible> {
        self.constants = passes::constants(tree, evidence)?;
        (0..tree.components.len()).try_for_each(|at| self.run_component(tree, at, evidence))
    }

    /// Runs both passes over one component only; the others keep their last results.
    ///
    /// # Errors
    ///
    /// [`Impossible`] when the evidence has weight zero there.
    pub fn run_component(
        &mut self,
        tree: &JunctionTree,
        component: usize,
        evidence: &Evidence,
    ) -> Result<(), Impossible> {
        let loaded = passes::load(tree, component, evidence, self)?;
        let log = match passes::run(tree, component, self) {
            Ok(log) => log,
            Err(Stop::Impossible(impossible)) => return Err(impossible),
            Err(Stop::Underflow) => logarithmic::run(tree, component, self)?,
        };
        self.logs[component] = loaded + log;
        Ok(())
    }

    /// Log of the probability of all evidence of the last run.
    pub fn log_evidence(&self) -> LogWeight {
        LogWeight::from_ln(self.constants + self.logs.iter().sum::<f64>())
    }

    /// Log of the probability of the evidence of one component.
    pub fn log_evidence_of(&self, component: usize) -> LogWeight {
        LogWeight::from_ln(self.logs[component])
    }

    /// The posterior of a variable: one probability for each of its states.
    pub fn marginal(&self, tree: &JunctionTree, variable: VariableId) -> Vec<f64> {
        let planned = &tree.variables[variable.0];
        let mut marginal = vec![0.0; planned.states];
        let Some(bucket) = planned.bucket else {
            marginal[planned.allowed[0] as usize] = 1.0;
            return marginal;
        };
        let bucket = &tree.buckets[bucket as usize];
        let beliefs = &self.arena[bucket.marginal..bucket.marginal + bucket.card];
        let total: f64 = beliefs.iter().sum();
        for (state, belief) in planned.allowed.iter().zip(beliefs) {
            marginal[*state as usize] = belief / total;
        }
        marginal
    }
}

/// A plan that has been run: only this has marginals.
#[derive(Clone, Debug)]
pub struct Calibrated<'a> {
    tree: &'a JunctionTree,
    workspace: Workspace,
}

impl<'a> Calibrated<'a> {
    pub(super) fn new(tree: &'a JunctionTree, workspace: Workspace) -> Self {
        Calibrated { tree, workspace }
    }

    /// Log of the probability of all evidence.
    pub fn log_evidence(&self) -> LogWeight {
        self.workspace.log_evidence()
    }

    /// The posterior of a variable: one probability for each of its states.
    pub fn marginal(&self, variable: VariableId) -> Vec<f64> {
        self.workspace.marginal(self.tree, variable)
    }
}
