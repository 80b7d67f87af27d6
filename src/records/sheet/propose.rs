//! The first mapping of a sheet: what can be told from it, and what its keeper must say.

use std::fmt::Write;

use rustc_hash::FxHashSet;

use super::cells::{Row, Sheet};
use super::columns::headings;
use super::dates::{Order, SIGNS, evidence};
use super::mapping::Means;
use super::names::Names;
use super::words::{fold, heading, sex, status};
use crate::records::write::text::{list, name, quoted};

/// Cells that say nothing, as a proposal has them.
const NOTHING: [&str; 9] = ["?", "??", "-", "--", "–", "n/a", "unknown", "unbekannt", "k.a."];

/// A sheet with its columns as they are proposed.
struct Proposal<'a> {
    rows: Vec<&'a Row>,
    columns: Vec<(String, Option<Means>)>,
}

/// The text of a first mapping, with remarks for the keeper and `?` where only the keeper knows.
///
/// `names` are those of the records file that the sheet goes into; without them the genes are
/// proposed too. `sheet_name` is what the sheet is called.
pub fn propose(sheet: &Sheet, names: Option<&Names>, sheet_name: &str) -> String {
    let heading_row = likely_heading(sheet);
    let proposal = Proposal::of(sheet, heading_row, names);
    let mut text = format!(
        "# What the columns and words of {} mean. Check every line, then import once more.\n\
         # A `?` is a question that only you can answer; nothing is imported while one is left.\n\n",
        sheet_name.replace(['\n', '\r'], " ")
    );
    proposal.sheet(&mut text, sheet, heading_row);
    proposal.dates(&mut text);
    proposal.columns(&mut text);
    proposal.sexes(&mut text);
    proposal.statuses(&mut text);
    let trait_cells: Vec<(usize, &str)> = proposal.trait_cells().collect();
    super::propose_words::write(&mut text, &trait_cells, names);
    text
}

/// The row among the first ten in which most cells are known headings, else the first with two
/// cells or more.
fn likely_heading(sheet: &Sheet) -> usize {
    let first: Vec<&Row> = sheet.rows.iter().filter(|row| !row.is_empty()).take(10).collect();
    let known = |row: &&&Row| row.cells.iter().filter(|cell| heading(cell).is_some()).count();
    let best = first.iter().rev().max_by_key(known).filter(|row| known(row) >= 2);
    let wide = || first.iter().find(|row| row.cells.iter().filter(|c| !c.is_empty()).count() > 1);
    best.or_else(wide).or(first.first()).map_or(1, |row| row.number)
}

impl<'a> Proposal<'a> {
    fn of(sheet: &'a Sheet, heading_row: usize, names: Option<&Names>) -> Self {
        let rows: Vec<&Row> =
            sheet.rows.iter().filter(|row| row.number > heading_row && !row.is_empty()).collect();
        let row = sheet.rows.iter().find(|row| row.number == heading_row);
        let repeats = |other: &Row| row.is_some_and(|row| row.cells == other.cells);
        let rows: Vec<&Row> = rows.into_iter().filter(|other| !repeats(other)).collect();
        let width = rows.iter().map(|row| row.cells.len()).max().unwrap_or(0);
        let mut heads = row.cloned().unwrap_or_default();
        let wide = width.max(heads.cells.len());
        heads.cells.resize(wide, String::new());
        let mut proposal = Proposal { rows, columns: Vec::new() };
        let mut taken: Vec<Means> = Vec::new();
        for (column, label) in headings(&heads).into_iter().enumerate() {
            let empty = proposal.rows.iter().all(|row| row.cell(column).is_empty());
            if empty && heads.cell(column).is_empty() {
                continue;
            }
            let means = proposal.likely(column, heads.cell(column), names);
            let means = means.filter(|means| {
                *means == Means::Ignored || *means == Means::Note || !taken.contains(means)
            });
            taken.extend(means.clone());
            proposal.columns.push((label, means));
        }
        proposal
    }

    fn likely(&self, column: usize, head: &str, names: Option<&Names>) -> Option<Means> {
        let cells = || self.rows.iter().map(|row| row.cell(column)).filter(|cell| !cell.is_empty());
        let digits =
            |cell: &str| cell.chars().all(|sign| sign.is_ascii_digit() || ".,".contains(sign));
        let numbers = cells().filter(|cell| digits(cell)).count() * 2 > cells().count();
        let look = fold(head);
        let is_look = names.is_some_and(|names| names.look(&look).is_some());
        if numbers && (is_look || look == "normal" || look == "normals") {
            let look = if look == "normals" { "normal".to_string() } else { look };
            return Some(Means::CountOf(look));
        }
        let means = heading(head)?;
        let says_het = || cells().any(|cell| fold(cell).split(' ').any(|word| word == "het"));
        match means {
            Means::Died | Means::Eggs | Means::Slugs | Means::Number if !numbers => None,
            // "Female" above a column may be the dam, or how many females there are.
            Means::Dam | Means::Sire if numbers => None,
            Means::LooksAndSoldAs if !says_het() => Some(Means::Looks),
            means => Some(means),
        }
    }

    fn column(&self, wanted: &Means) -> Option<usize> {
        self.columns.iter().position(|(_, means)| means.as_ref() == Some(wanted))
    }

    /// The cells of a column with their rows.
    fn cells(&self, wanted: &Means) -> impl Iterator<Item = (usize, &'a str)> + Clone + '_ {
        let column = self.column(wanted);
        let cell = move |row: &&'a Row| column.map(|column| (row.number, row.cell(column)));
        self.rows.iter().filter_map(cell).filter(|(_, cell)| !says_nothing(cell))
    }

    fn trait_cells(&self) -> impl Iterator<Item = (usize, &'a str)> + '_ {
        [Means::LooksAndSoldAs, Means::Looks, Means::SoldAs]
            .into_iter()
            .flat_map(|means| self.cells(&means).collect::<Vec<_>>())
    }

    fn sheet(&self, text: &mut String, sheet: &Sheet, heading_row: usize) {
        let separator = quoted(&sheet.separator.to_string());
        let put = |text: &mut String, line: &str| {
            text.push_str(line);
            text.push('\n');
        };
        put(text, "[sheet]");
        put(text, &format!("separator   = {separator}      # between two cells"));
        put(text, &format!("heading_row = {heading_row}        # as the spreadsheet counts rows"));
        let words = list(NOTHING.iter().map(|word| quoted(word)));
        put(text, &format!("nothing     = {words}   # cells that say nothing"));
        put(
            text,
            "# Rows that begin with one of these words are passed over, as in [\"season\", \"total\"].",
        );
        put(text, "skip        = []");
        if let Some(decimal) = self.decimal() {
            put(
                text,
                &format!("decimal     = {}      # in numbers: \",\" or \".\"", quoted(decimal)),
            );
        }
        match self.gaps() {
            Some(row) => put(
                text,
                &format!(
                    "# Row {row} stands below a row of a clutch and names none. Is its clutch that of the row\n\
                 # above (\"as above\", cells that were merged), or has it none (\"nothing\")?\n\
                 clutch_gaps = \"?\""
                ),
            ),
            None => put(
                text,
                "clutch_gaps = \"nothing\"   # or \"as above\": an empty cell repeats the clutch above it",
            ),
        }
        match self.unnamed() {
            Some(row) => put(
                text,
                &format!(
                    "# Row {row} names a parent and no clutch. Are young of the same parents and date one clutch\n\
                 # (\"join\"), or is each such row to be reported (\"report\")?\n\
                 unnamed_clutches = \"?\""
                ),
            ),
            None => put(
                text,
                "unnamed_clutches = \"report\"   # or \"join\": same parents and date, one clutch",
            ),
        }
        put(
            text,
            "# A het statement on an animal that hatched here says what its parents say already.",
        );
        put(
            text,
            "statements_on_young = \"report\"   # or \"leave away\": take the animal without it\n",
        );
    }

    /// The decimal mark, if any cell of numbers needs one.
    fn decimal(&self) -> Option<&'static str> {
        let number = |cell: &str, mark: char| {
            cell.split_once(mark).is_some_and(|(whole, part)| {
                let digits =
                    |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
                digits(whole) && digits(part)
            })
        };
        let numbers = [Means::Eggs, Means::Slugs, Means::Died, Means::Trust];
        let cells: Vec<&str> = numbers
            .iter()
            .chain([&Means::Number])
            .flat_map(|m| self.cells(m))
            .map(|c| c.1)
            .collect();
        let plain: Vec<&str> = numbers.iter().flat_map(|m| self.cells(m)).map(|c| c.1).collect();
        let comma = cells.iter().any(|cell| number(cell, ','));
        let point = plain.iter().any(|cell| number(cell, '.'));
        match (comma, point) {
            (true, true) => Some("?"),
            (true, false) => Some(","),
            (false, true) => Some("."),
            (false, false) => None,
        }
    }

    fn grouped(&self, row: &Row) -> bool {
        [Means::Clutch, Means::Dam, Means::Sire]
            .iter()
            .filter_map(|means| self.column(means))
            .any(|column| !row.cell(column).is_empty())
    }

    /// A row without clutch and parents directly below one that has them.
    fn gaps(&self) -> Option<usize> {
        self.column(&Means::Clutch).or(self.column(&Means::Dam))?;
        let pairs = self.rows.windows(2);
        let gap = |pair: &&[&'a Row]| {
            pair[1].number == pair[0].number + 1 && self.grouped(pair[0]) && !self.grouped(pair[1])
        };
        pairs.filter(gap).map(|pair| pair[1].number).next()
    }

    /// A row with a parent and no clutch.
    fn unnamed(&self) -> Option<usize> {
        let clutch = self.column(&Means::Clutch);
        let named = |row: &Row, means: &Means| {
            self.column(means).is_some_and(|column| !says_nothing(row.cell(column)))
        };
        let unnamed = |row: &&&Row| {
            let clutch = clutch.is_some_and(|column| !row.cell(column).is_empty());
            !clutch && (named(row, &Means::Dam) || named(row, &Means::Sire))
        };
        self.rows.iter().find(unnamed).map(|row| row.number)
    }

    fn dates(&self, text: &mut String) {
        let dates: Vec<&str> = [Means::Hatched, Means::Laid]
            .iter()
            .flat_map(|means| self.cells(means).map(|(_, cell)| cell).collect::<Vec<_>>())
            .collect();
        text.push_str("[dates]      # the order of dates in numbers, by the sign between them\n");
        for (sign, found) in SIGNS.iter().zip(evidence(dates.iter().copied())) {
            let Some(possible) = &found.possible else { continue };
            let word = |order: &Order| {
                Order::WORDS.iter().find(|(_, known)| known == order).map_or("?", |(word, _)| word)
            };
            let key = quoted(&sign.to_string());
            let line = match possible.as_slice() {
                [only] => {
                    format!("{key} = {}   # as no other order fits them all", quoted(word(only)))
                }
                [] => format!(
                    "# No order fits every date with {key}; those that do not fit yours are reported.\n\
                     {key} = \"?\"   # \"day first\", \"month first\" or \"year first\""
                ),
                _ => format!(
                    "# Every date with {key} can be read both ways, as {}.\n\
                     {key} = \"?\"   # \"day first\", \"month first\" or \"year first\"",
                    found.example.replace(|sign: char| sign.is_control(), " ")
                ),
            };
            text.push_str(&line);
            text.push('\n');
        }
        text.push_str(
            "years_from = 1970   # two digits are a year of the hundred that begin here\n\n",
        );
    }

    fn columns(&self, text: &mut String) {
        text.push_str("[columns]\n# What each column means, one of:\n");
        let words = Means::WORDS.iter().map(|(word, _)| *word);
        let hidden = ["kind", "copy", "more", "clutch more"];
        let words: Vec<&str> = words.filter(|word| !hidden.contains(word)).collect();
        for line in words.chunks(9) {
            let _ = writeln!(text, "#   {},", line.join(", "));
        }
        text.push_str(
            "#   count of LOOKS (how many young of a clutch had these looks)\n\
             # `looks` were seen, `sold as` was told by a seller, `looks and sold as` has both in one cell.\n",
        );
        for (heading, means) in &self.columns {
            let means = means.as_ref().map_or("?".to_string(), Means::word);
            let _ = writeln!(text, "{} = {}", name(heading), quoted(&means));
        }
        text.push('\n');
    }

    fn sexes(&self, text: &mut String) {
        if self.column(&Means::Sex).is_none() {
            return;
        }
        text.push_str(
            "[sex]      # male, female, unknown, or report (leave the row out and say so)\n",
        );
        let mut seen = FxHashSet::default();
        for (row, cell) in self.cells(&Means::Sex) {
            if seen.insert(fold(cell)) {
                let means = sex(cell).unwrap_or("?");
                let note = if means == "?" { format!("   # row {row}") } else { String::new() };
                let _ = writeln!(text, "{} = {}{note}", quoted(&fold(cell)), quoted(means));
            }
        }
        text.push('\n');
    }

    fn statuses(&self, text: &mut String) {
        if self.column(&Means::Status).is_none() {
            return;
        }
        text.push_str("[status]   # kept, resting, retired, sold, dead, elsewhere, or report\n");
        let mut seen = FxHashSet::default();
        for (row, cell) in self.cells(&Means::Status) {
            if seen.insert(fold(cell)) {
                let means = status(cell).unwrap_or("?");
                let note = if means == "?" { format!("   # row {row}") } else { String::new() };
                let _ = writeln!(text, "{} = {}{note}", quoted(&fold(cell)), quoted(means));
            }
        }
        text.push('\n');
    }
}

fn says_nothing(cell: &str) -> bool {
    cell.is_empty() || NOTHING.contains(&fold(cell).as_str())
}
