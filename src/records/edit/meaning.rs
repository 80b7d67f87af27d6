//! What a change means, whatever the text looks like: the values before and after.
//!
//! Every draft is compared with this before it is accepted.

use toml::{Table, Value};

use super::Entry;
use super::tree::Step;

/// An entry as a value.
pub(super) fn value(entry: &Entry) -> Value {
    match entry {
        Entry::Text(text) => Value::String(text.clone()),
        Entry::Number(number) => Value::Float(*number),
        Entry::Whole(number) => Value::Integer(*number),
        Entry::Flag(flag) => Value::Boolean(*flag),
        Entry::Date(date) => {
            let text = date.to_string();
            let day = date.day.and_then(|_| text.parse().ok());
            day.map_or(Value::String(text), Value::Datetime)
        }
        Entry::List(entries) => Value::Array(entries.iter().map(value).collect()),
        Entry::Table(fields) => Value::Table(table(fields)),
    }
}

fn table(fields: &[(String, Entry)]) -> Table {
    fields.iter().map(|(key, entry)| (key.clone(), value(entry))).collect()
}

/// What a path leads to.
pub(super) fn find<'v>(root: &'v Value, path: &[Step]) -> Option<&'v Value> {
    path.iter().try_fold(root, |value, step| match step {
        Step::Key(key) => value.as_table()?.get(key),
        Step::At(index) => value.as_array()?.get(*index),
    })
}

/// Gives what a path leads to a value; tables on the way are made. `None` when it leads through
/// something that is no table or list.
pub(super) fn set(root: &mut Value, path: &[Step], new: Value) -> Option<()> {
    let Some((step, rest)) = path.split_first() else {
        *root = new;
        return Some(());
    };
    match step {
        Step::Key(key) => {
            let table = root.as_table_mut()?;
            set(table.entry(key.clone()).or_insert_with(|| Value::Table(Table::new())), rest, new)
        }
        Step::At(index) => {
            let list = root.as_array_mut()?;
            if *index == list.len() {
                list.push(Value::Table(Table::new()));
            }
            set(list.get_mut(*index)?, rest, new)
        }
    }
}

/// Takes away what a path leads to, if it is there.
pub(super) fn remove(root: &mut Value, path: &[Step]) {
    let Some((step, rest)) = path.split_first() else { return };
    if rest.is_empty() {
        match (step, root) {
            (Step::Key(key), Value::Table(table)) => {
                table.remove(key);
            }
            (Step::At(index), Value::Array(list)) if *index < list.len() => {
                list.remove(*index);
            }
            _ => {}
        }
        return;
    }
    let next = match (step, root) {
        (Step::Key(key), Value::Table(table)) => table.get_mut(key),
        (Step::At(index), Value::Array(list)) => list.get_mut(*index),
        _ => None,
    };
    if let Some(next) = next {
        remove(next, rest);
    }
}

/// Whether two values are the same. A list or table that is empty is the same as one that is not
/// there: with its last heading a list is gone.
pub(super) fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Float(one), Value::Float(other)) => one == other || one.is_nan() && other.is_nan(),
        (Value::Array(one), Value::Array(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
        }
        (Value::Table(one), Value::Table(other)) => covers(one, other) && covers(other, one),
        _ => one == other,
    }
}

fn covers(one: &Table, other: &Table) -> bool {
    one.iter().all(|(key, value)| match other.get(key) {
        Some(found) => same(value, found),
        None => is_empty(value),
    })
}

fn is_empty(value: &Value) -> bool {
    match value {
        Value::Array(list) => list.is_empty(),
        Value::Table(table) => table.values().all(is_empty),
        _ => false,
    }
}
