//! Which states each variable can still be in.

use rustc_hash::FxHashMap;

use crate::network::{Evidence, FactorGraph, FactorId, Source, VariableId};

/// The states of each variable that have not been excluded.
#[derive(Clone, Debug)]
pub struct Domains {
    /// The states of all variables, one variable after the other; those that are left come first.
    states: Vec<u32>,
    /// Where those of each variable begin, and how many are left.
    bounds: Vec<(u32, u32)>,
}

impl PartialEq for Domains {
    fn eq(&self, other: &Self) -> bool {
        let same = |at: usize| self.allowed(VariableId(at)) == other.allowed(VariableId(at));
        self.bounds.len() == other.bounds.len() && (0..self.bounds.len()).all(same)
    }
}

impl Eq for Domains {}

impl Domains {
    /// These states of each variable.
    pub(super) fn of(allowed: &[Vec<u32>]) -> Self {
        let mut domains = Domains { states: Vec::new(), bounds: Vec::with_capacity(allowed.len()) };
        for states in allowed {
            domains.bounds.push((domains.states.len() as u32, states.len() as u32));
            domains.states.extend_from_slice(states);
        }
        domains
    }

    /// Every state of every variable.
    pub fn full(graph: &FactorGraph) -> Self {
        let mut domains = Domains { states: Vec::new(), bounds: Vec::new() };
        for variable in (0..graph.variables()).map(VariableId) {
            let states = graph.states(variable) as u32;
            domains.bounds.push((domains.states.len() as u32, states));
            domains.states.extend(0..states);
        }
        domains
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
        for variable in (0..graph.variables()).map(VariableId) {
            let likelihood = evidence.likelihood(variable);
            if likelihood.contains(&0.0) {
                domains.retain(variable, |state| likelihood[state as usize] > 0.0);
            }
        }
        Shrinking::new(graph, evidence).run(&mut domains);
        domains
    }

    /// The states a variable can still be in, in order.
    pub fn allowed(&self, variable: VariableId) -> &[u32] {
        let (start, len) = self.bounds[variable.0];
        &self.states[start as usize..(start + len) as usize]
    }

    /// How many states a variable can still be in.
    pub(super) fn left(&self, variable: VariableId) -> usize {
        self.bounds[variable.0].1 as usize
    }

    /// A variable that can be in no state at all, if there is one.
    pub fn empty(&self) -> Option<VariableId> {
        self.bounds.iter().position(|(_, len)| *len == 0).map(VariableId)
    }

    fn retain(&mut self, variable: VariableId, keep: impl Fn(u32) -> bool) {
        let (start, len) = self.bounds[variable.0];
        let states = &mut self.states[start as usize..(start + len) as usize];
        let mut left = 0;
        for at in 0..states.len() {
            if keep(states[at]) {
                states[left] = states[at];
                left += 1;
            }
        }
        self.bounds[variable.0].1 = left as u32;
    }
}

/// Propagation of what is excluded, from factor to factor.
pub(super) struct Shrinking<'a> {
    graph: &'a FactorGraph,
    evidence: &'a Evidence,
    /// The factors of each variable, one variable after the other, and where each begins.
    touching: Vec<u32>,
    starts: Vec<u32>,
    waiting: Vec<u32>,
    queued: Vec<bool>,
    /// Room for one factor: which states of its variables are supported, variable by variable, where
    /// each stands, and its stride in the table.
    seen: Vec<bool>,
    at: Vec<usize>,
    strides: Vec<usize>,
    lost: Vec<(VariableId, u32)>,
}

impl<'a> Shrinking<'a> {
    pub(super) fn new(graph: &'a FactorGraph, evidence: &'a Evidence) -> Self {
        let mut starts = vec![0u32; graph.variables() + 1];
        let mut count = 0;
        for factor in graph.factors() {
            graph.scope(factor).iter().for_each(|v| starts[v.0 + 1] += 1);
            count += 1;
        }
        for at in 1..starts.len() {
            starts[at] += starts[at - 1];
        }
        let mut next = starts.clone();
        let mut touching = vec![0; starts[graph.variables()] as usize];
        for factor in graph.factors() {
            for variable in graph.scope(factor) {
                touching[next[variable.0] as usize] = factor.0 as u32;
                next[variable.0] += 1;
            }
        }
        Shrinking {
            graph,
            evidence,
            touching,
            starts,
            waiting: Vec::new(),
            queued: vec![false; count],
            seen: Vec::new(),
            at: Vec::new(),
            strides: Vec::new(),
            lost: Vec::new(),
        }
    }

    fn run(mut self, domains: &mut Domains) {
        let mut complete = FxHashMap::default();
        for factor in self.graph.factors() {
            let full = |v: &VariableId| domains.left(*v) == self.graph.states(*v);
            let scope = self.graph.scope(factor);
            let all_full = scope.iter().all(full);
            let supported = match self.graph.source(factor) {
                Source::Table(table) if all_full => *complete.entry(table).or_insert_with(|| {
                    self.unsupported(factor, domains);
                    self.lost.is_empty()
                }),
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
        domains.retain(variable, |s| s == state);
        self.push_touching(variable);
        self.settle(domains) && domains.left(variable) > 0
    }

    fn push_touching(&mut self, variable: VariableId) {
        for at in self.starts[variable.0]..self.starts[variable.0 + 1] {
            self.push(FactorId(self.touching[at as usize] as usize));
        }
    }

    fn settle(&mut self, domains: &mut Domains) -> bool {
        while let Some(factor) = self.waiting.pop() {
            self.queued[factor as usize] = false;
            self.unsupported(FactorId(factor as usize), domains);
            while let Some((variable, state)) = self.lost.pop() {
                domains.retain(variable, |s| s != state);
                if domains.left(variable) == 0 {
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

    /// Notes the allowed states that no allowed combination of the factor supports.
    fn unsupported(&mut self, factor: FactorId, domains: &Domains) {
        let scope = self.graph.scope(factor);
        let values = match self.graph.source(factor) {
            Source::Table(table) => self.graph.values(table),
            Source::Slot(start) => &self.evidence.slots()[start..],
        };
        self.lost.clear();
        if scope.iter().any(|v| domains.left(*v) == 0) {
            return;
        }
        let states = |v: &VariableId| self.graph.states(*v);
        self.strides.clear();
        self.strides.resize(scope.len(), 1);
        for d in (1..scope.len()).rev() {
            self.strides[d - 1] = self.strides[d] * states(&scope[d]);
        }
        self.seen.clear();
        self.seen.resize(scope.iter().map(states).sum(), false);
        let mut first = 0;
        for (d, variable) in scope.iter().enumerate() {
            for own in 0..domains.left(*variable) {
                let state = domains.allowed(*variable)[own];
                if !self.seen[first + state as usize]
                    && !self.support(domains, scope, values, (d, own))
                {
                    self.lost.push((*variable, state));
                }
            }
            first += states(variable);
        }
    }

    /// Looks for an allowed combination in which a variable of the factor is in its own state of this
    /// place, and marks the states of all variables there as supported.
    fn support(
        &mut self,
        domains: &Domains,
        scope: &[VariableId],
        values: &[f64],
        (held, own): (usize, usize),
    ) -> bool {
        self.at.clear();
        self.at.resize(scope.len(), 0);
        self.at[held] = own;
        loop {
            let mut index = 0;
            for ((variable, at), stride) in scope.iter().zip(&self.at).zip(&self.strides) {
                index += domains.allowed(*variable)[*at] as usize * stride;
            }
            if values[index] > 0.0 {
                let mut first = 0;
                for (variable, at) in scope.iter().zip(&self.at) {
                    self.seen[first + domains.allowed(*variable)[*at] as usize] = true;
                    first += self.graph.states(*variable);
                }
                return true;
            }
            let more = |d: &usize| *d != held && self.at[*d] + 1 < domains.left(scope[*d]);
            let Some(turn) = (0..scope.len()).rev().find(more) else { return false };
            self.at[turn] += 1;
            for d in (turn + 1..scope.len()).filter(|d| *d != held) {
                self.at[d] = 0;
            }
        }
    }
}
