//! What a change would do, or has done: words, a picture, and the lines of the file.

use askama::Template;

use super::clutch_form::Below;
use super::frame::{Frame, together};
use super::widgets::{faults_in_part, hidden};

use crate::presentation::charts::moved as picture;
use crate::presentation::report::written;
use crate::presentation::wording::{chance, likelihood_word};
use crate::presentation::{cautions, doubts, names};
use crate::questions::{CarrierMoved, GenotypesAnswer, Moves};
use crate::records::keep::Difference;
use crate::records::{AnimalId, Colony, Notice};

/// So many sentences at most.
const SENTENCES: usize = 10;
/// So many lines of the file are shown.
const LINES: usize = 80;
/// A way of inheritance below this chance, before and after, is not told.
const WEIGHTY: f64 = 0.02;

/// Whether something was only tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Done {
    /// Nothing was written.
    Tried,
    /// It is in the file.
    Written,
}

#[derive(Template)]
#[template(path = "outcome.html")]
struct Outcome<'o> {
    heading: &'static str,
    sentences: Vec<String>,
    more: usize,
    notes: &'o [String],
    picture: String,
    lines: Vec<(&'static str, String)>,
    cut: bool,
    written: bool,
}

/// What a change moved; `first` are the animals that are told of first, `notes` what is to be kept in
/// mind since.
pub fn outcome(
    colony: &Colony,
    moves: &Moves,
    first: &[AnimalId],
    notes: &[String],
    differences: &[Difference],
    done: Done,
) -> String {
    let mut carriers = moves.carriers.clone();
    let place = |one: &CarrierMoved| {
        let at = first.iter().position(|id| *id == one.proposition.animal);
        at.unwrap_or(first.len())
    };
    carriers.sort_by_key(place);
    let mut sentences: Vec<String> = modes(colony, moves);
    sentences.extend(carriers.iter().map(|one| carrier(colony, one)));
    sentences.extend(moves.young.iter().map(|one| {
        let who = names::animal(colony, one.animal);
        let looks = names::looks_phrase(colony, &one.identity.looks);
        from_to(&format!("{who} is {looks}"), one.before, one.after)
    }));
    sentences.extend(sires(colony, moves));
    let more = sentences.len().saturating_sub(SENTENCES);
    sentences.truncate(SENTENCES);
    let picture = match carriers.iter().any(|one| one.before.is_some()) {
        true => picture(colony, &carriers).inline("moved"),
        false => String::new(),
    };
    let (lines, cut) = lines(differences);
    let heading = match done {
        Done::Tried => "What it would change",
        Done::Written => "What it changed",
    };
    let written_down = done == Done::Written;
    written(&Outcome {
        heading,
        sentences,
        more,
        notes,
        picture,
        lines,
        cut,
        written: written_down,
    })
}

/// Doubts, and what may harm an animal, in words.
pub fn notes(colony: &Colony, carried: &GenotypesAnswer, notices: &[Notice]) -> Vec<String> {
    let mut notes: Vec<String> = notices.iter().map(|one| one.message.clone()).collect();
    let surprise = carried.surprise.as_ref();
    notes.extend(doubts::warnings(colony, &carried.warnings, surprise, &carried.divided));
    notes.extend(cautions::lines(colony, &carried.cautions));
    notes
}

/// `Pernel carries teasel: from 67 in 100 (67 %) to 3 in 100 (3.2 %), very unlikely`.
fn carrier(colony: &Colony, one: &CarrierMoved) -> String {
    let who = names::animal(colony, one.proposition.animal);
    let what = names::proposition(colony, one.proposition);
    from_to(&format!("{who} {what}"), one.before, one.after)
}

fn from_to(what: &str, before: Option<f64>, after: f64) -> String {
    let word = match after {
        0.0 => "ruled out",
        1.0 => "certain",
        after => likelihood_word(after),
    };
    match before {
        Some(before) => format!("{what}: from {} to {}, {word}", chance(before), chance(after)),
        None => format!("{what}: {}, {word}", chance(after)),
    }
}

fn modes(colony: &Colony, moves: &Moves) -> Vec<String> {
    let weighty = |one: &&crate::questions::ModeMoved| {
        one.after >= WEIGHTY || one.before.is_some_and(|before| before >= WEIGHTY)
    };
    let line = |one: &crate::questions::ModeMoved| {
        let gene = &colony.gene(one.gene).name;
        let way = names::mode(colony, one.mode);
        from_to(&format!("{gene} is inherited in this way: {way}"), one.before, one.after)
    };
    moves.modes.iter().filter(weighty).map(line).collect()
}

fn sires(colony: &Colony, moves: &Moves) -> Vec<String> {
    let line = |one: &crate::questions::SireMoved| {
        let who = names::sire(colony, one.candidate);
        let whose = match one.hatchling {
            Some(id) => names::animal(colony, id),
            None => colony.clutch(one.clutch).id.clone(),
        };
        from_to(&format!("{who} sired {whose}"), one.before, one.after)
    };
    moves.sires.iter().map(line).collect()
}

fn lines(differences: &[Difference]) -> (Vec<(&'static str, String)>, bool) {
    let mut lines = Vec::new();
    for one in differences {
        lines.extend(one.removed.iter().map(|line| ("removed", line.clone())));
        lines.extend(one.added.iter().map(|line| ("added", line.clone())));
    }
    let cut = lines.len() > LINES;
    lines.truncate(LINES);
    (lines, cut)
}

#[derive(Template)]
#[template(path = "lines.html")]
struct Lines {
    lines: Vec<(&'static str, String)>,
    cut: bool,
}

/// The lines that two versions differ in.
pub fn difference(differences: &[Difference]) -> String {
    let (lines, cut) = lines(differences);
    written(&Lines { lines, cut })
}

#[derive(Template)]
#[template(path = "meanwhile.html")]
struct Meanwhile {
    known: bool,
    lines: Vec<(&'static str, String)>,
    cut: bool,
}

/// That the file was changed since the form was made; how, where that is known.
pub fn meanwhile(differences: Option<&[Difference]>) -> String {
    let known = differences.is_some();
    let (lines, cut) = lines(differences.unwrap_or_default());
    written(&Meanwhile { known, lines, cut })
}

/// What the last change moved, with the way to take it back; `outcome` is escaped already.
pub fn done(outcome: &str) -> String {
    format!(
        "<div class=\"said\"><p class=\"now\" role=\"status\">It is written down.</p>{outcome}\
         <p class=\"buttons\"><a class=\"button\" href=\"/undo\">Take it back</a></p></div>"
    )
}

/// What taking the last change back would do, and the button that does it.
pub fn undo(frame: &Frame, outcome: Option<&str>) -> String {
    let Some(outcome) = outcome else {
        return "<p>There is no earlier version to go back to.</p>".to_owned();
    };
    let fields = hidden(&[("token", &frame.token), ("seen", &frame.version)]);
    format!(
        "<p>This goes back to the version before the last change. Doing it again brings the change \
         back.</p>{outcome}<form method=\"post\" action=\"/undo\">{fields}<p class=\"buttons\">\
         <button class=\"first\">Take it back</button><a class=\"button\" href=\"/\">Leave it as it \
         is</a></p></form>"
    )
}

/// What a form would change, or what is wrong with it, as a part of a page.
pub fn part(below: &Below) -> String {
    let note = if below.above.is_empty() { "" } else { MEANWHILE };
    together(&format!("{note}{}{}", faults_in_part(&below.faults), below.result))
}

const MEANWHILE: &str = "<p class=\"mind\">The file was changed meanwhile by another program or \
                         another page. Press “Try it” to see how.</p>";
