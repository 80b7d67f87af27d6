//! What changes mean for the plain values of a file, and where things stand in its text.

use std::ops::Range;

use proveout::records::edit::{Change, Entry, Record};
use toml::Value;
use toml::de::{DeTable, DeValue};

pub fn value(entry: &Entry) -> Value {
    match entry {
        Entry::Text(text) => Value::from(text.as_str()),
        Entry::Number(number) => Value::from(*number),
        Entry::Whole(number) => Value::from(*number),
        Entry::Flag(flag) => Value::from(*flag),
        Entry::Date(date) if date.day.is_some() => {
            Value::Datetime(date.to_string().parse().unwrap())
        }
        Entry::Date(date) => Value::from(date.to_string()),
        Entry::List(list) => Value::Array(list.iter().map(value).collect()),
        Entry::Table(fields) => {
            Value::Table(fields.iter().map(|(key, entry)| (key.clone(), value(entry))).collect())
        }
    }
}

/// A way into the values: keys, and positions as decimal numbers.
pub type Path = Vec<String>;

fn path(parts: &[&str]) -> Path {
    parts.iter().map(|part| (*part).to_string()).collect()
}

pub fn find<'v>(values: &'v Value, path: &[String]) -> Option<&'v Value> {
    path.iter().try_fold(values, |value, part| match value {
        Value::Table(table) => table.get(part),
        Value::Array(list) => list.get(part.parse::<usize>().ok()?),
        _ => None,
    })
}

fn find_mut<'v>(values: &'v mut Value, path: &[String]) -> Option<&'v mut Value> {
    path.iter().try_fold(values, |value, part| match value {
        Value::Table(table) => table.get_mut(part),
        Value::Array(list) => list.get_mut(part.parse::<usize>().ok()?),
        _ => None,
    })
}

pub fn list<'v>(values: &'v Value, path: &[String]) -> &'v [Value] {
    find(values, path).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn position(values: &Value, at: &[String], id: &str) -> Option<String> {
    let found = list(values, at).iter().position(|one| one["id"].as_str() == Some(id));
    found.map(|index| index.to_string())
}

/// Where a record is, by its id alone.
pub fn place(values: &Value, record: &Record) -> Option<Path> {
    let below = |owner: &Path, key: &str, index: &str| [&owner[..], &path(&[key, index])].concat();
    let clutch = |id: &str| Some(path(&["clutch", &position(values, &path(&["clutch"]), id)?]));
    let found = match record {
        Record::Top => Vec::new(),
        Record::Assume => path(&["assume"]),
        Record::Gene(name) => path(&["gene", name]),
        Record::Animal(id) => path(&["animal", &position(values, &path(&["animal"]), id)?]),
        Record::Clutch(id) => clutch(id)?,
        Record::Hatchling(id) => (0..list(values, &path(&["clutch"])).len()).find_map(|at| {
            let young = path(&["clutch", &at.to_string(), "hatchling"]);
            let index = position(values, &young, id)?;
            Some([young, vec![index]].concat())
        })?,
        Record::HatchlingAt { clutch: id, index } => {
            below(&clutch(id)?, "hatchling", &index.to_string())
        }
        Record::Count { clutch: id, index } => below(&clutch(id)?, "count", &index.to_string()),
        Record::Mask(index) => path(&["mask", &index.to_string()]),
        Record::Combination(index) => path(&["combination", &index.to_string()]),
        Record::Linkage(index) => path(&["linkage", &index.to_string()]),
    };
    Some(found)
}

/// What a change is about: the key set or cleared, the record taken away, the list added to.
pub fn target(values: &Value, change: &Change) -> Path {
    match change {
        Change::Set { record, key, .. } | Change::Clear { record, key } => {
            [place(values, record).unwrap(), vec![key.clone()]].concat()
        }
        Change::Remove { record } => place(values, record).unwrap(),
        Change::AddGene { name, .. } => path(&["gene", name]),
        Change::AddAnimal { .. } => path(&["animal"]),
        Change::AddClutch { .. } => path(&["clutch"]),
        Change::AddHatchling { clutch, .. } => {
            [place(values, &Record::Clutch(clutch.clone())).unwrap(), path(&["hatchling"])].concat()
        }
        Change::AddCount { clutch, .. } => {
            [place(values, &Record::Clutch(clutch.clone())).unwrap(), path(&["count"])].concat()
        }
        Change::ReplaceLines { .. } => unreachable!("lines have no values"),
    }
}

/// Makes a change in the plain values.
pub fn apply(values: &mut Value, change: &Change) {
    let at = target(values, change);
    let (last, above) = at.split_last().unwrap();
    let fresh =
        |kind: &str| if kind == "list" { Value::Array(vec![]) } else { toml::Table::new().into() };
    let takes_away = matches!(change, Change::Clear { .. } | Change::Remove { .. });
    if takes_away && find(values, &at).is_none() {
        return;
    }
    for depth in 1..=above.len() {
        if find(values, &at[..depth]).is_none() {
            let owner = find_mut(values, &at[..depth - 1]).unwrap().as_table_mut().unwrap();
            owner.insert(at[depth - 1].clone(), fresh("table"));
        }
    }
    let owner = find_mut(values, above).unwrap();
    match change {
        Change::Set { value: entry, .. } => {
            owner.as_table_mut().unwrap().insert(last.clone(), value(entry));
        }
        Change::Clear { .. } => {
            owner.as_table_mut().unwrap().remove(last);
        }
        Change::Remove { .. } => match owner {
            Value::Table(table) => drop(table.remove(last)),
            Value::Array(list) => drop(list.remove(last.parse().unwrap())),
            _ => unreachable!(),
        },
        Change::AddGene { fields, .. } => {
            owner
                .as_table_mut()
                .unwrap()
                .insert(last.clone(), value(&Entry::Table(fields.clone())));
        }
        Change::AddAnimal { fields }
        | Change::AddClutch { fields }
        | Change::AddHatchling { fields, .. }
        | Change::AddCount { fields, .. } => {
            let list = owner.as_table_mut().unwrap().entry(last).or_insert_with(|| fresh("list"));
            list.as_array_mut().unwrap().push(value(&Entry::Table(fields.clone())));
        }
        Change::ReplaceLines { .. } => unreachable!(),
    }
}

/// Lists of records that became empty are left out: without a heading they are not there.
pub fn without_empty_lists(mut values: Value) -> Value {
    const LISTS: [&str; 8] =
        ["animal", "clutch", "mask", "hatchling", "count", "gene", "linkage", "combination"];
    let Value::Table(table) = &mut values else { return values };
    table.retain(|key, value| {
        let empty = match &value {
            Value::Array(list) => list.is_empty(),
            Value::Table(table) => table.is_empty(),
            _ => false,
        };
        !(empty && LISTS.contains(&key))
    });
    if let Some(Value::Array(clutches)) = table.get_mut("clutch") {
        *clutches = clutches.drain(..).map(without_empty_lists).collect();
    }
    values
}

/// From the first byte to the last of what a path leads to, its keys and headings included.
pub fn extent(text: &str, path: &[String]) -> Option<Range<usize>> {
    let root = DeTable::parse(text).unwrap().into_inner();
    let mut value = DeValue::Table(root);
    let mut from = None;
    let mut span = 0..0;
    for part in path {
        match value {
            DeValue::Table(mut table) => {
                let (key, inner) = table.remove_entry(part.as_str())?;
                from = Some(key.span().start);
                span = inner.span();
                value = inner.into_inner();
            }
            DeValue::Array(list) => {
                let index = part.parse::<usize>().ok()?;
                let inner = list.into_iter().nth(index)?;
                from = None;
                span = inner.span();
                value = inner.into_inner();
            }
            _ => return None,
        }
    }
    let mut whole = span;
    if let Some(from) = from {
        whole = whole.start.min(from)..whole.end;
    }
    widen(&value, &mut whole);
    Some(whole)
}

fn widen(value: &DeValue, whole: &mut Range<usize>) {
    let mut add = |range: Range<usize>| {
        if whole.start == whole.end {
            *whole = range;
        } else if range.start < range.end {
            *whole = whole.start.min(range.start)..whole.end.max(range.end);
        }
    };
    match value {
        DeValue::Table(table) => {
            for (key, inner) in table.iter() {
                add(key.span());
                add(inner.span());
            }
            for (_, inner) in table.iter() {
                widen(inner.get_ref(), whole);
            }
        }
        DeValue::Array(list) => {
            list.iter().for_each(|inner| add(inner.span()));
            list.iter().for_each(|inner| widen(inner.get_ref(), whole));
        }
        _ => {}
    }
}
