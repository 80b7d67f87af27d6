//! The page: what it is made of, and in which order.

use askama::Template;

use super::table::written;
use super::{assumptions, families, labels, modes, open, overview, plans, summary};
use crate::presentation::charts::{defs, style_sheet};
use crate::presentation::check_text::in_short;
use crate::presentation::isolated;
use crate::questions::{
    EggsAnswer, Expectation, GenotypesAnswer, GoalAnswer, IdentifyAnswer, LabelsAnswer, ModeAnswer,
    PairingsAnswer, WhatIf,
};
use crate::records::Colony;

/// Where the records came from, and what made the report.
#[derive(Clone, Debug, PartialEq)]
pub struct About {
    /// The name of the records file.
    pub file: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub hash: String,
    /// Version of the program.
    pub version: String,
    /// Assumptions that were set for this report, over what the file says: `misread=0.01`.
    pub assumed: Vec<String>,
}

/// The answers that a report shows.
#[derive(Clone, Debug)]
pub struct Parts<'a> {
    /// The colony.
    pub colony: &'a Colony,
    /// Where it came from.
    pub about: &'a About,
    /// What each animal carries, with its stories.
    pub genotypes: &'a GenotypesAnswer,
    /// Which hatchling is what.
    pub identify: &'a IdentifyAnswer,
    /// What could have been expected of each clutch.
    pub expected: &'a [Expectation],
    /// The answers over ranges of the assumptions, for the questions of [`Parts::pictured`].
    pub what_if: &'a [WhatIf],
    /// How each suspected gene is inherited.
    pub modes: &'a [ModeAnswer],
    /// What may be written on labels.
    pub labels: Option<&'a LabelsAnswer>,
    /// Which pairings would tell most, where the size of a clutch is known.
    pub pairings: Option<&'a PairingsAnswer>,
    /// How many eggs the most telling pairing of each question takes.
    pub eggs: &'a [EggsAnswer],
    /// Plans to an animal, where one was asked for.
    pub goal: Option<&'a GoalAnswer>,
}

/// A part of the page.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Its name within the page.
    pub anchor: &'static str,
    /// Its heading; headings inside of it begin at the third level.
    pub heading: String,
    /// What it holds, escaped already.
    pub html: String,
}

#[derive(Template)]
#[template(path = "page.html")]
struct Page {
    title: String,
    style: String,
    patterns: String,
    lines: Vec<String>,
    sections: Vec<Section>,
}

/// The report as one HTML page.
pub fn report(parts: &Parts<'_>) -> String {
    let colony = isolated(parts.colony);
    let parts = &Parts { colony: &colony, ..parts.clone() };
    let mut sections = vec![summary::section(parts), open::section(parts)];
    sections.extend(modes::section(parts));
    sections.extend(overview::hatchlings(parts));
    sections.extend(overview::sires(parts));
    sections.extend(families::section(parts));
    sections.extend(overview::expected(parts));
    sections.extend(plans::section(parts));
    sections.extend(plans::goal(parts));
    sections.push(overview::settled(parts));
    sections.extend(labels::section(parts));
    sections.push(assumptions::cautions(parts));
    sections.push(assumptions::section(parts));
    sections.push(assumptions::about(parts));
    let title = colony.title.clone().unwrap_or_else(|| "Untitled colony".to_owned());
    let mut lines = vec![in_short(&colony).trim().replace("\n ", "")];
    lines.extend(colony.species.clone());
    let page = written(&Page {
        title,
        style: include_str!("templates/report.css").to_owned() + &style_sheet(),
        patterns: defs(),
        lines,
        sections,
    });
    // A sign of per cent stays with its number, and odds stay together.
    page.replace(" %", "\u{a0}%").replace(" : ", "\u{a0}:\u{a0}")
}
