//! `[[animal]]` and `[[clutch.hatchling]]`: calls, statements, readings, status.

use super::Format;
use super::fields::{Fields, GROWN};
use super::observation::observation;
use super::reader::Reader;
use super::roster::{Member, Roster};
use super::told::{readings, statements};
use super::tree::{Node, Value};
use super::vocabulary::Vocabulary;
use crate::records::{Animal, Call, Observation, Origin, Status};

const STATUS: [(&str, Status); 6] = [
    ("kept", Status::Kept),
    ("resting", Status::Resting),
    ("retired", Status::Retired),
    ("sold", Status::Sold),
    ("dead", Status::Dead),
    ("elsewhere", Status::Elsewhere),
];

/// Reads every animal; sexes are settled by now.
pub(super) fn animals(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    roster: &Roster,
) -> Vec<Animal> {
    roster.members.iter().map(|member| animal(reader, words, format, member)).collect()
}

fn animal(reader: &mut Reader, words: &Vocabulary, format: Format, member: &Member) -> Animal {
    let fields = member.fields;
    let founder = member.origin == Origin::Founder;
    let seen = observation(reader, words, format, fields);
    let mut animal = Animal {
        id: member.id.clone(),
        place: reader.place(member.span),
        origin: member.origin,
        sex: member.sex,
        hatched: member.hatched,
        seen,
        seen_grown: founder,
        grown: None,
        believed: false,
        statements: Vec::new(),
        trust: None,
        readings: Vec::new(),
        status: default_status(member),
        note: None,
    };
    if let Some(node) = fields.get("readings") {
        animal.readings = readings(reader, words, format, member.sex, node);
    }
    if let Some(node) = fields.get("status") {
        animal.status = reader.choice("status", node, &STATUS).unwrap_or(animal.status);
    }
    let note = fields.get("note").and_then(|node| reader.text("note", node));
    animal.note = note.map(str::to_string);
    if founder {
        of_founder(reader, words, member, &mut animal);
    } else {
        of_hatchling(reader, words, format, member, &mut animal);
    }
    animal
}

fn default_status(member: &Member) -> Status {
    match (member.origin, member.role) {
        (Origin::Clutch(_), None) => Status::Elsewhere,
        _ => Status::Kept,
    }
}

fn of_founder(reader: &mut Reader, words: &Vocabulary, member: &Member, animal: &mut Animal) {
    let fields = member.fields;
    if let Some(node) = fields.get("sold_as") {
        animal.statements = statements(reader, words, member.sex, node);
    }
    if let Some(entry) = fields.entry("trust") {
        animal.trust = reader.chance("trust", &entry.node);
        if fields.get("sold_as").is_none() {
            reader.notice(entry.key_span, "`trust` without `sold_as` changes nothing");
        }
    }
    if let Some(node) = fields.get("grown") {
        if let Value::Table(_) = node.value {
            reader
                .error(node.span, "an `[[animal]]` has no later calls apart")
                .help("write its looks as they are now, and `grown = false` if it is young");
        } else {
            animal.seen_grown = reader.flag("grown", node).unwrap_or(true);
        }
    }
}

fn of_hatchling(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    member: &Member,
    animal: &mut Animal,
) {
    let fields = member.fields;
    for key in ["sold_as", "trust"] {
        if let Some(entry) = fields.entry(key) {
            reader
                .error(
                    entry.key_span,
                    format!("an animal hatched in this file may not have `{key}`"),
                )
                .help("its odds come from its parents; the same evidence would count twice");
        }
    }
    for key in ["hatched", "born"] {
        if let Some(entry) = fields.entry(key) {
            reader
                .error(entry.key_span, format!("a hatchling has no `{key}` of its own"))
                .help("it has the date of its clutch");
        }
    }
    if let Some(node) = fields.get("grown") {
        animal.grown = grown(reader, words, format, node);
    }
    if let Some(entry) = fields.entry("believed") {
        animal.believed = reader.flag("believed", &entry.node).unwrap_or(false);
        if animal.believed
            && !matches!(animal.seen.call, Call::Either(_))
            && fields.get("either").is_none()
        {
            reader
                .error(entry.key_span, "`believed` needs `either`")
                .help("it says that the numbers in `either` are overall beliefs");
        }
    }
}

fn grown(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    node: &Node,
) -> Option<Observation> {
    let Value::Table(table) = &node.value else {
        reader
            .error(node.span, "`grown` of a hatchling must be its later calls")
            .help("write `grown = { looks = [\"…\"] }`, or leave it away");
        return None;
    };
    let fields = Fields::new(reader, format, &GROWN, table);
    Some(observation(reader, words, format, fields))
}
