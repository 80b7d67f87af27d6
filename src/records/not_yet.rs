//! What the format can say and the model does not compute yet: refused, never ignored.

use super::{Colony, CrossoverRates, Gene, Inheritance, Penetrance, Place, RecordError};

/// Everything in a checked colony whose meaning is not computed yet, in the order of the file.
///
/// An answer that ignored one of them would be wrong, so nothing may be asked of such a colony.
pub fn not_computed_yet(colony: &Colony) -> Vec<RecordError> {
    let found = [unknown_inheritance, unknown_penetrance, unknown_crossover, lethal_on_sex];
    let mut errors: Vec<RecordError> = found.iter().flat_map(|of| of(colony)).collect();
    errors.sort_by_key(|error| (error.place.line, error.place.column));
    errors
}

fn unknown_inheritance(colony: &Colony) -> Vec<RecordError> {
    let unknown = colony.genes.iter().filter(|gene| gene.inheritance == Inheritance::Unknown);
    unknown.map(|gene| refuse(gene.place, "`inheritance = \"unknown\"`")).collect()
}

fn unknown_penetrance(colony: &Colony) -> Vec<RecordError> {
    let unknown = colony.genes.iter().filter(|gene| gene.penetrance == Some(Penetrance::Unknown));
    unknown.map(|gene| refuse(gene.place, "`penetrance = \"unknown\"`")).collect()
}

fn unknown_crossover(colony: &Colony) -> Vec<RecordError> {
    let unknown = colony.linkage.iter().filter(|group| group.crossover == CrossoverRates::Unknown);
    unknown.map(|group| refuse(group.place, "`crossover = \"unknown\"`")).collect()
}

/// With two lethal genes on the sex chromosomes the chance of hatching is no longer a product.
fn lethal_on_sex(colony: &Colony) -> Vec<RecordError> {
    let on_sex = |gene: &&Gene| gene.sex_linked.is_some() && !gene.lethal.is_empty();
    let found = colony.genes.iter().filter(on_sex).skip(1);
    found.map(|gene| refuse(gene.place, "a second lethal gene on the sex chromosomes")).collect()
}

fn refuse(place: Place, what: &str) -> RecordError {
    RecordError {
        place,
        message: format!("{what} is understood but not computed yet"),
        help: Some("an answer that ignored it would be wrong; leave it away for now".to_string()),
        related: None,
    }
}
