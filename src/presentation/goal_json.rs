//! How to get to an animal, as JSON.

use serde_json::{Value, json};

use super::goal_text::{parent, target};
use super::json::{Named, method, write};
use super::names;
use crate::questions::{GoalAnswer, GoalLook, GoalPlan, GoalStep};
use crate::records::{Colony, Sex};

/// `goal --json`.
pub fn goal(colony: &Colony, answer: &GoalAnswer) -> String {
    let already = answer.already.iter().map(
        |(animal, chance)| json!({ "animal": names::animal(colony, *animal), "chance": chance }),
    );
    write(&json!({
        "schema": 1,
        "method": method(answer.method),
        "assumptions": serde_json::to_value(Named(&answer.assumptions)).unwrap_or_default(),
        "warnings": answer.warnings,
        "goal": target(colony, &answer.target),
        "assurance": answer.assurance,
        "seasons": answer.limit,
        "young": answer.young.mean,
        "clutches_per_season": answer.young.clutches,
        "wait": { "female": answer.wait[0], "male": answer.wait[1], "known": answer.wait_known },
        "already": already.collect::<Vec<_>>(),
        "plans": answer.plans.iter().map(|one| plan(colony, one)).collect::<Vec<_>>(),
        "at_most": answer.at_most,
    }))
}

fn plan(colony: &Colony, plan: &GoalPlan) -> Value {
    json!({
        "seasons": plan.seasons,
        "young": plan.young,
        "eggs": plan.eggs,
        "assurance": plan.assurance,
        "assurance_by_eggs": plan.by_eggs,
        "seen_as": plan.seen_as.as_ref().map(|(look, chance)| {
            json!({ "looks": looks(colony, look), "chance": chance })
        }),
        "steps": plan.steps.iter().map(|one| step(colony, one)).collect::<Vec<_>>(),
    })
}

fn step(colony: &Colony, step: &GoalStep) -> Value {
    let keep = step.keep.iter().map(|keep| {
        json!({
            "looks": looks(colony, &keep.looks),
            "sex": names::sex(Some(keep.sex)),
            "number": keep.number,
            "each": keep.each,
        })
    });
    let harms = step.harms.iter().map(|harm| {
        json!({
            "gene": colony.gene(harm.gene).name,
            "lethal": harm.lethal,
            "shown": harm.shown,
            "caution": colony.gene(harm.gene).caution,
        })
    });
    json!({
        "season": step.seasons[0],
        "last_season": step.seasons[1],
        "dam": parent(colony, step.dam, Sex::Female),
        "sire": parent(colony, step.sire, Sex::Male),
        "young": step.young,
        "eggs": step.eggs,
        "clutches": step.clutches,
        "keep": keep.collect::<Vec<_>>(),
        "chance": step.chance,
        "each": step.each,
        "inbreeding": step.inbreeding,
        "lethal": step.lethal,
        "harms": harms.collect::<Vec<_>>(),
    })
}

/// The names of the looks at the genes of the goal; none for a normal animal.
fn looks(colony: &Colony, look: &GoalLook) -> Vec<String> {
    let shown = look.iter().filter_map(|(gene, class)| Some((*gene, (*class)?)));
    shown
        .filter(|(_, class)| *class > 0)
        .map(|(gene, class)| colony.gene(gene).look_name(class).to_owned())
        .collect()
}
