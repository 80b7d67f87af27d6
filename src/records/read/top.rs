//! The keys above the first table, and `[assume]`.

use super::Format;
use super::fields::{ASSUME, BY_SEX, CLUTCH_SIZE, Fields};
use super::reader::Reader;
use super::tree::{Node, Value};
use crate::records::{Assumptions, ClutchSize, Colony, Maturity, SexSystem};

const SEX_SYSTEMS: [(&str, SexSystem); 3] =
    [("XY", SexSystem::Xy), ("ZW", SexSystem::Zw), ("environmental", SexSystem::Environmental)];

/// Reads the plain keys of the file and its assumptions into the colony.
pub(super) fn read(reader: &mut Reader, format: Format, fields: Fields, colony: &mut Colony) {
    let title = fields.get("title").and_then(|node| reader.text("title", node));
    colony.title = title.map(str::to_string);
    let species = fields.get("species").and_then(|node| reader.text("species", node));
    colony.species = species.map(str::to_string);
    if let Some(node) = fields.get("sex_system") {
        colony.sex_system = reader.choice("sex_system", node, &SEX_SYSTEMS).unwrap_or_default();
    }
    if let Some(node) = fields.get("clutch_size") {
        colony.clutch_size = clutch_size(reader, format, node);
    }
    if let Some(node) = fields.get("clutches_per_year") {
        colony.clutches_per_year = positive(reader, "clutches_per_year", node);
    }
    if let Some(node) = fields.get("mature_at") {
        colony.mature_at = maturity(reader, format, node);
    }
    if let Some(node) = fields.get("assume") {
        assumptions(reader, format, node, &mut colony.assumptions);
    }
}

fn assumptions(reader: &mut Reader, format: Format, node: &Node, assumptions: &mut Assumptions) {
    let Some(table) = reader.table("assume", node) else { return };
    let fields = Fields::new(reader, format, &ASSUME, table);
    for key in Assumptions::KEYS {
        let Some(node) = fields.get(key) else { continue };
        if let Some(chance) = reader.chance(key, node) {
            assumptions.set(key, chance);
        }
    }
}

fn clutch_size(reader: &mut Reader, format: Format, node: &Node) -> Option<ClutchSize> {
    let Value::Table(table) = &node.value else {
        let mean = positive(reader, "clutch_size", node)?;
        return Some(ClutchSize { mean, sd: 0.0 });
    };
    let fields = Fields::new(reader, format, &CLUTCH_SIZE, table);
    let sd = fields.get("sd").map(|node| reader.amount("sd", node));
    let Some(mean) = fields.get("mean") else {
        reader.error(node.span, "`clutch_size` needs a `mean`");
        return None;
    };
    let mean = positive(reader, "mean", mean)?;
    Some(ClutchSize { mean, sd: sd.unwrap_or(Some(0.0))? })
}

fn maturity(reader: &mut Reader, format: Format, node: &Node) -> Option<Maturity> {
    let Value::Table(table) = &node.value else {
        reader
            .error(node.span, "`mature_at` needs a number of months for each sex")
            .help("write `mature_at = { female = 30, male = 12 }`");
        return None;
    };
    let fields = Fields::new(reader, format, &BY_SEX, table);
    let mut of = |sex: &str| match fields.get(sex) {
        Some(node) => reader.amount(sex, node),
        None => {
            reader.error(node.span, format!("`mature_at` does not say when a {sex} is mature"));
            None
        }
    };
    let (female, male) = (of("female"), of("male"));
    Some(Maturity { female: female?, male: male? })
}

fn positive(reader: &mut Reader, what: &str, node: &Node) -> Option<f64> {
    let number = reader.amount(what, node)?;
    if number == 0.0 {
        reader.error(node.span, format!("`{what}` must be above 0"));
        return None;
    }
    Some(number)
}
