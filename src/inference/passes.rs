//! One run over a plan: messages towards the roots, then beliefs back.
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

/// Copies the evidence of one component into the arena, each table scaled to at most one.
pub(super) fn load(
    tree: &JunctionTree,
    component: usize,
    evidence: &Evidence,
    work: &mut Workspace,
) -> Result<f64, Impossible> {
    let (first, last) = tree.components[component].loads;
    let (start, end) = tree.components[component].buckets;
    for (at, bucket) in tree.buckets[start..end].iter().enumerate() {
        work.exponents[start + at] = bucket.pool_exponent;
    }
    let mut log = 0.0;
    for load in &tree.loads[first..last] {
        let source = match load.what {
            LoadFrom::Likelihood(variable) => evidence.likelihood(variable),
            LoadFrom::Slot(start) => &evidence.slots()[start..],
        };
        let to = &mut work.arena[load.to..load.to + load.len];
        if load.index.is_empty() {
            to.copy_from_slice(&source[..load.len]);
        } else {
            to.iter_mut().zip(&load.index).for_each(|(to, at)| *to = source[*at as usize]);
        }
        let bucket = &tree.buckets[load.bucket as usize];
        let top = to.iter().copied().fold(0.0, f64::max);
        if top == 0.0 {
            return Err(Impossible { at: bucket.variable });
        }
        if top != 1.0 {
            to.iter_mut().for_each(|value| *value /= top);
            log += f64::from(bucket.copies) * ln(top);
        }
        work.exponents[load.bucket as usize] += lowest_exponent(to);
    }
    Ok(log)
}

/// Both passes over one component; returns its log evidence without that of the loads.
pub(super) fn run(
    tree: &JunctionTree,
    component: usize,
    work: &mut Workspace,
) -> Result<f64, Stop> {
    let (first, last) = tree.components[component].buckets;
    let mut log = 0.0;
    for bucket in first..last {
        for group in tree.buckets[bucket].below.0..tree.buckets[bucket].below.1 {
            let group = &tree.groups[group];
            work.arena[group.up..group.up + group.size].fill(1.0);
        }
        work.group_exponents[tree.buckets[bucket].below.0..tree.buckets[bucket].below.1].fill(0);
    }
    for bucket in first..last {
        log += collect(tree, bucket, work)?;
    }
    for bucket in (first..last).rev() {
        distribute(tree, &tree.buckets[bucket], &mut work.arena);
    }
    Ok(log)
}

/// The product of a clique, and its message to the separator above.
fn collect(tree: &JunctionTree, at: usize, work: &mut Workspace) -> Result<f64, Stop> {
    let bucket = &tree.buckets[at];
    let mut exponent = work.exponents[at];
    for group in bucket.below.0..bucket.below.1 {
        exponent += work.group_exponents[group];
    }
    if exponent < LOWEST {
        return Err(Stop::Underflow);
    }
    product(tree, bucket, work);
    let table = &work.arena[bucket.table..bucket.table + bucket.rows * bucket.card];
    let message = &mut work.message[..bucket.rows];
    for (sum, row) in message.iter_mut().zip(table.chunks_exact(bucket.card)) {
        *sum = row.iter().sum();
    }
    let top = message.iter().copied().fold(0.0, f64::max);
    if top == 0.0 {
        return Err(Stop::Impossible(Impossible { at: bucket.variable }));
    }
    let log = f64::from(bucket.copies) * ln(top);
    let Some(above) = bucket.above else { return Ok(log) };
    message.iter_mut().for_each(|value| *value /= top);
    let lowest = i64::from(lowest_exponent(message)) * i64::from(bucket.copies);
    if lowest + i64::from(work.group_exponents[above as usize]) < i64::from(LOWEST) {
        return Err(Stop::Underflow);
    }
    let group = &tree.groups[above as usize];
    let up = &mut work.arena[group.up..group.up + group.size];
    if bucket.copies == 1 {
        up.iter_mut().zip(&*message).for_each(|(up, value)| *up *= value);
    } else {
        let copies = i32::try_from(bucket.copies).unwrap_or(i32::MAX);
        up.iter_mut().zip(&*message).for_each(|(up, value)| *up *= value.powi(copies));
    }
    Ok(log + rescale(up, &mut work.group_exponents[above as usize]))
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

/// Turns the product of a clique into its belief, and hands that on to the separators below.
fn distribute(tree: &JunctionTree, bucket: &Bucket, arena: &mut [f64]) {
    for row in 0..bucket.rows {
        let start = bucket.table + row * bucket.card;
        let share = match bucket.above {
            None => 1.0,
            Some(above) => arena[tree.groups[above as usize].down + row],
        };
        let entries = &mut arena[start..start + bucket.card];
        let sum: f64 = entries.iter().sum();
        let scale = if sum > 0.0 { share / sum } else { 0.0 };
        entries.iter_mut().for_each(|entry| *entry *= scale);
    }
    arena[bucket.marginal..bucket.marginal + bucket.card].fill(0.0);
    for entry in 0..bucket.rows * bucket.card {
        arena[bucket.marginal + entry % bucket.card] += arena[bucket.table + entry];
    }
    for group in &tree.groups[bucket.below.0..bucket.below.1] {
        hand_down(tree, bucket, group, arena);
    }
}

fn hand_down(tree: &JunctionTree, bucket: &Bucket, group: &Group, arena: &mut [f64]) {
    arena[group.down..group.down + group.size].fill(0.0);
    match group.map {
        None => arena.copy_within(bucket.table..bucket.table + group.size, group.down),
        Some(map) => {
            for (entry, at) in tree.maps.get(map).iter().enumerate() {
                arena[group.down + *at as usize] += arena[bucket.table + entry];
            }
        }
    }
}
