//! What may be written on labels, as cards to cut out.

use askama::Template;

use super::page::{Parts, Section};
use super::table::written;
use crate::presentation::labels_text::line;
use crate::presentation::names;
use crate::questions::LabelsAnswer;
use crate::records::Colony;

#[derive(Template)]
#[template(path = "cards.html")]
struct Cards {
    cards: Vec<Card>,
}

/// One animal: what may be said of it, line by line.
struct Card {
    name: String,
    lines: Vec<String>,
}

/// More cards than these are left to the `labels` command.
const CARDS: usize = 60;

pub(super) fn section(parts: &Parts<'_>) -> Option<Section> {
    let html = cards(parts.colony, parts.labels?)?;
    Some(Section { anchor: "labels", heading: "What may be written on labels".into(), html })
}

/// The cards; `None` where nothing can be claimed of any animal.
pub(in crate::presentation) fn cards(colony: &Colony, answer: &LabelsAnswer) -> Option<String> {
    let mut cards: Vec<Card> = Vec::new();
    let mut last = None;
    for label in answer.labels.iter().filter(|label| label.told) {
        let line = line(colony, label);
        if last != Some(label.animal) {
            last = Some(label.animal);
            cards.push(Card { name: names::animal(colony, label.animal), lines: Vec::new() });
        }
        if let Some(card) = cards.last_mut() {
            card.lines.push(line);
        }
    }
    if cards.is_empty() {
        return None;
    }
    cards.truncate(CARDS);
    Some(written(&Cards { cards }))
}
