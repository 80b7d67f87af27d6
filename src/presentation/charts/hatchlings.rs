//! What each uncertain hatchling may be: a bar cut into its identities.

use super::Chart;
use super::canvas::{Anchor, BODY, COLUMN, Canvas, EDGE, SMALL};
use super::measure::width;
use super::style::FILLS;
use crate::presentation::isolated::shortened;
use crate::presentation::names;
use crate::presentation::wording::{chance, likelihood_word, percent};
use crate::questions::{HatchlingAnswer, IN_DOUBT, IdentifyAnswer};
use crate::records::Colony;

/// Identities below this chance are part of "anything else".
const SHOWN: f64 = 0.01;
/// Height of a bar.
const BAR: f64 = 22.0;
/// Edges of the fills, in their order.
const EDGES: [&str; 5] = ["l-first", "l-second", "l-third", "l-fourth", "l-axis"];

/// The hatchlings whose most probable identity is in doubt.
pub fn in_doubt(answer: &IdentifyAnswer) -> impl Iterator<Item = &HatchlingAnswer> {
    let unsure = |one: &&HatchlingAnswer| {
        one.identities.first().is_none_or(|first| first.probability < *IN_DOUBT.end())
    };
    answer.hatchlings.iter().filter(unsure)
}

/// The identities of each hatchling in doubt, with their chances.
pub fn hatchlings(colony: &Colony, answer: &IdentifyAnswer) -> Chart {
    let unsure: Vec<&HatchlingAnswer> = in_doubt(answer).collect();
    let description: Vec<String> = unsure.iter().map(|one| describe(colony, one)).collect();
    let colony = &shortened(colony);
    let mut canvas = Canvas::new(COLUMN);
    let title = sentence(colony, answer, &unsure);
    canvas.head(&title);
    unsure.iter().for_each(|hatchling| draw(&mut canvas, colony, hatchling));
    if unsure.is_empty() && !answer.hatchlings.is_empty() {
        let words = "Each is what it most probably is with a chance of 98 in 100 or more.";
        canvas.paragraph(EDGE, &["ink"], words, 3);
    }
    canvas.finish(title, description.join(" "))
}

fn sentence(colony: &Colony, answer: &IdentifyAnswer, unsure: &[&HatchlingAnswer]) -> String {
    match unsure {
        [] if answer.hatchlings.is_empty() => "No hatchling with an id was asked about".to_owned(),
        [] => "No hatchling is in doubt".to_owned(),
        [one] => {
            let who = names::animal(colony, one.animal);
            match one.identities.first() {
                Some(first) => format!(
                    "{who} is {}: {}, {}",
                    names::looks_phrase(colony, &first.looks),
                    chance(first.probability),
                    likelihood_word(first.probability)
                ),
                None => format!("{who} may be anything"),
            }
        }
        several => format!(
            "{} of {} hatchlings may be more than one thing",
            several.len(),
            answer.hatchlings.len()
        ),
    }
}

/// One hatchling in words.
fn describe(colony: &Colony, hatchling: &HatchlingAnswer) -> String {
    let shares = shares(colony, hatchling).into_iter();
    let told = shares.map(|(what, share)| format!("{what} {}", chance(share)));
    let who = names::animal(colony, hatchling.animal);
    format!("{who}: {}.", told.collect::<Vec<_>>().join(", "))
}

fn draw(canvas: &mut Canvas, colony: &Colony, hatchling: &HatchlingAnswer) {
    let who = names::animal(colony, hatchling.animal);
    canvas.below += 8.0;
    canvas.paragraph(EDGE, &["ink", "bold"], &who, 1);
    let shares = shares(colony, hatchling);
    let (top, mut x) = (canvas.below + 5.0, EDGE);
    for (at, (_, share)) in shares.iter().enumerate() {
        let wide = (COLUMN - 2.0 * EDGE) * share;
        canvas.rect([x, top, wide, BAR], &[FILLS[at], "edge", EDGES[at]]);
        let words = percent(*share);
        if width(&words, BODY) + 12.0 < wide {
            let at = [x + wide / 2.0, top + BAR / 2.0 + 5.0];
            canvas.patch(at, Anchor::Middle, &["ink"], &words);
        }
        x += wide;
    }
    canvas.below = top + BAR + 2.0;
    for (at, (what, share)) in shares.iter().enumerate() {
        let y = canvas.below + 4.0;
        canvas.rect([EDGE, y, SMALL, SMALL], &[FILLS[at], "edge", EDGES[at]]);
        canvas.below = y - 5.0;
        canvas.paragraph(EDGE + 20.0, &["ink"], &format!("{what}: {}", chance(*share)), 2);
        canvas.below = canvas.below.max(y + SMALL);
    }
}

/// At most four identities and the rest, most probable first.
fn shares(colony: &Colony, hatchling: &HatchlingAnswer) -> Vec<(String, f64)> {
    let own = FILLS.len() - 1;
    let mut shares = Vec::new();
    let mut rest = hatchling.rest;
    for identity in &hatchling.identities {
        if shares.len() < own && (identity.probability >= SHOWN || shares.is_empty()) {
            let looks = names::looks_phrase(colony, &identity.looks);
            shares.push((looks, identity.probability));
        } else {
            rest += identity.probability;
        }
    }
    if rest > 1e-9 {
        shares.push(("anything else".to_owned(), rest));
    }
    shares
}
