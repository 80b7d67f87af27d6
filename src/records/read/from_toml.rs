//! TOML into the tree.

use std::borrow::Cow;
use std::ops::Range;

use rayon::prelude::*;
use toml::Spanned;
use toml::de::{DeFloat, DeInteger, DeTable, DeValue};

use super::reader::{Reader, short};
use super::stretches;
use super::tree::{Entry, Node, Span, Table, Value};

/// Mistakes of the notation that spoil one value and nothing around it.
const LOCAL: [&str; 4] =
    ["string values must be quoted", "invalid date", "invalid float", "invalid boolean"];

/// Parses a TOML file; `None` when it is so broken that what follows would be guesswork.
///
/// A key written twice is reported and the first one kept, and a value that cannot be read is
/// passed over, so that the rest is still checked.
pub(super) fn parse<'t>(reader: &mut Reader, text: &'t str, shift: usize) -> Option<Node<'t>> {
    in_stretches(text, shift).or_else(|| whole(reader, text, shift))
}

fn whole<'t>(reader: &mut Reader, text: &'t str, shift: usize) -> Option<Node<'t>> {
    let body = &text[shift..];
    let (root, errors) = DeTable::parse_recoverable(body);
    let mut sound = true;
    let mut broken = Vec::new();
    for error in &errors {
        let range = error.span().unwrap_or(0..0);
        let span = Span { start: range.start + shift, end: range.end + shift };
        let written = body.get(range).unwrap_or("").trim();
        let message = error.message().lines().next().unwrap_or("");
        if message == "duplicate key" {
            reader.error(span, format!("`{}` is written twice in one table", short(written))).help(
                "keep one of the two; a second animal or clutch begins with its own `[[…]]` line",
            );
            continue;
        }
        sound &= LOCAL.iter().any(|local| message.starts_with(local));
        broken.push(span);
        let unquoted = message.starts_with(LOCAL[0]);
        let message = if unquoted && written.is_empty() {
            "a value is missing".to_string()
        } else if unquoted || message.starts_with(LOCAL[2]) || message.starts_with(LOCAL[3]) {
            format!("`{}` stands without quotes", short(written))
        } else {
            format!("this line cannot be read: {}", message.trim_end_matches('.'))
        };
        let help = hint(body, span.start - shift);
        reader.error(span, message).help(help);
    }
    reader.set_broken_lines(&broken);
    let converter = Converter { text, shift };
    let span = converter.span(root.span());
    sound.then(|| Node { span, value: Value::Table(converter.table(root.into_inner())) })
}

/// Parses stretches of a large file at the same time; `None` for a small one, or where anything at all
/// speaks against it.
fn in_stretches<'t>(text: &'t str, shift: usize) -> Option<Node<'t>> {
    let cuts = stretches::cuts(&text[shift..]);
    if cuts.is_empty() {
        return None;
    }
    let starts: Vec<usize> = std::iter::once(0).chain(cuts).map(|cut| shift + cut).collect();
    let ends = starts[1..].iter().copied().chain([text.len()]);
    let bounds: Vec<(usize, usize)> = starts.iter().copied().zip(ends).collect();
    let parsed = bounds.par_iter().map(|(start, end)| {
        let (root, errors) = DeTable::parse_recoverable(&text[*start..*end]);
        let converter = Converter { text, shift: *start };
        errors.is_empty().then(|| converter.table(root.into_inner()))
    });
    let tables: Option<Vec<Table<'t>>> = parsed.collect();
    let table = stretches::joined(text, tables?)?;
    // The place of the whole file is its beginning, however it is parsed.
    let span = Span { start: shift, end: shift };
    Some(Node { span, value: Value::Table(table) })
}

/// What most often lies behind a line that cannot be read.
fn hint(body: &str, at: usize) -> String {
    let mut at = at.min(body.len());
    while !body.is_char_boundary(at) {
        at -= 1;
    }
    let start = body[..at].rfind('\n').map_or(0, |newline| newline + 1);
    let line = body[start..].lines().next().unwrap_or("");
    let value = line.split_once('=').map_or("", |(_, value)| value.trim());
    let month = value.len() == 7
        && value
            .bytes()
            .enumerate()
            .all(|(i, byte)| if i == 4 { byte == b'-' } else { byte.is_ascii_digit() });
    if month {
        format!("put a month in quotes: \"{value}\"")
    } else if value.len() >= 8 && value.bytes().all(|byte| byte == b'-' || byte.is_ascii_digit()) {
        "write a day of the calendar as 2024-05-30".to_string()
    } else if line.contains(['“', '”', '„', '‘', '’']) {
        "use plain quotes \" around text, not typographic ones".to_string()
    } else if value.starts_with(char::is_alphabetic) && !matches!(value, "true" | "false") {
        "text stands in quotes, as in `sex = \"female\"`".to_string()
    } else if !line.contains('=') && !line.trim_start().starts_with('[') {
        "a line is `key = value`, a heading such as `[[animal]]`, or a remark after `#`".to_string()
    } else {
        "check its quotes, brackets and commas; text stands in quotes".to_string()
    }
}

struct Converter<'t> {
    text: &'t str,
    shift: usize,
}

impl<'t> Converter<'t> {
    fn span(&self, range: Range<usize>) -> Span {
        Span { start: range.start + self.shift, end: range.end + self.shift }
    }

    fn table(&self, table: DeTable<'t>) -> Table<'t> {
        let entry = |(key, value): (Spanned<Cow<'t, str>>, Spanned<DeValue<'t>>)| Entry {
            key_span: self.span(key.span()).inside_quotes(self.text),
            key: key.into_inner(),
            node: self.node(value),
        };
        Table { entries: table.into_iter().map(entry).collect() }
    }

    fn node(&self, value: Spanned<DeValue<'t>>) -> Node<'t> {
        let span = self.span(value.span());
        let (span, value) = match value.into_inner() {
            DeValue::String(text) => (span.inside_quotes(self.text), Value::Text(text)),
            DeValue::Integer(number) => (span, integer(&number)),
            DeValue::Float(number) => (span, float(&number)),
            DeValue::Boolean(flag) => (span, Value::Flag(flag)),
            DeValue::Datetime(date) => (span, day(&date)),
            DeValue::Array(list) => {
                (span, Value::List(list.into_iter().map(|node| self.node(node)).collect()))
            }
            DeValue::Table(table) => (span, Value::Table(self.table(table))),
        };
        Node { span, value }
    }
}

fn integer(number: &DeInteger) -> Value<'static> {
    match i128::from_str_radix(number.as_str(), number.radix()) {
        Ok(whole) => Value::Number(whole as f64, i64::try_from(whole).ok()),
        Err(_) => Value::Number(f64::INFINITY, None),
    }
}

fn float(number: &DeFloat) -> Value<'static> {
    Value::Number(number.as_str().parse().unwrap_or(f64::NAN), None)
}

fn day(date: &toml::value::Datetime) -> Value<'static> {
    match (date.date, date.time) {
        (Some(day), None) => Value::Day(i32::from(day.year), day.month, day.day),
        (Some(_), Some(_)) => Value::Other("a date with a time of day"),
        (None, _) => Value::Other("a time of day"),
    }
}

#[cfg(test)]
mod tests {
    use std::fmt::Write;

    use super::*;

    /// Records of some 700 kB: animals, then clutches with young, then what stands behind them.
    fn large(before: &str, behind: &str) -> String {
        let mut text =
            format!("title = \"large\"\n{before}\n[gene.a]\ninheritance = \"recessive\"\n");
        for at in 0..4_000 {
            let _ = writeln!(text, "[[animal]]\nid = \"f{at}\"\nlooks = [\"a\"] # [[clutch]]");
        }
        for at in 0..4_000 {
            let _ =
                writeln!(text, "[[clutch]]\nid = \"c{at}\"\ndam = \"f{at}\"\n[[clutch.hatchling]]");
            let _ =
                writeln!(text, "id = \"y{at}\"\nreadings = [{{ gene = \"a\", result = \"+/a\" }}]");
        }
        text + behind
    }

    fn both(text: &str) -> (Option<String>, Option<String>) {
        let mut reader = Reader::new(text.as_bytes(), 0);
        let value = |node: Node| format!("{:?}", node.value);
        let one = in_stretches(text, 0).map(value);
        (one, whole(&mut reader, text, 0).filter(|_| reader.errors.is_empty()).map(value))
    }

    #[test]
    fn stretches_give_the_same_tree_with_the_same_places() {
        for behind in ["", "[assume]\nmisread = 0.01\n", "[[animal]]\nid = \"last\"\n"] {
            let (stretches, whole) = both(&large("", behind));
            assert!(stretches.is_some());
            assert!(stretches == whole, "{behind}");
        }
    }

    #[test]
    fn what_is_wrong_in_the_whole_is_never_sound_in_stretches() {
        let note = format!("note = \"\"\"{}\"\"\"", "\n[[clutch]]\n".repeat(60_000));
        let broken = ["clutch = []", "animal = [{ id = \"x\" }]", "clutch = [[1]]", "clutch = 1"];
        for before in broken {
            assert_eq!(both(&large(before, "")), (None, None), "{before}");
        }
        for behind in ["[gene.a]\n", "[clutch]\n", "[[clutch]]\nid = 1 2\n", "[[gene]]\n"] {
            assert_eq!(both(&large("", behind)), (None, None), "{behind}");
        }
        // Sound, but only as a whole.
        let (stretches, whole) = both(&large("", &format!("[[clutch]]\n{note}\n")));
        assert!(stretches.is_none() && whole.is_some());
        let (stretches, whole) = both(&large("", "[gene.b]\ninheritance = \"dominant\"\n"));
        assert!(stretches.is_none() && whole.is_some());
        assert_eq!(both("title = \"small\"").0, None);
    }

    #[test]
    fn whatever_lines_are_changed_stretches_say_what_the_whole_says() {
        const ODD: [&str; 12] = [
            "note = \"\"\"",
            "'''",
            "[[clutch]]",
            "  [[ \"clutch\" ]] # one",
            "[clutch]",
            "[animal.more]",
            "[[animal]]",
            "animal = []",
            "clutch = [[",
            "]",
            "[[clutch.hatchling.more]]",
            "id = \"again\"\r",
        ];
        let text = large("", "");
        let lines: Vec<&str> = text.lines().collect();
        let mut state = 5u64;
        let mut below = |number: usize| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 33) as usize % number
        };
        let mut sound = 0;
        for _ in 0..40 {
            let mut lines = lines.clone();
            for _ in 0..1 + below(3) {
                let (at, other) = (below(lines.len()), below(lines.len()));
                match below(4) {
                    0 => drop(lines.remove(at)),
                    1 => lines.insert(at, lines[other]),
                    _ => lines.insert(at, ODD[below(ODD.len())]),
                }
            }
            let (stretches, whole) = both(&lines.join("\n"));
            sound += usize::from(stretches.is_some());
            assert!(stretches.is_none() || stretches == whole);
        }
        assert!((5..40).contains(&sound), "{sound} of 40");
    }
}
