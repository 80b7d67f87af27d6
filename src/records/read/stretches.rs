//! Large TOML files: stretches that can be parsed at the same time.

use super::tree::{Entry, Node, Table, Value};

/// Stretches are not shorter than this many bytes.
const SHORTEST: usize = 1 << 18;

/// More stretches than this save neither time nor room.
const MOST: usize = 64;

/// Where a stretch can begin: at a line that begins an animal or a clutch.
const BEGINNINGS: [&str; 2] = ["\n[[clutch]]", "\n[[animal]]"];

/// Where the text may be cut: offsets at which a line begins a new animal or clutch.
///
/// Such a line may stand within a text of several lines; then the stretch before it does not parse.
pub(super) fn cuts(text: &str) -> Vec<usize> {
    let number = (text.len() / SHORTEST).min(MOST);
    let mut cuts: Vec<usize> = Vec::new();
    for at in 1..number {
        let wanted = text.len() / number * at;
        let mut from = wanted.max(cuts.last().copied().unwrap_or(0));
        while !text.is_char_boundary(from) {
            from += 1;
        }
        let next = BEGINNINGS.iter().filter_map(|begin| text[from..].find(begin)).min();
        match next {
            Some(next) => cuts.push(from + next + 1),
            None => break,
        }
    }
    cuts
}

/// The stretches as one table, where that is the same as reading the whole text at once.
///
/// A list that goes on must have been begun by a heading, `[[…]]`: one that was written out cannot be
/// added to, and a table cannot be opened twice; the notation forbids both.
pub(super) fn joined<'t>(text: &str, stretches: Vec<Table<'t>>) -> Option<Table<'t>> {
    let mut all = Table::default();
    for stretch in stretches {
        for entry in stretch.entries {
            match all.entries.iter_mut().find(|known| known.key == entry.key) {
                None => all.entries.push(entry),
                Some(known) => add(text, known, entry)?,
            }
        }
    }
    Some(all)
}

fn add<'t>(text: &str, known: &mut Entry<'t>, more: Entry<'t>) -> Option<()> {
    if !(by_headings(text, &known.node) && by_headings(text, &more.node)) {
        return None;
    }
    match (&mut known.node.value, more.node.value) {
        (Value::List(list), Value::List(more)) => list.extend(more),
        _ => return None,
    }
    Some(())
}

/// Whether a list stands as headings; its place is then that of the first one.
fn by_headings(text: &str, node: &Node) -> bool {
    let before = text.get(..node.span.start).unwrap_or("");
    let line = before.rfind('\n').map_or(before, |newline| &before[newline + 1..]);
    matches!(node.value, Value::List(_)) && line.trim().is_empty()
}
