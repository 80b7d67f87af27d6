//! Breeding plans as time lines: which pairing in which season, and what is kept from it.

use super::Chart;
use super::canvas::{Anchor, COLUMN, Canvas, EDGE, SMALL};
use super::style::AXIS;
use crate::presentation::check_text::plural;
use crate::presentation::goal_text::{kept, parent, target};
use crate::presentation::wording::percent;
use crate::questions::{GoalAnswer, GoalPlan, GoalStep};
use crate::records::{Colony, Sex};

/// Plans that are drawn.
const DRAWN: usize = 3;
/// Height of the bar of a step.
const BAR: f64 = 12.0;

/// The plans to a goal over the seasons.
pub fn goal(colony: &Colony, answer: &GoalAnswer) -> Chart {
    let wanted = target(colony, &answer.target);
    let sentence = match answer.plans.first() {
        Some(best) => format!(
            "{wanted}: {} and {} eggs for {}",
            plural(best.seasons as usize, "season", "seasons"),
            best.eggs,
            percent(best.assurance),
        ),
        None => format!("{wanted}: no plan found"),
    };
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&sentence);
    let mut told = Vec::new();
    let drawn = || answer.plans.iter().take(DRAWN);
    let longest = drawn().map(|plan| plan.seasons).max().unwrap_or(1);
    for (at, one) in drawn().enumerate() {
        told.push(plan(&mut canvas, colony, at + 1, one, longest));
    }
    if !answer.plans.is_empty() {
        canvas.below += 10.0;
        let legend = "Across: breeding seasons from now. Filled: a pairing whose young are kept on; \
                      hatched: the pairing that gives the animal wanted.";
        canvas.paragraph(EDGE, &["soft", "small"], legend, 4);
    }
    canvas.finish(sentence.clone(), told.join(" "))
}

fn plan(
    canvas: &mut Canvas,
    colony: &Colony,
    rank: usize,
    plan: &GoalPlan,
    longest: u32,
) -> String {
    canvas.below += 8.0;
    let head = format!(
        "Plan {rank}: {} young from {} eggs, succeeds with {}",
        plan.young,
        plan.eggs,
        percent(plan.assurance)
    );
    canvas.paragraph(EDGE, &["ink", "bold"], &head, 2);
    let mut lines = vec![head];
    let width = (COLUMN - 2.0 * EDGE) / f64::from(longest);
    let across = |season: u32| EDGE + width * f64::from(season - 1);
    for (at, step) in plan.steps.iter().enumerate() {
        let words = told(colony, at + 1, step);
        canvas.below += 4.0;
        canvas.paragraph(EDGE, &["ink"], &words, 4);
        let y = canvas.below + 5.0;
        let [first, last] = step.seasons;
        for season in 1..=longest {
            canvas.rect([across(season), y, width, BAR], &["ground", "edge", "l-axis"]);
        }
        let (fill, edge) =
            if step.keep.is_empty() { ("fill-2", "l-second") } else { ("fill-1", "l-first") };
        let length = width * f64::from(last - first + 1);
        canvas.rect([across(first), y, length, BAR], &[fill, "edge", edge]);
        canvas.below = y + BAR + 2.0;
        lines.push(words);
    }
    let y = canvas.below + 3.0;
    // Where there are many, only some are numbered.
    let every = longest.div_ceil(8).max(1);
    for season in (1..=longest).step_by(every as usize) {
        let x = across(season) + width / 2.0;
        canvas.line([x, y - 3.0], [x, y], AXIS, &[]);
        let words =
            if season == 1 && width > 60.0 { "season 1".to_owned() } else { season.to_string() };
        canvas.text([x, y + SMALL], Anchor::Middle, &["soft", "small"], &words);
    }
    canvas.below = y + SMALL + 4.0;
    lines.join(". ") + "."
}

/// A step in one line.
fn told(colony: &Colony, number: usize, step: &GoalStep) -> String {
    let mut line = format!(
        "{number}. {} × {}: {}",
        parent(colony, step.dam, Sex::Female),
        parent(colony, step.sire, Sex::Male),
        plural(step.eggs as usize, "egg", "eggs"),
    );
    for keep in &step.keep {
        line.push_str("; ");
        line.push_str(&kept(colony, keep));
    }
    line
}
