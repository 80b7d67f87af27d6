//! How each suspected gene is inherited.

use super::overview::{Figure, Figures};
use super::page::{Parts, Section};
use super::table::{Cell, Table, written};
use crate::presentation::wording::percent;
use crate::presentation::{charts, modes_text, names};
use crate::questions::{ModeAnswer, ModeResult};
use crate::records::Colony;

pub(super) fn section(parts: &Parts<'_>) -> Option<Section> {
    if parts.modes.is_empty() {
        return None;
    }
    let html = parts.modes.iter().map(|answer| one(parts.colony, answer)).collect();
    Some(Section { anchor: "modes", heading: "How new looks are inherited".into(), html })
}

/// The verdict on one gene, its picture and its table.
pub(in crate::presentation) fn one(colony: &Colony, answer: &ModeAnswer) -> String {
    let lines = modes_text::in_sentences(colony, answer);
    let picture = charts::mode(colony, answer);
    let gene = &colony.gene(answer.gene).name;
    let figure = Figure {
        label: format!("how {gene} is inherited"),
        svg: picture.inline(&format!("modes-{}", answer.gene.0)),
        class: "wide",
    };
    let mut before = vec![format!("{gene}:")];
    before.extend(lines);
    written(&Figures { before, figures: vec![figure] }) + &table(colony, answer).html()
}

fn table(colony: &Colony, answer: &ModeAnswer) -> Table {
    let heads = ["Way of inheritance", "#Before", "#Now", "#Log evidence"];
    let caption = format!("Every way {} may be inherited", colony.gene(answer.gene).name);
    let mut table = Table::new(caption, &heads);
    let mut order: Vec<&ModeResult> = answer.modes.iter().collect();
    order.sort_by(|a, b| b.posterior.total_cmp(&a.posterior));
    for one in order {
        let evidence = if one.log_evidence.is_finite() {
            Cell::number(format!("{:.2}", one.log_evidence), one.log_evidence)
        } else {
            Cell::text("ruled out")
        };
        table.rows.push(vec![
            Cell::text(names::mode(colony, one.mode)),
            Cell::number(percent(one.prior), one.prior),
            Cell::number(percent(one.posterior), one.posterior),
            evidence,
        ]);
    }
    table
}
