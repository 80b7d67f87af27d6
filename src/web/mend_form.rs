//! Lines that were mended, as changes of the records.

use proveout::presentation::page::{self, Below, Here, MendForm};
use proveout::records::edit::Change;
use proveout::records::{Colony, RecordError};

use super::answers::Sheet;
use super::change::{Tried, attempt};
use super::desk::Desk;
use super::fields::Fields;
use super::held::{as_text, fault, unreadable};
use super::pages::frame;
use super::reply::Reply;

/// So many lines are taken from a form.
const LINES: usize = 40;

/// What is wrong with a version, with fields to mend it.
pub fn show(desk: &Desk, sheet: &Sheet, errors: &[RecordError]) -> Reply {
    let form = page::to_mend(&sheet.text, errors);
    drawn(desk, sheet, errors, &Placed { form, left: Vec::new() }, &Below::default())
}

fn drawn(
    desk: &Desk,
    sheet: &Sheet,
    errors: &[RecordError],
    placed: &Placed,
    below: &Below,
) -> Reply {
    let frame = frame(desk, sheet);
    let html = page::mend_form(&frame, errors.len(), &placed.form, &placed.left, below);
    let (here, heading) = match errors.is_empty() {
        true => (Here::Elsewhere, "The records are mended"),
        false => (Here::Broken, "The records need mending"),
    };
    Reply::html(frame.page(here, heading, &html))
}

/// What was entered, at the lines that need mending now.
struct Placed {
    /// The lines.
    form: Vec<MendForm>,
    /// What was changed and has no line any more.
    left: Vec<MendForm>,
}

/// Finds the lines that were mended in a version that may have moved: a line is known by what stands
/// in it, and only then by its number.
fn placed(sheet: &Sheet, errors: &[RecordError], entered: &[MendForm]) -> Placed {
    let mut form = page::to_mend(&sheet.text, errors);
    let mut free: Vec<usize> = (0..form.len()).collect();
    let mut left = Vec::new();
    let alike = |lines: &[MendForm], one: &MendForm| {
        lines.iter().filter(|other| other.was == one.was).count()
    };
    for one in entered {
        // Where there are as many of them as before, they are still in their order.
        let same = alike(&form, one) == alike(entered, one);
        let away = |at: &usize| if same { 0 } else { form[*at].line.abs_diff(one.line) };
        let found = free.iter().copied().filter(|at| form[*at].was == one.was).min_by_key(away);
        match found {
            Some(at) => {
                form[at].with.clone_from(&one.with);
                free.retain(|other| *other != at);
            }
            None if one.with != one.was => left.push(one.clone()),
            None => {}
        }
    }
    Placed { form, left }
}

/// What was entered: tried, or written down.
pub fn take(desk: &Desk, fields: &Fields) -> Reply {
    let entered: Vec<MendForm> = (0..fields.number("lines", LINES))
        .map(|at| MendForm {
            line: fields.number(&format!("m{at}-line"), usize::MAX),
            was: fields.raw(&format!("m{at}-was")).to_owned(),
            with: fields.raw(&format!("m{at}-with")).to_owned(),
            ..MendForm::default()
        })
        .collect();
    let again = |sheet: &Sheet, below: &Below| {
        let errors = sheet.wrong();
        drawn(desk, sheet, &errors, &placed(sheet, &errors, &entered), below)
    };
    let current = match (desk.current(), desk.remembered(fields.get("seen"))) {
        (Ok(current), _) => current,
        (Err(error), made_from) => {
            let below = fault(unreadable(desk, &error));
            return match made_from {
                Some(made_from) => again(&made_from, &below),
                None => as_text(desk, fields, &below),
            };
        }
    };
    let nobody = |_: &Colony| Vec::new();
    let now = placed(&current, &current.wrong(), &entered);
    let changes = Ok(changes(&current.text, &now.form));
    match attempt(desk, current, fields, changes, &nobody) {
        Tried::Saved => Reply::see("/?done=1".to_owned()),
        Tried::Again(sheet, below) => again(&sheet, &below),
    }
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
