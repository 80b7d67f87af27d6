//! What the format can say and the model does not compute yet: refused, never ignored.

use super::{Colony, Gene, Place, RecordError};

/// Everything in a checked colony whose meaning is not computed yet, in the order of the file.
///
/// An answer that ignored one of them would be wrong, so nothing may be asked of such a colony.
pub fn not_computed_yet(colony: &Colony) -> Vec<RecordError> {
    let mut errors = lethal_on_sex(colony);
    errors.sort_by_key(|error| (error.place.line, error.place.column));
    errors
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
