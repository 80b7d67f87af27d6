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

    /// Log of what the evidence weighs where only one state is left; minus infinity when nothing.
    pub fn constants(&self, tree: &JunctionTree, evidence: &Evidence) -> f64 {
        passes::constants(tree, evidence).unwrap_or(f64::NEG_INFINITY)
    }

    /// Log of the probability of all evidence of the last run.
    pub fn log_evidence(&self) -> LogWeight {
        LogWeight::from_ln(self.constants + self.logs.iter().sum::<f64>())
    }

    /// Log of the probability of the evidence of one component.
    pub fn log_evidence_of(&self, component: usize) -> LogWeight {
        LogWeight::from_ln(self.logs[component])
    }

    /// The joint posterior of two variables that a factor joins: row-major over all their states.
    ///
    /// `None` when no clique holds both.
    pub fn joint(&self, tree: &JunctionTree, pair: [VariableId; 2]) -> Option<Vec<f64>> {
        let [one, other] = pair.map(|variable| &tree.variables[variable.0]);
        let mut joint = vec![0.0; one.states * other.states];
        let (Some(first), Some(second)) = (one.bucket, other.bucket) else {
            let [a, b] = pair.map(|variable| self.marginal(tree, variable));
            for (row, a) in joint.chunks_exact_mut(b.len()).zip(a) {
                row.iter_mut().zip(&b).for_each(|(entry, b)| *entry = a * b);
            }
            return Some(joint);
        };
        let clique = first.min(second) as usize;
        let bucket = &tree.buckets[clique];
        let scope = tree.cliques[clique].scope();
        let size = |v: &VariableId| tree.variables[v.0].allowed.len();
        let at = |variable: VariableId| {
            let place = scope.iter().position(|v| *v == variable)?;
            Some((scope[place + 1..].iter().map(size).product::<usize>(), size(&scope[place])))
        };
        let ((behind_one, size_one), (behind_other, size_other)) = (at(pair[0])?, at(pair[1])?);
        let table = &self.arena[bucket.table..bucket.table + bucket.rows * bucket.card];
        for (entry, belief) in table.iter().enumerate() {
            let a = one.allowed[entry / behind_one % size_one] as usize;
            let b = other.allowed[entry / behind_other % size_other] as usize;
            joint[a * other.states + b] += belief;
        }
        Some(joint)
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
