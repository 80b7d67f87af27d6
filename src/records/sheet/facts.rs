//! What one row of a sheet says, understood or not, before it is compared with other rows.

use super::understand::Trouble;
use crate::records::{GeneId, Look, Says};

/// What a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Founder,
    Hatchling,
    Count,
    Clutch,
    /// Genes and settings that a sheet of our own carries along.
    Declaration,
}

/// A key of a records file with its value in TOML.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fact {
    pub key: String,
    pub value: String,
}

/// The value that a text in TOML stands for; `None` where it is not one.
pub(super) fn read_value(text: &str) -> Option<toml::Value> {
    let table: Result<toml::Table, _> = toml::from_str(&format!("x = {text}"));
    table.ok()?.remove("x")
}

/// A value as a message shows it: a text without its quotes, anything else as it is written.
pub(super) fn shown(text: &str) -> String {
    match read_value(text) {
        Some(toml::Value::String(words)) => words,
        _ => text.to_string(),
    }
}

/// A statement of a seller.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Told {
    pub about: Vec<(GeneId, Says)>,
    pub text: String,
}

/// What one row says.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Facts {
    pub row: usize,
    /// The row as a message shows it.
    pub text: String,
    pub kind: Option<Kind>,
    pub id: Option<String>,
    pub clutch: Option<String>,
    pub dam: Option<String>,
    pub sire: Option<String>,
    /// Looks that were seen; an empty list is normal.
    pub looks: Option<Vec<Look>>,
    pub told: Vec<Told>,
    pub number: Option<[u32; 3]>,
    /// Young counted in columns of their own.
    pub counts: Vec<(Vec<Look>, [u32; 3])>,
    pub sex: Option<Fact>,
    pub hatched: Option<Fact>,
    /// Further facts of the animal.
    pub own: Vec<Fact>,
    /// Facts of its clutch, without its id and date of hatching.
    pub of_clutch: Vec<Fact>,
    pub copy: String,
    /// Why the row, or a part of it, is not understood.
    pub troubles: Vec<Trouble>,
}

impl Facts {
    /// Whether both rows say the same of the same thing.
    pub fn same_as(&self, other: &Facts) -> bool {
        let plain = |facts: &Facts| Facts { row: 0, text: String::new(), ..facts.clone() };
        plain(self) == plain(other)
    }

    /// Notes a trouble.
    pub fn trouble(&mut self, reason: impl Into<String>, help: &str) {
        self.troubles.push(Trouble::new(reason).help(help));
    }

    /// Whether a parent is an animal by name.
    pub fn has_parent(&self) -> bool {
        let named = |name: &Option<String>| {
            name.as_deref().is_some_and(|name| name != "unknown" && name != "none")
        };
        named(&self.dam) || named(&self.sire)
    }
}
