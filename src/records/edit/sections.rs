//! Tables with headings: one added, one taken away.

use super::Entry;
use super::layout::{BlockId, Enclosed, Layout};
use super::style::{self, Style};
use super::text::{Splice, blank_at, blanks_above, line_end, line_start, remark_at, remarks_above};
use super::tree::{Holds, Step};
use super::work::{Parsed, Work};

/// Tables of the file in the order in which they are best read.
const ORDER: [&str; 7] = ["assume", "gene", "linkage", "combination", "mask", "animal", "clutch"];

/// Blocks that belong to one another, taken away with everything between them.
///
/// Each run of headings goes from its first line to its last key. Of the blank lines around it
/// those below go, unless none are above.
pub(super) fn removed(text: &str, layout: &Layout, headings: &[BlockId]) -> Vec<Splice> {
    let all: Vec<BlockId> = layout.headings().collect();
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (at, block) in all.iter().enumerate() {
        if !headings.contains(block) {
            continue;
        }
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == at => *last = at,
            _ => runs.push((at, at)),
        }
    }
    let stretch = |(first, last): (usize, usize)| {
        let mut start = heading(layout, all[first]).map_or(0, |at| line_start(text, at.start));
        let mut end = end_of(text, layout, all[last]);
        if start == 0 || blanks_above(text, start) > 0 {
            while blank_at(text, end) {
                end = line_end(text, end);
            }
        }
        while end == text.len() && blanks_above(text, start) > 0 {
            start = line_start(text, start - 1);
        }
        (start..end, String::new())
    };
    runs.into_iter().map(stretch).collect()
}

fn heading(layout: &Layout, block: BlockId) -> Option<&std::ops::Range<usize>> {
    match &layout.blocks[block].enclosed {
        Enclosed::Heading { at, .. } => Some(at),
        _ => None,
    }
}

/// The offset behind the last line of a block: of its last key, or of its heading.
fn end_of(text: &str, layout: &Layout, block: BlockId) -> usize {
    let last = layout.blocks[block].items.last().map(|item| item.value.end);
    let at = last.or_else(|| heading(layout, block).map(|at| at.end));
    at.map_or(0, |at| line_end(text, at))
}

/// Where something new can stand behind a block: below the remarks right under its last line,
/// unless they lead to the next heading.
fn behind(text: &str, layout: &Layout, block: BlockId) -> usize {
    let end = end_of(text, layout, block);
    let mut at = end;
    while remark_at(text, at) {
        at = line_end(text, at);
    }
    if at == text.len() || blank_at(text, at) { at } else { end }
}

/// Where something new can stand above the first heading.
fn above_headings(text: &str, layout: &Layout) -> usize {
    if !layout.blocks[0].items.is_empty() {
        return behind(text, layout, 0);
    }
    let Some(first) = layout.headings().next() else { return text.len() };
    let line = heading(layout, first).map_or(0, |at| line_start(text, at.start));
    match remarks_above(text, line) {
        // Remarks that open the file are its own.
        0 => line,
        above => above,
    }
}

/// The first key of the file that stands above all headings.
pub(super) fn first_top_key(work: &Work, layout: &Layout, line: &str) -> Vec<Splice> {
    let at = above_headings(&work.text, layout);
    let more = at < work.text.len() && !blank_at(&work.text, at);
    vec![(at..at, if more { format!("{line}{}", work.end) } else { line.to_string() })]
}

/// A heading with its keys as text, set apart by blank lines from what stands around it.
fn set_apart(work: &Work, at: usize, blanks: usize, section: String) -> Splice {
    let text = &work.text;
    let above = if at == 0 { blanks } else { blanks_above(text, at) };
    let before = work.end.repeat(blanks.saturating_sub(above));
    let below = blanks > 0 && at < text.len() && !blank_at(text, at);
    (at..at, format!("{before}{section}{}", if below { work.end } else { "" }))
}

/// A heading with these keys; young among the fields get headings of their own.
fn section(work: &Work, heading: &str, style: &Style, fields: &[(String, Entry)]) -> String {
    let Work { end, .. } = work;
    let inner = heading.trim_start_matches('[').trim_end_matches(']').trim();
    let young = |(key, entry): &&(String, Entry)| {
        let tables = |all: &[Entry]| all.iter().all(|one| matches!(one, Entry::Table(_)));
        let list = matches!(entry, Entry::List(all) if !all.is_empty() && tables(all));
        heading.starts_with("[[") && list && (key == "hatchling" || key == "count")
    };
    let own: Vec<&(String, Entry)> = fields.iter().filter(|field| !young(field)).collect();
    let keys: Vec<String> = own.iter().map(|(key, _)| style::key(key)).collect();
    let style = style.clone().for_keys(&keys);
    let mut written = format!("{}{heading}{end}", style.heading);
    for (key, (_, entry)) in keys.iter().zip(own) {
        written += &style.line(key, &style::long_value(entry, &style.indent, end), end);
    }
    for (key, entry) in fields.iter().filter(young) {
        let Entry::List(tables) = entry else { continue };
        for table in tables {
            let Entry::Table(fields) = table else { continue };
            written += end;
            written += &section(work, &format!("[[{inner}.{key}]]"), &style, fields);
        }
    }
    written
}

/// The path of a table as a heading writes it.
fn dotted(path: &[Step]) -> String {
    let keys = path.iter().filter_map(|step| match step {
        Step::Key(key) => Some(style::key(key)),
        Step::At(_) => None,
    });
    keys.collect::<Vec<_>>().join(".")
}

/// A heading for a table of which only tables inside it have headings, above the first of them.
pub(super) fn heading_above(
    work: &Work,
    layout: &Layout,
    first: BlockId,
    path: &[Step],
    fields: &[(String, &Entry)],
) -> Option<Vec<Splice>> {
    let at = heading(layout, first)?.start;
    let style = Style::of(&work.text, layout, first);
    let mut written = format!("{}[{}]{}", style.heading, dotted(path), work.end);
    let keys: Vec<String> = fields.iter().map(|(key, _)| key.clone()).collect();
    let style = style.for_keys(&keys);
    for (key, entry) in fields {
        written += &style.line(key, &style::value(entry), work.end);
    }
    let at = remarks_above(&work.text, line_start(&work.text, at));
    Some(vec![set_apart(work, at, if fields.is_empty() { 0 } else { 1 }, written)])
}

/// A table of a list that is written with headings, as number `index`.
pub(super) fn element(
    work: &Work,
    parsed: &Parsed,
    list: &[Step],
    index: usize,
    fields: &[(String, Entry)],
) -> Option<Vec<Splice>> {
    let Parsed { layout, tree, .. } = parsed;
    let text = &work.text;
    let Holds::List(elements) = &tree.find(list)?.holds else { return None };
    let beside = elements.get(index.saturating_sub(1))?;
    let beside = tree.node(*beside);
    let model = beside.block?;
    let at = heading(layout, model)?;
    let written = section(work, &text[at.clone()], &Style::of(text, layout, model), fields);
    let above = remarks_above(text, line_start(text, at.start));
    let blanks = if above == 0 { 1 } else { blanks_above(text, above) };
    let place = match index {
        0 => line_start(text, at.start),
        _ => behind(text, layout, *beside.headings.last()?),
    };
    Some(vec![set_apart(work, place, blanks, written)])
}

/// The first table of a list inside a table with a heading, as `[[clutch.hatchling]]`.
pub(super) fn first_inside(
    work: &Work,
    parsed: &Parsed,
    owner: &[Step],
    key: &str,
    fields: &[(String, Entry)],
) -> Option<Vec<Splice>> {
    let node = parsed.tree.find(owner)?;
    let style = Style::of(&work.text, &parsed.layout, node.block?);
    let heading = format!("[[{}.{}]]", dotted(owner), style::key(key));
    let written = section(work, &heading, &style, fields);
    let place = behind(&work.text, &parsed.layout, *node.headings.last()?);
    Some(vec![set_apart(work, place, 1, written)])
}

/// A table of the file itself, such as `[assume]`, `[gene.x]` or the first `[[animal]]`.
///
/// It stands behind the last table of its kind, else behind those that are read before it, else
/// above all headings.
pub(super) fn table(
    work: &Work,
    parsed: &Parsed,
    heading_text: &str,
    kind: &str,
    fields: &[(String, Entry)],
) -> Vec<Splice> {
    let Parsed { layout, .. } = parsed;
    let text = &work.text;
    let rank = |name: &str| ORDER.iter().position(|kind| *kind == name);
    let of = |block: &BlockId| match &layout.blocks[*block].enclosed {
        Enclosed::Heading { keys, .. } => keys.first().and_then(|key| rank(&key.name)),
        _ => None,
    };
    let before =
        layout.headings().filter(|block| of(block).is_some_and(|at| Some(at) <= rank(kind)));
    let last = before.last();
    let model = layout.headings().filter(|block| of(block) == rank(kind)).last();
    let model = model.or_else(|| layout.headings().next()).unwrap_or(0);
    let blanks = match heading(layout, model).map(|at| line_start(text, at.start)) {
        Some(line) if remarks_above(text, line) > 0 => {
            blanks_above(text, remarks_above(text, line))
        }
        _ => 1,
    };
    let style = Style::of(text, layout, model);
    let written = section(work, heading_text, &style, fields);
    let place = match last {
        Some(block) => behind(text, layout, block),
        None => above_headings(text, layout),
    };
    vec![set_apart(work, place, blanks, written)]
}
