//! Do we give the numbers that are in print?
//!
//! `datasets/published/published.json` lists printed counts, worked examples and handbook figures.
//! Each item is in exactly one of three places: a row of a module below, with its source and the
//! tests that prove it; [`NOT_YET`]; or [`NO_NUMBER`], with the reason. What is compared is a
//! posterior, a difference of log evidence, or a chance that follows from one.
//!
//! A new item: its records file in `datasets/published` (with `Source:`, `Known:` and `Item:` at
//! its top), a row and a test in the module it belongs to; a new module is one line in
//! [`published`] and one in [`rows`].

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that cannot read its data has to fail")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use proveout::records::{Format, not_computed_yet, read};
use published::support::{Row, folder, item, items};

mod published {
    mod closed_forms;
    pub mod counselling;
    pub mod epistasis;
    pub mod incomplete_dominance;
    pub mod kept;
    pub mod lethal;
    pub mod linkage;
    pub mod mendel;
    pub mod modes;
    pub mod observers;
    pub mod penetrance;
    pub mod progeny_tests;
    pub mod sex_linkage;
    pub mod support;
    pub mod third_generation;
}

/// Every row of every module.
fn rows() -> impl Iterator<Item = &'static Row> {
    let modules = [
        published::mendel::ROWS,
        published::third_generation::ROWS,
        published::progeny_tests::ROWS,
        published::counselling::ROWS,
        published::lethal::ROWS,
        published::incomplete_dominance::ROWS,
        published::epistasis::ROWS,
        published::penetrance::ROWS,
        published::observers::ROWS,
        published::sex_linkage::ROWS,
        published::linkage::ROWS,
        published::kept::ROWS,
        published::modes::ROWS,
    ];
    modules.into_iter().flatten()
}

const MUTATION: &str = "needs new mutations, for which the model has no term";

/// Items with numbers that the program does not compute yet, and what they need.
const NOT_YET: &[(&str, &str)] = &[("BAY-05", MUTATION), ("BAY-17", MUTATION)];

const QUALITATIVE: &str = "a rule or a fact; no counts are recorded";
const METHOD: &str = "cited for its method; no worked numbers are recorded";
const SHARES: &str = "what a keeper may assume of sires, not an answer";

/// Items that give no number an answer of ours could be compared with, and why.
const NO_NUMBER: &[(&str, &str)] = &[
    ("PT-DISC", "its figures are those of a chi-square test, of which the program makes none"),
    ("PT-DWARF", "the calves are not counted by class"),
    ("FOU-88", METHOD),
    ("BAY-19", METHOD),
    ("LET-03", "the embryos are not counted by class, and the percentages fit no whole number"),
    ("LET-09", QUALITATIVE),
    ("LET-10", "a gap: counts are not supplied"),
    ("INC-08", QUALITATIVE),
    ("REP-02", QUALITATIVE),
    ("REP-04", "the litters are not counted one by one"),
    ("REP-05", QUALITATIVE),
    ("REP-06", QUALITATIVE),
    ("REP-09", QUALITATIVE),
    ("REP-10", QUALITATIVE),
    ("REP-11", QUALITATIVE),
    ("REP-12", QUALITATIVE),
    ("REP-13", QUALITATIVE),
    ("REP-14", "not a published source: its own note says not to cite it here"),
    ("ALL-05", QUALITATIVE),
    ("ALL-07", QUALITATIVE),
    ("SEX-06", "map units only; the counts are not recorded"),
    ("SEX-07", QUALITATIVE),
    ("SEX-09", "the young are not counted by class"),
    ("SEX-11", "a misprint that only looks like counts: its own note says not to use it"),
    ("SEX-12", "a gap: counts are not supplied"),
    ("PEN-07", QUALITATIVE),
    ("SEG-02", "estimators in closed form, of which the program makes none"),
    ("SEG-03", METHOD),
    ("BF-01", "a scale of words that the program does not use"),
    ("BF-03", "a rule of thumb, not a result"),
    ("PAT-02", SHARES),
    ("PAT-03", SHARES),
    ("PAT-04", SHARES),
    ("PAT-05", SHARES),
    ("CAL-01", METHOD),
    ("CAL-02", "scores of forecasts, and an interval that the program does not print"),
];

#[test]
fn every_item_of_the_reference_is_checked_or_said_not_to_be() {
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    let explained = NOT_YET.iter().chain(NO_NUMBER).map(|(id, _)| *id);
    for id in rows().map(|row| row.id).chain(explained) {
        *places.entry(id).or_default() += 1;
    }
    let known = items().iter().map(|item| (item["id"].as_str().unwrap(), 1)).collect();
    assert_eq!(places, known);
    assert_eq!(known.len(), 116);
    assert!(NOT_YET.iter().chain(NO_NUMBER).all(|(_, reason)| !reason.is_empty()));
}

/// The citation of an item; one that says `as X` has that of X.
fn citation(id: &str) -> &'static str {
    let citation = item(id)["citation"].as_str().unwrap();
    match citation.strip_prefix("as ").and_then(|other| other.split(';').next()) {
        Some(other) => self::citation(other),
        None => citation,
    }
}

#[test]
fn every_row_has_the_source_of_its_item_and_says_how_it_is_known() {
    for row in rows() {
        let citation = citation(row.id);
        assert!(citation.starts_with(row.source), "{}: {} is not {citation}", row.id, row.source);
        assert_eq!(item(row.id)["value_basis"], row.basis, "{}", row.id);
        assert!(!row.by.is_empty(), "{} is proved by nothing", row.id);
    }
}

fn files(folder: &Path, extension: &str) -> Vec<PathBuf> {
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<_> =
        paths.filter(|path| path.extension().is_some_and(|has| has == extension)).collect();
    files.sort();
    files
}

/// The remarks at the top of a file, one paragraph.
fn remarks(text: &str) -> String {
    let lines = text.lines().map_while(|line| line.strip_prefix('#'));
    lines.map(str::trim).collect::<Vec<_>>().join(" ")
}

#[test]
fn every_file_is_sound_and_tells_its_source_and_how_that_is_known() {
    let files = files(&folder(), "toml");
    assert!(files.len() >= 20);
    for path in files {
        let text = fs::read_to_string(&path).unwrap();
        let colony = read(text.as_bytes(), Format::Toml).unwrap().colony;
        assert_eq!(not_computed_yet(&colony), [], "{}", path.display());
        let remarks = remarks(&text);
        let (_, id) = remarks.split_once("Item: ").unwrap();
        let source = format!("Source: {} Known: ", citation(id));
        assert!(remarks.contains(&source), "{}: {source}", path.display());
        let known = format!("Known: {}.", item(id)["value_basis"].as_str().unwrap());
        assert!(remarks.contains(&known), "{}: {known}", path.display());
        assert!(rows().any(|row| row.id == id), "{} is of an unchecked item", path.display());
    }
}

#[test]
fn every_file_is_asked_about() {
    let modules = files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published"), "rs");
    let tests: String = modules.iter().map(|path| fs::read_to_string(path).unwrap()).collect();
    for path in files(&folder(), "toml") {
        let name = path.file_stem().unwrap().to_str().unwrap();
        // Files of a numbered set are named once for all.
        let name = name.trim_end_matches(|digit: char| digit.is_ascii_digit());
        assert!(tests.contains(&format!("\"{name}")), "nobody asks about {name}");
    }
}
