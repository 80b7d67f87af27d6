//! From the text of a records file to a checked [`Colony`].
//!
//! Both notations become one tree of values with their places; everything after that is written
//! once. Ids and sexes are collected before anything refers to them, so the order of the file
//! does not matter. Nothing stops at the first mistake.

mod animals;
mod checks;
mod clutches;
mod fields;
mod from_json;
mod from_toml;
mod gene;
mod gene_options;
mod genotype;
mod groups;
mod guard;
mod lines;
mod observation;
mod reader;
mod roster;
mod told;
mod top;
mod tree;
mod vocabulary;

use super::{Colony, Notice, RecordError};
use fields::{Fields, TOP};
pub use guard::MAX_BYTES;
use reader::Reader;
use tree::{Node, Span, Value};
use vocabulary::Vocabulary;

/// The notation of a records file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// TOML, as people write it.
    Toml,
    /// JSON with the same keys.
    Json,
}

impl Format {
    /// The notation by the extension of the file's name, otherwise by its first character: `{`
    /// begins JSON.
    pub fn of(extension: Option<&str>, text: &[u8]) -> Format {
        match extension.map(str::to_ascii_lowercase).as_deref() {
            Some("json") => Format::Json,
            Some("toml") => Format::Toml,
            _ => {
                let text = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
                let first = text.iter().find(|byte| !byte.is_ascii_whitespace());
                if first == Some(&b'{') { Format::Json } else { Format::Toml }
            }
        }
    }
}

/// A colony that can be true, and the doubts about it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checked {
    /// The colony, every name resolved.
    pub colony: Colony,
    /// Doubts that do not stop an answer, in the order of the file.
    pub notices: Vec<Notice>,
}

const BYTE_ORDER_MARK: &[u8] = "\u{feff}".as_bytes();

/// Reads a records file.
///
/// # Errors
///
/// Everything that is wrong with the file, in the order of its lines: at least one entry. When
/// the notation itself is broken, only that is reported, as the rest would be guesswork.
pub fn read(text: &[u8], format: Format) -> Result<Checked, Vec<RecordError>> {
    let first = if text.starts_with(BYTE_ORDER_MARK) { BYTE_ORDER_MARK.len() } else { 0 };
    // A file too large to read is not indexed either.
    let indexed = if text.len() > MAX_BYTES { &[] } else { text };
    let mut reader = Reader::new(indexed, first);
    let colony = guard::text(&mut reader, text).and_then(|text| {
        let root = parse(&mut reader, text, first, format)?;
        colony(&mut reader, format, &root)
    });
    let Reader { mut errors, mut notices, .. } = reader;
    match colony {
        Some(colony) if errors.is_empty() => {
            notices.sort_by_key(|notice| notice.place);
            Ok(Checked { colony, notices })
        }
        _ => {
            errors.sort_by_key(|error| (error.place.line, error.place.column));
            errors.dedup();
            Err(errors)
        }
    }
}

fn parse<'t>(reader: &mut Reader, text: &'t str, first: usize, format: Format) -> Option<Node<'t>> {
    if let Some(span) = guard::too_deep(text.as_bytes(), format) {
        reader
            .error(span, "brackets are nested more than 64 deep")
            .help("a records file needs six at most; a bracket may be missing above");
        return None;
    }
    let body = &text[first..];
    let written =
        |line: &str| !(line.is_empty() || format == Format::Toml && line.starts_with('#'));
    if !body.lines().any(|line| written(line.trim())) {
        let start = Span { start: first, end: first };
        reader.error(start, "there is nothing in this file yet").help(
            "begin with a gene, as in `[gene.NAME]`, and an `[[animal]]`; `proveout new FILE` writes an example",
        );
        return None;
    }
    match format {
        Format::Toml => from_toml::parse(reader, text, first),
        Format::Json => from_json::parse(reader, text, first),
    }
}

fn colony(reader: &mut Reader, format: Format, root: &Node) -> Option<Colony> {
    let Value::Table(table) = &root.value else {
        return reader.wrong_kind("the file", root, "a table of keys");
    };
    let file = Fields::new(reader, format, &TOP, table);
    let mut colony = Colony::default();
    top::read(reader, format, file, &mut colony);

    let mut words = Vocabulary::new(colony.sex_system);
    let pending = match file.get("gene") {
        Some(node) => gene::genes(reader, &mut words, format, node),
        None => Vec::new(),
    };
    groups::combinations(reader, &mut words, format, file.get("combination"));
    groups::masks(reader, &mut words, format, file.get("mask"));
    colony.linkage = groups::linkage(reader, &words, format, file.get("linkage"));

    let mut roster = roster::Roster::read(reader, format, file);
    if roster.members.is_empty() && roster.nests.is_empty() && reader.errors.is_empty() {
        reader.error(root.span, "no animal is recorded in this file yet").help(
            "write a first `[[animal]]` with its `id`; `proveout new FILE` writes an example",
        );
    }
    let parents = clutches::parents(reader, &mut roster);
    checks::ancestry(reader, &roster, &parents);
    checks::ages(reader, &roster, &parents);
    colony.animals = animals::animals(reader, &words, format, &roster);
    let nests = roster.nests.iter().zip(&parents);
    colony.clutches = nests
        .map(|(nest, parents)| clutches::clutch(reader, &words, format, nest, parents))
        .collect();
    checks::eggs(reader, &roster, &colony.clutches);
    checks::selection(reader, &roster, &colony);

    colony.genes = words.genes;
    colony.masks = words.masks;
    colony.combinations = words.combinations;
    checks::first_seen(reader, &roster, &pending, &mut colony);
    let background = file.get("assume").and_then(|node| match &node.value {
        Value::Table(table) => table.entries.iter().find(|entry| entry.key == "background"),
        _ => None,
    });
    checks::background(reader, background.map(|entry| entry.node.span), &colony);
    Some(colony)
}
