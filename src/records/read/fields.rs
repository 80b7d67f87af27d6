//! Which keys stand where, and what to say about one that stands somewhere else.

use super::Format;
use super::reader::{Reader, one_of, short};
use super::tree::{Entry, Node, Table};
use crate::records::nearest;

/// A kind of table with the keys it may have.
pub(super) struct Room {
    /// What the table is, in words.
    pub name: &'static str,
    /// Its keys.
    pub keys: &'static [&'static str],
}

/// Keys of the file itself that are not tables: in TOML they must stand above the first table.
const TOP_VALUES: &[&str] =
    &["title", "species", "sex_system", "clutch_size", "clutches_per_year", "mature_at"];

pub(super) const TOP: Room = Room {
    name: "the file",
    keys: &[
        "title",
        "species",
        "sex_system",
        "clutch_size",
        "clutches_per_year",
        "mature_at",
        "assume",
        "gene",
        "linkage",
        "mask",
        "combination",
        "animal",
        "clutch",
    ],
};
pub(super) const ASSUME: Room =
    Room { name: "`[assume]`", keys: &crate::records::Assumptions::KEYS };
pub(super) const CLUTCH_SIZE: Room = Room { name: "`clutch_size`", keys: &["mean", "sd"] };
pub(super) const BY_SEX: Room = Room { name: "a value for each sex", keys: &["female", "male"] };
pub(super) const GENE: Room = Room {
    name: "a `[gene.…]`",
    keys: &[
        "inheritance",
        "alleles",
        "looks",
        "names",
        "aka",
        "caution",
        "lethal",
        "sex_linked",
        "crossover",
        "penetrance",
        "misread",
        "background",
        "from_age",
        "judged_since",
        "first_seen",
        "look_alikes",
    ],
};
pub(super) const LOOK_NAMES: Room = Room { name: "`names`", keys: &["one_copy", "two_copies"] };
pub(super) const MISREAD: Room =
    Room { name: "`misread`", keys: &["missed", "imagined", "confused"] };
pub(super) const LINKAGE: Room = Room { name: "a `[[linkage]]`", keys: &["genes", "crossover"] };
pub(super) const MASK: Room = Room { name: "a `[[mask]]`", keys: &["look", "hides"] };
pub(super) const COMBINATION: Room = Room { name: "a `[[combination]]`", keys: &["name", "looks"] };
pub(super) const ANIMAL: Room = Room {
    name: "an `[[animal]]`",
    keys: &[
        "id", "sex", "hatched", "looks", "either", "unread", "readings", "sold_as", "trust",
        "status", "grown", "note",
    ],
};
pub(super) const CLUTCH: Room = Room {
    name: "a `[[clutch]]`",
    keys: &[
        "id",
        "dam",
        "sire",
        "sires",
        "siring",
        "laid",
        "born",
        "hatched",
        "eggs",
        "slugs",
        "died",
        "complete",
        "recorded_only",
        "kept_if",
        "note",
        "hatchling",
        "count",
    ],
};
/// With the keys that a hatchling may not have, as the reader says why.
pub(super) const HATCHLING: Room = Room {
    name: "a `[[clutch.hatchling]]`",
    keys: &[
        "id", "sex", "looks", "either", "believed", "unread", "readings", "grown", "status",
        "note", "sold_as", "trust", "hatched", "born",
    ],
};
pub(super) const COUNT: Room =
    Room { name: "a `[[clutch.count]]`", keys: &["looks", "either", "unread", "number"] };
pub(super) const GROWN: Room = Room { name: "`grown`", keys: &["looks", "either", "unread"] };
pub(super) const ALTERNATIVE: Room = Room { name: "an `either` entry", keys: &["looks", "fit"] };
pub(super) const READING: Room =
    Room { name: "a reading", keys: &["gene", "result", "reliability", "likelihood"] };

/// Keys that only an animal without parents here may have.
const REFUSED: [&str; 4] = ["sold_as", "trust", "hatched", "born"];

/// Where a key may have been meant to stand, most likely first.
const HOMES: [&Room; 8] = [&CLUTCH, &ANIMAL, &ASSUME, &GENE, &HATCHLING, &COUNT, &READING, &MASK];

/// The keys of one table, already checked for strangers.
#[derive(Clone, Copy)]
pub(super) struct Fields<'n, 't> {
    table: &'n Table<'t>,
}

impl<'n, 't> Fields<'n, 't> {
    /// Takes a table as one of `room`, and reports every key that does not belong there.
    pub fn new(reader: &mut Reader, format: Format, room: &Room, table: &'n Table<'t>) -> Self {
        for entry in &table.entries {
            if !room.keys.contains(&entry.key.as_ref()) {
                stranger(reader, format, room, entry);
            }
        }
        Fields { table }
    }

    /// The key with its value, if it was written.
    pub fn entry(&self, key: &str) -> Option<&'n Entry<'t>> {
        self.table.entries.iter().find(|entry| entry.key == key)
    }

    /// The value of a key, if it was written.
    pub fn get(&self, key: &str) -> Option<&'n Node<'t>> {
        self.entry(key).map(|entry| &entry.node)
    }
}

fn stranger(reader: &mut Reader, format: Format, room: &Room, entry: &Entry) {
    let key = entry.key.as_ref();
    if TOP_VALUES.contains(&key) && format == Format::Toml {
        let help =
            format!("here it is read as part of {}; move it to the top of the file", room.name);
        reader
            .error(entry.key_span, format!("`{key}` must stand above the first [table]"))
            .help(help);
        return;
    }
    let message = format!("{} has no key `{}`", room.name, short(key));
    let refused = |key: &&str| room.name != HATCHLING.name || !REFUSED.contains(key);
    let keys = room.keys.iter().copied().filter(refused);
    let help = elsewhere(room, key)
        .or_else(|| nearest(key, keys.clone()).map(|near| format!("did you mean `{near}`?")))
        .unwrap_or_else(|| one_of(keys));
    reader.error(entry.key_span, message).help(help);
}

/// What to say of a key that belongs to another table.
fn elsewhere(room: &Room, key: &str) -> Option<String> {
    if TOP.keys.contains(&key) {
        return Some(format!("`{key}` belongs to the file itself, outside {}", room.name));
    }
    if (room.name == ANIMAL.name || room.name == GENE.name) && key == "born" {
        return Some("write `hatched`; only a clutch may have `born`".to_string());
    }
    if room.name == HATCHLING.name && CLUTCH.keys.contains(&key) {
        let help = format!("`{key}` belongs to the clutch: put it above its first hatchling");
        return Some(help);
    }
    let home = HOMES.iter().find(|home| home.keys.contains(&key))?;
    Some(format!("`{key}` belongs to {}", home.name))
}
