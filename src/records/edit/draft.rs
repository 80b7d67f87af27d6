//! The text that is being changed.

use super::{CannotChange, Change, replaced};
use crate::records::Format;

const BYTE_ORDER_MARK: char = '\u{feff}';

/// The text of a records file while it is being changed.
///
/// # Examples
///
/// ```
/// use proveout::records::edit::{Change, Draft};
///
/// let mut draft = Draft::new("[[animal]]\nid = \"Wren\nsex = \"male\"\n");
/// let change = Change::ReplaceLines {
///     first: 2,
///     last: 2,
///     was: "id = \"Wren".to_string(),
///     with: "id = \"Wren\"".to_string(),
/// };
/// draft.apply(&change).unwrap();
/// assert_eq!(draft.text(), "[[animal]]\nid = \"Wren\"\nsex = \"male\"\n");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    text: String,
}

impl Draft {
    /// A draft of any text, however broken: its lines can still be mended.
    pub fn new(text: &str) -> Draft {
        Draft { text: text.to_string() }
    }

    /// The text as it is now.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Makes a change, whole or not at all.
    ///
    /// Whether the result is a sound colony is for [`read`](crate::records::read()) to say.
    ///
    /// # Errors
    ///
    /// Why the change cannot be made; the text is then as it was.
    pub fn apply(&mut self, change: &Change) -> Result<(), CannotChange> {
        let (mark, body) = match self.text.strip_prefix(BYTE_ORDER_MARK) {
            Some(body) => ("\u{feff}", body),
            None => ("", self.text.as_str()),
        };
        let body = match change {
            Change::ReplaceLines { first, last, was, with } => {
                replaced::lines(body, *first, *last, was, with)?
            }
            _ if Format::of(None, body.as_bytes()) == Format::Json => {
                return Err(CannotChange::Json);
            }
            _ => return Err(CannotChange::Unsafe),
        };
        self.text = format!("{mark}{body}");
        Ok(())
    }
}
