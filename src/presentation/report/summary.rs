//! What changed, what is settled, what to do next.

use askama::Template;

use super::page::{Parts, Section};
use super::table::written;
use crate::presentation::charts::in_doubt;
use crate::presentation::genotypes_text::{
    floor, has_something_to_tell, negligible, unproven_mate,
};
use crate::presentation::identify_text::how_to_tell_first;
use crate::presentation::wording::{chance, percent};
use crate::presentation::{doubts, names};
use crate::questions::{Conclusion, Step, Story, conclusion};
use crate::records::{Colony, Date};

/// At most so many lines in each list.
const LINES: usize = 8;

#[derive(Template)]
#[template(path = "summary.html")]
struct Summary {
    changed: Vec<String>,
    settled: Vec<String>,
    next: Vec<String>,
    /// What the answers left out or took in besides what was seen.
    mind: Vec<String>,
}

pub(super) fn section(parts: &Parts<'_>) -> Section {
    let told = |story: &&Story| has_something_to_tell(parts.colony, story);
    let stories: Vec<&Story> = parts.genotypes.stories.iter().filter(told).collect();
    let answer = parts.genotypes;
    let summary = Summary {
        changed: changed(parts, &stories),
        settled: settled(parts, &stories),
        next: next(parts, &stories),
        mind: doubts::warnings(parts.colony, &answer.warnings, None, &answer.divided),
    };
    Section { anchor: "summary", heading: "In short".into(), html: written(&summary) }
}

/// `Pernel carries teasel`.
pub(super) fn subject(colony: &Colony, story: &Story) -> String {
    let who = names::animal(colony, story.proposition.animal);
    format!("{who} {}", names::proposition(colony, story.proposition))
}

/// The first lines, and how many more there are.
fn shortened(mut lines: Vec<String>, where_else: &str) -> Vec<String> {
    let more = lines.len().saturating_sub(LINES);
    if more > 0 {
        lines.truncate(LINES);
        lines.push(format!("and {more} more, {where_else}"));
    }
    lines
}

/// What the clutches of the last season moved most.
fn changed(parts: &Parts<'_>, stories: &[&Story]) -> Vec<String> {
    let date = |step: &Step| parts.colony.clutch(step.clutch).date();
    let moved = || stories.iter().flat_map(|s| s.steps.iter().filter(|step| !negligible(step)));
    let season = |date: Option<Date>| date.map(|date| date.earliest().0);
    let Some(last) = moved().map(|step| season(date(step))).max() else { return Vec::new() };
    let mut lines: Vec<(f64, String)> = Vec::new();
    for story in stories {
        let Some(first) = story.steps.iter().position(|s| season(date(s)) == last) else {
            continue;
        };
        let before = if first == 0 { story.before } else { story.steps[first - 1].after };
        let own = story.steps[first..].iter().filter(|s| season(date(s)) == last && !negligible(s));
        let clutches: Vec<&str> =
            own.map(|step| parts.colony.clutch(step.clutch).id.as_str()).collect();
        let by = (story.after - before).abs();
        if by >= 0.005 && !clutches.is_empty() {
            let line = format!(
                "{}: from {} to {}, by {}",
                subject(parts.colony, story),
                percent(before),
                chance(story.after),
                clutches.join(", ")
            );
            lines.push((by, line));
        }
    }
    lines.sort_by(|a, b| b.0.total_cmp(&a.0));
    shortened(lines.into_iter().map(|(_, line)| line).collect(), "see below")
}

/// What was in doubt and no longer is.
fn settled(parts: &Parts<'_>, stories: &[&Story]) -> Vec<String> {
    let mut lines = Vec::new();
    for story in stories {
        let now = conclusion(story.after);
        if now == Conclusion::Open || conclusion(story.before) == now {
            continue;
        }
        let words = match (now, story.after) {
            (Conclusion::Shown, 1.0) => "proven",
            (Conclusion::Shown, _) => "as good as proven",
            (_, 0.0) => "ruled out",
            _ => "as good as ruled out",
        };
        lines.push(format!("{}: {words}, {}", subject(parts.colony, story), chance(story.after)));
    }
    shortened(lines, "listed under “What is settled”")
}

/// What would settle what is open: records to look at first, then matings, then second looks.
fn next(parts: &Parts<'_>, stories: &[&Story]) -> Vec<String> {
    let surprise = parts.genotypes.surprise.as_ref();
    let mut lines = doubts::warnings(parts.colony, &[], surprise, &[]);
    for answer in parts.modes {
        lines.extend(crate::presentation::modes_text::next_step(parts.colony, answer));
    }
    let mut open: Vec<&&Story> =
        stories.iter().filter(|story| conclusion(story.after) == Conclusion::Open).collect();
    open.sort_by(|a, b| (a.after - 0.5).abs().total_cmp(&(b.after - 0.5).abs()));
    for story in open {
        let what = match floor(parts.colony, story) {
            Some(floor) => floor,
            None if unproven_mate(story) => {
                "a mate that shows it would tell more than the one it was bred to".to_owned()
            }
            None => continue,
        };
        lines.push(format!("{} ({}): {what}", subject(parts.colony, story), percent(story.after)));
    }
    let mut hows: Vec<(String, Vec<String>)> = Vec::new();
    for hatchling in in_doubt(parts.identify) {
        let who = names::animal(parts.colony, hatchling.animal);
        let Some(how) = how_to_tell_first(parts.colony, hatchling) else { continue };
        match hows.iter_mut().find(|(known, _)| *known == how) {
            Some((_, all)) => all.push(who),
            None => hows.push((how, vec![who])),
        }
    }
    lines.extend(hows.into_iter().map(|(how, all)| format!("{}: {how}", all.join(", "))));
    shortened(lines, "see the open questions")
}
