//! Planning: from a graph and its domains to a [`JunctionTree`].

use rustc_hash::FxHashMap;

use super::index_maps::IndexMaps;
use super::structure::{active, active_scope, eliminate, needed, planned};
use super::tree::{
    Bucket, Clique, Component, Constant, ConstantFrom, Cost, From, Group, Input, Load, LoadFrom,
    Planned,
};
use super::{Domains, EliminationOrder, JunctionTree, NoPlan};
use crate::network::{FactorGraph, FactorId, Source, TableId, VariableId};

pub(super) fn plan(
    graph: &FactorGraph,
    domains: &Domains,
    bytes: u64,
) -> Result<JunctionTree, NoPlan> {
    let variables = planned(graph, domains);
    let active = active(graph, &variables);
    let scopes: Vec<Vec<u32>> = graph.factors().map(|f| active_scope(graph, f, &active)).collect();
    let order = eliminate(graph, &variables, &active, &scopes);
    let needed = needed(&order, &variables).saturating_add(graph.bytes());
    if needed > bytes {
        return Err(NoPlan::TooLarge { needed });
    }
    let mut planner = Planner::new(graph, variables, &order);
    planner.buckets(&order);
    for (factor, scope) in graph.factors().zip(scopes) {
        planner.factor(factor, scope);
    }
    Ok(planner.finish(&active))
}

struct Planner<'a> {
    graph: &'a FactorGraph,
    variables: Vec<Planned>,
    /// When each variable is eliminated.
    position: Vec<u32>,
    buckets: Vec<Bucket>,
    scopes: Vec<Vec<u32>>,
    groups: Vec<Group>,
    inputs: Vec<Vec<Input>>,
    loads: Vec<Load>,
    constants: Vec<Constant>,
    maps: IndexMaps,
    pool: Vec<f64>,
    arena: usize,
    /// Number of each variable's list of allowed states: equal lists have equal numbers.
    list_of: Vec<u32>,
    pooled: FxHashMap<(TableId, Vec<u32>), (usize, usize, i32)>,
}

impl<'a> Planner<'a> {
    fn new(graph: &'a FactorGraph, variables: Vec<Planned>, order: &EliminationOrder) -> Self {
        let mut position = vec![u32::MAX; variables.len()];
        for (at, variable) in order.order.iter().enumerate() {
            position[*variable as usize] = at as u32;
        }
        let mut lists: FxHashMap<Vec<u32>, u32> = FxHashMap::default();
        let list_of = variables
            .iter()
            .map(|planned| {
                let next = lists.len() as u32;
                match lists.get(&planned.allowed) {
                    Some(known) => *known,
                    None => *lists.entry(planned.allowed.clone()).or_insert(next),
                }
            })
            .collect();
        Planner {
            graph,
            variables,
            position,
            buckets: Vec::with_capacity(order.order.len()),
            scopes: Vec::with_capacity(order.order.len()),
            groups: Vec::new(),
            inputs: vec![Vec::new(); order.order.len()],
            loads: Vec::new(),
            constants: Vec::new(),
            maps: IndexMaps::default(),
            pool: Vec::new(),
            arena: 0,
            list_of,
            pooled: FxHashMap::default(),
        }
    }

    fn take(&mut self, len: usize) -> usize {
        self.arena += len;
        self.arena - len
    }

    fn card(&self, variable: u32) -> usize {
        self.variables[variable as usize].allowed.len()
    }

    /// The table order: who is eliminated later comes first, so separators keep their order.
    fn sort(&self, scope: &mut [u32]) {
        scope.sort_unstable_by_key(|v| std::cmp::Reverse(self.position[*v as usize]));
    }

    fn buckets(&mut self, order: &EliminationOrder) {
        for (at, (variable, near)) in order.order.iter().zip(&order.neighbours).enumerate() {
            let mut scope = near.clone();
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
                inputs: (0, 0),
                below: (0, 0),
                above: None,
                copies: self.graph.copies(VariableId(*variable as usize)),
                component: 0,
                pool_exponent: 0,
                variable: VariableId(*variable as usize),
            });
            let planned = &self.variables[*variable as usize];
            let all = planned.allowed.len() == planned.states;
            self.loads.push(Load {
                bucket: at as u32,
                what: LoadFrom::Likelihood(VariableId(*variable as usize)),
                to: likelihood,
                raw: 0,
                index: if all { Vec::new() } else { planned.allowed.clone() },
                len: card,
            });
        }
        self.separators();
    }

    /// Ties each clique to the one above it through a separator that its siblings share.
    fn separators(&mut self) {
        let mut by_parent: Vec<Vec<(u32, u32)>> = vec![Vec::new(); self.buckets.len()];
        for at in 0..self.buckets.len() {
            let scope = &self.scopes[at];
            if let [.., parent, _] = scope.as_slice() {
                by_parent[self.position[*parent as usize] as usize].push((at as u32, 0));
            }
        }
        for (parent, children) in by_parent.iter().enumerate() {
            let first = self.groups.len();
            let mut known: FxHashMap<Vec<u32>, u32> = FxHashMap::default();
            for (child, _) in children {
                let scope = self.scopes[*child as usize].clone();
                let separator = &scope[..scope.len() - 1];
                let group = match known.get(separator) {
                    Some(group) => *group,
                    None => {
                        let group = self.new_group(parent, separator);
                        known.insert(separator.to_vec(), group);
                        group
                    }
                };
                self.buckets[*child as usize].above = Some(group);
            }
            self.buckets[parent].below = (first, self.groups.len());
        }
    }

    fn new_group(&mut self, parent: usize, separator: &[u32]) -> u32 {
        let size = separator.iter().map(|v| self.card(*v)).product();
        let (up, down) = (self.take(size), self.take(size));
        let variables = &self.variables;
        let card = |v: u32| variables[v as usize].allowed.len();
        let map = self.maps.map(&self.scopes[parent], separator, &card);
        let group = self.groups.len() as u32;
        self.groups.push(Group { size, parent: parent as u32, members: (0, 0), up, down, map });
        self.inputs[parent].push(Input { from: From::Group(group), map, len: size });
        group
    }

    /// Gives a factor to the clique of its first variable.
    fn factor(&mut self, factor: FactorId, mut scope: Vec<u32>) {
        let source = self.graph.source(factor);
        self.sort(&mut scope);
        let Some(last) = scope.last() else {
            self.constant(factor, source);
            return;
        };
        let bucket = self.position[*last as usize] as usize;
        let variables = &self.variables;
        let card = |v: u32| variables[v as usize].allowed.len();
        let map = self.maps.map(&self.scopes[bucket], &scope, &card);
        let (from, len) = match source {
            Source::Table(table) => {
                let (start, len, exponent) = self.pooled(factor, table, &scope);
                self.buckets[bucket].pool_exponent += exponent;
                (From::Pool(start), len)
            }
            Source::Slot(start) => {
                let index = self.restricted(factor, &scope);
                let len = index.len();
                let to = self.take(len);
                let what = LoadFrom::Slot(start);
                self.loads.push(Load { bucket: bucket as u32, what, to, raw: 0, index, len });
                (From::Arena(to), len)
            }
        };
        self.inputs[bucket].push(Input { from, map, len });
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
        let key = (table, lists.chain(places).collect::<Vec<u32>>());
        if let Some(known) = self.pooled.get(&key) {
            return *known;
        }
        let index = self.restricted(factor, scope);
        let start = self.pool.len();
        let values = self.graph.values(table);
        self.pool.extend(index.iter().map(|at| values[*at as usize]));
        let made = (start, index.len(), super::passes::lowest_exponent(&self.pool[start..]));
        self.pooled.insert(key, made);
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
        let base = fixed.map(|(v, stride)| self.variables[v.0].allowed[0] * stride).sum();
        let mut index = vec![base];
        for variable in scope {
            let place = of.iter().position(|o| o.0 == *variable as usize).unwrap_or(0);
            let states = &self.variables[*variable as usize].allowed;
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
        for (v, planned) in self.variables.iter().enumerate().filter(|(v, _)| !active[*v]) {
            let value = ConstantFrom::Likelihood(VariableId(v), planned.allowed[0]);
            self.constants.push(Constant { value, at: VariableId(v) });
        }
        let above = self.groups_above();
        let mut inputs = Vec::new();
        for (bucket, own) in self.buckets.iter_mut().zip(self.inputs) {
            bucket.inputs = (inputs.len(), inputs.len() + own.len());
            inputs.extend(own);
        }
        let members = members(&self.buckets, &mut self.groups);
        let components = split(&mut self.buckets, &above, &mut self.loads);
        let mut raw_len = 0;
        for load in &mut self.loads {
            load.raw = raw_len;
            raw_len += load.len;
        }
        let cost = cost(&self.buckets, &self.scopes, &self.maps);
        let clique = |scope: &Vec<u32>| {
            let mut scope: Vec<VariableId> =
                scope.iter().map(|v| VariableId(*v as usize)).collect();
            let variable = scope.pop().unwrap_or(VariableId(0));
            Clique { variable, separator: scope }
        };
        JunctionTree {
            cliques: self.scopes.iter().map(clique).collect(),
            variables: self.variables,
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
            cost,
        }
    }

    /// The clique above each clique, if any.
    fn groups_above(&self) -> Vec<Option<u32>> {
        let above = |scope: &Vec<u32>| match scope.as_slice() {
            [.., parent, _] => Some(self.position[*parent as usize]),
            _ => None,
        };
        self.scopes.iter().map(above).collect()
    }
}

/// The cliques below each separator, one separator after the other.
fn members(buckets: &[Bucket], groups: &mut [Group]) -> Vec<u32> {
    let mut by_group: Vec<Vec<u32>> = vec![Vec::new(); groups.len()];
    for (at, bucket) in buckets.iter().enumerate() {
        if let Some(above) = bucket.above {
            by_group[above as usize].push(at as u32);
        }
    }
    let mut members = Vec::with_capacity(buckets.len());
    for (group, own) in groups.iter_mut().zip(by_group) {
        group.members = (members.len(), members.len() + own.len());
        members.extend(own);
    }
    members
}

/// Numbers the components and puts the loads of each next to each other.
fn split(buckets: &mut [Bucket], above: &[Option<u32>], loads: &mut [Load]) -> Vec<Component> {
    // Walked from the last clique down, so that the clique above is numbered first. Cliques of
    // one component stand next to each other.
    let mut roots = 0;
    for at in (0..buckets.len()).rev() {
        buckets[at].component = match above[at] {
            Some(parent) => buckets[parent as usize].component,
            None => {
                roots += 1;
                roots - 1
            }
        };
    }
    let mut components =
        vec![Component { buckets: (usize::MAX, 0), loads: (usize::MAX, 0) }; roots as usize];
    for (at, bucket) in buckets.iter().enumerate() {
        let component = &mut components[bucket.component as usize].buckets;
        *component = (component.0.min(at), component.1.max(at + 1));
    }
    loads.sort_by_key(|load| buckets[load.bucket as usize].component);
    for (at, load) in loads.iter().enumerate() {
        let component = buckets[load.bucket as usize].component as usize;
        let range = &mut components[component].loads;
        *range = (range.0.min(at), range.1.max(at + 1));
    }
    components
}

fn cost(buckets: &[Bucket], scopes: &[Vec<u32>], maps: &IndexMaps) -> Cost {
    let size = |bucket: &Bucket| bucket.rows * bucket.card;
    let inputs =
        |bucket: &Bucket| bucket.inputs.1 - bucket.inputs.0 + bucket.below.1 - bucket.below.0;
    Cost {
        entries: buckets.iter().map(size).sum::<usize>() + maps.entries(),
        largest_table: buckets.iter().map(size).max().unwrap_or(0),
        largest_clique: scopes.iter().map(Vec::len).max().unwrap_or(0),
        multiplications: buckets.iter().map(|b| size(b) * (inputs(b) + 2)).sum(),
    }
}
