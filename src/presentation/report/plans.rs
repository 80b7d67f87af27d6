//! Which pairing would tell most.

use super::overview::{Figure, Figures};
use super::page::{Parts, Section};
use super::table::{Cell, Table, written};
use crate::presentation::wording::{bits, coefficient, percent, plain};
use crate::presentation::{charts, goal_text, names};
use crate::questions::{EggsAnswer, EggsNeeded, GoalPlan, Pairing, PairingsAnswer};
use crate::records::Sex;

/// Pairings that are shown.
const SHOWN: usize = 12;

pub(super) fn section(parts: &Parts<'_>) -> Option<Section> {
    let answer: &PairingsAnswer = parts.pairings?;
    if answer.pairings.is_empty() {
        return None;
    }
    let heads =
        ["Pairing", "Question", "#Today", "#If all are normal", "#Bits a clutch", "Inbreeding"];
    let caption = format!("Test pairings by what {} young would tell", answer.young.usual());
    let mut table = Table::new(caption, &heads);
    for one in answer.pairings.iter().take(SHOWN) {
        table.rows.push(row(parts, one));
    }
    let figure = Figure {
        label: "what the next clutches may bring".into(),
        svg: charts::pairings(parts.colony, answer).inline("pairings"),
        class: "wide",
    };
    let mut html = written(&Figures { before: Vec::new(), figures: vec![figure] }) + &table.html();
    html.push_str(&eggs(parts));
    Some(Section { anchor: "pairings", heading: "What to breed next".into(), html })
}

/// How many eggs the most telling pairing of each question takes, and when to stop.
fn eggs(parts: &Parts<'_>) -> String {
    let Some(first) = parts.eggs.first() else { return String::new() };
    let heads = ["Question", "With", "#To prove", "#To clear", "#To settle", "Today"];
    let caption =
        format!("Hatched young (and eggs) that settle a question at {}", percent(first.level));
    let mut table = Table::new(caption, &heads);
    for one in parts.eggs {
        let [animal, mate] =
            [one.question.animal, one.mate].map(|id| names::animal(parts.colony, id));
        let allele = parts.colony.gene(one.question.gene).allele_name(one.question.allele);
        let needed = |needed: Option<EggsNeeded>| match needed {
            Some(n) => Cell::number(format!("{} ({})", n.young, plain(n.eggs)), f64::from(n.young)),
            None => Cell::text("never"),
        };
        table.rows.push(vec![
            Cell::text(format!("does {animal} carry {allele}?")),
            Cell::text(mate),
            needed(one.proves),
            needed(one.clears),
            needed(one.settles),
            Cell::text(stopping(one)),
        ]);
    }
    let before = vec![format!(
        "To prove: a carrier shows itself so surely among so many. To clear: that many, all normal, \
         leave so little. To settle: one or the other, with {} from today's odds. A question that \
         counts as settled today needs no more eggs.",
        percent(first.assurance)
    )];
    let figure = Figure {
        label: "how many eggs".into(),
        svg: charts::eggs(parts.colony, first).inline("eggs"),
        class: "wide",
    };
    let words = "<h3>How many eggs, and when to stop</h3>".to_owned();
    words + &written(&Figures { before, figures: vec![figure] }) + &table.html()
}

/// What today's odds already allow, and how much a further clutch could change.
fn stopping(one: &EggsAnswer) -> String {
    let today = percent(one.today);
    if one.today >= one.level {
        format!("{today}: proven, stop")
    } else if one.today <= 1.0 - one.level {
        format!("{today}: cleared, stop")
    } else {
        match one.next_clutch {
            Some(settled) => {
                format!("{today}; the next clutch settles it with {}", percent(settled))
            }
            None => today,
        }
    }
}

/// Plans to an animal.
pub(super) fn goal(parts: &Parts<'_>) -> Option<Section> {
    let answer = parts.goal?;
    let figure = Figure {
        label: "the plans over the seasons".into(),
        svg: charts::goal(parts.colony, answer).inline("goal"),
        class: "wide",
    };
    let before = vec![goal_text::terms(answer)];
    let mut html = written(&Figures { before, figures: vec![figure] });
    for (at, one) in answer.plans.iter().enumerate() {
        html.push_str(&plan(parts, at + 1, one).html());
    }
    let after = if answer.plans.is_empty() {
        goal_text::no_plan(answer)
    } else {
        goal_text::LAST_WORD.to_owned()
    };
    html.push_str(&written(&Figures { before: vec![after], figures: Vec::new() }));
    Some(Section { anchor: "goal", heading: "How to get there".into(), html })
}

fn plan(parts: &Parts<'_>, rank: usize, plan: &GoalPlan) -> Table {
    let colony = parts.colony;
    let heads = ["Step", "Seasons", "Pairing", "#Young", "#Eggs", "Keep", "Mind"];
    let caption = format!(
        "Plan {rank}: {} young from {} eggs, succeeds with {}",
        plan.young,
        plan.eggs,
        percent(plan.assurance)
    );
    let mut table = Table::new(caption, &heads);
    for (at, step) in plan.steps.iter().enumerate() {
        let [first, last] = step.seasons;
        let keep: Vec<String> =
            step.keep.iter().map(|keep| goal_text::kept(colony, keep)).collect();
        table.rows.push(vec![
            Cell::text((at + 1).to_string()),
            Cell::text(if first == last {
                first.to_string()
            } else {
                format!("{first} to {last}")
            }),
            Cell::text(format!(
                "{} × {}",
                goal_text::parent(colony, step.dam, Sex::Female),
                goal_text::parent(colony, step.sire, Sex::Male)
            )),
            Cell::number(step.young.to_string(), f64::from(step.young)),
            Cell::number(step.eggs.to_string(), f64::from(step.eggs)),
            Cell::text(if keep.is_empty() { "the animal".to_owned() } else { keep.join("; ") }),
            Cell::text(goal_text::harm(colony, step).join("; ")),
        ]);
    }
    table
}

fn row(parts: &Parts<'_>, one: &Pairing) -> Vec<Cell> {
    let [dam, sire, animal] =
        [one.dam, one.sire, one.question.animal].map(|id| names::animal(parts.colony, id));
    let gene = parts.colony.gene(one.question.gene);
    let normals = one.outcomes.iter().find(|o| o.counts[1..].iter().all(|number| *number == 0));
    vec![
        Cell::text(format!("{dam} × {sire}")),
        Cell::text(format!("does {animal} carry {}?", gene.allele_name(one.question.allele))),
        Cell::number(percent(one.today), one.today),
        normals.map_or_else(
            || Cell::text("never"),
            |normals| Cell::number(percent(normals.posterior), normals.posterior),
        ),
        Cell::number(bits(one.bits), one.bits),
        Cell::text(one.inbreeding.map_or_else(|| "not known".to_owned(), coefficient)),
    ]
}
