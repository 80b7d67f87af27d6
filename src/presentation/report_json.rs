//! `report --json`: the numbers behind the pictures and tables of a report.

use serde_json::Value;

use super::charts::knob;
use super::report::Parts;
use super::{goal_json, json, modes_json, names, planning_json};
use crate::questions::{Expectation, Story, WhatIf, working};
use crate::records::{Assumptions, Colony};

/// `report --json`; numbers are never rounded.
pub fn report(parts: &Parts<'_>) -> String {
    let colony = parts.colony;
    let assumptions: serde_json::Map<String, Value> = Assumptions::KEYS
        .iter()
        .map(|key| ((*key).to_owned(), serde_json::json!(parts.genotypes.assumptions.get(key))))
        .collect();
    let of = |value: Vec<Value>| Value::from(value);
    let written = serde_json::json!({
        "schema": 1,
        "method": "exact",
        "log_evidence": parts.genotypes.log_evidence,
        "records": { "file": parts.about.file, "sha256": parts.about.hash },
        "version": parts.about.version,
        "assumptions": assumptions,
        "stories": of(parts.genotypes.stories.iter().map(|one| story(colony, one)).collect()),
        "what_if": of(parts.what_if.iter().map(|one| what_if(colony, one)).collect()),
        "modes": of(parts.modes.iter().map(|one| whole(&modes_json::mode(colony, one))).collect()),
        "labels": parts.labels.map(|one| whole(&json::labels(colony, one))),
        "pairings": parts.pairings.map(|one| whole(&planning_json::pairings(colony, one))),
        "eggs": of(parts.eggs.iter().map(|one| whole(&planning_json::eggs(colony, one))).collect()),
        "goal": parts.goal.map(|one| whole(&goal_json::goal(colony, one))),
        "expected": of(parts.expected.iter().map(|one| expected(colony, one)).collect()),
    });
    // Maps have string keys and no writer fails, so this cannot go wrong.
    serde_json::to_string_pretty(&written).unwrap_or_default() + "\n"
}

/// The answer of another question as it stands alone.
fn whole(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_default()
}

fn story(colony: &Colony, story: &Story) -> Value {
    let step = |step: &crate::questions::Step| {
        serde_json::json!({
            "clutch": colony.clutch(step.clutch).id,
            "multiplier": step.multiplier,
            "after": step.after,
        })
    };
    let work = working(story);
    serde_json::json!({
        "animal": names::animal(colony, story.proposition.animal),
        "gene": colony.gene(story.proposition.gene).name,
        "says": names::proposition(colony, story.proposition),
        "before": story.before,
        "probability": story.after,
        "clutches": story.steps.iter().map(step).collect::<Vec<_>>(),
        "working": { "prior": work.prior, "joint": work.joint, "posterior": work.posterior },
        "floor": story.floor.map(|floor| floor.chance),
    })
}

fn what_if(colony: &Colony, one: &WhatIf) -> Value {
    let curve = |curve: &crate::questions::Curve| {
        serde_json::json!({
            "assumption": knob(colony, curve.knob),
            "now": curve.now,
            "values": curve.values,
            "probabilities": curve.chances,
        })
    };
    serde_json::json!({
        "animal": names::animal(colony, one.proposition.animal),
        "gene": colony.gene(one.proposition.gene).name,
        "says": names::proposition(colony, one.proposition),
        "probability": one.chance,
        "assumptions": one.curves.iter().map(curve).collect::<Vec<_>>(),
        "turn": one.turn.map(|turn| serde_json::json!({
            "assumption": knob(colony, turn.knob),
            "value": turn.value,
            "probability": turn.chance,
        })),
    })
}

fn expected(colony: &Colony, one: &Expectation) -> Value {
    serde_json::json!({
        "clutch": colony.clutch(one.clutch).id,
        "gene": colony.gene(one.gene).name,
        "look": colony.gene(one.gene).look_name(one.class),
        "seen": one.seen,
        "judged": one.judged,
        "range": one.range,
        "probabilities": one.chances,
    })
}
