//! What the format can say and the model does not compute yet: refused, never ignored.

use super::{
    Candidate, Colony, CrossoverRates, Inheritance, Penetrance, Place, RecordError, SiringMode,
};

/// Every key of a checked colony whose meaning is not computed yet, in the order of the file.
///
/// An answer that ignored one of them would be wrong, so nothing may be asked of such a colony.
pub fn not_computed_yet(colony: &Colony) -> Vec<RecordError> {
    let found = [
        sex_linked,
        unknown_inheritance,
        unknown_penetrance,
        linkage,
        unknown_crossover,
        several_sires,
        mixed_siring,
        no_father,
        recorded_only,
        kept_if,
        believed,
        other_sire,
        mix_up,
        virgin_heterozygosity,
    ];
    let mut errors: Vec<RecordError> = found.iter().flat_map(|of| of(colony)).collect();
    errors.sort_by_key(|error| (error.place.line, error.place.column));
    errors
}

fn sex_linked(colony: &Colony) -> Vec<RecordError> {
    let linked = colony.genes.iter().filter(|gene| gene.sex_linked.is_some());
    linked.map(|gene| refuse(gene.place, "`sex_linked`")).collect()
}

fn unknown_inheritance(colony: &Colony) -> Vec<RecordError> {
    let unknown = colony.genes.iter().filter(|gene| gene.inheritance == Inheritance::Unknown);
    unknown.map(|gene| refuse(gene.place, "`inheritance = \"unknown\"`")).collect()
}

fn unknown_penetrance(colony: &Colony) -> Vec<RecordError> {
    let unknown = colony.genes.iter().filter(|gene| gene.penetrance == Some(Penetrance::Unknown));
    unknown.map(|gene| refuse(gene.place, "`penetrance = \"unknown\"`")).collect()
}

fn linkage(colony: &Colony) -> Vec<RecordError> {
    colony.linkage.iter().map(|group| refuse(group.place, "`[[linkage]]`")).collect()
}

fn unknown_crossover(colony: &Colony) -> Vec<RecordError> {
    let unknown = colony.linkage.iter().filter(|group| group.crossover == CrossoverRates::Unknown);
    unknown.map(|group| refuse(group.place, "`crossover = \"unknown\"`")).collect()
}

fn several_sires(colony: &Colony) -> Vec<RecordError> {
    let several = colony.clutches.iter().filter(|clutch| clutch.siring.candidates.len() > 1);
    several.map(|clutch| refuse(clutch.place, "`sires` with more than one candidate")).collect()
}

fn mixed_siring(colony: &Colony) -> Vec<RecordError> {
    let mixed = colony.clutches.iter().filter(|clutch| clutch.siring.mode == SiringMode::Mixed);
    mixed.map(|clutch| refuse(clutch.place, "`siring = \"mixed\"`")).collect()
}

fn no_father(colony: &Colony) -> Vec<RecordError> {
    let virgin = colony.clutches.iter().filter(|clutch| {
        clutch.siring.candidates.iter().any(|(candidate, _)| *candidate == Candidate::NoFather)
    });
    virgin.map(|clutch| refuse(clutch.place, "a birth without a father (`none`)")).collect()
}

fn recorded_only(colony: &Colony) -> Vec<RecordError> {
    let only = colony.clutches.iter().filter(|clutch| !clutch.recorded_only.is_empty());
    only.map(|clutch| refuse(clutch.place, "`recorded_only`")).collect()
}

fn kept_if(colony: &Colony) -> Vec<RecordError> {
    let kept = colony.clutches.iter().filter(|clutch| !clutch.kept_if.is_empty());
    kept.map(|clutch| refuse(clutch.place, "`kept_if`")).collect()
}

fn believed(colony: &Colony) -> Vec<RecordError> {
    let believed = colony.animals.iter().filter(|animal| animal.believed);
    believed.map(|animal| refuse(animal.place, "`believed = true`")).collect()
}

fn other_sire(colony: &Colony) -> Vec<RecordError> {
    assumed(colony.assumptions.other_sire, "`other_sire` above 0")
}

fn mix_up(colony: &Colony) -> Vec<RecordError> {
    assumed(colony.assumptions.mix_up, "`mix_up` above 0")
}

fn virgin_heterozygosity(colony: &Colony) -> Vec<RecordError> {
    assumed(colony.assumptions.virgin_heterozygosity, "`virgin_heterozygosity` above 0")
}

/// Assumptions keep no place of their own; they may also come from the command line.
fn assumed(value: f64, what: &str) -> Vec<RecordError> {
    let top = Place { start: 0, end: 0, line: 1, column: 1 };
    (value > 0.0).then(|| refuse(top, what)).into_iter().collect()
}

fn refuse(place: Place, what: &str) -> RecordError {
    RecordError {
        place,
        message: format!("{what} is understood but not computed yet"),
        help: Some("an answer that ignored it would be wrong; leave it away for now".to_string()),
        related: None,
    }
}
