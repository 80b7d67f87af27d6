//! Calls: `looks`, `either` and `unread`, wherever they stand.

use super::Format;
use super::fields::{ALTERNATIVE, Fields};
use super::reader::{Reader, short};
use super::tree::{Entry, Node, Span, Value};
use super::vocabulary::Vocabulary;
use crate::records::{Alternative, Call, GeneId, Hidden, Look, Mask, Observation};

/// Reads what was seen at one time.
pub(super) fn observation(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    fields: Fields,
) -> Observation {
    let (looks, either) = (fields.entry("looks"), fields.entry("either"));
    if let (Some(looks), Some(either)) = (looks, either) {
        let place = reader.place(looks.key_span);
        reader
            .error(either.key_span, "a call has either `looks` or `either`")
            .help("put the sure looks into each `either` entry")
            .related(place, "`looks` stands here");
    }
    let call = match (looks, either) {
        (Some(entry), _) => match call_looks(reader, words, &entry.node) {
            Some(looks) => Call::Looks(looks),
            None => Call::NotRecorded,
        },
        (None, Some(entry)) => alternatives(reader, words, format, entry),
        (None, None) => Call::NotRecorded,
    };
    let unread_entry = fields.entry("unread");
    let unread = unread_entry.map(|entry| unread(reader, words, &call, entry)).unwrap_or_default();
    if let Some(entry) = looks.or(either) {
        notice_masked(reader, words, &call, entry.node.span);
    }
    let place = looks.or(either).or(unread_entry).map(|entry| reader.place(entry.node.span));
    Observation { call, unread, place }
}

/// The looks of a list; `None` when nothing was recorded or the value cannot be read.
fn call_looks(reader: &mut Reader, words: &Vocabulary, node: &Node) -> Option<Vec<Look>> {
    if let Value::Text(text) = &node.value
        && text.trim() == "unknown"
    {
        return None;
    }
    let texts = reader.texts("looks", node)?;
    let mut looks = Vec::new();
    let others = texts.len() > 1;
    for (text, span) in texts {
        if text == "normal" {
            if others {
                reader
                    .error(span, "`normal` stands beside another entry")
                    .help("an animal that shows nothing is `looks = [\"normal\"]`");
            }
            continue;
        }
        for look in words.look(reader, text, span).unwrap_or_default() {
            add_look(reader, words, &mut looks, *look, span);
        }
    }
    Some(looks)
}

/// Adds a look to those of one animal; reports a second look of one gene.
pub(super) fn add_look(
    reader: &mut Reader,
    words: &Vocabulary,
    looks: &mut Vec<Look>,
    look: Look,
    span: Span,
) -> bool {
    let Some(other) = looks.iter().find(|other| other.gene == look.gene) else {
        looks.push(look);
        return true;
    };
    let name = short(words.look_name(look));
    if *other == look {
        reader.error(span, format!("the look `{name}` is named twice"));
    } else {
        let gene = short(&words.genes[look.gene.0].name);
        let message = format!(
            "`{}` and `{name}` are both looks of the gene `{gene}`",
            short(words.look_name(*other))
        );
        reader
            .error(span, message)
            .help("an animal shows one look of a gene; write `either` when it is uncertain");
    }
    false
}

fn alternatives(reader: &mut Reader, words: &Vocabulary, format: Format, entry: &Entry) -> Call {
    let Some(list) = reader.list("either", &entry.node) else { return Call::NotRecorded };
    let mut found: Vec<Alternative> = Vec::new();
    let before = reader.errors.len();
    for node in list {
        let Some(alternative) = alternative(reader, words, format, node) else { continue };
        if found.iter().any(|other| same_looks(&other.looks, &alternative.looks)) {
            reader
                .error(node.span, "two entries of `either` are the same identity")
                .help("join them and add up their `fit`");
        }
        found.push(alternative);
    }
    if list.is_empty() {
        reader.error(entry.node.span, "`either` is empty").help("list the identities it may have");
    } else if reader.errors.len() == before && found.iter().all(|one| one.fit <= 0.0) {
        reader.error(entry.node.span, "every `fit` is zero").help("at least one must be above 0");
    } else if !found.iter().map(|one| one.fit).sum::<f64>().is_finite() {
        reader
            .error(entry.node.span, "the numbers of `fit` are too large")
            .help("only their ratios matter");
    }
    if found.is_empty() { Call::NotRecorded } else { Call::Either(found) }
}

fn alternative(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    node: &Node,
) -> Option<Alternative> {
    let table = reader.table("either", node)?;
    let fields = Fields::new(reader, format, &ALTERNATIVE, table);
    let looks = match fields.get("looks") {
        Some(node) => call_looks(reader, words, node),
        None => {
            reader
                .error(node.span, "an `either` entry needs `looks`")
                .help("an identity that shows nothing is `looks = [\"normal\"]`");
            None
        }
    };
    let fit = match fields.get("fit") {
        Some(node) => reader.amount("fit", node),
        None => {
            reader
                .error(node.span, "an `either` entry needs `fit`")
                .help("how usual is this look among animals of that identity, as in `fit = 0.7`");
            None
        }
    };
    Some(Alternative { looks: looks?, fit: fit? })
}

fn same_looks(one: &[Look], other: &[Look]) -> bool {
    one.len() == other.len() && one.iter().all(|look| other.contains(look))
}

/// The looks that a call names, in any of its alternatives.
pub(super) fn named(call: &Call) -> impl Iterator<Item = Look> + '_ {
    let alternatives: &[Alternative] = match call {
        Call::Either(alternatives) => alternatives,
        _ => &[],
    };
    let looks: &[Look] = match call {
        Call::Looks(looks) => looks,
        _ => &[],
    };
    looks.iter().chain(alternatives.iter().flat_map(|one| &one.looks)).copied()
}

fn unread(reader: &mut Reader, words: &Vocabulary, call: &Call, entry: &Entry) -> Vec<GeneId> {
    let mut genes = Vec::new();
    for (text, span) in reader.texts("unread", &entry.node).unwrap_or_default() {
        let Some(gene) = words.gene(reader, text, span) else { continue };
        if genes.contains(&gene) {
            reader.error(span, format!("the gene `{}` is named twice", short(text)));
            continue;
        }
        if let Some(look) = named(call).find(|look| look.gene == gene) {
            let message = format!(
                "the gene `{}` is unread, yet the look `{}` is named",
                short(text),
                short(words.look_name(look))
            );
            reader
                .error(span, message)
                .help("take it out of `unread`, or the look out of the call");
        }
        genes.push(gene);
    }
    genes
}

/// A look that a mask hides may be named all the same; it then counts as read.
fn notice_masked(reader: &mut Reader, words: &Vocabulary, call: &Call, span: Span) {
    if words.masks.is_empty() {
        return;
    }
    let mut noticed: Vec<Look> = Vec::new();
    let single;
    let calls: &[Alternative] = match call {
        Call::NotRecorded => &[],
        Call::Looks(looks) => {
            single = [Alternative { looks: looks.clone(), fit: 1.0 }];
            &single
        }
        Call::Either(alternatives) => alternatives,
    };
    for looks in calls.iter().map(|one| &one.looks) {
        let acting = |mask: &&Mask| mask.looks.iter().all(|look| looks.contains(look));
        for hidden in words.masks.iter().filter(acting).flat_map(|mask| &mask.hides) {
            let hit = looks.iter().find(|look| match hidden {
                Hidden::Gene(gene) => look.gene == *gene,
                Hidden::Look(hidden) => *look == hidden,
            });
            if let Some(look) = hit.filter(|look| !noticed.contains(look)) {
                noticed.push(*look);
                let name = short(words.look_name(*look));
                reader.notice(
                    span,
                    format!("`{name}` is named although another look hides it; it counts as read"),
                );
            }
        }
    }
}
