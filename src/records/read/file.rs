//! The way through the file: guards, notation, then the rooms of the format in order.

use super::fields::{Fields, TOP};
use super::guard::{self, MAX_BYTES};
use super::reader::Reader;
use super::tree::{Node, Span, Value};
use super::vocabulary::Vocabulary;
use super::{animals, checks, clutches, from_json, from_toml, gene, groups, roster, top};
use crate::records::{Colony, Notice, RecordError};

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
/// the notation itself is broken, only that is reported, as the rest would be guesswork. At most
/// 100,000 errors are kept.
///
/// # Examples
///
/// ```
/// use proveout::records::{Format, read};
///
/// let text = b"[[animal]]\nid = \"Bella\"\n[[clutch]]\nid = \"A\"\ndam = \"bella\"";
/// let errors = read(text, Format::Toml).unwrap_err();
/// assert_eq!(errors[0].message, "no animal is called `bella`");
/// assert_eq!((errors[0].place.line, errors[0].place.column), (5, 8));
/// assert_eq!(errors[0].help.as_deref(), Some("did you mean `Bella`?"));
/// ```
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Call, Genotype, Inheritance, Says, Sex, Status};

    fn good(text: &str) -> Colony {
        read(text.as_bytes(), Format::Toml).unwrap().colony
    }

    fn first_message(text: &[u8], format: Format) -> (usize, usize, String) {
        let error = read(text, format).unwrap_err().remove(0);
        (error.place.line, error.place.column, error.message)
    }

    #[test]
    fn the_notation_is_known_by_extension_or_first_character() {
        assert_eq!(Format::of(Some("JSON"), b""), Format::Json);
        assert_eq!(Format::of(Some("toml"), b"{"), Format::Toml);
        assert_eq!(Format::of(None, "\u{feff}\n {".as_bytes()), Format::Json);
        assert_eq!(Format::of(Some("txt"), b"[[animal]]"), Format::Toml);
        assert_eq!(Format::of(None, b""), Format::Toml);
    }

    #[test]
    fn bytes_that_are_not_text_are_found() {
        let message = first_message(b"[[animal]]\nid = \"W\xffren\"", Format::Toml);
        assert_eq!(message, (2, 8, "from here on the file is not UTF-8 text".to_string()));
    }

    #[test]
    fn an_empty_file_says_how_to_begin() {
        for (text, format) in
            [("", Format::Toml), (" \n# x\n", Format::Toml), ("\u{feff}\n", Format::Json)]
        {
            let errors = read(text.as_bytes(), format).unwrap_err();
            assert_eq!(errors[0].message, "there is nothing in this file yet");
            assert!(errors[0].help.as_ref().unwrap().contains("proveout new"));
        }
        assert!(read(b"{}", Format::Json).is_err());
    }

    #[test]
    fn a_file_too_large_is_refused_before_it_is_read() {
        let large = vec![b'#'; 50 << 20];
        let (line, column, message) = first_message(&large, Format::Toml);
        assert_eq!((line, column), (1, 1));
        assert_eq!(message, "the file has 50 MiB, and at most 32 MiB are read");
    }

    #[test]
    fn ten_thousand_brackets_do_not_overflow_the_stack() {
        for format in [Format::Toml, Format::Json] {
            for brackets in ["[", "{\"a\":", "{a="] {
                let text = format!("a = {}", brackets.repeat(10_000));
                let text = if format == Format::Json { &text[4..] } else { &text };
                assert!(read(text.as_bytes(), format).is_err());
            }
        }
        let dotted = format!("{}b = 1", "a.".repeat(100_000));
        assert!(read(dotted.as_bytes(), Format::Toml).is_err());
        assert!(read(format!("[{}b]", "a.".repeat(100_000)).as_bytes(), Format::Toml).is_err());
    }

    #[test]
    fn a_byte_order_mark_does_not_move_a_place() {
        let message = first_message("\u{feff}titel = 1".as_bytes(), Format::Toml);
        assert_eq!((message.0, message.1), (1, 1));
        let message = first_message("\u{feff}{\"titel\": 1}".as_bytes(), Format::Json);
        assert_eq!((message.0, message.1), (1, 3));
    }

    #[test]
    fn genes_get_their_default_looks() {
        let colony = good(
            "[gene.a]\ninheritance = \"recessive\"\n[gene.b]\ninheritance = \"dominant\"\n\
             [gene.c]\ninheritance = \"incomplete dominant\"\nlethal = \"two copies\"\n\
             names = { two_copies = \"best c\" }\n[[animal]]\nid = \"w\"",
        );
        let two = Genotype::two;
        assert_eq!(colony.genes[0].shows, [(two(1, 1), 1)]);
        assert_eq!(colony.genes[1].shows, [(two(0, 1), 1), (two(1, 1), 1)]);
        assert_eq!(colony.genes[2].looks, ["c", "best c"]);
        assert_eq!(colony.genes[2].shows, [(two(0, 1), 1), (two(1, 1), 2)]);
        assert_eq!(colony.genes[2].lethal, [two(1, 1)]);
    }

    #[test]
    fn what_is_sex_linked_shows_in_the_one_copy_sex() {
        let colony = good(
            "sex_system = \"XY\"\n[gene.a]\ninheritance = \"incomplete dominant\"\n\
             sex_linked = true\n[gene.b]\ninheritance = \"recessive\"\nsex_linked = true\n\
             crossover = 0\nlooks = {}\n[[animal]]\nid = \"w\"",
        );
        assert_eq!(colony.genes[0].class_of(Genotype::One(1)), 1);
        assert_eq!(colony.genes[1].class_of(Genotype::One(1)), 0);
        assert_eq!(colony.genes[1].sex_linked.unwrap().crossover, Some(0.0));
    }

    #[test]
    fn absent_empty_and_normal_looks_differ_where_they_must() {
        let colony = good(
            "[[animal]]\nid = \"a\"\n[[animal]]\nid = \"b\"\nlooks = []\n\
             [[animal]]\nid = \"c\"\nlooks = [\"normal\"]",
        );
        let calls: Vec<_> = colony.animals.iter().map(|animal| &animal.seen.call).collect();
        assert_eq!(calls, [&Call::NotRecorded, &Call::Looks(vec![]), &Call::Looks(vec![])]);
    }

    #[test]
    fn percentages_of_the_trade_are_thirds() {
        let said = |text: &str| {
            let colony = good(&format!(
                "[gene.a]\ninheritance = \"recessive\"\naka = [\"z\"]\n\
                 [[animal]]\nid = \"w\"\nsold_as = [\"{text}\"]"
            ));
            colony.animals[0].statements[0].says
        };
        let het = |chance| Says::Het { allele: 1, chance };
        assert_eq!(said("66% het a"), het(2.0 / 3.0));
        assert_eq!(said("67 % het z"), het(2.0 / 3.0));
        assert_eq!(said("33% het a"), het(1.0 / 3.0));
        assert_eq!(said("75% het a"), het(0.75));
        assert_eq!(said("100% het a"), het(1.0));
        assert_eq!(said("het a"), het(1.0));
        assert_eq!(said("not het z"), Says::NotHet { allele: 1 });
        assert_eq!(said("z"), Says::Look(1));
    }

    #[test]
    fn being_a_parent_fixes_the_sex_and_the_status() {
        let colony = good(
            "[[animal]]\nid = \"w\"\n[[clutch]]\nid = \"A\"\ndam = \"w\"\nlaid = 2020-01-01\n\
             [[clutch.hatchling]]\nid = \"A1\"\n[[clutch.hatchling]]\nid = \"A2\"\n\
             [[clutch]]\nid = \"B\"\ndam = \"unknown\"\nsire = \"A1\"",
        );
        let [w, a1, a2] = [0, 1, 2].map(|index| &colony.animals[index]);
        assert_eq!((w.sex, w.status), (Some(Sex::Female), Status::Kept));
        assert_eq!((a1.sex, a1.status), (Some(Sex::Male), Status::Kept));
        assert_eq!((a2.sex, a2.status), (None, Status::Elsewhere));
        assert_eq!(a1.hatched.unwrap().to_string(), "2020-01-01");
    }

    #[test]
    fn a_suspected_gene_is_judged_since_it_was_first_seen() {
        let colony = good(
            "[gene.q]\ninheritance = \"unknown\"\nfirst_seen = [\"w\", \"V\"]\n\
             [[animal]]\nid = \"w\"\nlooks = [\"q\"]\nhatched = \"2021\"\n\
             [[animal]]\nid = \"V\"\nlooks = [\"q\"]\nhatched = \"2020-05\"",
        );
        let gene = &colony.genes[0];
        assert_eq!(gene.inheritance, Inheritance::Unknown);
        assert_eq!(gene.judged_since.unwrap().to_string(), "2020-05");
        assert!(gene.shows.is_empty());
    }

    #[test]
    fn names_are_trimmed_and_compared_after_composition() {
        let colony = good(
            "[[animal]]\nid = \" Zo\u{0065}\u{0308} \"\n[[clutch]]\nid = \"A\"\ndam = \"Zo\u{00eb}\"",
        );
        assert_eq!(colony.animals[0].id.as_deref(), Some("Zo\u{00eb}"));
    }
}
