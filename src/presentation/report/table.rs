//! Tables with real headings.

use askama::Template;

/// A column heading.
#[derive(Clone, Debug)]
pub(super) struct Head {
    pub(super) words: &'static str,
    pub(super) number: bool,
}

/// One cell: what is read, and the number behind it in full.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) words: String,
    pub(super) value: Option<f64>,
}

impl Cell {
    pub(super) fn text(words: impl Into<String>) -> Self {
        Cell { words: words.into(), value: None }
    }

    pub(super) fn number(words: impl Into<String>, value: f64) -> Self {
        Cell { words: words.into(), value: Some(value) }
    }
}

/// A table; the first cell of each row is its heading.
#[derive(Template)]
#[template(path = "table.html")]
pub(super) struct Table {
    pub(super) caption: String,
    pub(super) heads: Vec<Head>,
    pub(super) rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table with such columns; those of numbers are written with a leading `#`.
    pub(super) fn new(caption: impl Into<String>, heads: &[&'static str]) -> Self {
        let head = |words: &&'static str| match words.strip_prefix('#') {
            Some(words) => Head { words, number: true },
            None => Head { words, number: false },
        };
        let heads = heads.iter().map(head).collect();
        Table { caption: caption.into(), heads, rows: Vec::new() }
    }

    pub(super) fn html(&self) -> String {
        written(self)
    }
}

/// A template filled in.
pub(super) fn written(template: &impl Template) -> String {
    // Templates are checked when the program is compiled, and a text that grows cannot fail.
    template.render().unwrap_or_default()
}
