//! A sheet into records: everything understood goes in, everything else is reported.

use super::against::{Compared, compare};
use super::cells::Sheet;
use super::changes::changed;
use super::declared::{declarations, of_sheet};
use super::draft::{Base, check, new_file};
use super::gather::{Gathered, gather};
use super::mapping::{Mapping, Question};
use super::names::Names;
use super::rows::Rows;
use super::understand::Trouble;
use super::waits::settle;
use crate::records::{Colony, Format, Look, RecordError, read};

/// A row that is left out, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// Its number, as the spreadsheet counts it.
    pub row: usize,
    /// The row on one line.
    pub text: String,
    /// What is wrong with it; empty when it only waits for others.
    pub troubles: Vec<Trouble>,
    /// What it waits for, in words; empty when something is wrong with it.
    pub waits: String,
    /// The rows that it waits for.
    pub waits_for: Vec<usize>,
}

/// How much goes in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Added {
    /// Genes of a new file.
    pub genes: usize,
    /// Animals that came in.
    pub animals: usize,
    /// Clutches.
    pub clutches: usize,
    /// Hatchlings told apart.
    pub hatchlings: usize,
    /// Young that were only counted.
    pub counted: usize,
    /// Facts that the file lacked about records that it has.
    pub filled: usize,
}

/// What an import comes to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// How much goes in.
    pub added: Added,
    /// Rows that are left out, in the order of the sheet.
    pub reports: Vec<Report>,
    /// Rows whose facts the file has already.
    pub known: usize,
    /// Rows that repeat another one.
    pub repeated: Vec<usize>,
    /// Rows with anything in them below the headings.
    pub rows: usize,
    /// The text of the records with everything in it; `None` when there is nothing new.
    pub text: Option<String>,
    /// Whether there is no file yet.
    pub new_file: bool,
}

/// Why nothing can be imported.
#[derive(Clone, Debug, PartialEq)]
pub enum CannotImport {
    /// The mapping leaves questions, or does not fit the sheet.
    Questions(Vec<Question>),
    /// The records would not be sound, and no row could be told to blame.
    Unsound {
        /// The text as it would have been.
        text: String,
        /// What is wrong with it.
        errors: Vec<RecordError>,
    },
    /// The text of the file cannot be changed so, in words.
    Unchangeable(String),
}

/// Imports a sheet.
///
/// `into` is the text of a records file and the colony it holds, or nothing for a new file.
///
/// # Errors
///
/// [`CannotImport`]. Rows that are not understood are no error: they are in the outcome.
pub fn import(
    sheet: &Sheet,
    mapping: &Mapping,
    into: Option<(&str, &Colony)>,
) -> Result<Outcome, CannotImport> {
    let declared = match into {
        Some(_) => String::new(),
        None => declarations(mapping, sheet).map_err(CannotImport::Questions)?,
    };
    let vocabulary;
    let colony = match into {
        Some((_, colony)) => colony,
        None => {
            vocabulary = of_sheet(&declared).map_err(CannotImport::Questions)?;
            &vocabulary
        }
    };
    let names = Names::of(colony);
    let rows = Rows::new(sheet, mapping, &names).map_err(CannotImport::Questions)?.read(sheet);
    let texts: Vec<(usize, String)> =
        rows.iter().map(|facts| (facts.row, facts.text.clone())).collect();
    let mut gathered = gather(rows, mapping.join_unnamed);
    let file = into.map(|(_, colony)| colony);
    let compared = file.map_or_else(Compared::default, |file| compare(file, &mut gathered));
    let look = |look: Look| names.printed(look);
    let base = Base { colony: file, declarations: &declared, look: &look };
    sound(&base, &mut gathered, &compared)?;
    let added = count(&gathered, &compared, into, colony);
    let text = match into {
        _ if added == Added::default() || !gathered.anything(&compared) => None,
        Some((text, colony)) => {
            let text = changed(text, colony, &base, &gathered, &compared.filled);
            Some(text.map_err(|why| CannotImport::Unchangeable(why.to_string()))?)
        }
        None => Some(new_file(&base, &gathered)),
    };
    if let Some(Err(errors)) = text.as_ref().map(|text| read(text.as_bytes(), Format::Toml)) {
        return Err(CannotImport::Unsound { text: text.unwrap_or_default(), errors });
    }
    let reports = reports(&gathered, &texts);
    let known = compared.known.iter().filter(|row| !gathered.left.contains_key(row)).count();
    let repeated = gathered.repeated;
    let new_file = into.is_none();
    Ok(Outcome { added, reports, known, repeated, rows: texts.len(), text, new_file })
}

/// Leaves rows out until what is left is sound.
fn sound(base: &Base, gathered: &mut Gathered, compared: &Compared) -> Result<(), CannotImport> {
    loop {
        settle(gathered, &compared.known, base.colony);
        match check(base, gathered, &compared.filled) {
            Ok(true) => return Ok(()),
            // Every turn leaves out one row at least, so this ends.
            Ok(false) => {}
            Err((text, errors)) => return Err(CannotImport::Unsound { text, errors }),
        }
    }
}

impl Gathered {
    /// Whether anything is left to go in.
    pub(super) fn anything(&self, compared: &Compared) -> bool {
        let mut filled = compared.filled.iter();
        let new_clutch = |group: &super::gather::Group| group.is_new && self.goes_in(group);
        filled.any(|one| !self.left.contains_key(&one.row))
            || self.new_founders().next().is_some()
            || self
                .groups
                .iter()
                .any(|group| new_clutch(group) || self.new_young(group).next().is_some())
    }
}

fn count(
    gathered: &Gathered,
    compared: &Compared,
    into: Option<(&str, &Colony)>,
    colony: &Colony,
) -> Added {
    let mut added = Added { animals: gathered.new_founders().count(), ..Added::default() };
    for group in gathered.groups.iter().filter(|group| gathered.goes_in(group)) {
        added.clutches += usize::from(group.is_new);
        for facts in &group.young {
            let counts = facts.number.into_iter().chain(facts.counts.iter().map(|(_, n)| *n));
            let young: u32 = counts.flatten().sum();
            added.counted += young as usize;
            added.hatchlings += usize::from(facts.number.is_none() && facts.counts.is_empty());
        }
    }
    let filled = compared.filled.iter().filter(|one| !gathered.left.contains_key(&one.row));
    added.filled = filled.count();
    if into.is_none() && added != Added::default() {
        added.genes = colony.genes.len();
    }
    added
}

fn reports(gathered: &Gathered, texts: &[(usize, String)]) -> Vec<Report> {
    let text = |row: usize| {
        let found = texts.iter().find(|(number, _)| *number == row);
        found.map_or_else(String::new, |(_, text)| text.clone())
    };
    let report = |(row, why): (&usize, &super::gather::Why)| Report {
        row: *row,
        text: text(*row),
        troubles: why.troubles.clone(),
        waits: if why.troubles.is_empty() { why.waits.clone() } else { String::new() },
        waits_for: if why.troubles.is_empty() { why.waits_for.clone() } else { Vec::new() },
    };
    gathered.left.iter().map(report).collect()
}
