//! Records found by their ids.

use toml::Value;

use super::tree::{Holds, Step};
use super::work::Parsed;
use super::{CannotChange, Record};
use crate::records::{nearest, normalise};

/// The path that leads to a record.
pub(super) fn path_of(values: &Value, record: &Record) -> Result<Vec<Step>, CannotChange> {
    let key = |name: &str| Step::Key(name.to_string());
    match record {
        Record::Top => Ok(Vec::new()),
        Record::Assume => match values.get("assume") {
            Some(_) => Ok(vec![key("assume")]),
            None => Err(missing("`[assume]`", None)),
        },
        Record::Gene(name) => {
            let found = gene(values, name).map(|found| vec![key("gene"), Step::Key(found)]);
            found.ok_or_else(|| {
                let genes = values.get("gene").and_then(Value::as_table);
                let names = genes.into_iter().flat_map(|genes| genes.keys().map(String::as_str));
                missing(&format!("gene called `{}`", normalise(name)), nearest(name, names))
            })
        }
        Record::Animal(id) => {
            let animals = ids(values, "animal");
            Ok(vec![key("animal"), Step::At(only("animal", id, &animals)?)])
        }
        Record::Clutch(id) => {
            let clutches = ids(values, "clutch");
            Ok(vec![key("clutch"), Step::At(only("clutch", id, &clutches)?)])
        }
        Record::Hatchling(id) => {
            let mut all = Vec::new();
            let mut paths = Vec::new();
            for (at, clutch) in list(values, "clutch").iter().enumerate() {
                for (index, id) in ids(clutch, "hatchling").into_iter().enumerate() {
                    all.push(id);
                    let clutch = [key("clutch"), Step::At(at)];
                    paths.push([&clutch[..], &[key("hatchling"), Step::At(index)]].concat());
                }
            }
            Ok(paths.swap_remove(only("hatchling", id, &all)?))
        }
        Record::HatchlingAt { clutch, index } => inside(values, clutch, "hatchling", *index),
        Record::Count { clutch, index } => inside(values, clutch, "count", *index),
        Record::Mask(index) => numbered(values, &[], "mask", *index),
        Record::Combination(index) => numbered(values, &[], "combination", *index),
        Record::Linkage(index) => numbered(values, &[], "linkage", *index),
    }
}

/// A gene's name as the file writes it.
pub(super) fn gene(values: &Value, name: &str) -> Option<String> {
    let genes = values.get("gene")?.as_table()?;
    genes.keys().find(|key| normalise(key) == normalise(name)).cloned()
}

/// Whether other tables of the same kind write this list in brackets.
pub(super) fn bracketed(parsed: &Parsed, owner: &[Step], key: &str) -> bool {
    let Some((Step::At(_), kind)) = owner.split_last() else { return false };
    let Some(Holds::List(elements)) = parsed.tree.find(kind).map(|node| &node.holds) else {
        return false;
    };
    elements.iter().rev().find_map(|element| match &parsed.tree.node(*element).holds {
        Holds::Table(keys) => {
            let list = keys.iter().find(|(name, _)| name == key)?.1;
            Some(parsed.tree.node(list).block.is_some())
        }
        _ => None,
    }) == Some(true)
}

fn list<'v>(values: &'v Value, key: &str) -> &'v [Value] {
    values.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

/// The ids of the tables of a list; none for one without.
fn ids<'v>(values: &'v Value, key: &str) -> Vec<Option<&'v str>> {
    let id = |table: &'v Value| table.get("id").and_then(Value::as_str);
    list(values, key).iter().map(id).collect()
}

fn only(kind: &str, id: &str, all: &[Option<&str>]) -> Result<usize, CannotChange> {
    let id = normalise(id);
    let has_it = |other: &Option<&str>| other.is_some_and(|other| normalise(other) == id);
    let mut found = all.iter().enumerate().filter(|(_, other)| has_it(other));
    match (found.next(), found.next()) {
        (Some((index, _)), None) => Ok(index),
        (Some(_), Some(_)) => {
            let kinds = if kind == "clutch" { "clutches".to_string() } else { format!("{kind}s") };
            Err(CannotChange::Ambiguous { what: format!("{kinds} called `{id}`") })
        }
        (None, _) => {
            let names = all.iter().flatten().copied();
            Err(missing(&format!("{kind} called `{id}`"), nearest(&id, names)))
        }
    }
}

fn inside(
    values: &Value,
    clutch: &str,
    key: &str,
    index: usize,
) -> Result<Vec<Step>, CannotChange> {
    let clutch = path_of(values, &Record::Clutch(clutch.to_string()))?;
    numbered(values, &clutch, key, index)
}

fn numbered(
    values: &Value,
    owner: &[Step],
    key: &str,
    index: usize,
) -> Result<Vec<Step>, CannotChange> {
    let owned = super::meaning::find(values, owner).map_or(&[][..], |owner| list(owner, key));
    if index < owned.len() {
        return Ok([owner, &[Step::Key(key.to_string()), Step::At(index)]].concat());
    }
    Err(missing(&format!("{key} number {}", index.saturating_add(1)), None))
}

fn missing(what: &str, near: Option<&str>) -> CannotChange {
    let did_you_mean = near.map(str::to_string);
    CannotChange::NoSuchRecord { what: what.to_string(), did_you_mean }
}
