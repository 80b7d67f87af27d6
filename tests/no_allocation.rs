//! A plan that has been run once runs again without asking for memory.

#![allow(missing_docs)]

mod judge;
mod random_colonies;

use allocation_counter::measure;
use judge::Build;
use proveout::inference::{Domains, JunctionTree};
use proveout::network::{Evidence, Grouping, VariableId, assemble};
use proveout::records::{Colony, Sex};
use random_colonies::{Features, small};

/// Runs on all records, and on all but one, so that there is something to compute every time.
fn allocations(colony: &Colony, grouping: Grouping) -> Option<u64> {
    let net = assemble(colony, grouping);
    let tree = JunctionTree::plan_for(&net.graph, &Domains::full(&net.graph), 1 << 30).ok()?;
    let variants: Vec<Evidence> = (0..net.items.len().min(5))
        .map(|without| {
            let on: Vec<bool> = (0..net.items.len()).map(|at| at != without).collect();
            net.evidence_where(&on)
        })
        .chain([net.all_evidence()])
        .collect();
    let mut work = tree.workspace();
    work.run(&tree, &variants[0]).ok()?;
    let runs = measure(|| {
        for evidence in &variants {
            let _ = work.run(&tree, evidence);
            for part in 0..tree.components() {
                let _ = work.weigh_component(&tree, part, &variants[0]);
            }
            (0..net.graph.variables()).for_each(|at| work.reach(&tree, VariableId(at)));
        }
    });
    Some(runs.count_total)
}

#[test]
fn the_counter_counts() {
    let made = measure(|| drop(std::hint::black_box(vec![0u8; 100])));
    assert_eq!((made.count_total, made.bytes_total), (1, 100));
}

#[test]
fn runs_of_random_colonies_allocate_nothing() {
    let mut ran = 0;
    for seed in 0..100 {
        for features in [Features::ALL, Features::AUTOSOMAL] {
            for grouping in [Grouping::Siblings, Grouping::Apart] {
                let Some(count) = allocations(&small(seed, features), grouping) else { continue };
                assert_eq!(count, 0, "seed {seed}, {features:?}, {grouping:?}");
                ran += 1;
            }
        }
    }
    assert!(ran > 300, "only {ran} ran");
}

#[test]
fn runs_that_leave_the_range_of_a_double_allocate_nothing() {
    let pair = Build::new()
        .recessive("ash")
        .founder("Dam", Sex::Female)
        .sold_as("ash")
        .founder("Sire", Sex::Male)
        .sold_as("66% het ash")
        .clutch("A", "Dam", "Sire")
        .count("normal", 1_400);
    let colony = (0..100).fold(pair, |build, at| build.young(&format!("Y{at}")).looks("normal"));
    for grouping in [Grouping::Siblings, Grouping::Apart] {
        assert_eq!(allocations(&colony.clone().colony(), grouping), Some(0), "{grouping:?}");
    }
}
