//! Records as a sheet: one row for each animal, hatchling or count, its clutch repeated on it.

use super::cells::inert;
use super::columns::OWN;
use super::facts::read_value;
use super::mapping::Means;
use crate::records::write::text::{Section, name, quoted};
use crate::records::write::{animals, clutches, declarations};
use crate::records::{Clutch, Colony, Origin};

/// A row in the making: a cell for each of [`OWN`].
#[derive(Clone, Default, PartialEq)]
struct Cells {
    cells: [String; OWN.len()],
}

impl Cells {
    fn put(&mut self, means: &Means, text: impl Into<String>) {
        if let Some(at) = OWN.iter().position(|(_, known)| known == means) {
            self.cells[at] = text.into();
        }
    }

    /// Puts each key into its column, and those without one as lines into `rest`.
    fn section(&mut self, section: &Section, of_clutch: bool) {
        let rest = if of_clutch { Means::ClutchMore } else { Means::More };
        let mut more = Vec::new();
        for (key, value) in &section.keys {
            match column(key, of_clutch) {
                Some(means) => self.put(&means, text(value)),
                None => more.push(format!("{key} = {value}")),
            }
        }
        self.put(&rest, more.join("\n"));
    }
}

fn column(key: &str, of_clutch: bool) -> Option<Means> {
    Some(match (key, of_clutch) {
        ("id", false) => Means::Animal,
        ("sex", false) => Means::Sex,
        ("looks", false) => Means::Looks,
        ("sold_as", false) => Means::SoldAs,
        ("trust", false) => Means::Trust,
        ("status", false) => Means::Status,
        ("number", false) => Means::Number,
        ("note", false) => Means::Note,
        ("hatched", _) => Means::Hatched,
        ("id", true) => Means::Clutch,
        ("dam", true) => Means::Dam,
        ("sire", true) => Means::Sire,
        ("laid", true) => Means::Laid,
        ("eggs", true) => Means::Eggs,
        ("slugs", true) => Means::Slugs,
        ("died", true) => Means::Died,
        ("note", true) => Means::ClutchNote,
        _ => return None,
    })
}

/// A value in TOML as a cell: text without quotes, a list with ` + ` between.
fn text(value: &str) -> String {
    match read_value(value) {
        Some(toml::Value::String(text)) => text,
        Some(toml::Value::Array(list)) => {
            let words: Vec<&str> = list.iter().filter_map(toml::Value::as_str).collect();
            words.join(" + ")
        }
        _ => value.to_string(),
    }
}

/// A colony as a sheet, with `separator` between its cells.
///
/// What has no column of its own stands in the columns `more` and `clutch more` as it stands in a
/// records file; genes and settings are rows of their own at the end. Importing the sheet into a
/// new file gives the same colony. The sheet begins with a mark when it has letters that not every
/// spreadsheet would read rightly without.
pub fn export(colony: &Colony, separator: char) -> String {
    let mut rows = Vec::new();
    for id in colony.animal_ids().filter(|id| colony.animal(*id).origin == Origin::Founder) {
        let mut row = Cells::default();
        row.section(&animals::founder(colony, id), false);
        row.put(&Means::Kind, "animal");
        rows.push(row);
    }
    let parents = animals::parents(colony);
    for clutch in &colony.clutches {
        rows.extend(of_clutch(colony, clutch, &parents));
    }
    rows.extend(declarations(colony).iter().filter_map(declared));
    written(&rows, separator)
}

fn of_clutch(colony: &Colony, clutch: &Clutch, parents: &[bool]) -> Vec<Cells> {
    let section = clutches::one(colony, clutch);
    let mut rows: Vec<Cells> = Vec::new();
    let mut push = |own: Option<(&Section, &str)>| {
        let mut row = Cells::default();
        row.section(&section, true);
        match own {
            Some((own, kind)) => {
                row.section(own, false);
                row.put(&Means::Kind, kind);
            }
            None => row.put(&Means::Kind, "clutch"),
        }
        if !rows.is_empty() {
            row.put(&Means::ClutchMore, "");
            row.put(&Means::ClutchNote, "");
        }
        rows.push(row);
    };
    for id in &clutch.hatchlings {
        let parent = parents.get(id.0).copied().unwrap_or(false);
        push(Some((&animals::hatchling(colony, *id, parent), "hatchling")));
    }
    for count in &clutch.counts {
        push(Some((&clutches::counted(colony, count), "count")));
    }
    if clutch.recorded() == 0 && clutch.counts.is_empty() {
        push(None);
    }
    tell_apart(&mut rows);
    rows
}

/// Numbers rows that are otherwise the same: one of them could not be told from a slip.
fn tell_apart(rows: &mut [Cells]) {
    let alike = |one: &Cells, other: &Cells| {
        let own = |cells: &Cells| {
            let mut cells = cells.clone();
            for means in [Means::Copy, Means::ClutchMore, Means::ClutchNote] {
                cells.put(&means, "");
            }
            cells
        };
        own(one) == own(other)
    };
    for at in 1..rows.len() {
        let copies = rows[..at].iter().filter(|other| alike(other, &rows[at])).count();
        if copies > 0 {
            rows[at].put(&Means::Copy, (copies + 1).to_string());
        }
    }
}

/// A row that carries a gene or a setting.
fn declared(section: &Section) -> Option<Cells> {
    let text = section.text()?;
    let mut row = Cells::default();
    let gene = section.heading.starts_with("[gene");
    row.put(&Means::Kind, if gene { "gene" } else { "colony" });
    row.put(&Means::More, text.trim_end());
    Some(row)
}

fn written(rows: &[Cells], separator: char) -> String {
    let mut sheet = csv::WriterBuilder::new()
        .delimiter(u8::try_from(separator).unwrap_or(b','))
        .from_writer(Vec::new());
    // A writer into memory does not fail.
    let result = sheet.write_record(OWN.iter().map(|(heading, _)| *heading)).and_then(|()| {
        rows.iter().try_for_each(|row| sheet.write_record(row.cells.iter().map(|c| inert(c))))
    });
    debug_assert!(result.is_ok());
    let text = String::from_utf8(sheet.into_inner().unwrap_or_default()).unwrap_or_default();
    if text.is_ascii() { text } else { format!("\u{feff}{text}") }
}

/// The mapping of the sheet that [`export`] writes.
pub fn export_mapping() -> String {
    let mut text = String::from(
        "# What the columns of a sheet written by `proveout export` mean. `import` knows its headings\n\
         # without this file; with it you may rename them.\n\n[columns]\n",
    );
    for (heading, means) in &OWN {
        text += &format!("{} = {}\n", name(heading), quoted(&means.word()));
    }
    text
}
