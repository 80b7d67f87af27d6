//! TOML into the tree.

use std::borrow::Cow;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeFloat, DeInteger, DeTable, DeValue};

use super::reader::Reader;
use super::tree::{Entry, Node, Span, Table, Value};

/// Parses a TOML file; `None` when it is so broken that what follows would be guesswork.
///
/// A key written twice is reported and the first one kept, so that the rest is still checked.
pub(super) fn parse<'t>(reader: &mut Reader, text: &'t str, shift: usize) -> Option<Node<'t>> {
    let body = &text[shift..];
    let (root, errors) = DeTable::parse_recoverable(body);
    let mut sound = true;
    for error in &errors {
        let range = error.span().unwrap_or(0..0);
        let span = Span { start: range.start + shift, end: range.end + shift };
        if error.message() == "duplicate key" {
            let key = body.get(range).unwrap_or("").trim();
            reader.error(span, format!("`{key}` is written twice in one table")).help(
                "keep one of the two; a second animal or clutch begins with its own `[[…]]` line",
            );
        } else {
            sound = false;
            let help = hint(body, span.start - shift);
            reader.error(span, plain(error.message())).help(help);
        }
    }
    let converter = Converter { text, shift };
    let span = converter.span(root.span());
    sound.then(|| Node { span, value: Value::Table(converter.table(root.into_inner())) })
}

/// The parser's message in one line, as a fragment.
fn plain(message: &str) -> String {
    let line = message.lines().next().unwrap_or("this cannot be read").trim();
    format!("this line cannot be read: {}", line.trim_end_matches('.'))
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
