//! Which states each variable can still be in.

use rustc_hash::FxHashMap;

use crate::network::{Evidence, FactorGraph, FactorId, Source, VariableId};

/// The states of each variable that have not been excluded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Domains {
    allowed: Vec<Vec<u32>>,
}

impl Domains {
    /// These states of each variable.
    pub(super) fn of(allowed: Vec<Vec<u32>>) -> Self {
        Domains { allowed }
    }

    /// Every state of every variable.
    pub fn full(graph: &FactorGraph) -> Self {
        let all = |v| (0..graph.states(VariableId(v)) as u32).collect();
        Domains { allowed: (0..graph.variables()).map(all).collect() }
    }

    /// Excludes what has probability zero, forwards and backwards, until nothing changes.
    ///
    /// A variable left without states means that the evidence is impossible; the search for more
    /// stops there.
    ///
    /// # Source
    ///
    /// Genotype elimination: Lange & Goradia 1987, Am J Hum Genet 40:250–256.
    pub fn shrink(graph: &FactorGraph, evidence: &Evidence) -> Self {
        let mut domains = Domains::full(graph);
        for (v, allowed) in domains.allowed.iter_mut().enumerate() {
            let likelihood = evidence.likelihood(VariableId(v));
            if likelihood.contains(&0.0) {
                allowed.retain(|state| likelihood[*state as usize] > 0.0);
            }
        }
        Shrinking::new(graph, evidence).run(&mut domains);
        domains
    }

    /// The states a variable can still be in, in order.
    pub fn allowed(&self, variable: VariableId) -> &[u32] {
        &self.allowed[variable.0]
    }

    /// A variable that can be in no state at all, if there is one.
    pub fn empty(&self) -> Option<VariableId> {
        self.allowed.iter().position(Vec::is_empty).map(VariableId)
    }
}

/// Propagation of what is excluded, from factor to factor.
pub(super) struct Shrinking<'a> {
    graph: &'a FactorGraph,
    evidence: &'a Evidence,
    touching: Vec<Vec<u32>>,
    waiting: Vec<u32>,
    queued: Vec<bool>,
}

impl<'a> Shrinking<'a> {
    pub(super) fn new(graph: &'a FactorGraph, evidence: &'a Evidence) -> Self {
        let mut touching = vec![Vec::new(); graph.variables()];
        let mut count = 0;
        for factor in graph.factors() {
            graph.scope(factor).iter().for_each(|v| touching[v.0].push(factor.0 as u32));
            count += 1;
        }
        Shrinking { graph, evidence, touching, waiting: Vec::new(), queued: vec![false; count] }
    }

    fn run(mut self, domains: &mut Domains) {
        let mut complete = FxHashMap::default();
        for factor in self.graph.factors() {
            let full = |v: &VariableId| domains.allowed[v.0].len() == self.graph.states(*v);
            let scope = self.graph.scope(factor);
            let all_full = scope.iter().all(full);
            let supported = match self.graph.source(factor) {
                Source::Table(table) if all_full => *complete
                    .entry(table)
                    .or_insert_with(|| self.unsupported(factor, domains).is_empty()),
                _ => false,
            };
            if !supported {
                self.push(factor);
            }
        }
        self.settle(domains);
    }

    /// Leaves a variable one state and excludes what that rules out elsewhere; whether every
    /// variable has a state left.
    pub(super) fn fix(&mut self, domains: &mut Domains, variable: VariableId, state: u32) -> bool {
        domains.allowed[variable.0].retain(|s| *s == state);
        self.push_touching(variable);
        self.settle(domains) && !domains.allowed[variable.0].is_empty()
    }

    fn push_touching(&mut self, variable: VariableId) {
        for at in 0..self.touching[variable.0].len() {
            self.push(FactorId(self.touching[variable.0][at] as usize));
        }
    }

    fn settle(&mut self, domains: &mut Domains) -> bool {
        while let Some(factor) = self.waiting.pop() {
            self.queued[factor as usize] = false;
            for (variable, state) in self.unsupported(FactorId(factor as usize), domains) {
                domains.allowed[variable.0].retain(|s| *s != state);
                if domains.allowed[variable.0].is_empty() {
                    return false;
                }
                self.push_touching(variable);
            }
        }
        true
    }

    fn push(&mut self, factor: FactorId) {
        if !std::mem::replace(&mut self.queued[factor.0], true) {
            self.waiting.push(factor.0 as u32);
        }
    }

    /// The allowed states that no allowed combination of the factor supports.
    fn unsupported(&self, factor: FactorId, domains: &Domains) -> Vec<(VariableId, u32)> {
        let scope = self.graph.scope(factor);
        let values = match self.graph.source(factor) {
            Source::Table(table) => self.graph.values(table),
            Source::Slot(start) => &self.evidence.slots()[start..],
        };
        let mut seen: Vec<Vec<bool>> =
            scope.iter().map(|v| vec![false; self.graph.states(*v)]).collect();
        let mut at = vec![0usize; scope.len()];
        let sizes: Vec<usize> = scope.iter().map(|v| domains.allowed[v.0].len()).collect();
        if sizes.contains(&0) {
            return Vec::new();
        }
        loop {
            let state = |i: usize| domains.allowed[scope[i].0][at[i]] as usize;
            let index = (0..scope.len()).fold(0, |i, d| i * self.graph.states(scope[d]) + state(d));
            if values[index] > 0.0 {
                for (d, seen) in seen.iter_mut().enumerate() {
                    seen[state(d)] = true;
                }
            }
            let Some(turn) = (0..scope.len()).rev().find(|d| at[*d] + 1 < sizes[*d]) else { break };
            at[turn] += 1;
            at[turn + 1..].fill(0);
        }
        let missing = |(d, v): (usize, &VariableId)| {
            let seen = &seen[d];
            let lost = domains.allowed[v.0].iter().filter(|s| !seen[**s as usize]);
            lost.map(|s| (*v, *s)).collect::<Vec<_>>()
        };
        scope.iter().enumerate().flat_map(missing).collect()
    }
}
