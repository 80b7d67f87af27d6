//! One small tree for both notations, each node with the bytes it was read from.

use std::borrow::Cow;

/// The bytes from `start` to `end` of the file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Span {
    pub start: usize,
    pub end: usize,
}

/// A value and where it stands.
#[derive(Debug)]
pub(super) struct Node<'t> {
    pub span: Span,
    pub value: Value<'t>,
}

/// What can stand behind a key.
#[derive(Debug)]
pub(super) enum Value<'t> {
    Text(Cow<'t, str>),
    /// A number, and the same as a whole number when it was written as one.
    Number(f64, Option<i64>),
    Flag(bool),
    /// A date as the notation itself has it: year, month, day.
    Day(i32, u8, u8),
    List(Vec<Node<'t>>),
    Table(Table<'t>),
    /// Something no key accepts, in words.
    Other(&'static str),
}

/// Keys with their values, in the order of the file.
#[derive(Debug, Default)]
pub(super) struct Table<'t> {
    pub entries: Vec<Entry<'t>>,
}

/// A key with its value.
#[derive(Debug)]
pub(super) struct Entry<'t> {
    pub key: Cow<'t, str>,
    pub key_span: Span,
    pub node: Node<'t>,
}

impl Node<'_> {
    /// What it is, in words.
    pub fn kind(&self) -> &'static str {
        match &self.value {
            Value::Text(_) => "text",
            Value::Number(_, Some(_)) => "a whole number",
            Value::Number(_, None) => "a number",
            Value::Flag(_) => "true or false",
            Value::Day(..) => "a date",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
            Value::Other(words) => words,
        }
    }
}

impl Span {
    /// The same without the quotation marks around a text.
    pub fn inside_quotes(self, text: &str) -> Span {
        let written = text.get(self.start..self.end).unwrap_or("");
        let marks = ["\"\"\"", "'''", "\"", "'"];
        let Some(mark) = marks.iter().find(|mark| {
            written.len() > 2 * mark.len()
                && written.starts_with(**mark)
                && written.ends_with(**mark)
        }) else {
            return self;
        };
        Span { start: self.start + mark.len(), end: self.end - mark.len() }
    }
}
