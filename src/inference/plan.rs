//! Planning: from a graph and its domains to a [`JunctionTree`].

use rustc_hash::FxHashMap;

use super::index_maps::IndexMaps;
use super::structure::{ByKey, Scopes, active, eliminate, needed};
use super::tree::{
    Bucket, Component, Constant, ConstantFrom, Cost, From, Group, Input, Load, LoadFrom, Planned,
};
use super::{Domains, EliminationOrder, JunctionTree, NoPlan};
use crate::network::{FactorGraph, FactorId, Source, TableId, VariableId};

pub(super) fn plan(
    graph: &FactorGraph,
    domains: &Domains,
    bytes: u64,
) -> Result<JunctionTree, NoPlan> {
    let active = active(graph, domains);
    let scopes = Scopes::new(graph, &active);
    let order = eliminate(graph, domains, &active, &scopes);
    let needed = needed(&order, domains).saturating_add(graph.bytes());
    if needed > bytes {
        return Err(NoPlan::TooLarge { needed });
    }
    Ok(in_order(graph, domains, &active, &scopes, order))
}

fn in_order(
    graph: &FactorGraph,
    domains: &Domains,
    active: &[bool],
    scopes: &Scopes,
    order: EliminationOrder,
) -> JunctionTree {
    let mut planner = Planner::new(graph, domains, &order);
    planner.buckets(order);
    let mut sorted = Vec::new();
    for (factor, scope) in graph.factors().zip(scopes.iter()) {
        sorted.clear();
        sorted.extend_from_slice(scope);
        planner.factor(factor, &mut sorted);
    }
    planner.finish(active)
}

struct Planner<'a> {
    graph: &'a FactorGraph,
    domains: &'a Domains,
    variables: Vec<Planned>,
    /// When each variable is eliminated.
    position: Vec<u32>,
    buckets: Vec<Bucket>,
    scopes: Vec<Vec<u32>>,
    groups: Vec<Group>,
    /// Each with the clique that takes it.
    inputs: Vec<(u32, Input)>,
    loads: Vec<Load>,
    constants: Vec<Constant>,
    maps: IndexMaps,
    pool: Vec<f64>,
    arena: usize,
    /// Number of each variable's list of allowed states: equal lists have equal numbers.
    list_of: Vec<u32>,
    /// By table, lists of its variables, and places of those in a clique: where its numbers begin,
    /// how many they are, and their lowest exponent.
    pooled: FxHashMap<Vec<u32>, (usize, usize, i32)>,
    /// Room for what is looked up there.
    key: Vec<u32>,
}

impl<'a> Planner<'a> {
    fn new(graph: &'a FactorGraph, domains: &'a Domains, order: &EliminationOrder) -> Self {
        let mut position = vec![u32::MAX; graph.variables()];
        for (at, variable) in order.order.iter().enumerate() {
            position[*variable as usize] = at as u32;
        }
        let mut lists: FxHashMap<&[u32], u32> = FxHashMap::default();
        let all = (0..graph.variables()).map(VariableId);
        let list_of = |variable: VariableId| {
            let next = lists.len() as u32;
            *lists.entry(domains.allowed(variable)).or_insert(next)
        };
        let planned = |v: VariableId| Planned { states: graph.states(v) as u32, bucket: None };
        Planner {
            graph,
            domains,
            variables: all.clone().map(planned).collect(),
            position,
            buckets: Vec::with_capacity(order.order.len()),
            scopes: Vec::with_capacity(order.order.len()),
            groups: Vec::with_capacity(order.order.len()),
            inputs: Vec::with_capacity(2 * order.order.len()),
            loads: Vec::with_capacity(order.order.len()),
            constants: Vec::new(),
            maps: IndexMaps::default(),
            pool: Vec::new(),
            arena: 0,
            list_of: all.map(list_of).collect(),
            pooled: FxHashMap::default(),
            key: Vec::new(),
        }
    }

    fn take(&mut self, len: usize) -> usize {
        self.arena += len;
        self.arena - len
    }

    fn card(&self, variable: u32) -> usize {
        self.domains.left(VariableId(variable as usize))
    }

    /// The table order: who is eliminated later comes first, so separators keep their order.
    fn sort(&self, scope: &mut [u32]) {
        scope.sort_unstable_by_key(|v| std::cmp::Reverse(self.position[*v as usize]));
    }

    fn buckets(&mut self, order: EliminationOrder) {
        for (at, (variable, mut scope)) in order.order.iter().zip(order.neighbours).enumerate() {
            self.sort(&mut scope);
            let rows = scope.iter().map(|v| self.card(*v)).product();
            let card = self.card(*variable);
            let (likelihood, marginal) = (self.take(card), self.take(card));
            let (table, belief) = (self.take(rows * card), self.take(rows * card));
            let message = self.take(rows);
            scope.push(*variable);
            self.scopes.push(scope);
            self.variables[*variable as usize].bucket = Some(at as u32);
            self.buckets.push(Bucket {
                card,
                rows,
                table,
                belief,
                message,
                likelihood,
                marginal,
                scope: (0, 0),
                inputs: (0, 0),
                below: (0, 0),
                above: None,
                copies: self.graph.copies(VariableId(*variable as usize)),
                component: 0,
                pool_exponent: 0,
                variable: VariableId(*variable as usize),
            });
            let variable = VariableId(*variable as usize);
            let all = card == self.graph.states(variable);
            self.loads.push(Load {
                bucket: at as u32,
                what: LoadFrom::Likelihood(variable),
                to: likelihood,
                raw: 0,
                index: if all { Vec::new() } else { self.domains.allowed(variable).to_vec() },
                len: card,
            });
        }
        self.separators();
    }

    /// Ties each clique to the one above it through a separator that its siblings share.
    fn separators(&mut self) {
        let scopes = std::mem::take(&mut self.scopes);
        let above = scopes.iter().map(|scope| match scope.as_slice() {
            [.., parent, _] => Some(self.position[*parent as usize]),
            _ => None,
        });
        let children = ByKey::new(above, scopes.len());
        let mut known: FxHashMap<&[u32], u32> = FxHashMap::default();
        for parent in 0..scopes.len() {
            let first = self.groups.len();
            known.clear();
            for child in children.of(parent) {
                let scope = &scopes[*child as usize];
                let separator = &scope[..scope.len() - 1];
                let group = match known.get(separator) {
                    Some(group) => *group,
                    None => {
                        let group = self.new_group(parent, &scopes[parent], separator);
                        known.insert(separator, group);
                        group
                    }
                };
                self.buckets[*child as usize].above = Some(group);
            }
            self.buckets[parent].below = (first, self.groups.len());
        }
        self.scopes = scopes;
    }

    fn new_group(&mut self, parent: usize, scope: &[u32], separator: &[u32]) -> u32 {
        let size = separator.iter().map(|v| self.card(*v)).product();
        let (up, down) = (self.take(size), self.take(size));
        let domains = self.domains;
        let card = |v: u32| domains.left(VariableId(v as usize));
        let map = self.maps.map(scope, separator, &card);
        let group = self.groups.len() as u32;
        self.groups.push(Group { size, parent: parent as u32, members: (0, 0), up, down, map });
        self.inputs.push((parent as u32, Input { from: From::Group(group), map, len: size }));
        group
    }

    /// Gives a factor to the clique of its first variable.
    fn factor(&mut self, factor: FactorId, scope: &mut [u32]) {
        let source = self.graph.source(factor);
        self.sort(scope);
        let Some(last) = scope.last() else {
            self.constant(factor, source);
            return;
        };
        let bucket = self.position[*last as usize] as usize;
        let domains = self.domains;
        let card = |v: u32| domains.left(VariableId(v as usize));
        let map = self.maps.map(&self.scopes[bucket], scope, &card);
        let (from, len) = match source {
            Source::Table(table) => {
                let (start, len, exponent) = self.pooled(factor, table, scope);
                self.buckets[bucket].pool_exponent += exponent;
                (From::Pool(start), len)
            }
            Source::Slot(start) => {
                let index = self.restricted(factor, scope);
                let len = index.len();
                let to = self.take(len);
                let what = LoadFrom::Slot(start);
                self.loads.push(Load { bucket: bucket as u32, what, to, raw: 0, index, len });
                (From::Arena(to), len)
            }
        };
        self.inputs.push((bucket as u32, Input { from, map, len }));
    }

    fn constant(&mut self, factor: FactorId, source: Source) {
        let index = self.restricted(factor, &[])[0] as usize;
        let value = match source {
            Source::Table(table) => ConstantFrom::Number(self.graph.values(table)[index]),
            Source::Slot(start) => ConstantFrom::Slot(start + index),
        };
        let at = self.graph.scope(factor).first().copied().unwrap_or(VariableId(0));
        self.constants.push(Constant { value, at });
    }

    /// A shared table restricted to the states that are left, in table order; made once.
    fn pooled(&mut self, factor: FactorId, table: TableId, scope: &[u32]) -> (usize, usize, i32) {
        let of = self.graph.scope(factor);
        let lists = of.iter().map(|v| self.list_of[v.0]);
        let places =
            scope.iter().map(|v| of.iter().position(|o| o.0 == *v as usize).unwrap_or(0) as u32);
        self.key.clear();
        self.key.push(table.0 as u32);
        self.key.extend(lists.chain(places));
        if let Some(known) = self.pooled.get(self.key.as_slice()) {
            return *known;
        }
        let index = self.restricted(factor, scope);
        let start = self.pool.len();
        let values = self.graph.values(table);
        self.pool.extend(index.iter().map(|at| values[*at as usize]));
        let made = (start, index.len(), super::passes::lowest_exponent(&self.pool[start..]));
        self.pooled.insert(self.key.clone(), made);
        made
    }

    /// Positions in the full table of a factor, for each combination of allowed states of `scope`.
    fn restricted(&self, factor: FactorId, scope: &[u32]) -> Vec<u32> {
        let of = self.graph.scope(factor);
        let mut stride = 1u32;
        let mut strides = vec![0u32; of.len()];
        for (at, variable) in of.iter().enumerate().rev() {
            strides[at] = stride;
            stride *= self.graph.states(*variable) as u32;
        }
        let outside = |v: &&VariableId| !scope.contains(&(v.0 as u32));
        let fixed = of.iter().zip(&strides).filter(|(v, _)| outside(v));
        let base = fixed.map(|(v, stride)| self.domains.allowed(*v)[0] * stride).sum();
        let mut index = vec![base];
        for variable in scope {
            let place = of.iter().position(|o| o.0 == *variable as usize).unwrap_or(0);
            let states = self.domains.allowed(VariableId(*variable as usize));
            let step = |at: &u32| {
                let at = *at;
                let stride = strides[place];
                states.iter().map(move |state| at + state * stride).collect::<Vec<u32>>()
            };
            index = index.iter().flat_map(step).collect();
        }
        index
    }

    fn finish(mut self, active: &[bool]) -> JunctionTree {
        for v in (0..active.len()).filter(|v| !active[*v]).map(VariableId) {
            let value = ConstantFrom::Likelihood(v, self.domains.allowed(v)[0]);
            self.constants.push(Constant { value, at: v });
        }
        let by_clique =
            ByKey::new(self.inputs.iter().map(|(clique, _)| Some(*clique)), self.buckets.len());
        let mut scopes = Vec::with_capacity(self.scopes.iter().map(Vec::len).sum());
        for (at, (bucket, scope)) in self.buckets.iter_mut().zip(&self.scopes).enumerate() {
            bucket.inputs = by_clique.bounds(at);
            let start = scopes.len();
            scopes.extend(scope.iter().map(|v| VariableId(*v as usize)));
            bucket.scope = (start, scopes.len());
        }
        let inputs = by_clique.positions();
        let inputs = inputs.iter().map(|at| self.inputs[*at as usize].1).collect();
        let members = members(&self.buckets, &mut self.groups);
        let components = split(&mut self.buckets, &self.groups, &mut self.loads);
        let mut raw_len = 0;
        for load in &mut self.loads {
            load.raw = raw_len;
            raw_len += load.len;
        }
        JunctionTree {
            cost: cost(&self.buckets, &self.maps),
            domains: self.domains.clone(),
            variables: self.variables,
            scopes,
            buckets: self.buckets,
            groups: self.groups,
            inputs,
            members,
            loads: self.loads,
            constants: self.constants,
            components,
            maps: self.maps,
            pool: self.pool,
            arena_len: self.arena,
            raw_len,
        }
    }
}

/// The cliques below each separator, one separator after the other.
fn members(buckets: &[Bucket], groups: &mut [Group]) -> Vec<u32> {
    let by_group = ByKey::new(buckets.iter().map(|bucket| bucket.above), groups.len());
    for (at, group) in groups.iter_mut().enumerate() {
        group.members = by_group.bounds(at);
    }
    by_group.positions()
}

/// Numbers the components and puts the loads of each next to each other.
fn split(buckets: &mut [Bucket], groups: &[Group], loads: &mut [Load]) -> Vec<Component> {
    // Walked from the last clique down, so that the clique above is numbered first. Cliques of
    // one component stand next to each other.
    let mut roots = 0;
    for at in (0..buckets.len()).rev() {
        buckets[at].component = match buckets[at].above {
            Some(group) => buckets[groups[group as usize].parent as usize].component,
            None => {
                roots += 1;
                roots - 1
            }
        };
    }
    let none = (usize::MAX, 0);
    let empty = Component { buckets: none, loads: none, multiplications: 0 };
    let mut components = vec![empty; roots as usize];
    for (at, bucket) in buckets.iter().enumerate() {
        let component = &mut components[bucket.component as usize];
        component.buckets = (component.buckets.0.min(at), component.buckets.1.max(at + 1));
        component.multiplications += bucket.multiplications();
    }
    loads.sort_by_key(|load| buckets[load.bucket as usize].component);
    for (at, load) in loads.iter().enumerate() {
        let component = buckets[load.bucket as usize].component as usize;
        let range = &mut components[component].loads;
        *range = (range.0.min(at), range.1.max(at + 1));
    }
    components
}

fn cost(buckets: &[Bucket], maps: &IndexMaps) -> Cost {
    let size = |bucket: &Bucket| bucket.rows * bucket.card;
    Cost {
        entries: buckets.iter().map(size).sum::<usize>() + maps.entries(),
        largest_table: buckets.iter().map(size).max().unwrap_or(0),
        largest_clique: buckets.iter().map(|b| b.scope.1 - b.scope.0).max().unwrap_or(0),
        multiplications: buckets.iter().map(Bucket::multiplications).sum(),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::{Rng, SeedableRng};

    use super::*;
    use crate::network::Evidence;

    /// A ring of variables with chords, and numbers that differ by orders of magnitude.
    fn network(dice: &mut ChaCha8Rng, length: usize) -> (FactorGraph, Evidence) {
        let mut graph = FactorGraph::default();
        let all: Vec<VariableId> =
            (0..length).map(|_| graph.variable(2 + dice.next_u32() as usize % 3)).collect();
        let mut number =
            || f64::from(1 + dice.next_u32() % 999) * 10f64.powi((dice.next_u32() % 5) as i32);
        for at in 0..length {
            let near = [all[at], all[(at + 1) % length], all[(at + 3) % length]];
            let scope = if at % 3 == 0 { &near[..] } else { &near[..2] };
            let table = (0..graph.size(scope)).map(|_| number()).collect();
            let table = graph.table(table);
            graph.factor(scope, table);
        }
        let mut evidence = Evidence::neutral(&graph);
        evidence.likelihood_mut(all[1])[0] = 0.0;
        evidence.likelihood_mut(all[2])[1] = 1e-9;
        (graph, evidence)
    }

    /// Always the variable with the fewest neighbours, of several the last: not by fill, nor by size.
    fn fewest_neighbours(active: &[bool], scopes: &Scopes) -> EliminationOrder {
        let mut near = vec![BTreeSet::new(); active.len()];
        for scope in scopes.iter() {
            for a in scope {
                near[*a as usize].extend(scope.iter().copied().filter(|b| b != a));
            }
        }
        let mut left: Vec<u32> =
            (0..active.len()).filter(|v| active[*v]).map(|v| v as u32).collect();
        let mut result = EliminationOrder::default();
        while let Some((at, next)) =
            left.iter().copied().enumerate().rev().min_by_key(|(_, v)| near[*v as usize].len())
        {
            left.remove(at);
            let own = std::mem::take(&mut near[next as usize]);
            for a in &own {
                near[*a as usize].remove(&next);
                near[*a as usize].extend(own.iter().copied().filter(|b| b != a));
            }
            result.order.push(next);
            result.neighbours.push(own.into_iter().collect());
        }
        result
    }

    #[test]
    fn another_order_of_elimination_gives_the_same_answer() {
        let mut dice = ChaCha8Rng::seed_from_u64(3);
        for length in [5, 12, 40, 150] {
            let (graph, evidence) = network(&mut dice, length);
            let domains = Domains::shrink(&graph, &evidence);
            let active = active(&graph, &domains);
            let scopes = Scopes::new(&graph, &active);
            let order = fewest_neighbours(&active, &scopes);
            let usual = plan(&graph, &domains, u64::MAX).expect("small");
            let other = in_order(&graph, &domains, &active, &scopes, order);
            let first =
                |tree: &JunctionTree| tree.cliques().map(|c| c.variable).collect::<Vec<_>>();
            assert_ne!(first(&usual), first(&other));
            let [usual, other] =
                [&usual, &other].map(|tree| tree.calibrate(&evidence).expect("possible"));
            let logs = [&usual, &other].map(|run| run.log_evidence().ln());
            assert!((logs[0] - logs[1]).abs() < 1e-12 * logs[0].abs(), "{logs:?}");
            for v in (0..length).map(VariableId) {
                for (one, two) in usual.marginal(v).iter().zip(other.marginal(v)) {
                    assert!((one - two).abs() < 1e-12, "{v:?}: {one} {two}");
                }
            }
        }
    }
}
