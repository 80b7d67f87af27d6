//! Items between braces or brackets: one added, one taken away.

use super::layout::{Block, Enclosed};
use super::text::{Splice, indent, is_space, leading_space, line_end, line_start, trailing_space};

/// Adds an item as number `index`, written as `item`.
///
/// It gets a line of its own where its neighbour has one, and a comma behind it where the last
/// item has one.
pub(super) fn inserted(
    text: &str,
    end: &str,
    block: &Block,
    index: usize,
    item: &str,
) -> Vec<Splice> {
    let Some(before) = index.checked_sub(1).and_then(|before| block.items.get(before)) else {
        return first(text, end, block, item);
    };
    let span = before.span();
    let behind = before.comma.filter(|comma| is_space(&text[span.end..*comma]));
    // A comma that comes later than that is left alone.
    let own_line = (before.comma == behind)
        .then(|| indent(text, span.start))
        .flatten()
        .filter(|_| rest_is_remark(text, behind.map_or(span.end, |comma| comma + 1)));
    let Some(space) = own_line else {
        return vec![(span.end..span.end, format!(", {item}"))];
    };
    let next_line = line_end(text, span.end);
    match behind {
        Some(_) => vec![(next_line..next_line, format!("{space}{item},{end}"))],
        None => vec![
            (span.end..span.end, ",".to_string()),
            (next_line..next_line, format!("{space}{item}{end}")),
        ],
    }
}

fn first(text: &str, end: &str, block: &Block, item: &str) -> Vec<Splice> {
    if let Some(next) = block.items.first() {
        let at = next.span().start;
        return match indent(text, at) {
            Some(space) => {
                vec![(at - space.len()..at - space.len(), format!("{space}{item},{end}"))]
            }
            None => vec![(at..at, format!("{item}, "))],
        };
    }
    let (open, close, space) = match block.enclosed {
        Enclosed::Braces { open, close } => (open, close, " "),
        Enclosed::Brackets { open, close } => (open, close, ""),
        Enclosed::Top | Enclosed::Heading { .. } => return Vec::new(),
    };
    match indent(text, close) {
        Some(closing) if text[open..close].contains('\n') => {
            let at = line_start(text, close);
            vec![(at..at, format!("{closing}  {item}{end}"))]
        }
        _ => vec![(open + 1..close, format!("{space}{item}{space}"))],
    }
}

/// Whether nothing but a remark follows on the line.
fn rest_is_remark(text: &str, at: usize) -> bool {
    let rest = text[at..line_end(text, at)].trim_start_matches([' ', '\t']);
    rest.starts_with(['#', '\n', '\r'])
}

/// Takes item number `index` away.
///
/// An item with lines of its own takes them along, with the remark beside it; remarks on lines of
/// their own stay, and so does what else shares a line with the item.
pub(super) fn removed(text: &str, block: &Block, index: usize) -> Vec<Splice> {
    let Some(item) = block.items.get(index) else { return Vec::new() };
    let span = item.span();
    let before = index.checked_sub(1).and_then(|before| block.items[before].comma);
    let behind = item.comma.filter(|comma| is_space(&text[span.end..*comma]));
    let last = item.comma.is_none();
    let nothing = String::new;
    if let Some(space) = indent(text, span.start)
        && item.comma == behind
        && rest_is_remark(text, behind.map_or(span.end, |comma| comma + 1))
    {
        let lines = span.start - space.len()..line_end(text, span.end);
        let mut splices = vec![(lines, nothing())];
        splices.extend(before.filter(|_| last).map(|comma| (comma..comma + 1, nothing())));
        return splices;
    }
    if let Some(comma) = item.comma {
        let mut until = comma + 1;
        match block.items.get(index + 1) {
            Some(next) if is_space(&text[until..next.span().start]) => until = next.span().start,
            _ => {}
        }
        let from = if block.items.len() == index + 1 {
            span.start - trailing_space(&text[..span.start])
        } else {
            span.start
        };
        return match behind {
            Some(_) => vec![(from..until, nothing())],
            None => vec![(from..span.end, nothing()), (comma..until, nothing())],
        };
    }
    match before {
        Some(comma) if is_space(&text[comma + 1..span.start]) => vec![(comma..span.end, nothing())],
        Some(comma) => vec![(comma..comma + 1, nothing()), (span, nothing())],
        None => alone(text, block, span),
    }
}

/// Takes the only item away, with the spacing around it.
fn alone(text: &str, block: &Block, span: std::ops::Range<usize>) -> Vec<Splice> {
    let (Enclosed::Braces { open, close } | Enclosed::Brackets { open, close }) = block.enclosed
    else {
        return Vec::new();
    };
    let around =
        text[open + 1..span.start].trim().is_empty() && text[span.end..close].trim().is_empty();
    let range = if around {
        open + 1..close
    } else {
        span.start..span.end + leading_space(&text[span.end..close])
    };
    vec![(range, String::new())]
}
