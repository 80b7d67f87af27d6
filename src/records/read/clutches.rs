//! `[[clutch]]`: parents, eggs, counts and selection.

use rustc_hash::FxHashSet;

use super::Format;
use super::fields::{COUNT, Fields};
use super::groups::tables;
use super::observation::observation;
use super::reader::{Reader, short};
use super::roster::{Nest, Roster};
use super::tree::{Node, Span, Value};
use super::vocabulary::Vocabulary;
use crate::records::{
    AnimalId, Candidate, Clutch, Count, Look, Parent, Sex, Siring, SiringMode, normalise,
};

/// The parents of a clutch and where they are named.
pub(super) struct Parents {
    pub dam: Parent,
    pub siring: Siring,
    /// Every known parent with the place of its name, the dam first.
    pub named: Vec<(AnimalId, Span)>,
}

/// Resolves the parents of every clutch; being one fixes an unknown sex.
pub(super) fn parents(reader: &mut Reader, roster: &mut Roster) -> Vec<Parents> {
    (0..roster.nests.len()).map(|nest| one_pair(reader, roster, nest)).collect()
}

fn one_pair(reader: &mut Reader, roster: &mut Roster, nest: usize) -> Parents {
    let fields = roster.nests[nest].fields;
    let mut named = Vec::new();
    let dam = match fields.get("dam") {
        Some(node) => dam(reader, roster, node, &mut named),
        None => {
            let span = roster.nests[nest].span;
            reader
                .error(span, "a clutch needs a `dam`")
                .help("name her, or write `dam = \"unknown\"`");
            Parent::Unknown
        }
    };
    let candidates = candidates(reader, roster, fields, &mut named);
    let modes = [("one", SiringMode::One), ("mixed", SiringMode::Mixed)];
    let mode = fields.get("siring").and_then(|node| reader.choice("siring", node, &modes));
    Parents { dam, siring: Siring { candidates, mode: mode.unwrap_or_default() }, named }
}

fn dam(
    reader: &mut Reader,
    roster: &mut Roster,
    node: &Node,
    named: &mut Vec<(AnimalId, Span)>,
) -> Parent {
    let Some(text) = reader.text("dam", node) else { return Parent::Unknown };
    if text == "unknown" {
        return Parent::Unknown;
    }
    if text == "none" {
        reader.error(node.span, "every clutch has a dam").help("write `dam = \"unknown\"`");
        return Parent::Unknown;
    }
    let Some(id) = roster.find(reader, text, node.span) else { return Parent::Unknown };
    roster.take_role(reader, id, Sex::Female, node.span);
    named.push((id, node.span));
    Parent::Known(id)
}

fn candidate(
    reader: &mut Reader,
    roster: &mut Roster,
    name: &str,
    span: Span,
    named: &mut Vec<(AnimalId, Span)>,
) -> Option<Candidate> {
    match name {
        "unknown" => Some(Candidate::Unknown),
        "none" => Some(Candidate::NoFather),
        _ => {
            let id = roster.find(reader, name, span)?;
            roster.take_role(reader, id, Sex::Male, span);
            named.push((id, span));
            Some(Candidate::Known(id))
        }
    }
}

fn candidates(
    reader: &mut Reader,
    roster: &mut Roster,
    fields: Fields,
    named: &mut Vec<(AnimalId, Span)>,
) -> Vec<(Candidate, f64)> {
    let (sire, sires) = (fields.entry("sire"), fields.entry("sires"));
    if let (Some(_), Some(sires)) = (sire, sires) {
        reader
            .error(sires.key_span, "a clutch has either `sire` or `sires`")
            .help("`sires` lists every male that may have sired it, with weights");
    }
    let unknown = vec![(Candidate::Unknown, 1.0)];
    if let Some(entry) = sires {
        return weighted(reader, roster, &entry.node, named).unwrap_or(unknown);
    }
    let Some(entry) = sire else { return unknown };
    let Some(text) = reader.text("sire", &entry.node) else { return unknown };
    let found = candidate(reader, roster, text, entry.node.span, named);
    vec![(found.unwrap_or(Candidate::Unknown), 1.0)]
}

fn weighted(
    reader: &mut Reader,
    roster: &mut Roster,
    node: &Node,
    named: &mut Vec<(AnimalId, Span)>,
) -> Option<Vec<(Candidate, f64)>> {
    let Value::Table(table) = &node.value else {
        reader
            .error(node.span, format!("`sires` must be a table of weights, not {}", node.kind()))
            .help("write `sires = { NAME = 0.8, OTHER = 0.2 }`");
        return None;
    };
    let before = reader.errors.len();
    let mut seen = FxHashSet::default();
    let mut candidates = Vec::new();
    for entry in &table.entries {
        let name = normalise(&entry.key);
        if !seen.insert(name.clone()) {
            reader.error(entry.key_span, format!("the sire `{}` is named twice", short(&name)));
        }
        let weight = reader.amount(&short(&name), &entry.node);
        let found = candidate(reader, roster, &name, entry.key_span, named);
        candidates.extend(found.zip(weight));
    }
    let sum: f64 = candidates.iter().map(|(_, weight)| weight).sum();
    if reader.errors.len() > before {
        return None;
    }
    if table.entries.is_empty() {
        reader
            .error(node.span, "`sires` names nobody")
            .help("leave it away when the sire is unknown");
        return None;
    }
    if sum <= 0.0 || !sum.is_finite() {
        reader
            .error(node.span, "the weights of the sires do not sum to a positive number")
            .help("at least one must be above 0");
        return None;
    }
    Some(candidates.into_iter().map(|(candidate, weight)| (candidate, weight / sum)).collect())
}

/// Reads the contents of a clutch whose parents are known.
pub(super) fn clutch(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    nest: &Nest,
    parents: &Parents,
) -> Clutch {
    let fields = nest.fields;
    let mut count = |key: &str| match fields.get(key) {
        Some(Node { value: Value::Text(text), .. }) if text.trim() == "unknown" => None,
        Some(node) => reader.count(key, node),
        None => None,
    };
    let (eggs, slugs, died) = (count("eggs"), count("slugs"), count("died"));
    let complete = fields.get("complete").and_then(|node| reader.flag("complete", node));
    let recorded_only = selection(reader, words, fields, "recorded_only");
    let kept_if = selection(reader, words, fields, "kept_if");
    let note = fields.get("note").and_then(|node| reader.text("note", node));
    Clutch {
        id: nest.id.clone(),
        place: reader.place(nest.span),
        dam: parents.dam,
        siring: parents.siring.clone(),
        laid: nest.laid,
        hatched: nest.hatched,
        eggs,
        slugs,
        died,
        complete: complete.unwrap_or(true),
        hatchlings: nest.hatchlings.clone(),
        counts: counts(reader, words, format, fields),
        recorded_only,
        kept_if,
        note: note.map(str::to_string),
    }
}

fn counts(reader: &mut Reader, words: &Vocabulary, format: Format, fields: Fields) -> Vec<Count> {
    let mut counts = Vec::new();
    for (table, span) in tables(reader, "count", "clutch.count", fields.get("count")) {
        let fields = Fields::new(reader, format, &COUNT, table);
        let seen = observation(reader, words, format, fields);
        let number = match fields.get("number") {
            Some(node) => number(reader, node),
            None => {
                reader
                    .error(span, "a count needs a `number`")
                    .help("write `number = 3`, or \"1.2.0\" for males, females and unsexed");
                None
            }
        };
        counts.push(Count { seen, number: number.unwrap_or_default(), place: reader.place(span) });
    }
    counts
}

/// `3`, or `"1.2.0"`: males, females and unsexed.
fn number(reader: &mut Reader, node: &Node) -> Option<[u32; 3]> {
    const HELP: &str = "write 3, or \"1.2.0\" in quotes for males, females and unsexed";
    match &node.value {
        Value::Text(text) => {
            let whole = |part: &str| part.trim().parse::<u32>().ok().filter(|n| *n <= 1_000_000);
            let parts: Option<Vec<u32>> = text.split('.').map(whole).collect();
            let parsed = parts.and_then(|parts| <[u32; 3]>::try_from(parts).ok());
            if parsed.is_none() {
                reader
                    .error(node.span, format!("`{}` is not a count of young", short(text)))
                    .help(HELP);
            }
            parsed
        }
        Value::Number(..) => reader.count("number", node).map(|unsexed| [0, 0, unsexed]),
        _ => {
            reader
                .error(node.span, format!("`number` must be a count, not {}", node.kind()))
                .help(HELP);
            None
        }
    }
}

/// The looks of `recorded_only` or `kept_if`.
fn selection(reader: &mut Reader, words: &Vocabulary, fields: Fields, key: &str) -> Vec<Look> {
    let Some(entry) = fields.entry(key) else { return Vec::new() };
    let mut looks = Vec::new();
    let Some(texts) = reader.texts(key, &entry.node) else { return looks };
    if texts.is_empty() {
        reader.error(entry.node.span, format!("`{key}` names no look")).help("leave it away");
    }
    for (text, span) in texts {
        match words.look(reader, text, span) {
            Some([look]) if looks.contains(look) => {
                reader.error(span, format!("the look `{}` is named twice", short(text)));
            }
            Some([look]) => looks.push(*look),
            Some(_) => {
                reader
                    .error(
                        span,
                        format!("`{key}` takes single looks, and `{}` is several", short(text)),
                    )
                    .help("name the look that decided");
            }
            None => {}
        }
    }
    looks
}
