//! Tables with real headings.

use askama::Template;

/// A column heading.
#[derive(Clone, Debug)]
pub(in crate::presentation) struct Head {
    pub(in crate::presentation) words: &'static str,
    pub(in crate::presentation) number: bool,
}

/// One cell: what is read, and the number behind it in full.
#[derive(Clone, Debug)]
pub(in crate::presentation) struct Cell {
    pub(in crate::presentation) words: String,
    pub(in crate::presentation) value: Option<f64>,
}

impl Cell {
    pub(in crate::presentation) fn text(words: impl Into<String>) -> Self {
        Cell { words: words.into(), value: None }
    }

    pub(in crate::presentation) fn number(words: impl Into<String>, value: f64) -> Self {
        Cell { words: words.into(), value: Some(value) }
    }
}

/// A table; the first cell of each row is its heading.
#[derive(Template)]
#[template(path = "table.html")]
pub(in crate::presentation) struct Table {
    pub(in crate::presentation) caption: String,
    pub(in crate::presentation) heads: Vec<Head>,
    pub(in crate::presentation) rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table with such columns; those of numbers are written with a leading `#`.
    pub(in crate::presentation) fn new(caption: impl Into<String>, heads: &[&'static str]) -> Self {
        let head = |words: &&'static str| match words.strip_prefix('#') {
            Some(words) => Head { words, number: true },
            None => Head { words, number: false },
        };
        let heads = heads.iter().map(head).collect();
        Table { caption: caption.into(), heads, rows: Vec::new() }
    }

    pub(in crate::presentation) fn html(&self) -> String {
        written(self)
    }
}

/// A template filled in.
pub(in crate::presentation) fn written(template: &impl Template) -> String {
    // Templates are checked when the program is compiled, and a text that grows cannot fail.
    template.render().unwrap_or_default()
}
