//! Whole stories, as their keeper meets them.
//!
//! Each folder of `tests/cases` holds `records.toml` (or `.json`), a `question.txt` with the command
//! line, the `answer.txt` that the program gives word for word, and a `SOURCE.md` that says where
//! the numbers come from. Where they have a closed form, a table there gives it, and the posterior
//! in JSON must equal it:
//!
//! ```text
//! | animal | gene | genotype | closed form |
//! |---|---|---|---|
//! | Agathe | furrow | +/furrow | `1/17` |
//! ```
//!
//! With `BLESS=1 cargo test --test cases` the answers are written anew; read the difference before
//! keeping it. The closed forms are never written by the program.

#![allow(clippy::unwrap_used)]

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;

/// A closed form is worked out in doubles too, in another order.
const TOLERANCE: f64 = 1e-12;

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut folders: Vec<PathBuf> =
        fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    folders
}

/// Runs a command line in a folder; `< FILE` at its end is standard input.
fn run(folder: &Path, question: &str, more: &[&str]) -> std::process::Output {
    let (line, input) = match question.split_once(" < ") {
        Some((line, file)) => (line, Some(fs::read(folder.join(file.trim())).unwrap())),
        None => (question, None),
    };
    let mut words = line.split_whitespace();
    assert_eq!(words.next(), Some("proveout"));
    let mut command = Command::cargo_bin("proveout").unwrap();
    command.current_dir(folder).args(words).args(more).env("NO_COLOR", "1");
    if let Some(input) = input {
        command.write_stdin(input);
    }
    command.output().unwrap()
}

/// What is said, in the notation of `answer.txt`.
fn answer(output: &std::process::Output) -> String {
    let mut said = String::from_utf8(output.stdout.clone()).unwrap();
    // That work goes on is told after a second; when that is depends on the machine.
    let errors = String::from_utf8_lossy(&output.stderr);
    let errors: String =
        errors.split_inclusive('\n').filter(|line| !line.ends_with("…\n")).collect();
    if !errors.is_empty() {
        let _ = write!(said, "[standard error]\n{errors}");
    }
    match output.status.code() {
        Some(0) => {}
        status => {
            let _ = writeln!(said, "[exit status {}]", status.unwrap_or(-1));
        }
    }
    said
}

#[test]
fn every_story_ends_as_it_is_written_down() {
    let bless = std::env::var_os("BLESS").is_some();
    let mut wrong = String::new();
    let folders = folders();
    assert!(folders.len() >= 8);
    for folder in folders {
        let question = fs::read_to_string(folder.join("question.txt")).unwrap();
        let got = answer(&run(&folder, &question, &[]));
        let path = folder.join("answer.txt");
        if bless {
            fs::write(&path, got).unwrap();
            continue;
        }
        let want = fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
        if got != want {
            let _ = writeln!(wrong, "{}\n--- written\n{want}\n--- now\n{got}", folder.display());
        }
    }
    assert!(wrong.is_empty(), "{wrong}\nBLESS=1 writes them anew");
}

#[test]
fn the_numbers_are_those_of_the_closed_forms() {
    let mut rows = 0;
    for folder in folders() {
        let source = fs::read_to_string(folder.join("SOURCE.md")).unwrap();
        let forms: Vec<Vec<&str>> = source
            .lines()
            .filter(|line| line.starts_with("| ") && !line.starts_with("| animal |"))
            .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
            .collect();
        if forms.is_empty() {
            continue;
        }
        let question = fs::read_to_string(folder.join("question.txt")).unwrap();
        let question = question
            .replace("proveout identify", "proveout genotypes")
            .replace("proveout labels", "proveout genotypes");
        // The options of a plan mean nothing to `genotypes`.
        let words: Vec<&str> = question.split_whitespace().collect();
        let question = match words[..] {
            ["proveout", "pairings" | "eggs" | "goal", file, ..] => {
                format!("proveout genotypes {file}")
            }
            _ => question,
        };
        let output = run(&folder, &question, &["--json"]);
        let json: Value = serde_json::from_slice(&output.stdout).unwrap();
        for row in forms {
            let [animal, gene, genotype, form] = row[..] else { panic!("{row:?}") };
            let want = Formula::value(form.trim_matches('`'));
            let entry = json["genotypes"]
                .as_array()
                .unwrap()
                .iter()
                .find(|entry| entry["animal"] == animal && entry["gene"] == gene);
            let got = entry.and_then(|entry| entry["posterior"][genotype].as_f64());
            let got = got.unwrap_or_else(|| panic!("{}: no {row:?}", folder.display()));
            assert!(
                (got - want).abs() <= TOLERANCE * want.abs().max(f64::MIN_POSITIVE),
                "{}: {animal} {genotype}: {got}, by the closed form {want}",
                folder.display(),
            );
            rows += 1;
        }
    }
    assert!(rows >= 20, "only {rows} closed forms were read");
}

#[test]
fn formulas_are_read_as_on_paper() {
    assert_eq!(Formula::value("2/3*(1/2)^2"), 2.0 / 3.0 / 4.0);
    assert_eq!(Formula::value("1 - 2*3.5 + 8/2/2"), -4.0);
    assert_eq!(Formula::value("(1+2)^2 / 9"), 1.0);
}

/// Numbers, `+ - * / ^` and brackets.
struct Formula<'f> {
    rest: &'f str,
}

impl<'f> Formula<'f> {
    fn value(text: &'f str) -> f64 {
        let mut formula = Formula { rest: text };
        let value = formula.sum();
        assert!(formula.rest.trim().is_empty(), "`{}` is left of `{text}`", formula.rest);
        value
    }

    fn take(&mut self, sign: char) -> bool {
        let rest = self.rest.trim_start();
        let found = rest.starts_with(sign);
        self.rest = if found { &rest[1..] } else { rest };
        found
    }

    fn sum(&mut self) -> f64 {
        let mut value = self.product();
        loop {
            if self.take('+') {
                value += self.product();
            } else if self.take('-') {
                value -= self.product();
            } else {
                return value;
            }
        }
    }

    fn product(&mut self) -> f64 {
        let mut value = self.power();
        loop {
            if self.take('*') {
                value *= self.power();
            } else if self.take('/') {
                value /= self.power();
            } else {
                return value;
            }
        }
    }

    fn power(&mut self) -> f64 {
        let base = if self.take('(') {
            let value = self.sum();
            assert!(self.take(')'), "a bracket is not closed");
            value
        } else {
            let digits = self.rest.find(|c: char| !c.is_ascii_digit() && c != '.');
            let (number, rest) = self.rest.split_at(digits.unwrap_or(self.rest.len()));
            self.rest = rest;
            number.parse().unwrap_or_else(|_| panic!("`{number}` is no number before `{rest}`"))
        };
        if self.take('^') { base.powf(self.power()) } else { base }
    }
}
