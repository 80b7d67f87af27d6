//! Which pairing would tell most.

use super::page::{Parts, Section};
use super::table::{Cell, Table};
use crate::presentation::names;
use crate::presentation::wording::{coefficient, percent};
use crate::questions::{Pairing, PairingsAnswer};

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
    Some(Section { anchor: "pairings", heading: "What to breed next".into(), html: table.html() })
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
        Cell::number(format!("{:.2}", one.bits), one.bits),
        Cell::text(one.inbreeding.map_or_else(|| "not known".to_owned(), coefficient)),
    ]
}
