//! How a suspected gene is inherited, as JSON.

use serde_json::{Value, json};

use super::json::{Named, method, write};
use super::names;
use crate::genetics::Mode;
use crate::questions::{
    AllelicAnswer, AllelicResult, DecidingCross, Mate, ModeAnswer, ModeFit, ModeResult,
    Sensitivity, Suspected, UnderMode,
};
use crate::records::{Colony, GeneId, Sex};

/// `mode --json`.
pub fn mode(colony: &Colony, answer: &ModeAnswer) -> String {
    let name = |mode: Mode| names::mode(colony, mode);
    let top = &answer.modes[answer.likeliest[0]];
    let next = &answer.modes[answer.likeliest[1]];
    let sensitivity: Vec<Value> =
        answer.sensitivity.iter().map(|one| sensitivity(colony, one)).collect();
    let deciding: Vec<Value> =
        answer.deciding.iter().map(|one| deciding(colony, answer, one)).collect();
    let first: Vec<String> =
        answer.first_seen.iter().map(|id| names::animal(colony, *id)).collect();
    write(&json!({
        "schema": 1,
        "method": method(answer.method),
        "gene": colony.gene(answer.gene).name,
        "first_seen": first,
        "assumptions": serde_json::to_value(Named(&answer.assumptions)).unwrap_or_default(),
        "warnings": answer.warnings,
        "modes": answer.modes.iter().map(|one| result(colony, answer, one)).collect::<Vec<_>>(),
        "inherited": answer.inherited(),
        "likeliest": name(top.mode),
        "next": name(next.mode),
        "bayes_factor": finite(answer.bayes_factor),
        "draws_level": finite(answer.draws_level),
        "fit": answer.fit.iter().map(|one| fit(colony, answer, one)).collect::<Vec<_>>(),
        "best_of_a_bad_lot": answer.best_of_a_bad_lot,
        "sensitivity": sensitivity,
        "deciding_crosses": deciding,
    }))
}

/// A number that JSON can hold; an infinite one is null.
fn finite(value: f64) -> Value {
    if value.is_finite() { value.into() } else { Value::Null }
}

fn result(colony: &Colony, answer: &ModeAnswer, one: &ModeResult) -> Value {
    let place = |at: usize| match at.checked_sub(1) {
        None => Value::Null,
        Some(at) => colony.clutch(answer.clutches[at]).id.as_str().into(),
    };
    let steps = one.by_clutch.iter().zip(&one.path).enumerate().map(|(at, (log, path))| {
        let expected = at.checked_sub(1).and_then(|at| one.expected[at].as_ref());
        json!({
            "clutch": place(at),
            "log_evidence": finite(*log),
            "posterior": path,
            "expected": expected.map(|shares| by_look(colony, answer, shares)),
        })
    });
    json!({
        "mode": names::mode(colony, one.mode),
        "family": names::family(one.family),
        "prior": one.prior,
        "log_evidence": finite(one.log_evidence),
        "posterior": one.posterior,
        "by_clutch": steps.collect::<Vec<_>>(),
    })
}

fn by_look<T: Copy + Into<Value>>(colony: &Colony, answer: &ModeAnswer, values: &[T]) -> Value {
    let gene = colony.gene(answer.gene);
    let named =
        values.iter().enumerate().map(|(class, v)| (gene.look_name(class).to_owned(), (*v).into()));
    Value::Object(named.collect())
}

fn fit(colony: &Colony, answer: &ModeAnswer, one: &ModeFit) -> Value {
    json!({
        "clutch": colony.clutch(one.clutch).id,
        "counts": by_look(colony, answer, &one.counts),
        "tail": one.tail,
    })
}

fn sensitivity(colony: &Colony, one: &Sensitivity) -> Value {
    json!({
        "assumption": one.assumption,
        "value": one.value,
        "likeliest": names::mode(colony, one.winner),
        "posterior": one.posterior,
        "changes": one.changes,
    })
}

fn deciding(colony: &Colony, answer: &ModeAnswer, one: &DecidingCross) -> Value {
    let expected: Vec<Value> = one
        .decides
        .iter()
        .map(|of| {
            json!({
                "mode": names::mode(colony, of.mode),
                "expected": by_look(colony, answer, &of.expected),
            })
        })
        .collect();
    json!({
        "dam": mate(colony, answer.gene, one.dam),
        "sire": mate(colony, answer.gene, one.sire),
        "bits": one.bits,
        "hatchlings": one.hatchlings,
        "expected": expected,
    })
}

/// An animal by its id; young that were only counted by their clutch; null is unrelated stock.
fn mate(colony: &Colony, gene: GeneId, mate: Mate) -> Value {
    match mate {
        Mate::Animal(id) => names::animal(colony, id).into(),
        Mate::Young { clutch, sex, class } => json!({
            "young_of": colony.clutch(clutch).id,
            "sex": if sex == Sex::Female { "female" } else { "male" },
            "look": colony.gene(gene).look_name(class),
        }),
        Mate::Unrelated => Value::Null,
    }
}

/// `allelic --json`.
pub fn allelic(colony: &Colony, answer: &AllelicAnswer) -> String {
    let result = |one: &AllelicResult| {
        json!({
            "prior": one.prior,
            "log_evidence": finite(one.log_evidence),
            "posterior": one.posterior,
        })
    };
    let tests: Vec<Value> = answer
        .tests
        .iter()
        .map(|test| {
            let [both, first, second, neither] = test.counts;
            json!({
                "clutch": colony.clutch(test.clutch).id,
                "parent": names::animal(colony, test.parent),
                "both": both, "first_only": first, "second_only": second, "neither": neither,
            })
        })
        .collect();
    write(&json!({
        "schema": 1,
        "method": method(answer.method),
        "genes": answer.genes.map(|gene| colony.gene(gene).name.as_str()),
        "assumptions": serde_json::to_value(Named(&answer.assumptions)).unwrap_or_default(),
        "warnings": answer.warnings,
        "same_locus": result(&answer.same_locus),
        "linked": result(&answer.linked),
        "free": result(&answer.free),
        "crossover": answer.crossover.map(|range| json!({
            "mean": range.mean, "lower": range.lower, "upper": range.upper, "mass": range.mass,
        })),
        "bound": answer.bound.map(|bound| json!({ "young": bound.young, "below": bound.below })),
        "tests": tests,
    }))
}

/// The genotypes of an animal at a suspected gene under each mode; null where no single locus
/// decides.
pub(super) fn by_mode(colony: &Colony, gene: GeneId, suspected: &Suspected) -> Value {
    let one = |under: &UnderMode| {
        let chances = under.posterior.iter().map(|(genotype, chance)| {
            (names::genotype(colony, gene, *genotype), Value::from(*chance))
        });
        let posterior: serde_json::Map<String, Value> = chances.collect();
        json!({
            "mode": names::mode(colony, under.mode),
            "probability": under.probability,
            "posterior": if posterior.is_empty() { Value::Null } else { posterior.into() },
        })
    };
    suspected.by_mode.iter().map(one).collect()
}
