//! Hatchlings, sires, what luck allows, and what is settled.

use askama::Template;

use super::open::moved_most;
use super::page::{Parts, Section};
use super::summary::subject;
use super::table::{Cell, Table, written};
use crate::presentation::charts::{expected as expected_chart, hatchlings as chart, in_doubt};
use crate::presentation::genotypes_text::has_something_to_tell;
use crate::presentation::names;
use crate::presentation::wording::{chance, percent};
use crate::questions::{Conclusion, Expectation, IdentifyAnswer, Story, conclusion};

/// At most so many hatchlings and clutches are drawn.
const DRAWN: usize = 40;
/// Identities below this chance are not listed.
const LISTED: f64 = 0.01;

/// A picture, and what it is called.
pub(in crate::presentation) struct Figure {
    pub(in crate::presentation) label: String,
    pub(in crate::presentation) svg: String,
    /// How it is shown: in a column, or as wide as it is, or so wide that paper is turned.
    pub(in crate::presentation) class: &'static str,
}

/// Pictures with paragraphs before them.
#[derive(Template)]
#[template(path = "figures.html")]
pub(in crate::presentation) struct Figures {
    pub(in crate::presentation) before: Vec<String>,
    pub(in crate::presentation) figures: Vec<Figure>,
}

pub(super) fn hatchlings(parts: &Parts<'_>) -> Option<Section> {
    let unsure: Vec<_> = in_doubt(parts.identify).cloned().collect();
    if unsure.is_empty() {
        return None;
    }
    let mut table =
        Table::new("What each uncertain hatchling may be", &["Hatchling", "Look", "#Chance"]);
    for hatchling in &unsure {
        let listed = |at: &usize| *at == 0 || hatchling.identities[*at].probability >= LISTED;
        for at in (0..hatchling.identities.len()).filter(listed) {
            let identity = &hatchling.identities[at];
            table.rows.push(vec![
                Cell::text(names::animal(parts.colony, hatchling.animal)),
                Cell::text(names::looks_phrase(parts.colony, &identity.looks)),
                Cell::number(chance(identity.probability), identity.probability),
            ]);
        }
    }
    let before = cut("hatchlings", unsure.len());
    let picture = if unsure.len() <= DRAWN {
        chart(parts.colony, parts.identify)
    } else {
        let hatchlings = unsure.into_iter().take(DRAWN).collect();
        chart(parts.colony, &IdentifyAnswer { hatchlings, ..parts.identify.clone() })
    };
    let figure =
        Figure { label: picture.title.clone(), svg: picture.inline("young"), class: "column" };
    let figures = Figures { before, figures: vec![figure] };
    let html = written(&figures) + &table.html();
    Some(Section { anchor: "hatchlings", heading: "Hatchlings in doubt".into(), html })
}

/// What is said where not all of them are drawn.
fn cut(what: &str, number: usize) -> Vec<String> {
    if number <= DRAWN {
        return Vec::new();
    }
    vec![format!("The first {DRAWN} of {number} {what} are drawn; the table has all of them.")]
}

pub(super) fn sires(parts: &Parts<'_>) -> Option<Section> {
    let answers = &parts.genotypes.sires;
    if answers.is_empty() {
        return None;
    }
    let heads = ["Clutch", "Sire", "#Before the young", "#Now"];
    let mut table = Table::new("Who the sire is", &heads);
    for answer in answers {
        let clutch = &parts.colony.clutch(answer.clutch).id;
        let whose = match answer.hatchling {
            Some(id) => format!("{} ({clutch})", names::animal(parts.colony, id)),
            None => clutch.clone(),
        };
        let mut candidates = answer.candidates.clone();
        candidates.sort_by(|a, b| b.2.total_cmp(&a.2));
        for (candidate, before, after) in candidates {
            let who = names::sire(parts.colony, candidate);
            table.rows.push(vec![
                Cell::text(whose.clone()),
                Cell::text(who),
                Cell::number(percent(before), before),
                Cell::number(chance(after), after),
            ]);
        }
    }
    Some(Section { anchor: "sires", heading: "Who the sire is".into(), html: table.html() })
}

pub(super) fn expected(parts: &Parts<'_>) -> Option<Section> {
    let worth = |one: &&Expectation| one.seen > 0 || one.range[1] > 0;
    let mut all: Vec<&Expectation> = parts.expected.iter().filter(worth).collect();
    if all.is_empty() {
        return None;
    }
    let heads = ["Clutch", "Look", "#Hatched", "#Judged", "Luck allows"];
    let mut table = Table::new("What hatched, and what luck allows", &heads);
    for one in &all {
        let [low, high] = one.range;
        let mark = if one.within() { "" } else { " (what hatched lies outside)" };
        table.rows.push(vec![
            Cell::text(&parts.colony.clutch(one.clutch).id),
            Cell::text(parts.colony.gene(one.gene).look_name(one.class)),
            Cell::number(one.seen.to_string(), f64::from(one.seen)),
            Cell::number(one.judged.to_string(), f64::from(one.judged)),
            Cell::text(format!("{low} to {high}{mark}")),
        ]);
    }
    let before = cut("counts", all.len());
    // Those that luck seldom gives come first where not all can be drawn.
    if all.len() > DRAWN {
        all.sort_by_key(|one| one.within());
    }
    let drawn: Vec<Expectation> = all.into_iter().take(DRAWN).cloned().collect();
    let picture = expected_chart(parts.colony, &drawn);
    let figure =
        Figure { label: picture.title.clone(), svg: picture.inline("expected"), class: "column" };
    let figures = Figures { before, figures: vec![figure] };
    let html = written(&figures) + &table.html();
    Some(Section { anchor: "expected", heading: "What hatched, and what luck allows".into(), html })
}

/// What the records settled, the look aside.
pub(super) fn settled(parts: &Parts<'_>) -> Section {
    let heads = ["Statement", "#Before any young", "#Now", "Moved most by"];
    let mut table = Table::new("Settled by the records", &heads);
    let told = |story: &&Story| {
        conclusion(story.after) != Conclusion::Open && has_something_to_tell(parts.colony, story)
    };
    for story in parts.genotypes.stories.iter().filter(told) {
        table.rows.push(vec![
            Cell::text(subject(parts.colony, story)),
            Cell::number(percent(story.before), story.before),
            Cell::number(chance(story.after), story.after),
            Cell::text(moved_most(parts.colony, story)),
        ]);
    }
    let mut html = String::from(
        "<p>At least 95 in 100, or at most 5. What is not listed was never in doubt, or the look \
         tells it.</p>",
    );
    html.push_str(&if table.rows.is_empty() { String::new() } else { table.html() });
    Section { anchor: "settled", heading: "What is settled".into(), html }
}
