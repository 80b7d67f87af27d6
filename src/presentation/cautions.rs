//! What may harm an animal, in words and as JSON; every caution sends the keeper to a veterinarian.

use serde_json::{Value, json};

use super::check_text::{CAUTIONS, list, wrapped};
use super::names;
use super::wording::{chance, coefficient, plain};
use crate::questions::{Caution, CautionKind};
use crate::records::{ClutchId, Colony, Inheritance};

/// The section of a text; empty when there is nothing to be said.
pub(super) fn section(colony: &Colony, cautions: &[Caution]) -> String {
    let mut text = String::new();
    for caution in cautions.iter().filter(|one| one.gene.is_some()) {
        match (&caution.kind, caution.clutch) {
            (CautionKind::NoHistory, _) => {}
            (_, None) => text.push_str(&wrapped(2, 6, &sentence(colony, caution))),
            (_, Some(_)) => text.push_str(&wrapped(4, 8, &sentence(colony, caution))),
        }
    }
    text.push_str(&no_history(colony, cautions));
    text.push_str(&inbreeding(colony, cautions));
    for caution in cautions.iter().filter(|one| matches!(one.kind, CautionKind::EggLosses { .. })) {
        text.push_str(&wrapped(2, 6, &sentence(colony, caution)));
    }
    if text.is_empty() { text } else { format!("\n{CAUTIONS}\n{text}") }
}

/// The same as a list of plain sentences.
pub(super) fn lines(colony: &Colony, cautions: &[Caution]) -> Vec<String> {
    let text = section(colony, cautions);
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines().skip(2) {
        let indent = line.len() - line.trim_start().len();
        // What is set in further than a new sentence goes on with the one before.
        match lines.last_mut() {
            Some(last) if indent >= 6 => {
                last.push(' ');
                last.push_str(line.trim());
            }
            _ => lines.push(line.trim().to_owned()),
        }
    }
    lines
}

/// The genes without a history, said once for all of them.
fn no_history(colony: &Colony, cautions: &[Caution]) -> String {
    let genes = cautions.iter().filter(|one| one.kind == CautionKind::NoHistory);
    let genes: Vec<_> = genes.filter_map(|one| one.gene).map(|gene| colony.gene(gene)).collect();
    let (unknown, known): (Vec<_>, Vec<_>) =
        genes.into_iter().partition(|gene| gene.inheritance == Inheritance::Unknown);
    let mut text = String::new();
    for (genes, unknown) in [(known, false), (unknown, true)] {
        if !genes.is_empty() {
            let names: Vec<&str> = genes.iter().map(|gene| gene.name.as_str()).collect();
            text.push_str(&wrapped(2, 6, &without_history(&names, unknown)));
        }
    }
    text
}

fn without_history(genes: &[&str], unknown: bool) -> String {
    if unknown {
        return format!(
            "{}: how it is inherited is not known, and nor is what two copies do to an animal's \
             health; watch such young",
            list(genes, "and")
        );
    }
    format!(
        "no grown animal with two copies of {} is in these records, so they cannot tell whether \
         two copies are healthy",
        list(genes, "or")
    )
}

/// Close kin, pairing by pairing, with the young that are there.
fn inbreeding(colony: &Colony, cautions: &[Caution]) -> String {
    let all: Vec<&Caution> =
        cautions.iter().filter(|one| matches!(one.kind, CautionKind::Inbreeding { .. })).collect();
    let mut clutches: Vec<Option<ClutchId>> = all.iter().map(|one| one.clutch).collect();
    clutches.dedup();
    let mut text = String::new();
    for clutch in clutches {
        let own: Vec<&&Caution> = all.iter().filter(|one| one.clutch == clutch).collect();
        let Some(first) = own.first() else { continue };
        let young: Vec<String> =
            own.iter().filter_map(|one| one.animal).map(|id| names::animal(colony, id)).collect();
        let young: Vec<&str> = young.iter().map(String::as_str).collect();
        let of_pairing = Caution { animal: None, ..(**first).clone() };
        let mut line = sentence(colony, &of_pairing);
        if !young.is_empty() {
            line.push_str(&format!("; so {} {}", is(young.len()), list(&young, "and")));
        }
        text.push_str(&wrapped(2, 6, &line));
    }
    text
}

fn is(number: usize) -> &'static str {
    if number == 1 { "is" } else { "are" }
}

/// One caution in one sentence, without the words that send to a veterinarian.
fn sentence(colony: &Colony, caution: &Caution) -> String {
    let gene = caution.gene.map(|gene| colony.gene(gene));
    let name = gene.map_or("", |gene| gene.name.as_str());
    let pair = caution.clutch.map(|clutch| pairing(colony, clutch)).unwrap_or_default();
    let figure = caution.figure.unwrap_or_default();
    match (&caution.kind, caution.clutch) {
        (CautionKind::Lethal, None) => {
            format!("{name}: some genotypes never hatch; a pairing that can give them loses eggs")
        }
        (CautionKind::Lethal, Some(_)) => {
            format!("{pair}: {} of the fertile eggs never hatch for {name}", chance(figure))
        }
        (CautionKind::Harmful { .. }, None) => {
            let words = gene.and_then(|gene| gene.caution.as_deref()).unwrap_or_default();
            format!("{name}: {words}")
        }
        (CautionKind::Harmful { looks }, Some(_)) => {
            let shown = looks.iter().enumerate().filter(|(_, chance)| **chance >= 0.001);
            let each = shown.map(|(at, share)| {
                let look = gene.map_or("", |gene| gene.look_name(at + 1));
                format!("{look} {}", chance(*share))
            });
            format!("{pair}: of the young {}", each.collect::<Vec<_>>().join(", "))
        }
        (CautionKind::Inbreeding { weighed }, _) => {
            let doubt = if *weighed { ", a sire in doubt weighed by his chances" } else { "" };
            let whose = match caution.animal {
                Some(animal) => names::animal(colony, animal),
                None => format!("young of {pair}"),
            };
            let (figure, as_much) = (coefficient(figure), as_much_as(figure));
            format!("{whose}: inbreeding {figure}, {as_much}{doubt}")
        }
        (CautionKind::EggLosses { lost, fertile }, _) => format!(
            "{}: {lost} of {fertile} fertile eggs died; with egg_loss = {} so many or more die in \
             {} of such clutches, so have the incubation and the parents looked at",
            caution.clutch.map_or("", |clutch| &colony.clutch(clutch).id),
            plain(colony.assumptions.egg_loss),
            chance(figure),
        ),
        (CautionKind::NoHistory, _) => {
            without_history(&[name], gene.is_some_and(|g| g.inheritance == Inheritance::Unknown))
        }
    }
}

/// How close that is, by pairings everybody knows.
fn as_much_as(coefficient: f64) -> &'static str {
    match coefficient {
        f if f > 0.25 => "more than of young of full sibs (0.25)",
        0.25 => "as of young of full sibs, or of parent and child",
        f if f > 0.125 => "more than of young of half sibs (0.125)",
        _ => "as of young of half sibs",
    }
}

/// `Juniper × Bram`, `Juniper × Bram or Otis`.
pub(super) fn pairing(colony: &Colony, clutch: ClutchId) -> String {
    let clutch = colony.clutch(clutch);
    let dam = match clutch.dam {
        crate::records::Parent::Known(dam) => names::animal(colony, dam),
        crate::records::Parent::Unknown => "an unrecorded dam".to_owned(),
    };
    let sires: Vec<String> =
        clutch.siring.candidates.iter().map(|(one, _)| names::sire(colony, *one)).collect();
    let sires: Vec<&str> = sires.iter().map(String::as_str).collect();
    format!("{dam} × {}", list(&sires, "or"))
}

/// The word for a kind of caution.
fn kind(kind: &CautionKind) -> &'static str {
    match kind {
        CautionKind::Lethal => "lethal",
        CautionKind::Harmful { .. } => "harmful",
        CautionKind::Inbreeding { .. } => "inbreeding",
        CautionKind::EggLosses { .. } => "egg losses",
        CautionKind::NoHistory => "no history",
    }
}

/// `cautions: [{ kind, animal, clutch, gene, figure, text }]`.
pub(super) fn values(colony: &Colony, cautions: &[Caution]) -> Vec<Value> {
    let one = |caution: &Caution| {
        json!({
            "kind": kind(&caution.kind),
            "animal": caution.animal.map(|id| names::animal(colony, id)),
            "clutch": caution.clutch.map(|id| colony.clutch(id).id.as_str()),
            "gene": caution.gene.map(|id| colony.gene(id).name.as_str()),
            "figure": caution.figure,
            "text": format!(
                "{}; ask a veterinarian, and mind the law where you live",
                sentence(colony, caution),
            ),
        })
    };
    cautions.iter().map(one).collect()
}
