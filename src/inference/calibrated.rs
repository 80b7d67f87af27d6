//! A plan after a run: every marginal and the log evidence.

use super::passes::{self, Stop};
use super::{Impossible, JunctionTree, logarithmic};
use crate::network::{Evidence, VariableId};
use crate::numbers::LogWeight;

/// The room that runs need: one arena, used again by every run.
///
/// It remembers what it was last run on, so that the next run computes only what depends on
/// evidence that has changed since.
#[derive(Clone, Debug)]
pub struct Workspace {
    pub(super) arena: Vec<f64>,
    /// The evidence as it was last loaded.
    pub(super) raw: Vec<f64>,
    pub(super) load_logs: Vec<f64>,
    pub(super) load_exponents: Vec<i32>,
    pub(super) bucket_logs: Vec<f64>,
    pub(super) exponents: Vec<i32>,
    pub(super) dirty: Vec<bool>,
    pub(super) group_logs: Vec<f64>,
    pub(super) group_exponents: Vec<i32>,
    pub(super) group_dirty: Vec<bool>,
    /// How often each component has changed, and at which change each belief was made.
    changes: Vec<u64>,
    believed: Vec<u64>,
    path: Vec<u32>,
    constants: f64,
    logs: Vec<f64>,
}

impl Workspace {
    pub(super) fn new(tree: &JunctionTree) -> Self {
        let (buckets, groups) = (tree.buckets.len(), tree.groups.len());
        Workspace {
            arena: vec![0.0; tree.arena_len],
            raw: vec![f64::NAN; tree.raw_len],
            load_logs: vec![0.0; tree.loads.len()],
            load_exponents: vec![0; tree.loads.len()],
            bucket_logs: vec![0.0; buckets],
            exponents: vec![0; buckets],
            dirty: vec![true; buckets],
            group_logs: vec![0.0; groups],
            group_exponents: vec![0; groups],
            group_dirty: vec![true; groups],
            changes: vec![0; tree.components.len()],
            believed: vec![0; buckets],
            path: Vec::with_capacity(buckets),
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

    /// Works out the log evidence of every component, and no beliefs yet. Allocates nothing.
    ///
    /// # Errors
    ///
    /// [`Impossible`] when the evidence has weight zero.
    pub fn weigh(&mut self, tree: &JunctionTree, evidence: &Evidence) -> Result<(), Impossible> {
        self.constants = passes::constants(tree, evidence)?;
        (0..tree.components.len()).try_for_each(|at| self.weigh_component(tree, at, evidence))
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
        self.weigh_component(tree, component, evidence)?;
        let (first, last) = tree.components[component].buckets;
        for bucket in (first..last).rev() {
            self.believe(tree, component, bucket);
        }
        Ok(())
    }

    /// Works out the log evidence of one component, and no beliefs yet.
    ///
    /// # Errors
    ///
    /// [`Impossible`] when the evidence has weight zero there.
    pub fn weigh_component(
        &mut self,
        tree: &JunctionTree,
        component: usize,
        evidence: &Evidence,
    ) -> Result<(), Impossible> {
        self.changes[component] += 1;
        let failed = |work: &mut Self| work.forget(tree, component);
        passes::load(tree, component, evidence, self).inspect_err(|_| failed(self))?;
        self.logs[component] = match passes::collect(tree, component, self) {
            Ok(log) => log,
            Err(Stop::Impossible(impossible)) => {
                self.forget(tree, component);
                return Err(impossible);
            }
            Err(Stop::Underflow) => {
                let log = logarithmic::run(tree, component, self);
                self.forget(tree, component);
                let (first, last) = tree.components[component].buckets;
                self.believed[first..last].fill(self.changes[component]);
                log?
            }
        };
        Ok(())
    }

    /// Makes the next run of a component begin from nothing.
    fn forget(&mut self, tree: &JunctionTree, component: usize) {
        let (first, last) = tree.components[component].buckets;
        self.dirty[first..last].fill(true);
        self.group_dirty[tree.buckets[first].below.0..tree.buckets[last - 1].below.1].fill(true);
    }

    fn believe(&mut self, tree: &JunctionTree, component: usize, bucket: usize) {
        if self.believed[bucket] != self.changes[component] {
            passes::distribute(tree, &tree.buckets[bucket], &mut self.arena);
            self.believed[bucket] = self.changes[component];
        }
    }

    /// Makes the marginal of a variable ready after [`Workspace::weigh_component`]: only the
    /// cliques between it and the root are looked at.
    pub fn reach(&mut self, tree: &JunctionTree, variable: VariableId) {
        let Some(mut bucket) = tree.variables[variable.0].bucket else { return };
        let component = tree.buckets[bucket as usize].component as usize;
        self.path.clear();
        while self.believed[bucket as usize] != self.changes[component] {
            self.path.push(bucket);
            match tree.buckets[bucket as usize].above {
                Some(above) => bucket = tree.groups[above as usize].parent,
                None => break,
            }
        }
        while let Some(bucket) = self.path.pop() {
            self.believe(tree, component, bucket as usize);
        }
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

    /// The joint posterior of two variables that a factor joins, after a run or after both were
    /// reached: row-major over all their states.
    ///
    /// `None` when no clique holds both.
    pub fn joint(&self, tree: &JunctionTree, pair: [VariableId; 2]) -> Option<Vec<f64>> {
        let [one, other] = pair.map(|variable| &tree.variables[variable.0]);
        let mut joint = vec![0.0; one.states as usize * other.states as usize];
        let (Some(first), Some(second)) = (one.bucket, other.bucket) else {
            let [a, b] = pair.map(|variable| self.marginal(tree, variable));
            for (row, a) in joint.chunks_exact_mut(b.len()).zip(a) {
                row.iter_mut().zip(&b).for_each(|(entry, b)| *entry = a * b);
            }
            return Some(joint);
        };
        let clique = first.min(second) as usize;
        let bucket = &tree.buckets[clique];
        let scope = tree.clique(bucket).scope;
        let size = |v: &VariableId| tree.domains.left(*v);
        let at = |variable: VariableId| {
            let place = scope.iter().position(|v| *v == variable)?;
            Some((scope[place + 1..].iter().map(size).product::<usize>(), size(&scope[place])))
        };
        let ((behind_one, size_one), (behind_other, size_other)) = (at(pair[0])?, at(pair[1])?);
        let [allowed, other_allowed] = pair.map(|variable| tree.domains.allowed(variable));
        let table = &self.arena[bucket.belief..bucket.belief + bucket.rows * bucket.card];
        for (entry, belief) in table.iter().enumerate() {
            let a = allowed[entry / behind_one % size_one] as usize;
            let b = other_allowed[entry / behind_other % size_other] as usize;
            joint[a * other.states as usize + b] += belief;
        }
        Some(joint)
    }

    /// The posterior of a variable: one probability for each of its states.
    pub fn marginal(&self, tree: &JunctionTree, variable: VariableId) -> Vec<f64> {
        let planned = &tree.variables[variable.0];
        let allowed = tree.domains.allowed(variable);
        let mut marginal = vec![0.0; planned.states as usize];
        let Some(bucket) = planned.bucket else {
            marginal[allowed[0] as usize] = 1.0;
            return marginal;
        };
        let bucket = &tree.buckets[bucket as usize];
        let beliefs = &self.arena[bucket.marginal..bucket.marginal + bucket.card];
        let total: f64 = beliefs.iter().sum();
        for (state, belief) in allowed.iter().zip(beliefs) {
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
