//! The headings of a sheet, and which column of it means what.

use super::cells::{Row, Sheet, column_name};
use super::mapping::{Mapping, Means, Question};
use super::words::fold;

/// The headings that `export` writes, in their order.
pub static OWN: [(&str, Means); 21] = [
    ("kind", Means::Kind),
    ("animal", Means::Animal),
    ("sex", Means::Sex),
    ("hatched", Means::Hatched),
    ("dam", Means::Dam),
    ("sire", Means::Sire),
    ("clutch", Means::Clutch),
    ("laid", Means::Laid),
    ("eggs", Means::Eggs),
    ("slugs", Means::Slugs),
    ("died", Means::Died),
    ("looks", Means::Looks),
    ("number", Means::Number),
    ("sold as", Means::SoldAs),
    ("trust", Means::Trust),
    ("status", Means::Status),
    ("note", Means::Note),
    ("clutch note", Means::ClutchNote),
    ("copy", Means::Copy),
    ("more", Means::More),
    ("clutch more", Means::ClutchMore),
];

/// The headings of a row as a mapping names them: an empty one by its letter, one that stands
/// twice with a number behind it.
pub fn headings(row: &Row) -> Vec<String> {
    let mut headings: Vec<String> = Vec::new();
    for (column, cell) in row.cells.iter().enumerate() {
        let plain = cell.split_whitespace().collect::<Vec<_>>().join(" ");
        let plain =
            if plain.is_empty() { format!("column {}", column_name(column)) } else { plain };
        let mut heading = plain.clone();
        let mut copy = 2;
        while headings.contains(&heading) {
            heading = format!("{plain} ({copy})");
            copy += 1;
        }
        headings.push(heading);
    }
    headings
}

/// Whether a sheet has the headings that `export` writes.
pub fn is_own(sheet: &Sheet) -> bool {
    sheet.rows.first().is_some_and(|first| are_own(&headings(first)))
}

/// Whether these are the headings that `export` writes.
fn are_own(headings: &[String]) -> bool {
    let has = |word: &str| headings.iter().any(|heading| fold(heading) == word);
    let known = |heading: &String| OWN.iter().any(|(own, _)| *own == fold(heading));
    ["kind", "animal", "more", "clutch more"].into_iter().all(has) && headings.iter().all(known)
}

/// The mapping of the sheet that `export` writes, if this is one: it leaves no questions.
pub fn own_mapping(sheet: &Sheet) -> Option<Mapping> {
    let first = sheet.rows.first()?;
    let headings = headings(first);
    if !are_own(&headings) {
        return None;
    }
    let means = |heading: &String| {
        let found = OWN.iter().find(|(own, _)| *own == fold(heading));
        found.map(|(_, means)| (heading.clone(), means.clone()))
    };
    let columns = headings.iter().filter_map(means).collect();
    Some(Mapping { columns, own: true, ..Mapping::default() })
}

/// The columns of one sheet under one mapping.
#[derive(Clone, Debug, Default)]
pub(super) struct Columns {
    /// What each column means, in the order of the sheet.
    pub means: Vec<Means>,
    /// The row with the headings.
    pub heading: Row,
}

impl Columns {
    /// Finds the columns of a sheet.
    ///
    /// # Errors
    ///
    /// Questions on columns that the mapping does not name.
    pub fn of(sheet: &Sheet, mapping: &Mapping) -> Result<Columns, Vec<Question>> {
        let at = mapping.heading_row;
        let Some(heading) = sheet.rows.iter().find(|row| row.number == at && !row.is_empty())
        else {
            let text = format!("row {at} has no headings; `heading_row` says where they stand");
            return Err(vec![Question { line: None, text }]);
        };
        let mut means = Vec::new();
        let mut questions = Vec::new();
        for (column, name) in headings(heading).iter().enumerate() {
            let found = mapping.columns.iter().find(|(known, _)| known == name);
            let used =
                || sheet.rows.iter().any(|row| row.number > at && !row.cell(column).is_empty());
            if found.is_none() && (!heading.cell(column).is_empty() || used()) {
                let text = format!("the column `{name}` of the sheet is not under [columns]");
                questions.push(Question { line: None, text });
            }
            means.push(found.map_or(Means::Ignored, |(_, means)| means.clone()));
        }
        // Cells beyond the last heading would be lost without a word.
        let wide = sheet.rows.iter().filter(|row| row.number > at);
        let beyond =
            wide.clone().find(|row| row.cells.iter().skip(means.len()).any(|c| !c.is_empty()));
        if let Some(row) = beyond {
            let text = format!("row {} has more cells than there are headings", row.number);
            questions.push(Question { line: None, text });
        }
        if questions.is_empty() {
            Ok(Columns { means, heading: heading.clone() })
        } else {
            Err(questions)
        }
    }

    /// The cells of a row in columns with this meaning that are not empty.
    pub fn cells<'r>(&self, row: &'r Row, means: &Means) -> impl Iterator<Item = &'r str> {
        let columns = self.means.iter().enumerate().filter(move |(_, other)| *other == means);
        let columns: Vec<usize> = columns.map(|(column, _)| column).collect();
        columns.into_iter().map(|column| row.cell(column)).filter(|cell| !cell.is_empty())
    }
}
