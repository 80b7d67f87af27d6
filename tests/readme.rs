//! Is every answer that the README shows the one the program gives?
//!
//! A block behind `<!-- run: proveout … -->` is the whole output of that command; a block behind
//! `<!-- file: NAME -->` is a records file that later commands may name. With
//! `BLESS=1 cargo test --test readme` the outputs are written anew. What stands between the marks
//! `speed` and `/speed` is measured, and written by `benches/compare/against.py`.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;

use assert_cmd::Command;

/// A marker, and the lines of the block behind it: from the first line of it up to the fence.
struct Block {
    marker: String,
    first: usize,
    end: usize,
}

fn blocks(lines: &[&str]) -> Vec<Block> {
    let mut blocks = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let Some(marker) = line.strip_prefix("<!-- ").and_then(|m| m.strip_suffix(" -->")) else {
            continue;
        };
        if ["speed", "/speed"].contains(&marker) {
            continue;
        }
        assert!(lines[at + 1].starts_with("```"), "line {}: no block behind a marker", at + 2);
        let first = at + 2;
        let end = (first..lines.len()).find(|line| lines[*line] == "```");
        let end = end.unwrap_or_else(|| panic!("line {}: the block does not end", at + 2));
        blocks.push(Block { marker: marker.to_owned(), first, end });
    }
    blocks
}

/// The output of a command line; files of the page are in `folder`, others in the repository.
fn output(line: &str, folder: &Path) -> String {
    let mut words = line.split_whitespace();
    assert_eq!(words.next(), Some("proveout"), "{line}");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let words = words.map(|word| match folder.join(word).is_file() {
        true => folder.join(word).to_string_lossy().into_owned(),
        false => word.to_owned(),
    });
    let mut command = Command::cargo_bin("proveout").unwrap();
    let output = command.current_dir(root).args(words).output().unwrap();
    assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_answer_shown_is_the_one_given() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let text = fs::read_to_string(&path).unwrap().replace("\r\n", "\n");
    let lines: Vec<&str> = text.lines().collect();
    let folder = tempfile::tempdir().unwrap();
    let mut page: Vec<String> = Vec::new();
    let mut copied = 0;
    let mut ran = 0;
    for block in blocks(&lines) {
        page.extend(lines[copied..block.first].iter().map(|line| (*line).to_owned()));
        copied = block.end;
        let shown = &lines[block.first..block.end];
        match block.marker.split_once(": ") {
            Some(("file", name)) => {
                fs::write(folder.path().join(name), shown.join("\n") + "\n").unwrap();
                page.extend(shown.iter().map(|line| (*line).to_owned()));
            }
            Some(("run", line)) => {
                page.extend(output(line, folder.path()).lines().map(str::to_owned));
                ran += 1;
            }
            _ => panic!("line {}: what is `{}`?", block.first, block.marker),
        }
    }
    page.extend(lines[copied..].iter().map(|line| (*line).to_owned()));
    let now = page.join("\n") + "\n";
    assert!(ran >= 4, "only {ran} commands are shown");
    if std::env::var_os("BLESS").is_some() {
        fs::write(path, now).unwrap();
        return;
    }
    let differs = now.lines().zip(&lines).find(|(now, shown)| now != *shown);
    assert!(now == text, "the README shows other output: {differs:?}; BLESS=1 writes it anew");
}

#[test]
fn the_page_opens_with_one_paragraph_and_two_commands() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let text = fs::read_to_string(path).unwrap().replace("\r\n", "\n");
    let opening = text.split("\n\n").nth(1).unwrap();
    assert!(opening.starts_with("`proveout`"));
    let commands: Vec<&str> = text.lines().filter(|line| line.starts_with("cargo ")).collect();
    let job = "cargo run --release -- genotypes datasets/demo/colony.toml";
    assert_eq!(commands, [job, "cargo test --release"]);
}
