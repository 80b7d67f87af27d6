//! Assumptions that were changed, as changes of the records.

use proveout::presentation::page::{self, AssumeForm, Below, Fault, Here};
use proveout::records::edit::{Change, Entry, Record};
use proveout::records::{Assumptions, Colony};

use super::change::{Tried, attempt};
use super::desk::Desk;
use super::fields::Fields;
use super::held::{again, hold, sound};
use super::pages::{Open, with};
use super::reply::Reply;
use super::values::decimal;

/// The assumptions in force. Those set when the page was started are not the file's to change.
pub fn show(desk: &Desk, _: &Fields) -> Reply {
    with(desk, |open| {
        let one = |key: &str| {
            let value = open.plain.assumptions.get(key).unwrap_or_default().to_string();
            AssumeForm { key: key.to_owned(), was: value.clone(), value }
        };
        let form: Vec<AssumeForm> = keys(desk).map(one).collect();
        drawn(open, &form, &Below::default())
    })
}

fn keys(desk: &Desk) -> impl Iterator<Item = &'static str> + '_ {
    let set = |key: &&str| desk.settings.assume.iter().any(|(own, _)| own == key);
    Assumptions::KEYS.into_iter().filter(move |key| !set(key))
}

fn drawn(open: &Open<'_>, form: &[AssumeForm], below: &Below) -> Reply {
    let html = page::assume_form(&open.frame(), form, below);
    open.page(Here::Assume, "Assumptions", &html)
}

/// What was entered: tried, or written down.
pub fn take(desk: &Desk, fields: &Fields) -> Reply {
    let form = {
        let one = |key: &str| AssumeForm {
            key: key.to_owned(),
            value: fields.get(key).to_owned(),
            was: fields.get(&format!("was-{key}")).to_owned(),
        };
        keys(desk).map(one).collect::<Vec<AssumeForm>>()
    };
    let draw = |open: &Open<'_>, below: &Below| drawn(open, &form, below);
    let current = match sound(desk) {
        Ok(current) => current,
        Err(words) => return hold(desk, fields, words, &draw),
    };
    let nobody = |_: &Colony| Vec::new();
    match attempt(desk, current, fields, changes(&form), &nobody) {
        Tried::Saved => Reply::see("/?done=1".to_owned()),
        Tried::Again(sheet, below) => again(desk, fields, &sheet, &below, &draw),
    }
}

fn changes(form: &[AssumeForm]) -> Result<Vec<Change>, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut changes = Vec::new();
    for one in form.iter().filter(|one| one.value != one.was) {
        let (record, key) = (Record::Assume, one.key.clone());
        match decimal(&one.key, page::plain_words(&one.key), [0.0, 1.0], &one.value, &mut faults) {
            Some(value) => changes.push(Change::Set { record, key, value: number(value) }),
            None => changes.push(Change::Clear { record, key }),
        }
    }
    if faults.is_empty() { Ok(changes) } else { Err(faults) }
}

/// A whole number is written as one.
fn number(value: f64) -> Entry {
    match value {
        0.0 => Entry::Whole(0),
        1.0 => Entry::Whole(1),
        value => Entry::Number(value),
    }
}
