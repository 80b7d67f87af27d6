//! Trying a change, and writing it down.
//!
//! A form carries the version of the records that it was made from. Whatever another program or
//! another page wrote meanwhile is never overwritten: the difference is shown, and the same change
//! can then be made to the new version, or dropped.

use std::sync::Arc;

use axum::http::StatusCode;
use proveout::presentation::isolated;
use proveout::presentation::page::{self, Below, Done, Fault};
use proveout::records::edit::{Change, Draft};
use proveout::records::keep::{NotSaved, differences};
use proveout::records::{AnimalId, Colony, Origin, RecordError, normalise};

use super::answers::Sheet;
use super::desk::Desk;
use super::fields::Fields;
use super::reply::Reply;

/// What is wanted of a form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// To see what it would change.
    Try,
    /// To write it down.
    Save,
    /// To write it down although the records cannot all be true with it.
    SaveAnyway,
    /// To have the form anew with another row, or one row less.
    Reshape,
}

impl Wish {
    /// What the button says that was pressed.
    pub fn of(fields: &Fields) -> Self {
        match fields.get("do") {
            "save" => Wish::Save,
            "save-anyway" => Wish::SaveAnyway,
            "" | "try" => Wish::Try,
            _ => Wish::Reshape,
        }
    }
}

/// What became of a form.
pub enum Tried {
    /// It is in the file.
    Saved,
    /// The form is to be shown again, made from this version.
    Again(Arc<Sheet>, Box<Below>),
}

/// Which animals are told of first.
pub type First<'f> = &'f dyn Fn(&Colony) -> Vec<AnimalId>;

/// Tries a change on the records as they are now, and writes it down if that is wished.
pub fn attempt(
    desk: &Desk,
    current: Arc<Sheet>,
    fields: &Fields,
    changes: Result<Vec<Change>, Vec<Fault>>,
    first: First<'_>,
) -> Tried {
    let wish = Wish::of(fields);
    let seen = fields.get("seen");
    let stale = !seen.is_empty() && seen != current.version;
    let mut below = Below::default();
    if stale {
        below.above = meanwhile(desk, seen, &current);
    }
    let text = match changes.and_then(|changes| draft(&current, &changes)) {
        Ok(text) => text,
        Err(faults) => {
            below.faults = faults;
            return Tried::Again(current, Box::new(below));
        }
    };
    let sheet = desk.sheet(&text);
    match result(&current, &sheet, first, Done::Tried) {
        Ok(html) => below.result = html,
        // What is broken already may be mended bit by bit.
        Err(Refused::Wrong(_)) if current.colony().is_err() => {
            below.result = page::mistakes("These mistakes would be left:", &sheet.wrong());
            below.doubtful = true;
        }
        Err(Refused::Wrong(faults)) => {
            below.faults = faults;
            return Tried::Again(current, Box::new(below));
        }
        Err(Refused::Doubtful(html)) => {
            below.result = html;
            below.doubtful = true;
        }
    }
    let save = wish == Wish::SaveAnyway || wish == Wish::Save && !below.doubtful;
    if !save || stale {
        return Tried::Again(current, Box::new(below));
    }
    match desk.save(&text, &current.version) {
        Ok(()) => Tried::Saved,
        Err(NotSaved::ChangedMeanwhile { theirs }) => {
            let now = desk.sheet(&theirs);
            below.above = meanwhile(desk, &current.version, &now);
            below.result = String::new();
            Tried::Again(now, Box::new(below))
        }
        Err(error) => {
            below.faults.push(Fault::new("", format!("Nothing was saved: {error}.")));
            Tried::Again(current, Box::new(below))
        }
    }
}

fn draft(current: &Sheet, changes: &[Change]) -> Result<String, Vec<Fault>> {
    let mut draft = Draft::new(&current.text);
    for change in changes {
        let cannot = |why| vec![Fault::new("", format!("This cannot be written: {why}."))];
        draft.apply(change).map_err(cannot)?;
    }
    Ok(draft.text().to_owned())
}

enum Refused {
    /// The records would have mistakes.
    Wrong(Vec<Fault>),
    /// There is no answer; says why.
    Doubtful(String),
}

/// What a version moves against an earlier one.
fn result(before: &Sheet, after: &Sheet, first: First<'_>, done: Done) -> Result<String, Refused> {
    let plain = after.colony().map_err(|errors| Refused::Wrong(faults(&after.text, errors)))?;
    if before.version == after.version {
        return Ok(page::words_plainly("Nothing is changed yet."));
    }
    if before.carried().is_err() && after.carried().is_ok() {
        let lines = page::difference(&differences(&before.text, &after.text));
        let words = "With this the records can be read, and every question answered.";
        return Ok(page::words_plainly(words) + &lines);
    }
    // Only a change that is being tried has to be quick.
    let whom = if done == Done::Tried { first(plain) } else { Vec::new() };
    match after.moves(before, &whom) {
        Ok(moves) => {
            let lines = differences(&before.text, &after.text);
            let colony = isolated(plain);
            let notes = new_notes(before, after);
            Ok(page::outcome(&colony, &moves, &first(plain), &notes, &lines, done))
        }
        Err(why) => Err(Refused::Doubtful(page::unanswerable(&why))),
    }
}

/// What is to be kept in mind of a version and was not of an earlier one.
fn new_notes(before: &Sheet, after: &Sheet) -> Vec<String> {
    let notes = |sheet: &Sheet| match (sheet.colony(), sheet.carried()) {
        (Ok(colony), Ok(carried)) => page::notes(&isolated(colony), carried, sheet.notices()),
        _ => Vec::new(),
    };
    let known = notes(before);
    notes(after).into_iter().filter(|note| !known.contains(note)).collect()
}

/// What the last change moved, where it is still the last.
pub fn last(desk: &Desk, current: &Sheet, first: First<'_>) -> Option<String> {
    let change = desk.last_change().filter(|change| change.to == current.version)?;
    let before = desk.remembered(&change.from)?;
    match result(&before, current, first, Done::Written) {
        Ok(html) | Err(Refused::Doubtful(html)) => Some(html),
        Err(Refused::Wrong(_)) => None,
    }
}

/// Errors of the reader, each at the field that its key names where that is one of the form's.
fn faults(text: &str, errors: &[RecordError]) -> Vec<Fault> {
    let fault = |error: &RecordError| {
        let line = text.lines().nth(error.place.line.saturating_sub(1)).unwrap_or_default();
        let key = line.split('=').next().unwrap_or_default().trim();
        let own = ["dam", "sire", "laid", "hatched", "eggs", "slugs", "died", "note"];
        let field = if own.contains(&key) { key } else { "" };
        let help = error.help.as_ref().map_or(String::new(), |help| format!(" ({help})"));
        Fault::new(field, format!("{}{help}", error.message))
    };
    errors.iter().take(12).map(fault).collect()
}

/// That the file was changed since a form was made, and how.
fn meanwhile(desk: &Desk, seen: &str, now: &Sheet) -> String {
    let difference = desk.remembered(seen).map(|then| differences(&then.text, &now.text));
    page::meanwhile(difference.as_deref())
}

/// An animal with its parents and its clutch.
pub fn kin(colony: &Colony, name: &str) -> Vec<AnimalId> {
    let Some(id) = colony.find_animal(&normalise(name)) else { return Vec::new() };
    let mut all = vec![id];
    if let Origin::Clutch(clutch) = colony.animal(id).origin {
        let clutch = colony.clutch(clutch);
        all.extend(clutch.named_dam().into_iter().chain(clutch.named_sires()));
        all.extend(clutch.hatchlings.iter().filter(|other| **other != id));
    }
    all
}

/// The animals of these names that are in the colony.
pub fn named(colony: &Colony, names: &[&str]) -> Vec<AnimalId> {
    names.iter().filter_map(|name| colony.find_animal(&normalise(name))).collect()
}

/// A part of a page: what a form would change, or what is wrong with it.
pub fn part(below: &Below) -> Reply {
    Reply::html(page::part(below))
}

/// Goes back to the version before; shows first what that would change.
pub fn undo(desk: &Desk, fields: &Fields) -> Reply {
    match desk.undo(fields.get("seen")) {
        Ok(()) => Reply::see("/?done=1".to_owned()),
        Err(error) => {
            let words = match error {
                NotSaved::NothingToUndo => "There is no earlier version to go back to.".to_owned(),
                NotSaved::ChangedMeanwhile { .. } => {
                    "The file was changed meanwhile; nothing was taken back. Look at it again \
                     first."
                        .to_owned()
                }
                other => format!("Nothing was taken back: {other}."),
            };
            Reply::html_as(StatusCode::CONFLICT, page::fault(&words))
        }
    }
}

/// What going back to the version before would change.
pub fn undoing(desk: &Desk, current: &Arc<Sheet>) -> Option<String> {
    let previous = desk.sheet(&desk.previous()?);
    let lines = differences(&current.text, &previous.text);
    let nobody: First<'_> = &|_| Vec::new();
    Some(match result(current, &previous, nobody, Done::Tried) {
        Ok(html) => html,
        Err(Refused::Doubtful(html)) => html + &page::difference(&lines),
        Err(Refused::Wrong(_)) => {
            let why = previous.colony().err().map(<[RecordError]>::to_vec).unwrap_or_default();
            page::mistakes("The version before has mistakes:", &why) + &page::difference(&lines)
        }
    })
}
