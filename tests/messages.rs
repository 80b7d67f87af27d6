//! Is each mistake explained where it stands?
//!
//! Every file of `tests/messages` says at its top what must be said about it, and nothing else
//! may be said:
//!
//! ```text
//! # Error: 9 no animal is called `bella`
//! # Hint: did you mean `Bella`?
//! # Notice: 12 7 young from 6 eggs: taken as twins
//! ```
//!
//! The number is the line. JSON has no remarks, so the same lines stand beside it in `.expect`.
//! With `BLESS=1` the lines are written anew; read the difference before keeping it.

// A test that cannot read its files may panic.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

use proveout::records::{Format, STARTER, not_computed_yet, read};

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/messages");
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "toml" || ext == "json"))
        .collect();
    files.sort();
    files
}

fn format(path: &Path) -> Format {
    Format::of(path.extension().and_then(|extension| extension.to_str()), b"")
}

fn is_expectation(line: &str) -> bool {
    ["# Error: ", "# Hint: ", "# Notice: "].iter().any(|start| line.starts_with(start))
}

/// What is said about a text, in the notation of the files.
fn said(text: &str, format: Format) -> Vec<String> {
    let mut said = Vec::new();
    match read(text.as_bytes(), format) {
        Ok(checked) => {
            for notice in checked.notices {
                let line = notice.place.map_or(0, |place| place.line);
                said.push(format!("# Notice: {line} {}", notice.message));
            }
            for error in not_computed_yet(&checked.colony) {
                assert!(error.message.ends_with("understood but not computed yet"));
            }
        }
        Err(errors) => {
            assert!(!errors.is_empty(), "an error without a reason");
            for error in errors {
                assert_fragment(&error.message);
                let slice = text.get(error.place.start..error.place.end);
                assert!(slice.is_some(), "a place outside the text: {error:?}");
                said.push(format!("# Error: {} {}", error.place.line, error.message));
                said.extend(error.help.map(|help| format!("# Hint: {help}")));
            }
        }
    }
    said
}

fn assert_fragment(message: &str) {
    assert!(!message.ends_with('.'), "a full stop ends {message:?}");
    assert!(!message.contains('\n'), "a line break in {message:?}");
    assert!(!message.starts_with(char::is_uppercase), "a capital begins {message:?}");
}

fn expected(path: &Path, text: &str) -> Vec<String> {
    let beside = path.with_extension("expect");
    let text = match format(path) {
        Format::Toml => text.to_string(),
        Format::Json => fs::read_to_string(beside).unwrap_or_default(),
    };
    text.lines().filter(|line| is_expectation(line)).map(str::to_string).collect()
}

fn bless(path: &Path, text: &str) {
    if format(path) == Format::Json {
        let said = said(text, Format::Json);
        if said.is_empty() {
            return;
        }
        fs::write(path.with_extension("expect"), said.join("\n") + "\n").unwrap();
        return;
    }
    let body: Vec<&str> = text.lines().filter(|line| !is_expectation(line)).collect();
    let body = body.join("\n") + "\n";
    let count = said(&body, Format::Toml).len();
    let shifted = said(&("#\n".repeat(count) + &body), Format::Toml);
    let head: String = shifted.iter().map(|line| format!("{line}\n")).collect();
    fs::write(path, head + &body).unwrap();
}

#[test]
fn every_mistake_is_explained_where_it_stands() {
    let mut wrong = Vec::new();
    let files = files();
    for path in &files {
        let text = fs::read_to_string(path).unwrap();
        if std::env::var_os("BLESS").is_some() {
            bless(path, &text);
            continue;
        }
        let (want, got) = (expected(path, &text), said(&text, format(path)));
        if want != got {
            let list = |lines: &[String]| lines.join("\n    ");
            wrong.push(format!(
                "{}\n  want\n    {}\n  got\n    {}",
                path.display(),
                list(&want),
                list(&got)
            ));
        }
    }
    assert!(files.len() > 20, "the files were not found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_starter_reads_without_a_doubt_and_can_be_computed() {
    let checked = read(STARTER.as_bytes(), Format::Toml).unwrap();
    assert_eq!(checked.notices, []);
    assert_eq!(not_computed_yet(&checked.colony), []);
    assert_eq!(checked.colony.clutches[0].recorded(), 6);
}

fn everything(extension: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/messages");
    fs::read_to_string(folder.join("everything").with_extension(extension)).unwrap()
}

/// A colony in words, without its places.
fn without_places(colony: &proveout::records::Colony) -> String {
    let words = format!("{colony:?}");
    let mut parts = words.split("Place { ");
    let first = parts.next().unwrap_or("").to_string();
    parts.fold(first, |done, part| done + part.split_once('}').map_or("", |(_, rest)| rest))
}

#[test]
fn both_notations_give_the_same_colony() {
    let toml = read(everything("toml").as_bytes(), Format::Toml).unwrap();
    let json = read(everything("json").as_bytes(), Format::Json).unwrap();
    assert_eq!(without_places(&toml.colony), without_places(&json.colony));
}

#[test]
fn nothing_in_the_file_with_every_key_is_refused() {
    let checked = read(everything("toml").as_bytes(), Format::Toml).unwrap();
    assert_eq!(not_computed_yet(&checked.colony), []);
}

#[test]
fn a_large_file_of_errors_ends_soon() {
    let mut text = String::from("[[animal]]\nid = \"Wren\"\n");
    for clutch in 0..5000 {
        text += &format!(
            "[[clutch]]\nid = \"c{clutch}\"\ndam = \"Nobody{clutch}\"\n\
             [[clutch.hatchling]]\nid = \"hatchling{clutch}\"\n"
        );
    }
    assert_eq!(read(text.as_bytes(), Format::Toml).unwrap_err().len(), 5000);
}

mod nothing_panics {
    use super::*;
    use proptest::prelude::*;
    use proveout::presentation::diagnostics::{errors_json, render_errors};

    fn look_at(bytes: &[u8], format: Format) {
        let once = read(bytes, format);
        assert_eq!(once, read(bytes, format), "reading is not deterministic");
        let text = String::from_utf8_lossy(bytes);
        match once {
            Ok(checked) => drop(not_computed_yet(&checked.colony)),
            Err(errors) => {
                assert!(!errors.is_empty());
                render_errors("colony", &text, &errors, false);
                errors_json(&text, &errors);
            }
        }
    }

    /// Pieces that mean something somewhere.
    const PIECES: [&str; 24] = [
        "\"",
        "'",
        "[",
        "]",
        "{",
        "}",
        "=",
        ",",
        "#",
        "\n",
        "\\",
        "-1",
        "nan",
        "1e999",
        "\"unknown\"",
        "\"none\"",
        "\"normal\"",
        "[[clutch]]\n",
        "[[clutch.hatchling]]\n",
        "true",
        "\u{feff}",
        "é",
        "\"Wren\"",
        "\0",
    ];

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

        #[test]
        fn on_any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
            look_at(&bytes, Format::Toml);
            look_at(&bytes, Format::Json);
        }

        #[test]
        fn on_any_mutation_of_a_valid_file(
            json in any::<bool>(),
            edits in proptest::collection::vec((any::<prop::sample::Index>(), 0..6usize, any::<prop::sample::Index>()), 1..6),
        ) {
            let (extension, format) = if json { ("json", Format::Json) } else { ("toml", Format::Toml) };
            let mut bytes = everything(extension).into_bytes();
            for (at, length, piece) in edits {
                let at = at.index(bytes.len());
                let end = (at + length).min(bytes.len());
                bytes.splice(at..end, PIECES[piece.index(PIECES.len())].bytes());
            }
            look_at(&bytes, format);
        }

        #[test]
        fn on_lines_in_any_order(order in proptest::collection::vec(any::<prop::sample::Index>(), 1..120)) {
            let text = everything("toml");
            let lines: Vec<&str> = text.lines().collect();
            let shuffled: Vec<&str> = order.iter().map(|index| lines[index.index(lines.len())]).collect();
            look_at(shuffled.join("\n").as_bytes(), Format::Toml);
        }
    }
}
