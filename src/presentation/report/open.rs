//! The open questions: each with its sentence, its pictures, its table and its working.

use askama::Template;

use super::page::{Parts, Section};
use super::summary::subject;
use super::table::{Cell, Table, written};
use crate::presentation::charts::{anything_moves, hundred, ladder, no_difference, what_if};
use crate::presentation::genotypes_text::{
    before, floor, has_something_to_tell, negligible, now, rests_on, step_line,
};
use crate::presentation::wording::{chance, figure, multiplier, percent};
use crate::questions::{
    Conclusion, GenotypesAnswer, Proposition, Story, WhatIf, conclusion, working,
};
use crate::records::Colony;

/// So many questions are shown with pictures; the others stand in a table.
const PICTURED: usize = 12;
/// A chance that moved by less was not touched.
const UNTOUCHED: f64 = 0.001;

/// One open question.
#[derive(Template)]
#[template(path = "question.html")]
struct Question {
    id: String,
    heading: String,
    now: String,
    chance: f64,
    before: Option<String>,
    figures: Vec<String>,
    reasons: Vec<String>,
    steps: String,
    working: String,
}

impl Parts<'_> {
    /// The questions that a report shows with pictures: the most open ones, most open first.
    pub fn pictured(colony: &Colony, answer: &GenotypesAnswer) -> Vec<Proposition> {
        let open = open(colony, answer, true).into_iter().take(PICTURED);
        open.map(|story| story.proposition).collect()
    }
}

/// The stories that are not settled; `touched` ones, or those that no record has moved yet.
fn open<'a>(colony: &Colony, answer: &'a GenotypesAnswer, touched: bool) -> Vec<&'a Story> {
    let is_open = |story: &&Story| {
        conclusion(story.after) == Conclusion::Open
            && has_something_to_tell(colony, story)
            && touched == ((story.after - story.before).abs() > UNTOUCHED)
    };
    let mut open: Vec<&Story> = answer.stories.iter().filter(is_open).collect();
    let distance = |story: &Story| (story.after - 0.5).abs();
    open.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    open
}

pub(super) fn section(parts: &Parts<'_>) -> Section {
    let open = open(parts.colony, parts.genotypes, true);
    let untouched = self::open(parts.colony, parts.genotypes, false);
    let (shown, rest) = open.split_at(open.len().min(PICTURED));
    let mut html = String::new();
    if open.is_empty() {
        html.push_str("<p>Nothing is open: what was in doubt is settled.</p>");
    } else if !rest.is_empty() {
        html.push_str(
            "<p>The most open ones first; the others stand in the table behind them.</p>",
        );
    }
    for (at, story) in shown.iter().enumerate() {
        html.push_str(&written(&question(parts, story, at + 1)));
    }
    if !rest.is_empty() {
        html.push_str("<h3>The other open questions</h3>");
        html.push_str(&others(parts, "Open questions without a picture", rest));
    }
    if !untouched.is_empty() {
        html.push_str(
            "<h3>Untouched so far</h3><p>Nothing has been seen yet that moves these.</p>",
        );
        html.push_str(&others(parts, "Chances that no record has moved", &untouched));
    }
    Section { anchor: "open", heading: "Open questions".into(), html }
}

fn question(parts: &Parts<'_>, story: &Story, number: usize) -> Question {
    let found = parts.what_if.iter().find(|one| one.proposition == story.proposition);
    pictured(parts.colony, story, found, format!("q{number}"))
}

/// One question with its pictures, its table and its working; `id` is unique in the page.
pub(in crate::presentation) fn article(colony: &Colony, story: &Story, id: String) -> String {
    written(&pictured(colony, story, None, id))
}

fn pictured(colony: &Colony, story: &Story, found: Option<&WhatIf>, id: String) -> Question {
    let mut figures = vec![
        ladder(colony, story).inline(&format!("{id}-ladder")),
        hundred(colony, story).inline(&format!("{id}-hundred")),
    ];
    let mut reasons: Vec<String> =
        rests_on(colony, story).into_iter().chain(floor(colony, story)).collect();
    match found {
        Some(one) if anything_moves(one) => {
            figures.push(what_if(colony, one).inline(&format!("{id}-what-if")));
        }
        Some(one) => {
            reasons.push(no_difference(colony, &one.curves.iter().collect::<Vec<_>>()));
        }
        None => {}
    }
    Question {
        heading: subject(colony, story),
        now: now(colony, story),
        chance: story.after,
        before: before(colony, story),
        figures,
        reasons,
        steps: steps(colony, story),
        working: work(colony, story),
        id,
    }
}

/// How each clutch moved it.
fn steps(colony: &Colony, story: &Story) -> String {
    let heads = ["Clutch and young", "#Odds", "#Chance after"];
    let mut table = Table::new("How each clutch moved it", &heads);
    for step in story.steps.iter().filter(|step| !negligible(step)) {
        let [young, _] = step_line(colony, story, step);
        table.rows.push(vec![
            Cell::text(young.trim_end_matches(':')),
            Cell::number(multiplier(step.multiplier), step.multiplier),
            Cell::number(chance(step.after), step.after),
        ]);
    }
    if table.rows.is_empty() { String::new() } else { table.html() }
}

/// Prior, likelihoods, joint and posterior.
fn work(colony: &Colony, story: &Story) -> String {
    let work = working(story);
    let mut table = Table::new("The working", &["", "#It is so", "#It is not"]);
    let mut row = |name: String, pair: [f64; 2]| {
        let [yes, no] = pair.map(|value| Cell::number(figure(value), value));
        table.rows.push(vec![Cell::text(name), yes, no]);
    };
    row("prior".into(), work.prior);
    for (pair, clutch) in work.likelihoods {
        let name = match clutch {
            Some(clutch) => format!("likelihood of {}", colony.clutch(clutch).id),
            None => "likelihood of all records".to_owned(),
        };
        row(name, pair);
    }
    row("joint".into(), work.joint);
    row("posterior".into(), work.posterior);
    table.html()
}

fn others(parts: &Parts<'_>, caption: &str, rest: &[&Story]) -> String {
    let heads = ["Question", "#Before any young", "#Now", "Moved most by"];
    let mut table = Table::new(caption, &heads);
    for story in rest {
        table.rows.push(vec![
            Cell::text(subject(parts.colony, story)),
            Cell::number(percent(story.before), story.before),
            Cell::number(chance(story.after), story.after),
            Cell::text(moved_most(parts.colony, story)),
        ]);
    }
    table.html()
}

/// The clutch that moved it most, and by how much.
pub(super) fn moved_most(colony: &Colony, story: &Story) -> String {
    let size = |factor: f64| if factor < 1.0 { 1.0 / factor } else { factor };
    let most = story.steps.iter().filter(|step| !negligible(step));
    let most = most.max_by(|a, b| size(a.multiplier).total_cmp(&size(b.multiplier)));
    most.map_or("no clutch yet".to_owned(), |step| {
        format!("{} ({})", colony.clutch(step.clutch).id, multiplier(step.multiplier))
    })
}
