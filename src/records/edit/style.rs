//! How new lines are written: as the lines beside them are.

use super::Entry;
use super::layout::{Block, BlockId, Enclosed, Layout};
use super::text::{indent, leading_space, line_start};
use crate::records::write::text::{date, inline, list, name, quoted};

/// A value as TOML on one line.
pub(super) fn value(entry: &Entry) -> String {
    match entry {
        Entry::Text(text) => quoted(text),
        Entry::Number(number) if number.is_nan() => "nan".to_string(),
        Entry::Number(number) => format!("{number:?}"),
        Entry::Whole(number) => number.to_string(),
        Entry::Flag(flag) => flag.to_string(),
        Entry::Date(day) => date(*day),
        Entry::List(entries) => list(entries.iter().map(value)),
        Entry::Table(fields) => inline(fields.iter().map(|(key, entry)| (key, value(entry)))),
    }
}

/// A value for a line of its own: a list of several tables gets a line for each.
pub(super) fn long_value(entry: &Entry, indent: &str, end: &str) -> String {
    match entry {
        Entry::List(entries)
            if entries.len() > 1 && entries.iter().all(|one| matches!(one, Entry::Table(_))) =>
        {
            let lines = entries.iter().map(|one| format!("{indent}  {},{end}", value(one)));
            format!("[{end}{}{indent}]", lines.collect::<String>())
        }
        _ => value(entry),
    }
}

/// How keys stand below a heading.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Style {
    /// Before each key.
    pub indent: String,
    /// Before the heading.
    pub heading: String,
    /// Where `=` stands on every line, in characters behind the indent.
    pub column: Option<usize>,
    /// Spacing before `=` where it is not lined up.
    pub before: String,
    /// Spacing behind `=`.
    pub after: String,
}

impl Style {
    /// The style of a block; of its heading, and of the rest of the file, where it has no keys.
    pub fn of(text: &str, layout: &Layout, block: BlockId) -> Style {
        let heading = match &layout.blocks[block].enclosed {
            Enclosed::Heading { at, .. } => indent(text, at.start).unwrap_or("").to_string(),
            _ => String::new(),
        };
        let lines = Lines::of(text, &layout.blocks[block]);
        let Some((indent, before, after)) = lines.last else {
            let (before, after) = (" ".to_string(), " ".to_string());
            let column = lines_up(text, layout).then_some(0);
            return Style { indent: heading.clone(), heading, column, before, after };
        };
        let lined_up = lines.lined_up.unwrap_or_else(|| lines_up(text, layout));
        let before = if lined_up && before.len() > 1 { " ".to_string() } else { before };
        Style { indent, heading, column: lined_up.then_some(lines.column), before, after }
    }

    /// The style for a new record beside a block: lined up at its own longest key.
    pub fn for_keys(mut self, keys: &[String]) -> Style {
        let longest = keys.iter().map(|key| key.chars().count()).max().unwrap_or(0);
        self.column = self.column.map(|_| longest + 1);
        self
    }

    /// A line with a key and its value, both TOML already.
    pub fn line(&self, key: &str, value: &str, end: &str) -> String {
        let Style { indent, column, before, after, .. } = self;
        let wide = key.chars().count();
        let before = match column {
            Some(column) if wide < *column => " ".repeat(column - wide),
            _ => before.clone(),
        };
        format!("{indent}{key}{before}={after}{value}{end}")
    }
}

/// Whether the first heading of the file whose keys tell writes `=` in one column.
fn lines_up(text: &str, layout: &Layout) -> bool {
    let blocks = std::iter::once(0).chain(layout.headings());
    blocks
        .filter_map(|block| Lines::of(text, &layout.blocks[block]).lined_up)
        .next()
        .unwrap_or(false)
}

/// What the lines of a block have in common.
struct Lines {
    /// Indent of the last line, spacing before and behind its `=`.
    last: Option<(String, String, String)>,
    /// Column of the last `=`.
    column: usize,
    /// Whether all `=` stand in one column; `None` where one length of key leaves it open.
    lined_up: Option<bool>,
}

impl Lines {
    fn of(text: &str, block: &Block) -> Lines {
        let mut columns = Vec::new();
        let mut widths = Vec::new();
        let mut last = None;
        for item in &block.items {
            let (Some(first), Some(key)) = (item.keys.first(), item.keys.last()) else { continue };
            let between = &text[key.at.end..item.value.start];
            let Some(equals) = between.find('=') else { continue };
            let width = text[first.at.start..key.at.end].chars().count();
            columns.push(width + equals);
            widths.push(width);
            let start = line_start(text, first.at.start);
            let indent = &text[start..start + leading_space(&text[start..])];
            let space = (indent.to_string(), between[..equals].to_string());
            last = Some((space.0, space.1, between[equals + 1..].to_string()));
        }
        let same = |all: &[usize]| all.iter().all(|one| Some(one) == all.first());
        let lined_up = if same(&widths) { None } else { Some(same(&columns)) };
        Lines { last, column: columns.last().copied().unwrap_or(0), lined_up }
    }
}

/// Keys as they are written.
pub(super) fn key(key: &str) -> String {
    name(key)
}
