//! What everything rests on: cautions, assumptions, the records, the program.

use askama::Template;

use super::page::{Parts, Section};
use super::table::{Cell, Table, written};
use crate::presentation::cautions;
use crate::presentation::check_text::{caution_lines, gene_line, meaning};
use crate::presentation::wording::plain;
use crate::records::Assumptions;

/// Paragraphs, then a list.
#[derive(Template)]
#[template(path = "list.html")]
pub(in crate::presentation) struct List {
    pub(in crate::presentation) before: Vec<String>,
    pub(in crate::presentation) lines: Vec<String>,
}

pub(super) fn cautions(parts: &Parts<'_>) -> Section {
    let general = "Ask a veterinarian before you breed animals whose looks can harm them, and mind \
                   the law where you live.";
    let mut lines = caution_lines(parts.colony);
    for line in cautions::lines(parts.colony, &parts.genotypes.cautions) {
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    let list = List { before: vec![general.into()], lines };
    Section { anchor: "cautions", heading: "Cautions".into(), html: written(&list) }
}

pub(super) fn section(parts: &Parts<'_>) -> Section {
    let heads = ["Assumption", "#Value", "What it is"];
    let mut table = Table::new("Assumptions in force", &heads);
    for key in Assumptions::KEYS {
        let value = parts.genotypes.assumptions.get(key).unwrap_or_default();
        table.rows.push(vec![
            Cell::text(key),
            Cell::number(plain(value), value),
            Cell::text(meaning(key)),
        ]);
    }
    let mut before = vec![
        "These are yours to set in the records; none of them is a published value.".to_owned(),
    ];
    if !parts.about.assumed.is_empty() {
        before.push(format!("Set for this report: {}.", parts.about.assumed.join(", ")));
    }
    let lines = parts.colony.genes.iter().map(gene_line).collect();
    let html = table.html() + &written(&List { before, lines });
    Section { anchor: "assumptions", heading: "What was assumed".into(), html }
}

pub(super) fn about(parts: &Parts<'_>) -> Section {
    let about = parts.about;
    let lines = vec![
        format!("records: {}", about.file),
        format!("SHA-256 of the records: {}", about.hash),
        format!("program: proveout {}", about.version),
    ];
    let before = vec![
        "All chances were computed exactly, from one probability model of the whole file.".into(),
        "This report is no certificate, no veterinary and no legal advice. It is not meant for \
         human genetics or for counselling people."
            .into(),
    ];
    let html = written(&List { before, lines });
    Section { anchor: "about", heading: "About this report".into(), html }
}
