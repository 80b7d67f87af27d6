//! The same run on the log scale, for components whose numbers leave the range of a double.
//!
//! Slower by the cost of an exponential for each entry, and never wrong for it: the arena then
//! holds natural logs until the beliefs are made.

use super::passes::hand_down;
use super::tree::{Bucket, From, JunctionTree};
use super::{Impossible, Workspace};
use crate::numbers::{exp, ln, log_sum_exp};

/// Both passes over one component; returns its log evidence.
pub(super) fn run(
    tree: &JunctionTree,
    component: usize,
    work: &mut Workspace,
) -> Result<f64, Impossible> {
    let (first, last) = tree.components[component].buckets;
    let (start, end) = tree.components[component].loads;
    for load in &tree.loads[start..end] {
        work.arena[load.to..load.to + load.len].iter_mut().for_each(|value| *value = ln(*value));
        // The next run loads afresh.
        work.raw[load.raw..load.raw + load.len].fill(f64::NAN);
    }
    for bucket in &tree.buckets[first..last] {
        for group in &tree.groups[bucket.below.0..bucket.below.1] {
            work.arena[group.up..group.up + group.size].fill(0.0);
        }
    }
    let mut log: f64 = work.load_logs[start..end].iter().sum();
    for bucket in &tree.buckets[first..last] {
        log += collect(tree, bucket, &mut work.arena)?;
    }
    for bucket in tree.buckets[first..last].iter().rev() {
        distribute(tree, bucket, &mut work.arena);
    }
    Ok(log)
}

fn collect(tree: &JunctionTree, bucket: &Bucket, arena: &mut [f64]) -> Result<f64, Impossible> {
    for entry in 0..bucket.rows * bucket.card {
        arena[bucket.table + entry] = arena[bucket.likelihood + entry % bucket.card];
    }
    for input in &tree.inputs[bucket.inputs.0..bucket.inputs.1] {
        for entry in 0..bucket.rows * bucket.card {
            let at = input.map.map_or(entry, |map| tree.maps.get(map)[entry] as usize);
            let value = match input.from {
                From::Pool(start) => ln(tree.pool[start + at]),
                From::Arena(start) => arena[start + at],
                From::Group(group) => arena[tree.groups[group as usize].up + at],
            };
            arena[bucket.table + entry] += value;
        }
    }
    let mut top = f64::NEG_INFINITY;
    for row in 0..bucket.rows {
        let sum = row_sum(bucket, row, arena);
        top = top.max(sum);
        if let Some(above) = bucket.above {
            arena[tree.groups[above as usize].up + row] += f64::from(bucket.copies) * sum;
        }
    }
    if top == f64::NEG_INFINITY {
        return Err(Impossible { at: bucket.variable });
    }
    Ok(if bucket.above.is_none() { f64::from(bucket.copies) * top } else { 0.0 })
}

fn row_sum(bucket: &Bucket, row: usize, arena: &[f64]) -> f64 {
    let start = bucket.table + row * bucket.card;
    log_sum_exp(&arena[start..start + bucket.card])
}

/// Turns the log product of a clique into its belief, a plain probability.
fn distribute(tree: &JunctionTree, bucket: &Bucket, arena: &mut [f64]) {
    arena[bucket.marginal..bucket.marginal + bucket.card].fill(0.0);
    for row in 0..bucket.rows {
        let share = match bucket.above {
            None => 1.0,
            Some(above) => arena[tree.groups[above as usize].down + row],
        };
        let sum = row_sum(bucket, row, arena);
        for state in 0..bucket.card {
            let entry = row * bucket.card + state;
            let log = arena[bucket.table + entry];
            let belief = if sum == f64::NEG_INFINITY { 0.0 } else { share * exp(log - sum) };
            arena[bucket.belief + entry] = belief;
            arena[bucket.marginal + state] += belief;
        }
    }
    for group in &tree.groups[bucket.below.0..bucket.below.1] {
        hand_down(tree, bucket, group, arena);
    }
}
