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
        let carried = carried(mapping, sheet)?;
        declared = toml::from_str(&carried).map_err(|error| {
            question(format!("the genes in the sheet cannot be read: {}", error.message()))
        })?;
    }
    toml::to_string(&declared).map_err(|error| question(format!("the genes: {error}")))
}

fn carried(mapping: &Mapping, sheet: &Sheet) -> Result<String, Vec<Question>> {
    let columns = Columns::of(sheet, mapping)?;
    let mut text = String::new();
    for row in sheet.rows.iter().filter(|row| row.number > mapping.heading_row) {
        let kind = columns.cells(row, &Means::Kind).next().map(fold);
        if matches!(kind.as_deref(), Some("gene" | "colony")) {
            for cell in columns.cells(row, &Means::More) {
                text += cell;
                text.push('\n');
            }
        }
    }
    Ok(text)
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
