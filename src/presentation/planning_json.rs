//! What to breed next and how many eggs it takes, as JSON.

use serde_json::{Value, json};

use super::json::{Named, method, write};
use super::names;
use crate::questions::{
    AllelicOutcome, AllelicPairing, AllelicPairings, Carrier, EggsAnswer, EggsNeeded, ModeOutcome,
    ModePairing, Outcome, Pairing, PairingsAnswer,
};
use crate::records::{Colony, GeneId};

/// `pairings --json`.
pub fn pairings(colony: &Colony, answer: &PairingsAnswer) -> String {
    let one = |one: &Pairing| {
        json!({
            "dam": names::animal(colony, one.dam),
            "sire": names::animal(colony, one.sire),
            "question": question(colony, one.question),
            "today": one.today,
            "bits": one.bits,
            "bits_per_egg": one.bits_per_egg,
            "bits_per_season": one.bits_per_season,
            "inbreeding": one.inbreeding,
            "lethal": one.lethal,
            "floor": one.floor,
            "proven": one.verdicts.proven,
            "cleared": one.verdicts.cleared,
            "open": one.verdicts.open,
            "outcomes": outcomes(colony, one.question.gene, &one.outcomes),
        })
    };
    let mut all: Vec<Value> = answer.pairings.iter().map(one).collect();
    if let Some(modes) = &answer.modes {
        all.extend(modes.pairings.iter().map(|one| of_mode(colony, modes.gene, one)));
    }
    if let Some(about) = &answer.allelic {
        all.extend(about.pairings.iter().map(|one| of_two_genes(colony, about, one)));
    }
    write(&json!({
        "schema": 1,
        "method": method(answer.method),
        "assumptions": serde_json::to_value(Named(&answer.assumptions)).unwrap_or_default(),
        "warnings": answer.warnings,
        "young": answer.young.mean,
        "pairings": all,
    }))
}

fn of_mode(
    colony: &Colony,
    gene: GeneId,
    (one, an_egg, kin): &(ModePairing, f64, Option<f64>),
) -> Value {
    let gene = colony.gene(gene);
    let outcome = |outcome: &ModeOutcome| {
        let counts = outcome.counts.iter().enumerate();
        let counts: serde_json::Map<String, Value> =
            counts.map(|(class, n)| (gene.look_name(class).to_owned(), (*n).into())).collect();
        let after = outcome.posterior.iter();
        let after: serde_json::Map<String, Value> =
            after.map(|(mode, p)| (names::mode(colony, *mode), (*p).into())).collect();
        json!({ "counts": counts, "probability": outcome.probability, "posterior": after })
    };
    json!({
        "dam": names::animal(colony, one.dam),
        "sire": names::animal(colony, one.sire),
        "question": { "mode": gene.name },
        "bits": one.bits,
        "bits_per_egg": an_egg,
        "bits_per_season": one.bits_per_season,
        "inbreeding": kin,
        "outcomes": one.outcomes.iter().map(outcome).collect::<Vec<_>>(),
    })
}

fn of_two_genes(colony: &Colony, about: &AllelicPairings, one: &AllelicPairing) -> Value {
    let by_name = |[same, linked, free]: [f64; 3]| json!({ "same_locus": same, "linked": linked, "free": free });
    let outcome = |outcome: &AllelicOutcome| {
        let counts = outcome.counts.iter().enumerate();
        let counts: serde_json::Map<String, Value> =
            counts.map(|(at, n)| (names::two_looks(colony, about, at), (*n).into())).collect();
        json!({
            "counts": counts,
            "probability": outcome.probability,
            "posterior": by_name(outcome.posterior),
        })
    };
    json!({
        "dam": names::animal(colony, one.dam),
        "sire": names::animal(colony, one.sire),
        "question": { "allelic": about.genes.map(|gene| colony.gene(gene).name.as_str()) },
        "today": by_name(about.today),
        "bits": one.bits,
        "bits_per_egg": one.bits_per_egg,
        "bits_per_season": one.bits_per_season,
        "inbreeding": one.inbreeding,
        "lethal": one.lethal,
        "outcomes": one.outcomes.iter().map(outcome).collect::<Vec<_>>(),
    })
}

fn question(colony: &Colony, question: Carrier) -> Value {
    let gene = colony.gene(question.gene);
    json!({
        "carrier": names::animal(colony, question.animal),
        "gene": gene.name,
        "allele": gene.allele_name(question.allele),
    })
}

fn outcomes(colony: &Colony, gene: GeneId, outcomes: &[Outcome]) -> Value {
    let gene = colony.gene(gene);
    let one = |one: &Outcome| {
        // Where looks are too many to tell apart, the second number is that of all looks.
        let names = |class: usize| match one.counts.len() {
            2 if gene.looks.len() > 1 && class == 1 => "any look".to_owned(),
            _ => gene.look_name(class).to_owned(),
        };
        let counts = one.counts.iter().enumerate();
        let counts: serde_json::Map<String, Value> =
            counts.map(|(class, number)| (names(class), (*number).into())).collect();
        json!({ "counts": counts, "probability": one.probability, "posterior": one.posterior })
    };
    outcomes.iter().map(one).collect()
}

/// `eggs --json`.
pub fn eggs(colony: &Colony, answer: &EggsAnswer) -> String {
    let need = |needed: Option<EggsNeeded>| {
        needed.map(|one| json!({ "young": one.young, "eggs": one.eggs, "clutches": one.clutches }))
    };
    let curve: Vec<Value> = answer
        .curve
        .iter()
        .map(|step| {
            json!({
                "young": step.young, "proves": step.proves, "left": step.left,
                "settles": step.settles,
            })
        })
        .collect();
    write(&json!({
        "schema": 1,
        "method": method(answer.method),
        "assumptions": serde_json::to_value(Named(&answer.assumptions)).unwrap_or_default(),
        "warnings": answer.warnings,
        "question": question(colony, answer.question),
        "mate": names::animal(colony, answer.mate),
        "level": answer.level,
        "assurance": answer.assurance,
        "today": answer.today,
        "inbreeding": answer.inbreeding,
        "lethal": answer.lethal,
        "floor": answer.floor,
        "proves": need(answer.proves),
        "clears": need(answer.clears),
        "settles": need(answer.settles),
        "next_clutch": answer.next_clutch,
        "curve": curve,
    }))
}
