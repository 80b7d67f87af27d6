//! Lines that were mended, as changes of the records.

use std::sync::Arc;

use proveout::presentation::page::{self, Below, Here, MendForm};
use proveout::records::edit::Change;
use proveout::records::{Colony, RecordError};

use super::answers::Sheet;
use super::change::{Tried, attempt};
use super::desk::Desk;
use super::fields::Fields;
use super::pages::{frame, unreadable};
use super::reply::Reply;

/// So many lines are taken from a form.
const LINES: usize = 40;

/// What is wrong with a version, with fields to mend it.
pub fn show(desk: &Desk, sheet: &Sheet, errors: &[RecordError]) -> Reply {
    let form = page::to_mend(&sheet.text, errors);
    drawn(desk, sheet, errors, &form, &Below::default())
}

fn drawn(
    desk: &Desk,
    sheet: &Sheet,
    errors: &[RecordError],
    form: &[MendForm],
    below: &Below,
) -> Reply {
    let frame = frame(desk, sheet);
    let html = page::mend_form(&frame, errors.len(), form, below);
    Reply::html(frame.page(Here::Broken, "The records need mending", &html))
}

/// What was entered: tried, or written down.
pub fn take(desk: &Desk, fields: &Fields) -> Reply {
    let current = match desk.current() {
        Ok(current) => current,
        Err(error) => return unreadable(desk, &error),
    };
    let entered: Vec<MendForm> = (0..fields.number("lines", LINES))
        .map(|at| MendForm {
            line: fields.number(&format!("m{at}-line"), usize::MAX),
            was: fields.raw(&format!("m{at}-was")).to_owned(),
            with: fields.raw(&format!("m{at}-with")).to_owned(),
            ..MendForm::default()
        })
        .collect();
    let nobody = |_: &Colony| Vec::new();
    let changes = Ok(changes(&current.text, &entered));
    match attempt(desk, current, fields, changes, &nobody) {
        Tried::Saved => Reply::see("/?done=1".to_owned()),
        Tried::Again(sheet, below) => again(desk, &sheet, &entered, &below),
    }
}

fn again(desk: &Desk, sheet: &Arc<Sheet>, entered: &[MendForm], below: &Below) -> Reply {
    let errors = sheet.wrong();
    let mut form = page::to_mend(&sheet.text, &errors);
    for one in &mut form {
        let own = entered.iter().find(|own| own.line == one.line && own.was == one.was);
        if let Some(own) = own {
            one.with.clone_from(&own.with);
        }
    }
    drawn(desk, sheet, &errors, &form, below)
}

/// From the last line up, so that a line taken away does not move one that is still to come.
fn changes(text: &str, entered: &[MendForm]) -> Vec<Change> {
    let lines = text.lines().count();
    let mut mended: Vec<&MendForm> = entered.iter().filter(|one| one.was != one.with).collect();
    mended.sort_by_key(|one| std::cmp::Reverse(one.line));
    let replace = |one: &MendForm| {
        let first = one.line.max(1);
        // Behind the last line, and in an empty file, there is nothing to replace.
        let last = if first > lines { first - 1 } else { first };
        Change::ReplaceLines { first, last, was: one.was.clone(), with: one.with.clone() }
    };
    mended.into_iter().map(replace).collect()
}
