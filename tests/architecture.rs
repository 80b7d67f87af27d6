//! Does every room look only to its left?
//!
//! The table below is the one of DEVELOPERS.md. An import that goes the other way fails here, and
//! so does a new room without a row.

#![allow(clippy::unwrap_used)]

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// Each room of `src/`, and the rooms it may import.
const ROOMS: &[(&str, &[&str])] = &[
    ("numbers", &[]),
    ("records", &["numbers"]),
    ("sampler", &["numbers", "records"]),
    ("genetics", &["numbers", "records"]),
    ("network", &["numbers", "records", "genetics"]),
    ("inference", &["numbers", "network"]),
    ("questions", &["numbers", "records", "sampler", "genetics", "network", "inference"]),
    ("presentation", &["numbers", "records", "genetics", "questions"]),
    ("web", &["numbers", "records", "genetics", "questions", "presentation"]),
    ("cli", &["numbers", "records", "genetics", "questions", "presentation", "web"]),
];

/// The files of `network` that know animals: only they import `records` and `genetics`.
const KNOWS_ANIMALS: &[&str] = &[
    "any_pair.rs",
    "assemble.rs",
    "clutches.rs",
    "colony_network.rs",
    "eggs.rs",
    "founders.rs",
    "items.rs",
    "pending.rs",
    "selection.rs",
    "sexes.rs",
    "siring.rs",
];

/// What `inference` may see of `network`: a graph and the evidence on it, no animals.
const SEEN_BY_INFERENCE: &[&str] =
    &["FactorGraph", "FactorId", "Source", "TableId", "VariableId", "Evidence"];

/// Methods that change between a number and its logarithm.
const CHANGES_OF_SCALE: &[&str] = &["ln", "exp", "ln_1p", "exp_m1", "log2", "log10", "exp2", "log"];

/// Longer files are two files.
const LONGEST_FILE: usize = 500;

// -------------------------------------------------------------------------- reading Rust text

#[derive(Clone, Debug, PartialEq)]
enum Token {
    Name(String),
    Path,
    Sign(char),
}

/// Names, `::` and single signs; comments and texts are left out.
fn tokens(text: &str) -> Vec<Token> {
    let characters: Vec<char> = text.chars().collect();
    let at = |i: usize| characters.get(i).copied().unwrap_or('\0');
    let mut tokens = Vec::new();
    let mut i = 0;
    while i < characters.len() {
        match at(i) {
            '/' if at(i + 1) == '/' => {
                while i < characters.len() && at(i) != '\n' {
                    i += 1;
                }
            }
            '/' if at(i + 1) == '*' => {
                let mut depth = 0;
                while i < characters.len() {
                    match (at(i), at(i + 1)) {
                        ('/', '*') => depth += 1,
                        ('*', '/') => depth -= 1,
                        _ => {}
                    }
                    i += if matches!((at(i), at(i + 1)), ('/', '*') | ('*', '/')) { 2 } else { 1 };
                    if depth == 0 {
                        break;
                    }
                }
            }
            'r' if at(i + 1) == '"' || (at(i + 1) == '#' && matches!(at(i + 2), '"' | '#')) => {
                let hashes = (i + 1..).take_while(|j| at(*j) == '#').count();
                i += hashes + 2;
                let closes = |j: usize| at(j) == '"' && (1..=hashes).all(|h| at(j + h) == '#');
                while i < characters.len() && !closes(i) {
                    i += 1;
                }
                i += hashes + 1;
            }
            '"' => {
                i += 1;
                while i < characters.len() && at(i) != '"' {
                    i += if at(i) == '\\' { 2 } else { 1 };
                }
                i += 1;
            }
            // A character; a lifetime has no closing sign.
            '\'' if at(i + 1) == '\\' => {
                i += 3;
                while i < characters.len() && at(i) != '\'' {
                    i += 1;
                }
                i += 1;
            }
            '\'' if at(i + 2) == '\'' => i += 3,
            ':' if at(i + 1) == ':' => {
                tokens.push(Token::Path);
                i += 2;
            }
            c if c.is_alphanumeric() || c == '_' => {
                let end = (i..).find(|j| !(at(*j).is_alphanumeric() || at(*j) == '_'));
                let end = end.unwrap_or(characters.len());
                tokens.push(Token::Name(characters[i..end].iter().collect()));
                i = end;
            }
            c if c.is_whitespace() => i += 1,
            c => {
                tokens.push(Token::Sign(c));
                i += 1;
            }
        }
    }
    tokens
}

/// Every path of a file that begins with `crate`, `self`, `super` or the name of the library, from
/// the root of its crate on; groups in braces are taken apart.
fn paths(tokens: &[Token], module: &[String]) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let mut inline: Vec<(String, usize)> = Vec::new();
    let mut depth = 0;
    let mut i = 0;
    while i < tokens.len() {
        let before = i.checked_sub(1).map(|before| &tokens[before]);
        match &tokens[i] {
            Token::Sign('{') => {
                let name = match (i.checked_sub(2).map(|at| &tokens[at]), before) {
                    (Some(Token::Name(word)), Some(Token::Name(name))) if word == "mod" => name,
                    _ => "",
                };
                depth += 1;
                if !name.is_empty() {
                    inline.push((name.to_owned(), depth));
                }
            }
            Token::Sign('}') => {
                if inline.last().is_some_and(|(_, at)| *at == depth) {
                    inline.pop();
                }
                depth -= 1;
            }
            Token::Name(name) if before != Some(&Token::Path) => {
                let here: Vec<String> =
                    module.iter().cloned().chain(inline.iter().map(|(n, _)| n.clone())).collect();
                let root = match name.as_str() {
                    "crate" => Some(Vec::new()),
                    "proveout" => Some(vec!["proveout".to_owned()]),
                    "self" => Some(here),
                    "super" => Some(here[..here.len().saturating_sub(1)].to_vec()),
                    _ => None,
                };
                if let Some(root) = root.filter(|_| tokens.get(i + 1) == Some(&Token::Path)) {
                    tree(tokens, i + 2, root, &mut found);
                }
            }
            _ => {}
        }
        i += 1;
    }
    found
}

/// Reads what follows a `::`; returns the position behind it.
fn tree(tokens: &[Token], at: usize, mut root: Vec<String>, found: &mut Vec<Vec<String>>) -> usize {
    match tokens.get(at) {
        Some(Token::Name(name)) => {
            match name.as_str() {
                "super" => {
                    root.pop();
                }
                "self" => {}
                _ => root.push(name.clone()),
            }
            if tokens.get(at + 1) == Some(&Token::Path) {
                return tree(tokens, at + 2, root, found);
            }
            found.push(root);
            at + 1
        }
        Some(Token::Sign('{')) => {
            let mut at = at + 1;
            while at < tokens.len() && tokens[at] != Token::Sign('}') {
                at = match &tokens[at] {
                    Token::Name(name) if name != "as" => tree(tokens, at, root.clone(), found),
                    Token::Name(_) => at + 2,
                    Token::Sign('*') => {
                        found.push(root.clone());
                        at + 1
                    }
                    _ => at + 1,
                };
            }
            at + 1
        }
        _ => {
            found.push(root);
            at + 1
        }
    }
}

// --------------------------------------------------------------------------------- the rules

/// What is wrong with one file; `path` is relative to `src`.
fn faults(path: &str, text: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let parts: Vec<&str> = path.split('/').collect();
    let (file, folders) = parts.split_last().expect("a file has a name");
    let binary = *file == "main.rs" && folders.is_empty()
        || matches!(folders.first(), Some(&"cli" | &"web"));
    let room = match folders.first() {
        Some(room) => *room,
        None if binary => "cli",
        None => "the crate",
    };
    let mut module: Vec<String> = folders.iter().map(|part| (*part).to_owned()).collect();
    if !["mod.rs", "lib.rs", "main.rs"].contains(file) {
        module.push(file.trim_end_matches(".rs").to_owned());
    }
    let Some(may) = allowed(room) else {
        return vec![format!("{path}: the room `{room}` has no row in the table")];
    };
    let tokens = tokens(text);
    for seen in paths(&tokens, &module) {
        if let Some(why) = wrong_way(room, file, may, binary, &seen) {
            faults.push(format!("{path}: `{}`: {why}", seen.join("::")));
        }
    }
    faults.extend(scale(room, &tokens).into_iter().map(|method| {
        format!("{path}: calls `{method}`, which only `numbers` does; use `numbers::{method}`")
    }));
    if !text.starts_with("//! ") && !folders.contains(&"tests") {
        faults.push(format!("{path}: does not begin by saying what it is for (`//! …`)"));
    }
    let lines = text.lines().count();
    if lines > LONGEST_FILE {
        faults.push(format!("{path}: {lines} lines; past {LONGEST_FILE} it is two files"));
    }
    faults
}

fn allowed(room: &str) -> Option<&'static [&'static str]> {
    if room == "the crate" {
        return Some(&[]);
    }
    ROOMS.iter().find(|(name, _)| *name == room).map(|(_, may)| *may)
}

fn wrong_way(
    room: &str,
    file: &str,
    may: &[&str],
    binary: bool,
    seen: &[String],
) -> Option<String> {
    // The binary sees the library by its name; what it calls `crate` is itself.
    let seen = match (binary, seen.first().map(String::as_str)) {
        (true, Some("proveout")) => &seen[1..],
        (true, _) => return None,
        (false, Some("proveout")) => return Some("the library does not name itself".into()),
        (false, _) => seen,
    };
    let to = seen.first()?.as_str();
    if to == room {
        return None;
    }
    if !may.contains(&to) {
        return Some(format!("`{room}` may not look at `{to}`"));
    }
    if room == "network" && to != "numbers" && !KNOWS_ANIMALS.contains(&file) {
        return Some(format!("only {} know animals", KNOWS_ANIMALS.join(", ")));
    }
    let name = seen.get(1).map_or("", String::as_str);
    if room == "inference" && to == "network" && !SEEN_BY_INFERENCE.contains(&name) {
        return Some("`inference` sees the graph and its evidence only".to_owned());
    }
    None
}

/// Calls that change scale outside of `numbers`.
///
/// `log_evidence().ln()` asks a log weight for what it holds and computes nothing.
fn scale(room: &str, tokens: &[Token]) -> Vec<String> {
    if room == "numbers" {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (at, token) in tokens.iter().enumerate().skip(1) {
        let Token::Name(name) = token else { continue };
        let method = tokens[at - 1] == Token::Sign('.')
            || (tokens[at - 1] == Token::Path
                && at > 1
                && tokens[at - 2] == Token::Name("f64".into()));
        let receiver = &tokens[at.saturating_sub(8)..at];
        let stored = receiver.iter().any(|t| {
            matches!(t, Token::Name(name) if name == "log_evidence" || name == "log_evidence_of")
        });
        let called = tokens.get(at + 1) == Some(&Token::Sign('('));
        if method && called && CHANGES_OF_SCALE.contains(&name.as_str()) && !stored {
            found.push(name.clone());
        }
    }
    found
}

fn sources() -> Vec<(String, String)> {
    fn walk(folder: &Path, files: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => walk(&path, files),
                false if path.extension().is_some_and(|ext| ext == "rs") => files.push(path),
                false => {}
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    walk(&root, &mut files);
    files.sort();
    let read = |path: PathBuf| {
        let name = path.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
        (name, fs::read_to_string(&path).unwrap())
    };
    files.into_iter().map(read).collect()
}

// --------------------------------------------------------------------------------- the tests

#[test]
fn every_room_looks_only_to_its_left() {
    let mut all = String::new();
    let files = sources();
    assert!(files.len() > 50, "only {} files were found", files.len());
    for (path, text) in files {
        for fault in faults(&path, &text) {
            let _ = writeln!(all, "{fault}");
        }
    }
    assert!(all.is_empty(), "\n{all}");
}

#[test]
fn the_table_itself_goes_one_way() {
    for (at, (room, may)) in ROOMS.iter().enumerate() {
        let left: Vec<&str> = ROOMS[..at].iter().map(|(name, _)| *name).collect();
        assert!(may.iter().all(|name| left.contains(name)), "{room} looks to its right");
    }
}

#[test]
fn the_table_is_printed_in_the_guide() {
    let guide = Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md");
    let guide = fs::read_to_string(guide).unwrap();
    for (room, may) in ROOMS {
        let row = guide.lines().find(|line| line.starts_with(&format!("| `{room}` |")));
        let row = row.unwrap_or_else(|| panic!("DEVELOPERS.md has no row for `{room}`"));
        let cell = row.trim_end_matches([' ', '|']).rsplit('|').next().unwrap();
        let said: Vec<&str> = cell.split('`').skip(1).step_by(2).collect();
        assert_eq!(said, *may, "DEVELOPERS.md on `{room}`");
    }
}

#[test]
fn a_wrong_import_is_caught_however_it_is_written() {
    let planted = [
        ("records/date.rs", "use crate::network::FactorGraph;"),
        ("records/read/tree.rs", "fn f() { super::super::super::genetics::units(); }"),
        ("records/date.rs", "mod tests { use super::super::super::questions::Asked; }"),
        ("genetics/locus.rs", "use crate::{numbers, inference::Domains};"),
        ("genetics/locus.rs", "use crate::{records as r, questions::{self, Model}};"),
        ("inference/plan.rs", "use crate::network::{FactorGraph, ColonyNetwork};"),
        ("inference/plan.rs", "use crate::network::*;"),
        ("inference/plan.rs", "use crate::records::AnimalId;"),
        ("network/graph.rs", "use crate::records::AnimalId;"),
        ("network/evidence.rs", "fn f(x: &crate::genetics::Locus) {}"),
        ("presentation/json.rs", "use crate::inference::JunctionTree;"),
        ("cli/check.rs", "use proveout::network::assemble;"),
        ("numbers/mod.rs", "use crate::records::Date;"),
        ("attic/mod.rs", "use crate::numbers::ln;"),
        ("genetics/locus.rs", "fn f(x: f64) -> f64 { x.ln() }"),
        ("genetics/locus.rs", "fn f(x: f64) -> f64 { f64::exp(x) }"),
    ];
    for (path, line) in planted {
        let found = faults(path, &format!("//! Header.\n{line}\n"));
        assert!(!found.is_empty(), "{path}: {line}: nothing was found");
    }
    assert_eq!(faults("numbers/mod.rs", "use std::fmt;\n").len(), 1, "a missing header");
    assert_eq!(faults("numbers/mod.rs", &"//! Long.\n".repeat(501)).len(), 1, "a long file");
}

#[test]
fn what_is_allowed_is_let_pass() {
    let sound = [
        ("records/date.rs", "use super::Place; use crate::numbers::Probability;"),
        ("records/date.rs", "// use crate::network::X;\nconst A: &str = \"crate::network::X\";"),
        ("records/date.rs", "const A: &str = r#\"crate::network \" x\"#; const B: char = '\"';"),
        ("records/date.rs", "/// See [`X`](crate::network::X).\nfn f<'a>(x: &'a str) {}"),
        ("records/date.rs", "#[cfg(test)] mod tests { use super::*; use super::super::Place; }"),
        ("network/assemble.rs", "use crate::{records::Colony, genetics::{Unit, Locus as L}};"),
        ("inference/plan.rs", "use crate::network::{FactorGraph, Evidence};"),
        ("cli/check.rs", "use super::args::Records; use proveout::presentation::json;"),
        ("main.rs", "mod cli; fn main() { cli::main() }"),
        ("lib.rs", "pub mod numbers;"),
        ("numbers/log.rs", "fn f(x: f64) -> f64 { x.ln() }"),
        ("questions/model.rs", "fn f(m: M) -> f64 { m.log_evidence().ln() }"),
    ];
    for (path, line) in sound {
        let found = faults(path, &format!("//! Header.\n{line}\n"));
        assert!(found.is_empty(), "{path}: {line}: {found:?}");
    }
}
