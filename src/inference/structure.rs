//! Who meets whom: the interactions of the variables, and in which order that is taken apart.

use super::order::{min_fill, min_fill_within};
use super::tree::Planned;
use super::{Domains, EliminationOrder};
use crate::network::{FactorGraph, FactorId, VariableId};

/// METHOD: a variable that stands for copies keeps its clique even with one state left, since its
/// message is to be raised to a power.
pub(super) fn active(graph: &FactorGraph, variables: &[Planned]) -> Vec<bool> {
    let is = |v: usize| variables[v].allowed.len() > 1 || graph.copies(VariableId(v)) > 1;
    (0..variables.len()).map(is).collect()
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
    let variables = planned(graph, domains);
    let active = active(graph, &variables);
    let scopes: Vec<Vec<u32>> = graph.factors().map(|f| active_scope(graph, f, &active)).collect();
    let (adjacent, sizes, copied) = interactions(graph, &variables, &active, &scopes);
    let rank = &mut |v: u32| rank(VariableId(v as usize));
    let (order, taken) = min_fill_within(adjacent, &sizes, &copied, most, rank);
    let bytes = needed(&order, &variables).saturating_add(graph.bytes());
    (taken.into_iter().map(|v| VariableId(v as usize)).collect(), bytes)
}

/// Bytes of the products and beliefs of all cliques and their index maps, before any is made.
pub(super) fn needed(order: &EliminationOrder, variables: &[Planned]) -> u64 {
    const ENTRY: u64 = (2 * size_of::<f64>() + size_of::<u32>()) as u64;
    let card = |v: &u32| variables[*v as usize].allowed.len() as u64;
    let table = |(variable, near): (&u32, &Vec<u32>)| {
        near.iter().fold(card(variable), |size, v| size.saturating_mul(card(v)))
    };
    let tables = order.order.iter().zip(&order.neighbours).map(table);
    tables.fold(0, u64::saturating_add).saturating_mul(ENTRY)
}

/// The variables with the states that are left.
pub(super) fn planned(graph: &FactorGraph, domains: &Domains) -> Vec<Planned> {
    let one = |v| Planned {
        states: graph.states(VariableId(v)),
        allowed: domains.allowed(VariableId(v)).to_vec(),
        bucket: None,
    };
    (0..graph.variables()).map(one).collect()
}

/// The variables of a factor that are not settled.
pub(super) fn active_scope(graph: &FactorGraph, factor: FactorId, active: &[bool]) -> Vec<u32> {
    graph.scope(factor).iter().filter(|v| active[v.0]).map(|v| v.0 as u32).collect()
}

/// The order of elimination, each component's variables next to each other.
pub(super) fn eliminate(
    graph: &FactorGraph,
    variables: &[Planned],
    active: &[bool],
    scopes: &[Vec<u32>],
) -> EliminationOrder {
    let (adjacent, sizes, copied) = interactions(graph, variables, active, scopes);
    let component = components(&adjacent);
    let order = min_fill(adjacent, &sizes, &copied);
    let mut by_component: Vec<usize> = (0..order.order.len()).collect();
    by_component.sort_by_key(|at| component[order.order[*at] as usize]);
    EliminationOrder {
        order: by_component.iter().map(|at| order.order[*at]).collect(),
        neighbours: by_component.iter().map(|at| order.neighbours[*at].clone()).collect(),
    }
}

/// The neighbours of each variable, its number of states (0: left out), and those that stand for
/// copies.
fn interactions(
    graph: &FactorGraph,
    variables: &[Planned],
    active: &[bool],
    scopes: &[Vec<u32>],
) -> (Vec<Vec<u32>>, Vec<usize>, Vec<u32>) {
    let mut adjacent: Vec<Vec<u32>> = vec![Vec::new(); variables.len()];
    for scope in scopes {
        for a in scope {
            adjacent[*a as usize].extend(scope.iter().filter(|b| *b != a));
        }
    }
    for near in &mut adjacent {
        near.sort_unstable();
        near.dedup();
    }
    let sizes: Vec<usize> = variables
        .iter()
        .zip(active)
        .map(|(variable, active)| if *active { variable.allowed.len() } else { 0 })
        .collect();
    let copied: Vec<u32> = (0..variables.len() as u32)
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
