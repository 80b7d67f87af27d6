//! Who meets whom: the interactions of the variables, and in which order that is taken apart.

use super::order::{min_fill, min_fill_within};
use super::{Domains, EliminationOrder};
use crate::network::{FactorGraph, VariableId};

/// METHOD: a variable that stands for copies keeps its clique even with one state left, since its
/// message is to be raised to a power.
pub(super) fn active(graph: &FactorGraph, domains: &Domains) -> Vec<bool> {
    let is = |v: VariableId| domains.left(v) > 1 || graph.copies(v) > 1;
    (0..graph.variables()).map(VariableId).map(is).collect()
}

/// The variables of each factor that are not settled, one factor after the other.
pub(super) struct Scopes {
    variables: Vec<u32>,
    starts: Vec<u32>,
}

impl Scopes {
    pub(super) fn new(graph: &FactorGraph, active: &[bool]) -> Self {
        let mut scopes = Scopes { variables: Vec::new(), starts: vec![0] };
        for factor in graph.factors() {
            let left = graph.scope(factor).iter().filter(|v| active[v.0]);
            scopes.variables.extend(left.map(|v| v.0 as u32));
            scopes.starts.push(scopes.variables.len() as u32);
        }
        scopes
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &[u32]> {
        self.starts.windows(2).map(|ends| &self.variables[ends[0] as usize..ends[1] as usize])
    }
}

/// Positions by a key, those of one key next to each other and in order.
pub(super) struct ByKey {
    starts: Vec<u32>,
    positions: Vec<u32>,
}

impl ByKey {
    /// Sorts the positions of `keys`, each below `number`; those without a key are left out.
    pub(super) fn new(keys: impl Iterator<Item = Option<u32>> + Clone, number: usize) -> Self {
        let mut starts = vec![0u32; number + 1];
        for key in keys.clone().flatten() {
            starts[key as usize + 1] += 1;
        }
        for at in 1..starts.len() {
            starts[at] += starts[at - 1];
        }
        let mut next = starts.clone();
        let mut positions = vec![0; starts[number] as usize];
        for (at, key) in keys.enumerate() {
            if let Some(key) = key {
                positions[next[key as usize] as usize] = at as u32;
                next[key as usize] += 1;
            }
        }
        ByKey { starts, positions }
    }

    /// The bounds of a key among all positions.
    pub(super) fn bounds(&self, key: usize) -> (usize, usize) {
        (self.starts[key] as usize, self.starts[key + 1] as usize)
    }

    /// The positions of a key.
    pub(super) fn of(&self, key: usize) -> &[u32] {
        let (first, last) = self.bounds(key);
        &self.positions[first..last]
    }

    /// All positions, key by key.
    pub(super) fn positions(self) -> Vec<u32> {
        self.positions
    }
}

/// Variables that, if their states were known, would leave no table of more than `most` entries;
/// among those of a table that is too large the one of highest `rank` is chosen. Gives also the
/// bytes that all tables together would take then.
pub(super) fn loop_breakers(
    graph: &FactorGraph,
    domains: &Domains,
    most: u64,
    rank: &mut dyn FnMut(VariableId) -> u64,
) -> (Vec<VariableId>, u64) {
    let active = active(graph, domains);
    let scopes = Scopes::new(graph, &active);
    let (adjacent, sizes, copied) = interactions(graph, domains, &active, &scopes);
    let rank = &mut |v: u32| rank(VariableId(v as usize));
    let (order, taken) = min_fill_within(adjacent, &sizes, &copied, most, rank);
    let bytes = needed(&order, domains).saturating_add(graph.bytes());
    (taken.into_iter().map(|v| VariableId(v as usize)).collect(), bytes)
}

/// Bytes of the products and beliefs of all cliques and their index maps, before any is made.
pub(super) fn needed(order: &EliminationOrder, domains: &Domains) -> u64 {
    const ENTRY: u64 = (2 * size_of::<f64>() + size_of::<u32>()) as u64;
    let card = |v: &u32| domains.left(VariableId(*v as usize)) as u64;
    let table = |(variable, near): (&u32, &Vec<u32>)| {
        near.iter().fold(card(variable), |size, v| size.saturating_mul(card(v)))
    };
    let tables = order.order.iter().zip(&order.neighbours).map(table);
    tables.fold(0, u64::saturating_add).saturating_mul(ENTRY)
}

/// The order of elimination, each component's variables next to each other.
pub(super) fn eliminate(
    graph: &FactorGraph,
    domains: &Domains,
    active: &[bool],
    scopes: &Scopes,
) -> EliminationOrder {
    let (adjacent, sizes, copied) = interactions(graph, domains, active, scopes);
    let component = components(&adjacent);
    let mut order = min_fill(adjacent, &sizes, &copied);
    let mut by_component: Vec<usize> = (0..order.order.len()).collect();
    by_component.sort_by_key(|at| component[order.order[*at] as usize]);
    EliminationOrder {
        order: by_component.iter().map(|at| order.order[*at]).collect(),
        neighbours: by_component
            .iter()
            .map(|at| std::mem::take(&mut order.neighbours[*at]))
            .collect(),
    }
}

/// The neighbours of each variable, its number of states (0: left out), and those that stand for
/// copies.
fn interactions(
    graph: &FactorGraph,
    domains: &Domains,
    active: &[bool],
    scopes: &Scopes,
) -> (Vec<Vec<u32>>, Vec<usize>, Vec<u32>) {
    let mut adjacent: Vec<Vec<u32>> = vec![Vec::new(); graph.variables()];
    for scope in scopes.iter() {
        for a in scope {
            adjacent[*a as usize].extend(scope.iter().filter(|b| *b != a));
        }
    }
    for near in &mut adjacent {
        near.sort_unstable();
        near.dedup();
    }
    let size = |v: usize| if active[v] { domains.left(VariableId(v)) } else { 0 };
    let sizes: Vec<usize> = (0..graph.variables()).map(size).collect();
    let copied: Vec<u32> = (0..graph.variables() as u32)
        .filter(|v| active[*v as usize] && graph.copies(VariableId(*v as usize)) > 1)
        .collect();
    (adjacent, sizes, copied)
}

fn components(adjacent: &[Vec<u32>]) -> Vec<u32> {
    let mut component = vec![u32::MAX; adjacent.len()];
    let mut stack = Vec::new();
    for start in 0..adjacent.len() {
        if component[start] != u32::MAX {
            continue;
        }
        component[start] = start as u32;
        stack.push(start);
        while let Some(at) = stack.pop() {
            for near in &adjacent[at] {
                if component[*near as usize] == u32::MAX {
                    component[*near as usize] = start as u32;
                    stack.push(*near as usize);
                }
            }
        }
    }
    component
}
