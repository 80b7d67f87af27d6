//! What can be wrong with a records file, and where.

/// A stretch of the file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Byte offset of its first character.
    pub start: usize,
    /// Byte offset behind its last character.
    pub end: usize,
    /// Line of its first character, from 1.
    pub line: usize,
    /// Column of its first character, counted in characters from 1.
    pub column: usize,
}

/// One thing in a file that cannot be accepted, and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordError {
    /// The offending text.
    pub place: Place,
    /// What is wrong with it: a lower-case fragment without a full stop.
    pub message: String,
    /// What was expected, the nearest valid name, the next step.
    pub help: Option<String>,
    /// Another place that matters, with what it is ("first named here").
    pub related: Option<(Place, String)>,
}

/// A doubt that does not stop the answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// What it is about; `None` for the file as a whole.
    pub place: Option<Place>,
    /// A lower-case fragment without a full stop.
    pub message: String,
}
