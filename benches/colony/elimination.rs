//! Plain variable elimination on one part of a network: dense tables, one query at a time.
//!
//! The baseline of a textbook. It is given the states that are left of each variable, as the tree is.

use std::collections::{BTreeSet, HashMap};

use proveout::inference::Domains;
use proveout::network::{Evidence, FactorGraph, FactorId, Source, VariableId};

/// A product with more entries is not made.
const LARGEST: usize = 1 << 27;

/// A table over variables of the part, the first slowest.
struct Table {
    scope: Vec<usize>,
    values: Vec<f64>,
}

/// Variables that hang together, their tables, and an order in which to sum them out.
pub struct Part {
    place: HashMap<VariableId, usize>,
    states: Vec<usize>,
    copies: Vec<u32>,
    tables: Vec<Table>,
    touching: Vec<Vec<usize>>,
    order: Vec<usize>,
}

impl Part {
    pub fn new(
        graph: &FactorGraph,
        evidence: &Evidence,
        domains: &Domains,
        variables: Vec<VariableId>,
        factors: &[FactorId],
    ) -> Self {
        let place: HashMap<VariableId, usize> =
            variables.iter().enumerate().map(|(at, variable)| (*variable, at)).collect();
        let states = variables.iter().map(|v| domains.allowed(*v).len()).collect();
        let copies: Vec<u32> = variables.iter().map(|v| graph.copies(*v)).collect();
        let likelihood = |(at, variable): (usize, &VariableId)| {
            let all = evidence.likelihood(*variable);
            let values = domains.allowed(*variable).iter().map(|state| all[*state as usize]);
            Table { scope: vec![at], values: values.collect() }
        };
        let mut tables: Vec<Table> = variables.iter().enumerate().map(likelihood).collect();
        tables.extend(factors.iter().map(|f| restricted(graph, evidence, domains, &place, *f)));
        let mut touching = vec![Vec::new(); variables.len()];
        for (at, table) in tables.iter().enumerate() {
            table.scope.iter().for_each(|variable| touching[*variable].push(at));
        }
        let order = fewest_fill_ins(&tables, &copies);
        Part { place, states, copies, tables, touching, order }
    }

    /// The posterior of the states that are left of a variable; `None` when a table is too large.
    pub fn query(&self, variable: VariableId) -> Option<Vec<f64>> {
        let asked = self.place[&variable];
        let mut touching = self.touching.clone();
        let mut used = vec![false; self.tables.len()];
        let mut made: Vec<Table> = Vec::new();
        let mut step = |summed: usize, copies: u32, keep: bool| {
            let of =
                |at: &usize| self.tables.get(*at).unwrap_or_else(|| &made[at - self.tables.len()]);
            let mine: Vec<usize> =
                touching[summed].iter().copied().filter(|at| !used[*at]).collect();
            let mine_tables: Vec<&Table> = mine.iter().map(of).collect();
            let message = self.message(summed, &mine_tables, copies)?;
            if !keep {
                mine.iter().for_each(|at| used[*at] = true);
            }
            let at = used.len();
            message.scope.iter().for_each(|near| touching[*near].push(at));
            used.push(false);
            made.push(message);
            Some(())
        };
        if self.copies[asked] > 1 {
            // The copies that are not asked for.
            step(asked, self.copies[asked] - 1, true)?;
        }
        for summed in self.order.iter().filter(|v| **v != asked) {
            step(*summed, self.copies[*summed], false)?;
        }
        let mut belief = vec![1.0; self.states[asked]];
        for at in touching[asked].iter().filter(|at| !used[**at]) {
            let table = self.tables.get(*at).unwrap_or_else(|| &made[at - self.tables.len()]);
            belief.iter_mut().zip(&table.values).for_each(|(belief, value)| *belief *= value);
        }
        let total: f64 = belief.iter().sum();
        Some(belief.iter().map(|value| value / total).collect())
    }

    /// The product of tables, summed over one variable and raised to its copies.
    fn message(&self, summed: usize, tables: &[&Table], copies: u32) -> Option<Table> {
        let mut scope: Vec<usize> = tables.iter().flat_map(|table| table.scope.clone()).collect();
        scope.sort_unstable();
        scope.dedup();
        scope.retain(|variable| *variable != summed);
        let with: Vec<usize> = scope.iter().copied().chain([summed]).collect();
        let product = self.product(&with, tables)?;
        let rows = product.chunks_exact(self.states[summed]);
        let mut values: Vec<f64> = rows.map(|row| row.iter().sum()).collect();
        let top = values.iter().copied().fold(0.0, f64::max);
        let copies = i32::try_from(copies).unwrap_or(i32::MAX);
        values.iter_mut().for_each(|value| *value = (*value / top).powi(copies));
        Some(Table { scope, values })
    }

    fn product(&self, scope: &[usize], tables: &[&Table]) -> Option<Vec<f64>> {
        let size = scope.iter().try_fold(1usize, |size, v| size.checked_mul(self.states[*v]))?;
        if size > LARGEST {
            return None;
        }
        let mut product = vec![1.0; size];
        for table in tables {
            let steps: Vec<usize> = scope.iter().map(|v| self.step(table, *v)).collect();
            let mut digits = vec![0; scope.len()];
            let mut at = 0;
            for entry in &mut product {
                *entry *= table.values[at];
                for place in (0..scope.len()).rev() {
                    digits[place] += 1;
                    at += steps[place];
                    if digits[place] < self.states[scope[place]] {
                        break;
                    }
                    at -= steps[place] * digits[place];
                    digits[place] = 0;
                }
            }
        }
        Some(product)
    }

    /// How far apart the entries for two neighbouring states of a variable are; 0 without it.
    fn step(&self, table: &Table, variable: usize) -> usize {
        match table.scope.iter().position(|v| *v == variable) {
            Some(place) => table.scope[place + 1..].iter().map(|v| self.states[*v]).product(),
            None => 0,
        }
    }
}

/// A factor as a table over the states that are left.
fn restricted(
    graph: &FactorGraph,
    evidence: &Evidence,
    domains: &Domains,
    place: &HashMap<VariableId, usize>,
    factor: FactorId,
) -> Table {
    let scope = graph.scope(factor);
    let all = match graph.source(factor) {
        Source::Table(table) => graph.values(table),
        Source::Slot(start) => &evidence.slots()[start..start + graph.size(scope)],
    };
    let mut index = vec![0];
    for variable in scope {
        let states = graph.states(*variable);
        let left = domains.allowed(*variable);
        let extend =
            |at: &usize| left.iter().map(|s| at * states + *s as usize).collect::<Vec<_>>();
        index = index.iter().flat_map(extend).collect();
    }
    Table {
        scope: scope.iter().filter_map(|variable| place.get(variable).copied()).collect(),
        values: index.into_iter().map(|at| all[at]).collect(),
    }
}

/// An order by fewest fill-in edges; what has copies comes first, since its message is raised to a
/// power before anything joins it.
fn fewest_fill_ins(tables: &[Table], copies: &[u32]) -> Vec<usize> {
    let mut near: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); copies.len()];
    for table in tables {
        for variable in &table.scope {
            near[*variable].extend(table.scope.iter().filter(|other| *other != variable));
        }
    }
    let fill = |near: &[BTreeSet<usize>], variable: usize| {
        let mine: Vec<usize> = near[variable].iter().copied().collect();
        let missing = |(at, a): (usize, &usize)| {
            mine[at + 1..].iter().filter(|b| !near[*a].contains(b)).count()
        };
        (copies[variable] == 1, mine.iter().enumerate().map(missing).sum::<usize>())
    };
    let mut keys: Vec<(bool, usize)> = (0..copies.len()).map(|v| fill(&near, v)).collect();
    let mut waiting: BTreeSet<((bool, usize), usize)> =
        keys.iter().copied().enumerate().map(|(variable, key)| (key, variable)).collect();
    let mut order = Vec::with_capacity(copies.len());
    while let Some((_, variable)) = waiting.pop_first() {
        order.push(variable);
        let mine = std::mem::take(&mut near[variable]);
        for one in &mine {
            near[*one].remove(&variable);
            near[*one].extend(mine.iter().filter(|other| *other != one));
        }
        let mut changed: BTreeSet<usize> = mine.clone();
        changed.extend(mine.iter().flat_map(|one| near[*one].iter().copied()));
        for one in changed {
            waiting.remove(&(keys[one], one));
            keys[one] = fill(&near, one);
            waiting.insert((keys[one], one));
        }
    }
    order
}
