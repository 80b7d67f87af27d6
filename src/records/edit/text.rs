//! A text with its lines, and stretches of it replaced.

use std::ops::Range;

/// A stretch of a text and what is to stand there instead.
pub(super) type Splice = (Range<usize>, String);

/// The text with stretches replaced that do not overlap; `None` when they do.
pub(super) fn spliced(text: &str, mut splices: Vec<Splice>) -> Option<String> {
    splices.sort_by_key(|(range, _)| (range.start, range.end));
    let mut written = String::with_capacity(text.len());
    let mut at = 0;
    for (range, with) in splices {
        written += text.get(at..range.start)?;
        written += &with;
        at = range.end;
    }
    written += text.get(at..)?;
    Some(written)
}

/// The offset where the line of `at` begins.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |newline| newline + 1)
}

/// The offset behind the line of `at`, its line end included.
pub(super) fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |newline| at + newline + 1)
}

/// What stands before `at` on its line, if that is spacing only.
pub(super) fn indent(text: &str, at: usize) -> Option<&str> {
    let before = &text[line_start(text, at)..at];
    is_space(before).then_some(before)
}

/// Whether there is nothing but spaces and tabs.
pub(super) fn is_space(text: &str) -> bool {
    text.bytes().all(|byte| byte == b' ' || byte == b'\t')
}

/// How many bytes of spaces and tabs a text begins with.
pub(super) fn leading_space(text: &str) -> usize {
    text.len() - text.trim_start_matches([' ', '\t']).len()
}

/// How many bytes of spaces and tabs a text ends with.
pub(super) fn trailing_space(text: &str) -> usize {
    text.len() - text.trim_end_matches([' ', '\t']).len()
}

/// The line that begins at `at`, without its line end; `None` behind the last one.
pub(super) fn line(text: &str, at: usize) -> Option<&str> {
    (at < text.len()).then(|| text[at..line_end(text, at)].trim_end_matches(['\n', '\r']))
}

/// Whether there is a line at `at`, and it is blank.
pub(super) fn blank_at(text: &str, at: usize) -> bool {
    line(text, at).is_some_and(is_space)
}

/// Whether there is a line at `at` that is nothing but a remark.
pub(super) fn remark_at(text: &str, at: usize) -> bool {
    line(text, at).is_some_and(|line| line.trim_start_matches([' ', '\t']).starts_with('#'))
}

/// The offset of the first of the remark lines that stand right above the line beginning at `at`.
pub(super) fn remarks_above(text: &str, mut at: usize) -> usize {
    while at > 0 && remark_at(text, line_start(text, at - 1)) {
        at = line_start(text, at - 1);
    }
    at
}

/// How many blank lines stand right above the line beginning at `at`.
pub(super) fn blanks_above(text: &str, mut at: usize) -> usize {
    let mut blanks = 0;
    while at > 0 && blank_at(text, line_start(text, at - 1)) {
        at = line_start(text, at - 1);
        blanks += 1;
    }
    blanks
}
