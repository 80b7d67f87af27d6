//! What the engine does to be fast changes nothing.

use std::collections::BTreeSet;

use proptest::prelude::*;
use proveout::inference::{Domains, JunctionTree, Workspace};
use proveout::network::{ColonyNetwork, Evidence, Grouping, VariableId, assemble};
use proveout::questions::{Asked, Model};
use proveout::records::{Colony, Sex};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::judge::Build;
use crate::random_colonies::small;
use crate::{TOLERANCE, config, dice, features};

/// A network with a plan for whatever is left of its records, and a workspace that is used on.
struct Worked {
    net: ColonyNetwork,
    tree: JunctionTree,
    work: Workspace,
    /// Parts that are yet to be run on the evidence at hand.
    stale: BTreeSet<usize>,
}

/// Every number of a run, bit by bit.
fn bits(worked: &Worked, work: &Workspace) -> Vec<u64> {
    let logs = (0..worked.tree.components()).map(|at| work.log_evidence_of(at).ln());
    let variables = (0..worked.net.graph.variables()).map(VariableId);
    let marginals = variables.flat_map(|variable| work.marginal(&worked.tree, variable));
    logs.chain(marginals).map(f64::to_bits).collect()
}

impl Worked {
    /// Runs what is stale, in one of the ways there are; whether all is well then.
    fn run(&mut self, evidence: &Evidence, way: u32) -> bool {
        if way == 0 {
            let ran = self.work.run(&self.tree, evidence).is_ok();
            self.stale = if ran { BTreeSet::new() } else { (0..self.tree.components()).collect() };
            return ran;
        }
        for part in std::mem::take(&mut self.stale) {
            let ran = match way {
                1 => self.work.run_component(&self.tree, part, evidence),
                _ => self.work.weigh_component(&self.tree, part, evidence),
            };
            if ran.is_err() {
                self.stale.insert(part);
            }
        }
        if way == 2 {
            // Backwards, so that the ways to the root are met in parts.
            for variable in (0..self.net.graph.variables()).rev() {
                self.work.reach(&self.tree, VariableId(variable));
            }
        }
        // What has one state only is in no part.
        self.stale.is_empty() && self.work.constants(&self.tree, evidence).is_finite()
    }

    /// Counts some records in or out.
    fn edit(&mut self, on: &mut [bool], dice: &mut ChaCha8Rng) {
        for _ in 0..dice.random_range(1..3) {
            let item = dice.random_range(0..on.len());
            on[item] = !on[item];
            let touched = self.net.touched_by_any(&self.net.items[item]);
            self.stale.extend(touched.filter_map(|variable| self.tree.component_of(variable)));
        }
    }
}

proptest! {
    #![proptest_config(config(200))]

    #[test]
    fn siblings_that_share_variables_are_siblings(
        seed in any::<u64>(),
        everything in any::<bool>(),
    ) {
        let mut colony = small(seed, features(everything));
        colony.animals.iter_mut().for_each(|animal| animal.believed = false);
        let [one, other] = [Grouping::Siblings, Grouping::Apart]
            .map(|grouping| Model::solve(&colony, grouping, Asked::MEMORY));
        let (Ok(one), Ok(other)) = (one, other) else {
            prop_assert!(Model::solve(&colony, Grouping::Siblings, Asked::MEMORY).is_err());
            prop_assert!(Model::solve(&colony, Grouping::Apart, Asked::MEMORY).is_err());
            return Ok(());
        };
        let (a, b) = (one.log_evidence().ln(), other.log_evidence().ln());
        prop_assert!((a - b).abs() <= TOLERANCE * a.abs().max(1.0), "{a} and {b}");
        for animal in colony.animal_ids() {
            for gene in colony.gene_ids() {
                let (a, b) = (one.posterior(animal, gene), other.posterior(animal, gene));
                let same = a.iter().zip(&b).all(|(a, b)| (a - b).abs() <= TOLERANCE);
                prop_assert!(same && a.len() == b.len(), "{animal:?} {gene:?}: {a:?} and {b:?}");
            }
        }
    }

    #[test]
    fn a_run_after_edits_is_a_fresh_run_bit_for_bit(
        seed in any::<u64>(),
        everything in any::<bool>(),
        apart in any::<bool>(),
        ways in prop::collection::vec(0_u32..3, 1..8),
    ) {
        let mut colony = small(seed, features(everything));
        // Certain calls, so that records can contradict each other in between.
        colony.assumptions.misread = 0.0;
        colony.genes.iter_mut().for_each(|gene| gene.misread = None);
        edited_and_back(&colony, apart, &ways, seed)?;
    }

    #[test]
    fn so_it_is_where_numbers_leave_the_range_of_a_double(
        seed in any::<u64>(),
        apart in any::<bool>(),
        ways in prop::collection::vec(0_u32..3, 1..6),
    ) {
        let colony = Build::new()
            .recessive("ash")
            .founder("Dam", Sex::Female)
            .sold_as("ash")
            .founder("Sire", Sex::Male)
            .sold_as("66% het ash")
            .clutch("A", "Dam", "Sire")
            .count("normal", 1_400)
            .young("Son")
            .sex(Sex::Male)
            .clutch("B", "Dam", "Son")
            .count("normal", 3)
            .count("ash", 1_400)
            .colony();
        edited_and_back(&colony, apart, &ways, seed)?;
    }
}

/// Counts records in and out in several ways, and in again.
fn edited_and_back(
    colony: &Colony,
    apart: bool,
    ways: &[u32],
    seed: u64,
) -> Result<(), TestCaseError> {
    let grouping = if apart { Grouping::Apart } else { Grouping::Siblings };
    let net = assemble(colony, grouping);
    let tree = JunctionTree::plan_for(&net.graph, &Domains::full(&net.graph), 1 << 30);
    let Ok(tree) = tree else { return Ok(()) };
    let mut dice = dice(seed);
    let mut on = vec![true; net.items.len()];
    if on.is_empty() {
        return Ok(());
    }
    let work = tree.workspace();
    let mut worked = Worked { net, tree, work, stale: BTreeSet::new() };
    worked.stale.extend(0..worked.tree.components());
    let first = worked.net.evidence_where(&on);
    let was_possible = worked.run(&first, 0);
    let before = bits(&worked, &worked.work);
    for &way in ways {
        worked.edit(&mut on, &mut dice);
        let evidence = worked.net.evidence_where(&on);
        let possible = worked.run(&evidence, way);
        let mut fresh = worked.tree.workspace();
        prop_assert_eq!(fresh.run(&worked.tree, &evidence).is_ok(), possible);
        if possible {
            prop_assert_eq!(bits(&worked, &worked.work), bits(&worked, &fresh));
        }
    }
    worked.stale.extend(0..worked.tree.components());
    prop_assert_eq!(worked.run(&first, 1), was_possible);
    if was_possible {
        prop_assert_eq!(bits(&worked, &worked.work), before, "not the same as at first");
    }
    Ok(())
}
