//! What can be changed in a records file, and why it may not be possible.

use std::fmt;

use crate::records::Date;

/// One table of the records file. Ids and names are compared as
/// [`normalise`](crate::records::normalise) leaves them; indexes count from 0 in the order of the
/// file.
#[derive(Clone, Debug, PartialEq)]
pub enum Record {
    /// The file itself: `title`, `species` and their like.
    Top,
    /// `[assume]`, which is made when it is absent.
    Assume,
    /// `[gene.NAME]`.
    Gene(String),
    /// The `[[animal]]` of this id.
    Animal(String),
    /// The `[[clutch]]` of this id.
    Clutch(String),
    /// The `[[clutch.hatchling]]` of this id, in whichever clutch.
    Hatchling(String),
    /// A `[[clutch.hatchling]]` by its position in its clutch, as one without an id has no other
    /// name.
    HatchlingAt {
        /// Id of the clutch.
        clutch: String,
        /// Position among its hatchlings, with or without ids.
        index: usize,
    },
    /// A `[[clutch.count]]`.
    Count {
        /// Id of the clutch.
        clutch: String,
        /// Position among its counts.
        index: usize,
    },
    /// A `[[mask]]`.
    Mask(usize),
    /// A `[[combination]]`.
    Combination(usize),
    /// A `[[linkage]]`.
    Linkage(usize),
}

/// What stands behind a key.
#[derive(Clone, Debug, PartialEq)]
pub enum Entry {
    /// Text, of any content.
    Text(String),
    /// A number that keeps its decimal point: 1 is written `1.0`.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// `true` or `false`.
    Flag(bool),
    /// A date: bare when known to the day, else as text.
    Date(Date),
    /// A list.
    List(Vec<Entry>),
    /// A table of keys.
    Table(Vec<(String, Entry)>),
}

/// One change to a records file. It is made whole or not at all.
///
/// A new key or record takes after what stands beside it: indentation, spacing around `=`, tables
/// with headings or in one line.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Gives a key a value. A key that is there stays where it is, with its remark, and of a list
    /// or a table only what differs is replaced; a new key is put after the last one of its table.
    Set {
        /// The table.
        record: Record,
        /// The key.
        key: String,
        /// Its value from now on.
        value: Entry,
    },
    /// Takes a key away, with the remark beside it. A key that is not there is away already.
    Clear {
        /// The table.
        record: Record,
        /// The key.
        key: String,
    },
    /// Adds a `[gene.NAME]` after the last gene.
    AddGene {
        /// Its name.
        name: String,
        /// Its keys, in the order in which they are written.
        fields: Vec<(String, Entry)>,
    },
    /// Adds an `[[animal]]` after the last one.
    AddAnimal {
        /// Its keys, in the order in which they are written.
        fields: Vec<(String, Entry)>,
    },
    /// Adds a `[[clutch]]` after the last one. Young in `hatchling` and `count` among the fields
    /// get headings of their own where the file writes headings.
    AddClutch {
        /// Its keys, in the order in which they are written.
        fields: Vec<(String, Entry)>,
    },
    /// Adds a `[[clutch.hatchling]]` after the last one of a clutch.
    AddHatchling {
        /// Id of the clutch.
        clutch: String,
        /// Its keys, in the order in which they are written.
        fields: Vec<(String, Entry)>,
    },
    /// Adds a `[[clutch.count]]` after the last one of a clutch.
    AddCount {
        /// Id of the clutch.
        clutch: String,
        /// Its keys, in the order in which they are written.
        fields: Vec<(String, Entry)>,
    },
    /// Takes a record away.
    ///
    /// What stands from its first line to its last key goes, remarks beside and between included,
    /// and so do tables that belong to it. Remarks above its first line and below its last key
    /// stay: they may be headings, or belong to a neighbour.
    Remove {
        /// The table.
        record: Record,
    },
    /// Replaces whole lines, in a file of any notation and however broken.
    ///
    /// Lines count from 1. With `last` one less than `first` nothing is replaced and `with` is put
    /// before line `first`; an empty `with` takes the lines away. Line ends of `was` and `with`
    /// do not matter, nor does one at their end: the file's own are written.
    ReplaceLines {
        /// The first line to replace.
        first: usize,
        /// The last line to replace.
        last: usize,
        /// What stands there, as far as the caller knows.
        was: String,
        /// What is to stand there.
        with: String,
    },
}

/// Why a change was not made. Its text is a lower-case fragment for the user, without a full stop.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum CannotChange {
    /// The file has a mistake of notation, which must be mended first.
    Broken {
        /// Line of the mistake, from 1.
        line: usize,
        /// What is wrong there.
        message: String,
    },
    /// The record to be changed is not in the file.
    NoSuchRecord {
        /// What it is, as in "animal called `Wren`".
        what: String,
        /// The nearest name of its kind.
        did_you_mean: Option<String>,
    },
    /// Several records have that id.
    Ambiguous {
        /// What they are, as in "animals called `Wren`".
        what: String,
    },
    /// The record to be added is there already.
    AlreadyThere {
        /// What it is, as in "gene called `ash`".
        what: String,
    },
    /// What stands there is not what a records file has in that place.
    OtherShape {
        /// What is wrong, a whole sentence part.
        message: String,
    },
    /// The lines to be replaced have changed since they were read, or are gone.
    LinesChanged {
        /// What stands there now.
        now: String,
    },
    /// Only whole lines of a JSON file can be changed.
    Json,
    /// The change could not be made without touching anything else.
    Unsafe,
}

impl fmt::Display for CannotChange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CannotChange::Broken { line, message } => {
                write!(f, "line {line} cannot be read and must be mended first: {message}")
            }
            CannotChange::NoSuchRecord { what, did_you_mean: Some(near) } => {
                write!(f, "there is no {what}; did you mean `{near}`?")
            }
            CannotChange::NoSuchRecord { what, did_you_mean: None } => {
                write!(f, "there is no {what}")
            }
            CannotChange::Ambiguous { what } => {
                write!(f, "there are several {what}; give each an id of its own first")
            }
            CannotChange::AlreadyThere { what } => write!(f, "there is a {what} already"),
            CannotChange::OtherShape { message } => f.write_str(message),
            CannotChange::LinesChanged { .. } => {
                f.write_str("these lines have changed since you opened them; look at them again")
            }
            CannotChange::Json => f.write_str(
                "a file in JSON is not changed here; change it in a text editor, or keep it as TOML",
            ),
            CannotChange::Unsafe => f.write_str(
                "this change would touch more than it should and was not made; \
                 make it in a text editor",
            ),
        }
    }
}

impl std::error::Error for CannotChange {}
