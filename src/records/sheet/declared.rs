//! What a new records file begins with: genes and settings of the mapping, or carried by the sheet.

use super::cells::Sheet;
use super::columns::Columns;
use super::mapping::{Mapping, Means, Question};
use super::words::fold;
use crate::records::{Colony, Format, read};

/// The declarations of a new file in TOML: those of the mapping, else those in the sheet's own
/// rows of genes and settings.
///
/// # Errors
///
/// When they are not TOML.
pub(super) fn declarations(mapping: &Mapping, sheet: &Sheet) -> Result<String, Vec<Question>> {
    let question = |text: String| vec![Question { line: None, text }];
    let mut declared = mapping.declarations.clone();
    if declared.is_empty() {
        for (row, cell) in carried(mapping, sheet)? {
            let table: toml::Table = toml::from_str(&cell).map_err(|error| {
                question(format!("row {row} cannot be read: {}", error.message()))
            })?;
            join(&mut declared, table);
        }
    }
    toml::to_string(&declared).map_err(|error| question(format!("the genes: {error}")))
}

/// The cells with genes and settings, in the order of the rows.
fn carried(mapping: &Mapping, sheet: &Sheet) -> Result<Vec<(usize, String)>, Vec<Question>> {
    let columns = Columns::of(sheet, mapping)?;
    let mut cells = Vec::new();
    for row in sheet.rows.iter().filter(|row| row.number > mapping.heading_row) {
        let kind = columns.cells(row, &Means::Kind).next().map(fold);
        if matches!(kind.as_deref(), Some("gene" | "colony")) {
            let texts = columns.cells(row, &Means::More);
            cells.extend(texts.map(|text| (row.number, text.to_string())));
        }
    }
    Ok(cells)
}

/// Puts the keys of a second table into a first one: tables and lists of both are joined.
fn join(first: &mut toml::Table, second: toml::Table) {
    for (key, value) in second {
        match (first.get_mut(&key), value) {
            (Some(toml::Value::Table(known)), toml::Value::Table(more)) => join(known, more),
            (Some(toml::Value::Array(known)), toml::Value::Array(more)) => known.extend(more),
            (_, value) => {
                first.insert(key, value);
            }
        }
    }
}

/// A colony with these genes, to look names up in; its one animal is nobody.
///
/// # Errors
///
/// What is wrong with the declarations.
pub(super) fn of_sheet(declared: &str) -> Result<Colony, Vec<Question>> {
    let mut table: toml::Table = toml::from_str(declared).unwrap_or_default();
    if let Some(toml::Value::Table(genes)) = table.get_mut("gene") {
        for (_, gene) in genes.iter_mut() {
            if let toml::Value::Table(gene) = gene {
                // The animals it names are still to come.
                gene.remove("first_seen");
            }
        }
    }
    let text = toml::to_string(&table).unwrap_or_default();
    let text = format!("{text}\n[[animal]]\nid = \"nobody in particular\"\n");
    match read(text.as_bytes(), Format::Toml) {
        Ok(checked) => Ok(Colony { animals: Vec::new(), ..checked.colony }),
        Err(errors) => Err(errors
            .into_iter()
            .map(|error| {
                let help = error.help.map_or(String::new(), |help| format!("; {help}"));
                let text = format!("the genes of the mapping: {}{help}", error.message);
                Question { line: None, text }
            })
            .collect()),
    }
}
