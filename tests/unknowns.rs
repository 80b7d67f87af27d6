//! Are unknown penetrance and unknown crossover integrated over?

#![allow(missing_docs)]

mod judge;

use approx::assert_relative_eq;
use judge::Build;
use proveout::questions::{Asked, GenotypesAnswer, genotypes, identify};
use proveout::records::{Colony, CrossoverRates, Genotype, Penetrance, Sex};

fn answer(colony: &Colony) -> GenotypesAnswer {
    genotypes(colony, &Asked::default()).expect("possible")
}

/// A dam with one copy of a dominant gene of unknown penetrance, and a sire without.
fn dominant(build: impl Fn(Build) -> Build) -> Colony {
    let start = Build::exact()
        .dominant("ripple")
        .gene(|gene| gene.penetrance = Some(Penetrance::Unknown))
        .founder("Dam", Sex::Female)
        .sold_as("het ripple")
        .founder("Sire", Sex::Male)
        .sold_as("not het ripple")
        .clutch("A", "Dam", "Sire");
    build(start).colony()
}

#[test]
fn the_evidence_is_the_integral_over_the_penetrance() {
    // Each young shows with chance p/2, p uniform on [1/2, 1]: with q = p/2 the evidence of three
    // that show nothing is 4 ∫ (1−q)³ dq over [1/4, 1/2] = (3/4)⁴ − (1/2)⁴.
    let none = answer(&dominant(|build| build.count("normal", 3))).log_evidence;
    assert_relative_eq!(none.exp(), 0.75f64.powi(4) - 0.5f64.powi(4), max_relative = 1e-8);
    // Of two that show: 4 ∫ q² dq = 4/3 (1/8 − 1/64).
    let two = answer(&dominant(|build| build.count("ripple", 2))).log_evidence;
    assert_relative_eq!(two.exp(), 4.0 / 3.0 * (1.0 / 8.0 - 1.0 / 64.0), max_relative = 1e-8);
}

#[test]
fn posteriors_and_identities_are_averaged_by_the_evidence() {
    // A young that shows nothing: P(copy | p) = (1−p)/(2−p), averaged over p by 1 − p/2. So
    // ∫ (1−p)/2 dp / ∫ (1 − p/2) dp over [1/2, 1] = (1/16) / (5/16).
    let colony = dominant(|build| build.young("A-1").looks("normal"));
    let answer = answer(&colony);
    let young = colony.find_animal("A-1").expect("recorded");
    let own = answer.genotypes.iter().find(|one| one.animal == young).expect("answered");
    let het = own.genotypes.iter().position(|g| *g == Genotype::Two(0, 1)).expect("possible");
    assert_relative_eq!(own.posterior[het], 0.2, max_relative = 1e-8);
    let identities = identify(&colony, &Asked::default()).expect("possible");
    let carries = &identities.hatchlings[0].identities[1];
    assert_eq!(carries.looks.len(), 1);
    assert_relative_eq!(carries.probability, 0.2, max_relative = 1e-8);
}

#[test]
fn the_evidence_is_the_integral_over_the_crossover() {
    // A dam in known coupling, from parents that fix her phase, and a sire without either copy: a
    // young with one gene only has chance r/2, so its evidence is ∫ 2 · r/2 dr over [0, 1/2] = 1/8;
    // next to the chance 1/4 that the dam herself had in her own clutch it stands alone.
    let colony = Build::exact()
        .dominant("ash")
        .dominant("ripple")
        .linked("ash, ripple", &[0.5], &[0.5])
        .in_colony(|colony| colony.linkage[0].crossover = CrossoverRates::Unknown)
        .founder("Both", Sex::Female)
        .reading("ash", "ash/ash", 1.0)
        .reading("ripple", "ripple/ripple", 1.0)
        .founder("Neither", Sex::Male)
        .reading("ash", "+/+", 1.0)
        .reading("ripple", "+/+", 1.0)
        .animal(|_| ())
        .in_colony(|colony| colony.assumptions.background = 0.5)
        .clutch("A", "Both", "Neither")
        .young("Dam")
        .sex(Sex::Female)
        .clutch("B", "Dam", "Neither")
        .count("ash", 1)
        .colony();
    let without = {
        let mut without = colony.clone();
        without.clutches[1].counts.clear();
        answer(&without).log_evidence
    };
    let evidence = (answer(&colony).log_evidence - without).exp();
    assert_relative_eq!(evidence, 1.0 / 8.0, max_relative = 1e-8);
}
