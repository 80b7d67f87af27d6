//! Is a records file changed as asked, and is everything else in it left alone?

#![allow(clippy::unwrap_used)]

#[path = "edited/model.rs"]
mod model;
#[path = "edited/text.rs"]
mod text;

use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};

use proveout::records::Date;
use proveout::records::edit::{CannotChange, Change, Draft, Entry, Record};
use proveout::records::keep::differences;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use toml::Value;

// ------------------------------------------------------------------------------ random changes

fn text_of(dice: &mut ChaCha8Rng) -> String {
    let texts = ["normal", "", "two\nlines", "q \"u\" \\ # x", "\u{e9}\u{1f98e}", "\r\n", "'"];
    (*texts.choose(dice).unwrap()).to_string()
}

fn plain(dice: &mut ChaCha8Rng) -> Entry {
    match dice.random_range(0..7) {
        0 => Entry::Number(f64::from(dice.random_range(0..40_u32)) / 8.0),
        1 => Entry::Whole(dice.random_range(-9..99)),
        2 => Entry::Flag(dice.random_bool(0.5)),
        3 => Entry::Date(Date { year: 2024, month: Some(5), day: Some(31) }),
        4 => Entry::Date(Date { year: 2024, month: Some(5), day: None }),
        _ => Entry::Text(text_of(dice)),
    }
}

fn looks(dice: &mut ChaCha8Rng) -> Entry {
    let count = dice.random_range(0..5);
    let look = |dice: &mut ChaCha8Rng| Entry::Text(format!("look {}", dice.random_range(0..6)));
    Entry::List((0..count).map(|_| look(dice)).collect())
}

fn table(dice: &mut ChaCha8Rng) -> Entry {
    let fields = [("looks", looks(dice)), ("fit", plain(dice)), ("a b", plain(dice))];
    let kept = fields.into_iter().filter(|_| dice.random_bool(0.6));
    Entry::Table(kept.map(|(key, entry)| (key.to_string(), entry)).collect())
}

fn entry(dice: &mut ChaCha8Rng, key: &str) -> Entry {
    let tables = |dice: &mut ChaCha8Rng| {
        let count = dice.random_range(0..4);
        Entry::List((0..count).map(|_| table(dice)).collect())
    };
    match (key, dice.random_range(0..8)) {
        (_, 0) => plain(dice),
        ("looks" | "hides" | "unread", 1..) => looks(dice),
        ("either" | "readings", 1..) => tables(dice),
        ("sires" | "grown" | "more" | "names", 1..) => table(dice),
        (_, 1) => tables(dice),
        (_, 2) => table(dice),
        (_, 3) => looks(dice),
        _ => plain(dice),
    }
}

fn fields(dice: &mut ChaCha8Rng, keys: &[&str]) -> Vec<(String, Entry)> {
    let kept: Vec<&&str> = keys.iter().filter(|_| dice.random_bool(0.5)).collect();
    kept.into_iter().map(|key| ((*key).to_string(), entry(dice, key))).collect()
}

fn ids(values: &Value, path: &[&str]) -> Vec<String> {
    let path: Vec<String> = path.iter().map(|part| (*part).to_string()).collect();
    let id = |one: &Value| one.get("id").and_then(Value::as_str).map(str::to_string);
    model::list(values, &path).iter().filter_map(id).collect()
}

/// One of the records of a file, each as likely.
fn record(dice: &mut ChaCha8Rng, values: &Value) -> Record {
    let mut all = vec![Record::Top, Record::Assume];
    let genes = values.get("gene").and_then(Value::as_table).cloned().unwrap_or_default();
    all.extend(genes.keys().cloned().map(Record::Gene));
    let count = |key: &str| values.get(key).and_then(Value::as_array).map_or(0, Vec::len);
    all.extend((0..count("mask")).map(Record::Mask));
    all.extend((0..count("combination")).map(Record::Combination));
    all.extend((0..count("linkage")).map(Record::Linkage));
    all.extend(ids(values, &["animal"]).into_iter().map(Record::Animal));
    for (at, clutch) in ids(values, &["clutch"]).into_iter().enumerate() {
        let inside = |key: &str| {
            let path = ["clutch".to_string(), at.to_string(), key.to_string()];
            model::list(values, &path).len()
        };
        for index in 0..inside("count") {
            all.push(Record::Count { clutch: clutch.clone(), index });
        }
        for index in 0..inside("hatchling") {
            all.push(Record::HatchlingAt { clutch: clutch.clone(), index });
        }
        let young = ids(values, &["clutch", &at.to_string(), "hatchling"]);
        all.extend(young.into_iter().map(Record::Hatchling));
        all.push(Record::Clutch(clutch));
    }
    all.choose(dice).unwrap().clone()
}

const KEYS: [&str; 12] = [
    "looks",
    "sex",
    "note",
    "either",
    "grown",
    "sires",
    "names",
    "hides",
    "more",
    "new key",
    "title",
    "inheritance",
];

/// Keys by which records are told apart, or that hold other records.
const KEPT: [&str; 8] = ["id", "hatchling", "count", "animal", "clutch", "gene", "assume", "mask"];

/// A key that a record has; sometimes, and where it has none, one that it may not have.
fn key_of(dice: &mut ChaCha8Rng, values: &Value, record: &Record) -> String {
    let path = model::place(values, record).unwrap();
    let table = model::find(values, &path).and_then(Value::as_table);
    let keys = table.into_iter().flat_map(toml::Table::keys);
    let keys: Vec<&String> = keys.filter(|key| !KEPT.contains(&key.as_str())).collect();
    match keys.choose(dice) {
        Some(key) if dice.random_bool(0.8) => (*key).clone(),
        _ => (*KEYS.choose(dice).unwrap()).to_string(),
    }
}

fn addition(dice: &mut ChaCha8Rng, values: &Value, step: usize) -> Change {
    let id = |kind: &str| ("id".to_string(), Entry::Text(format!("{kind}-{step}")));
    let clutches = ids(values, &["clutch"]);
    let some_clutch = clutches.choose(dice).cloned();
    match (dice.random_range(0..5), some_clutch) {
        (0, _) => Change::AddGene {
            name: format!("gene {step}"),
            fields: fields(dice, &["inheritance", "names", "looks"]),
        },
        (1, Some(clutch)) => {
            let fields = [vec![id("young")], fields(dice, &["looks", "note", "either"])].concat();
            Change::AddHatchling { clutch, fields }
        }
        (2, Some(clutch)) => {
            Change::AddCount { clutch, fields: fields(dice, &["looks", "number"]) }
        }
        (3, _) => {
            let mut all = [vec![id("clutch")], fields(dice, &["sire", "sires"])].concat();
            if dice.random_bool(0.5) {
                let young = Entry::List(vec![Entry::Table(vec![id("young")])]);
                all.push(("hatchling".to_string(), young));
            }
            Change::AddClutch { fields: all }
        }
        _ => Change::AddAnimal {
            fields: [vec![id("animal")], fields(dice, &["sex", "looks", "either", "grown"])]
                .concat(),
        },
    }
}

/// A change that can be made; ids stay, so that records can be told apart.
fn change(dice: &mut ChaCha8Rng, values: &Value, step: usize, full: bool) -> Change {
    let record = record(dice, values);
    let there = model::find(values, &model::place(values, &record).unwrap()).is_some();
    match dice.random_range(0..100) {
        // A file that has grown shrinks again.
        0..20 if !full => addition(dice, values, step),
        0..6 if record != Record::Top && there => Change::Remove { record },
        20..35 => Change::Clear { key: key_of(dice, values, &record), record },
        _ => {
            let key = key_of(dice, values, &record);
            Change::Set { record, value: entry(dice, &key), key }
        }
    }
}

// ------------------------------------------------------------------------- what must be the same

fn values(text: &str) -> Value {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    Value::Table(toml::from_str(text).unwrap_or_else(|error| panic!("{error}\n{text}")))
}

/// The lines that hold any of these bytes, as a stretch of the text.
fn lines_of(text: &str, range: Range<usize>) -> Range<usize> {
    let start = text[..range.start].rfind('\n').map_or(0, |at| at + 1);
    let end = text[range.end..].find('\n').map_or(text.len(), |at| range.end + at + 1);
    start..end
}

/// The lines that a change may touch: none when it only adds lines.
fn may_touch(text: &str, values: &Value, change: &Change) -> Range<usize> {
    let target = model::target(values, change);
    let enclosing = (0..target.len()).rev().find_map(|depth| {
        let range = model::extent(text, &target[..depth])?;
        let open = &text[range.clone()];
        let braces = model::find(values, &target[..depth])?.is_table() && depth > 0;
        // A table or list in brackets begins behind its key.
        let value = &text[value_start(text, &range)..];
        let inline = value.starts_with('{') || value.starts_with('[') && !open.starts_with('[');
        (inline && (braces || depth > 0)).then_some(range)
    });
    let own = model::extent(text, &target);
    let adds_to_lines = match change {
        Change::AddGene { .. }
        | Change::AddAnimal { .. }
        | Change::AddClutch { .. }
        | Change::AddHatchling { .. }
        | Change::AddCount { .. } => own.filter(|range| {
            text[value_start(text, range)..].starts_with('[')
                && !text[range.clone()].starts_with('[')
        }),
        _ => own,
    };
    let touched = match (adds_to_lines, enclosing) {
        (Some(own), Some(around)) => own.start.min(around.start)..own.end.max(around.end),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => return 0..0,
    };
    lines_of(text, touched)
}

/// Where the value behind a key begins.
fn value_start(text: &str, range: &Range<usize>) -> usize {
    let first = text[range.clone()].lines().next().unwrap_or("");
    let equals = first.find('=').filter(|at| !first[..*at].contains(['{', '[', '#']));
    let at = equals.map_or(range.start, |at| range.start + at + 1);
    at + text[at..].len() - text[at..].trim_start().len()
}

fn is_subsequence<'t>(
    few: impl IntoIterator<Item = &'t str>,
    many: impl IntoIterator<Item = &'t str>,
) -> Option<&'t str> {
    let mut many = many.into_iter();
    few.into_iter().find(|one| !many.any(|other| other == *one))
}

/// The marks of all remarks, in order.
fn remarks(text: &str) -> Vec<&str> {
    let starts = text.match_indices("#~").map(|(at, _)| at);
    starts.map(|at| &text[at..=at + 2 + text[at + 2..].find('~').unwrap()]).collect()
}

/// Lines without their ends, which are compared apart; blank ones only when asked for.
fn lines(text: &str, blank: bool) -> impl Iterator<Item = &str> {
    text.lines().filter(move |line| blank || !line.trim().is_empty())
}

/// Makes a change and compares everything; the text after it.
fn checked(before: &str, change: &Change) -> String {
    let told = |what: &str, after: &str| {
        let changed = differences(before, after);
        panic!("{what}\n{change:#?}\n{changed:#?}\n--- before\n{before}")
    };
    let mut draft = Draft::new(before);
    if let Err(error) = draft.apply(change) {
        told(&format!("not made: {error}"), before);
    }
    let after = draft.text().to_string();
    let mut wanted = values(before);
    let body = before.strip_prefix('\u{feff}').unwrap_or(before);
    let touched = may_touch(body, &wanted, change);
    model::apply(&mut wanted, change);
    if model::without_empty_lists(values(&after)) != model::without_empty_lists(wanted) {
        told("it does not say what it should", &after);
    }
    if after.starts_with('\u{feff}') != before.starts_with('\u{feff}') {
        told("the byte order mark", &after);
    }
    if after.ends_with('\n') != before.ends_with('\n') && !before.is_empty() && !after.is_empty() {
        told("the final line end", &after);
    }
    let removes = matches!(change, Change::Clear { .. } | Change::Remove { .. });
    let around = [&body[..touched.start], &body[touched.end..]];
    let kept: Vec<&str> = match removes {
        true => around.iter().flat_map(|part| remarks(part)).collect(),
        false => remarks(body),
    };
    if let Some(lost) = is_subsequence(kept, remarks(&after)) {
        told(&format!("lost or moved: {lost}"), &after);
    }
    // Blank lines may go with a heading.
    let headings = body[touched.clone()].lines().any(|line| line.trim_start().starts_with('['));
    let rest = around.iter().flat_map(|part| lines(part, !removes && !headings));
    let rest: Vec<&str> = rest.collect();
    let body_after = after.strip_prefix('\u{feff}').unwrap_or(&after);
    if let Some(lost) = is_subsequence(rest, lines(body_after, true)) {
        told(&format!("a line that was not to be touched: {lost:?}"), &after);
    }
    if before.contains("\r\n") && body_after.replace("\r\n", "").contains('\n') {
        told("a line end of another kind", &after);
    }
    after
}

fn changes(start: &str, seed: u64, count: usize) {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut text = start.to_string();
    for step in 0..count {
        let full = text.len() > start.len() + 1500;
        let change = change(&mut dice, &values(&text), step, full);
        text = checked(&text, &change);
    }
}

/// A file of ours with a remark of its own on every other line where one can stand.
fn remarked(text: &str) -> String {
    let plain = values(text);
    let mut lines: Vec<String> = text.lines().map(str::to_string).collect();
    for at in (0..lines.len()).step_by(2) {
        let before = lines[at].clone();
        lines[at] += &format!(" #~{at}~");
        let read: Option<toml::Table> = toml::from_str(&(lines.join("\n") + "\n")).ok();
        if read.map(Value::Table) != Some(plain.clone()) {
            lines[at] = before;
        }
    }
    lines.join("\n") + "\n"
}

/// Every records file in TOML below a folder of this repository.
fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "toml") {
            found.push(path);
        }
    }
}

// --------------------------------------------------------------------------------- the tests

#[test]
fn random_files_keep_every_remark_and_line_through_random_changes() {
    for seed in 0..16 {
        changes(&text::random(seed), seed, 500);
    }
}

#[test]
fn our_own_colonies_keep_every_remark_and_line_through_random_changes() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    files(&root.join("datasets"), &mut found);
    files(&root.join("tests/cases"), &mut found);
    found.sort();
    assert!(found.len() > 50, "only {} files were found", found.len());
    for (seed, path) in found.iter().enumerate() {
        let text = fs::read_to_string(path).unwrap();
        let (text, count) = match text.len() {
            0..10_000 => (remarked(&text), 40),
            _ => (text, 10),
        };
        changes(&text, seed as u64, count);
    }
}

#[test]
fn files_with_a_slip_of_the_pen_are_changed_soundly_or_not_at_all() {
    let mut dice = ChaCha8Rng::seed_from_u64(5);
    let (mut made, mut refused) = (0, 0);
    for seed in 0..3000 {
        let sound = text::random(seed % 60);
        let change = change(&mut dice, &values(&sound), 1, false);
        let mut signs: Vec<char> = sound.chars().collect();
        let at = dice.random_range(0..signs.len());
        match dice.random_range(0..3) {
            0 => drop(signs.remove(at)),
            1 => signs.truncate(at),
            _ => signs.insert(
                at,
                *['"', '[', '}', '\n', '\r', '#', '=', ',', '.'].choose(&mut dice).unwrap(),
            ),
        }
        let text: String = signs.into_iter().collect();
        let mut draft = Draft::new(&text);
        match draft.apply(&change) {
            Ok(()) => {
                let _ = values(draft.text());
                made += 1;
            }
            Err(error) => {
                assert_eq!(draft.text(), text, "{error}");
                assert_ne!(error, CannotChange::Unsafe, "{change:?}\n{text}");
                refused += 1;
            }
        }
    }
    assert!(made > 300 && refused > 300, "{made} made, {refused} refused");
}
