//! Does the fast way give what enumeration gives?
//!
//! Two judges: [`judge`] sums the model of section 1 to 4 over everything in exact rationals,
//! straight from the records; [`proveout::inference::enumerate`] does so for the network that the
//! engine runs on.

#![allow(missing_docs)]

mod judge;
mod random_colonies;

use judge::{Verdict, float, ln};
use num_traits::Zero;
use proptest::prelude::*;
use proveout::inference::{JunctionTree, enumerate};
use proveout::network::{Grouping, VariableId, assemble};
use proveout::questions::{Asked, GenotypesAnswer, genotypes, identify};
use proveout::records::{Colony, Origin};
use random_colonies::Features;

/// A few hundred roundings of a double.
const TOLERANCE: f64 = 1e-12;

/// Compares every number of both questions with the judge's.
fn check(colony: &Colony) -> Result<(), TestCaseError> {
    // The judge knows no belief in what cannot be, nor among records that cannot all be true.
    let believed = colony.animals.iter().any(|animal| animal.believed);
    if believed && genotypes(colony, &Asked::default()).is_err() {
        return Ok(());
    }
    let verdict = judge::judge(colony);
    if verdict.evidence.is_zero() {
        prop_assert!(genotypes(colony, &Asked::default()).is_err(), "impossible, yet answered");
        return Ok(());
    }
    check_genotypes(colony, &verdict)?;
    check_identities(colony, &verdict)
}

fn check_genotypes(colony: &Colony, verdict: &Verdict) -> Result<(), TestCaseError> {
    let answer = genotypes(colony, &Asked::default());
    let answer = answer.map_err(|why| TestCaseError::fail(format!("possible, yet {why:?}")))?;
    let log = ln(&verdict.evidence);
    let difference = (answer.log_evidence - log).abs();
    prop_assert!(
        difference <= TOLERANCE * log.abs().max(1.0),
        "log evidence {} but exactly {log}",
        answer.log_evidence
    );
    check_sires(&answer, verdict)?;
    let prior = judge::judge_prior(colony);
    for one in &answer.genotypes {
        let name = &colony.animal(one.animal).id;
        for (at, genotype) in one.genotypes.iter().enumerate() {
            let want = float(&verdict.chance(one.animal, one.gene.0, *genotype));
            let got = one.posterior[at];
            prop_assert!(
                (got - want).abs() <= TOLERANCE,
                "{name:?} {genotype:?}: {got} but exactly {want}"
            );
            if colony.animal(one.animal).origin != Origin::Founder && !prior.evidence.is_zero() {
                let want = float(&prior.chance(one.animal, one.gene.0, *genotype));
                let got = one.prior[at];
                prop_assert!(
                    (got - want).abs() <= TOLERANCE,
                    "prior of {name:?} {genotype:?}: {got} but exactly {want}"
                );
            }
        }
    }
    Ok(())
}

fn check_sires(answer: &GenotypesAnswer, verdict: &Verdict) -> Result<(), TestCaseError> {
    let in_doubt = verdict.clutch_sires.len() + verdict.egg_sires.len();
    prop_assert_eq!(answer.sires.len(), in_doubt);
    for one in &answer.sires {
        let exact = match one.hatchling {
            Some(animal) => &verdict.egg_sires[&animal.0],
            None => &verdict.clutch_sires[&one.clutch.0],
        };
        for ((candidate, _, got), (expected, want)) in one.candidates.iter().zip(exact) {
            prop_assert_eq!(candidate, expected);
            prop_assert!((got - float(want)).abs() <= TOLERANCE, "{} but {}", got, float(want));
        }
    }
    Ok(())
}

fn check_identities(colony: &Colony, verdict: &Verdict) -> Result<(), TestCaseError> {
    let answer = identify(colony, &Asked::default());
    let answer = answer.map_err(|why| TestCaseError::fail(format!("possible, yet {why:?}")))?;
    for hatchling in &answer.hatchlings {
        let exact = verdict.identities(hatchling.animal);
        let mut listed = 0.0;
        for identity in &hatchling.identities {
            let mut classes = vec![0; colony.genes.len()];
            identity.looks.iter().for_each(|look| classes[look.gene.0] = look.class);
            let want = exact.get(&classes).map_or(0.0, float);
            prop_assert!(
                (identity.probability - want).abs() <= TOLERANCE,
                "{:?} {classes:?}: {} but exactly {want}",
                colony.animal(hatchling.animal).id,
                identity.probability
            );
            listed += identity.probability;
        }
        prop_assert!(
            (listed + hatchling.rest - 1.0).abs() <= 1e-9,
            "{listed} + {}",
            hatchling.rest
        );
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]

    #[test]
    fn random_small_colonies_agree_with_exact_rational_enumeration(seed in any::<u64>()) {
        check(&random_colonies::small(seed, Features::AUTOSOMAL))?;
    }

    #[test]
    fn random_networks_agree_with_the_enumeration_of_their_own_tables(seed in any::<u64>()) {
        let colony = random_colonies::tiny(seed);
        let net = assemble(&colony, Grouping::Siblings);
        let evidence = net.all_evidence();
        let exact = enumerate(&net.graph, &evidence);
        let run = JunctionTree::plan(&net.graph, &evidence, 1 << 30).ok();
        let run = run.as_ref().and_then(|tree| tree.calibrate(&evidence).ok());
        let Some(run) = run else {
            prop_assert!(exact.evidence.is_zero());
            return Ok(());
        };
        let log = ln(&exact.evidence);
        prop_assert!((run.log_evidence().ln() - log).abs() <= TOLERANCE * log.abs().max(1.0));
        for v in 0..net.graph.variables() {
            let want = exact.marginal(VariableId(v)).expect("possible");
            for (got, want) in run.marginal(VariableId(v)).iter().zip(&want) {
                prop_assert!((got - float(want)).abs() <= TOLERANCE, "{got} but {want}");
            }
        }
    }
}

proptest! {
    // The judge needs far longer for these.
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn doubtful_sires_sex_linkage_and_selection_agree_with_the_judge(seed in any::<u64>()) {
        check(&random_colonies::small(seed, Features::ALL))?;
    }
}

#[test]
fn the_judges_own_samples_agree() {
    for (name, colony) in judge::samples::small_colonies() {
        check(&colony).unwrap_or_else(|why| panic!("{name}: {why}"));
    }
}
