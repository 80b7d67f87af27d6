//! One run over a plan: messages towards the roots, then beliefs back.
//!
//! Only what depends on changed evidence is computed again: a clique is dirty when its evidence or a
//! message to it has changed.
//!
//! Numbers are plain products, rescaled clique by clique. When the range of a product would leave
//! what a double can hold, [`Underflow`] is returned and the component runs on the log scale.

use super::tree::{Bucket, ConstantFrom, From, Group, Input, JunctionTree, LoadFrom};
use super::{Impossible, Workspace};
use crate::network::Evidence;
use crate::numbers::ln;

/// Products may come down to 2^LOWEST before a component changes to the log scale.
const LOWEST: i32 = -900;

/// Why a component could not be run on the plain scale.
pub(super) enum Stop {
    Impossible(Impossible),
    Underflow,
}

/// A lower bound for the binary exponents of the positive numbers; 0 when there are none.
pub(super) fn lowest_exponent(values: &[f64]) -> i32 {
    let least = values.iter().copied().filter(|v| *v > 0.0).fold(f64::INFINITY, f64::min);
    if least == f64::INFINITY { 0 } else { exponent(least).min(0) }
}

fn exponent(value: f64) -> i32 {
    ((value.to_bits() >> 52) & 0x7ff) as i32 - 1023
}

/// Log of the factors and likelihoods that have one state left.
pub(super) fn constants(tree: &JunctionTree, evidence: &Evidence) -> Result<f64, Impossible> {
    let mut log = 0.0;
    for constant in &tree.constants {
        let value = match constant.value {
            ConstantFrom::Number(value) => value,
            ConstantFrom::Likelihood(v, state) => evidence.likelihood(v)[state as usize],
            ConstantFrom::Slot(at) => evidence.slots()[at],
        };
        if value == 0.0 {
            return Err(Impossible { at: constant.at });
        }
        if value != 1.0 {
            log += ln(value);
        }
    }
    Ok(log)
}

/// Copies what has changed of the evidence of one component into the arena, each table scaled to at
/// most one, and marks the cliques that it concerns.
pub(super) fn load(
    tree: &JunctionTree,
    component: usize,
    evidence: &Evidence,
    work: &mut Workspace,
) -> Result<(), Impossible> {
    let (first, last) = tree.components[component].loads;
    for (at, load) in tree.loads[first..last].iter().enumerate() {
        let source = match load.what {
            LoadFrom::Likelihood(variable) => evidence.likelihood(variable),
            LoadFrom::Slot(start) => &evidence.slots()[start..],
        };
        let raw = &mut work.raw[load.raw..load.raw + load.len];
        let mut changed = false;
        let mut take = |raw: &mut f64, value: f64| {
            // What was never loaded is not a number, and so differs from every value.
            changed |= *raw != value;
            *raw = value;
        };
        if load.index.is_empty() {
            raw.iter_mut().zip(source).for_each(|(raw, value)| take(raw, *value));
        } else {
            raw.iter_mut().zip(&load.index).for_each(|(raw, at)| take(raw, source[*at as usize]));
        }
        if changed {
            scale(tree, first + at, work)?;
        }
    }
    Ok(())
}

/// Scales one load to at most one.
fn scale(tree: &JunctionTree, at: usize, work: &mut Workspace) -> Result<(), Impossible> {
    let load = &tree.loads[at];
    let bucket = &tree.buckets[load.bucket as usize];
    let raw = &work.raw[load.raw..load.raw + load.len];
    let top = raw.iter().copied().fold(0.0, f64::max);
    if top == 0.0 {
        work.raw[load.raw..load.raw + load.len].fill(f64::NAN);
        return Err(Impossible { at: bucket.variable });
    }
    let to = &mut work.arena[load.to..load.to + load.len];
    to.iter_mut().zip(raw).for_each(|(to, raw)| *to = raw / top);
    work.load_logs[at] = if top == 1.0 { 0.0 } else { f64::from(bucket.copies) * ln(top) };
    work.load_exponents[at] = lowest_exponent(to);
    work.dirty[load.bucket as usize] = true;
    Ok(())
}

/// Messages towards the roots, from cliques that changed and all above them; the log evidence.
pub(super) fn collect(
    tree: &JunctionTree,
    component: usize,
    work: &mut Workspace,
) -> Result<f64, Stop> {
    let (first, last) = tree.components[component].buckets;
    let (start, end) = tree.components[component].loads;
    if work.dirty[first..last].contains(&true) {
        for bucket in first..last {
            work.exponents[bucket] = tree.buckets[bucket].pool_exponent;
        }
        for load in start..end {
            work.exponents[tree.loads[load].bucket as usize] += work.load_exponents[load];
        }
        for at in first..last {
            if work.dirty[at] {
                send(tree, at, work)?;
            }
        }
    }
    let loads: f64 = work.load_logs[start..end].iter().sum();
    let buckets: f64 = work.bucket_logs[first..last].iter().sum();
    let groups = tree.buckets[first].below.0..tree.buckets[last - 1].below.1;
    let groups: f64 = work.group_logs[groups].iter().sum();
    Ok(loads + buckets + groups)
}

/// The product of a clique, and its message to the separator above.
fn send(tree: &JunctionTree, at: usize, work: &mut Workspace) -> Result<(), Stop> {
    let bucket = &tree.buckets[at];
    let mut exponent = work.exponents[at];
    for group in bucket.below.0..bucket.below.1 {
        if work.group_dirty[group] {
            gather(tree, group, work)?;
        }
        exponent += work.group_exponents[group];
    }
    if exponent < LOWEST {
        return Err(Stop::Underflow);
    }
    product(tree, bucket, work);
    let (before, after) = work.arena.split_at_mut(bucket.message);
    let table = &before[bucket.table..bucket.table + bucket.rows * bucket.card];
    let message = &mut after[..bucket.rows];
    for (sum, row) in message.iter_mut().zip(table.chunks_exact(bucket.card)) {
        *sum = row.iter().sum();
    }
    let top = message.iter().copied().fold(0.0, f64::max);
    if top == 0.0 {
        return Err(Stop::Impossible(Impossible { at: bucket.variable }));
    }
    work.bucket_logs[at] = f64::from(bucket.copies) * ln(top);
    work.dirty[at] = false;
    if let Some(above) = bucket.above {
        message.iter_mut().for_each(|value| *value /= top);
        work.group_dirty[above as usize] = true;
        work.dirty[tree.groups[above as usize].parent as usize] = true;
    }
    Ok(())
}

/// The product of the messages to one separator.
fn gather(tree: &JunctionTree, at: usize, work: &mut Workspace) -> Result<(), Stop> {
    let group = &tree.groups[at];
    let mut lowest = 0;
    let mut log = 0.0;
    work.arena[group.up..group.up + group.size].fill(1.0);
    for member in &tree.members[group.members.0..group.members.1] {
        let bucket = &tree.buckets[*member as usize];
        let (up, message) = apart(&mut work.arena, group.up, bucket.message, group.size);
        let reaches = i64::from(lowest_exponent(message)) * i64::from(bucket.copies);
        if reaches + i64::from(lowest) < i64::from(LOWEST) {
            return Err(Stop::Underflow);
        }
        if bucket.copies == 1 {
            up.iter_mut().zip(message).for_each(|(up, value)| *up *= value);
        } else {
            let copies = i32::try_from(bucket.copies).unwrap_or(i32::MAX);
            up.iter_mut().zip(message).for_each(|(up, value)| *up *= value.powi(copies));
        }
        log += rescale(up, &mut lowest);
    }
    work.group_exponents[at] = lowest;
    work.group_logs[at] = log;
    work.group_dirty[at] = false;
    Ok(())
}

/// Two stretches of the arena that do not overlap: the first to be changed.
fn apart(arena: &mut [f64], one: usize, other: usize, len: usize) -> (&mut [f64], &[f64]) {
    if one < other {
        let (before, after) = arena.split_at_mut(other);
        (&mut before[one..one + len], &after[..len])
    } else {
        let (before, after) = arena.split_at_mut(one);
        (&mut after[..len], &before[other..other + len])
    }
}

/// Keeps the largest number of a separator near one.
fn rescale(up: &mut [f64], lowest: &mut i32) -> f64 {
    let top = up.iter().copied().fold(0.0, f64::max);
    let mut log = 0.0;
    if top > 0.0 && top < 1e-30 {
        up.iter_mut().for_each(|value| *value /= top);
        log = ln(top);
    }
    *lowest = lowest_exponent(up);
    log
}

/// Multiplies everything that a clique is given into its table.
fn product(tree: &JunctionTree, bucket: &Bucket, work: &mut Workspace) {
    let size = bucket.rows * bucket.card;
    // Every input of a clique lies outside its own table: the arena is split around it.
    let (before, rest) = work.arena.split_at_mut(bucket.table);
    let (table, after) = rest.split_at_mut(size);
    let behind = bucket.table + size;
    let at = |start: usize, len: usize| {
        if start < bucket.table {
            &before[start..start + len]
        } else {
            &after[start - behind..][..len]
        }
    };
    let likelihood = at(bucket.likelihood, bucket.card);
    for row in table.chunks_exact_mut(bucket.card) {
        row.copy_from_slice(likelihood);
    }
    for input in &tree.inputs[bucket.inputs.0..bucket.inputs.1] {
        let values = match input.from {
            From::Pool(start) => &tree.pool[start..start + input.len],
            From::Arena(start) => at(start, input.len),
            From::Group(group) => at(tree.groups[group as usize].up, input.len),
        };
        multiply(tree, input, table, values);
    }
}

fn multiply(tree: &JunctionTree, input: &Input, table: &mut [f64], values: &[f64]) {
    match input.map {
        None => table.iter_mut().zip(values).for_each(|(entry, value)| *entry *= value),
        Some(map) => {
            let map = tree.maps.get(map);
            table.iter_mut().zip(map).for_each(|(entry, at)| *entry *= values[*at as usize]);
        }
    }
}

/// The belief of a clique from its product and the belief of the separator above, which is then
/// handed on to the separators below.
pub(super) fn distribute(tree: &JunctionTree, bucket: &Bucket, arena: &mut [f64]) {
    arena[bucket.marginal..bucket.marginal + bucket.card].fill(0.0);
    for row in 0..bucket.rows {
        let share = match bucket.above {
            None => 1.0,
            Some(above) => arena[tree.groups[above as usize].down + row],
        };
        let start = bucket.table + row * bucket.card;
        let sum: f64 = arena[start..start + bucket.card].iter().sum();
        let scale = if sum > 0.0 { share / sum } else { 0.0 };
        for state in 0..bucket.card {
            let belief = arena[start + state] * scale;
            arena[bucket.belief + row * bucket.card + state] = belief;
            arena[bucket.marginal + state] += belief;
        }
    }
    for group in &tree.groups[bucket.below.0..bucket.below.1] {
        hand_down(tree, bucket, group, arena);
    }
}

pub(super) fn hand_down(tree: &JunctionTree, bucket: &Bucket, group: &Group, arena: &mut [f64]) {
    arena[group.down..group.down + group.size].fill(0.0);
    match group.map {
        None => arena.copy_within(bucket.belief..bucket.belief + group.size, group.down),
        Some(map) => {
            for (entry, at) in tree.maps.get(map).iter().enumerate() {
                arena[group.down + *at as usize] += arena[bucket.belief + entry];
            }
        }
    }
}
