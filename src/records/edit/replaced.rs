//! Whole lines replaced, in any text.

use super::CannotChange;

/// The line end that most lines of a text have.
pub(super) fn line_end(text: &str) -> &'static str {
    let carriage = text.matches("\r\n").count();
    if 2 * carriage > text.matches('\n').count() { "\r\n" } else { "\n" }
}

/// The text with the lines `first..=last` replaced; lines count from 1.
pub(super) fn lines(
    text: &str,
    first: usize,
    last: usize,
    was: &str,
    with: &str,
) -> Result<String, CannotChange> {
    let end = line_end(text);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let gone = || CannotChange::LinesChanged { now: String::new() };
    let from = first.checked_sub(1).ok_or_else(gone)?;
    if last < from || last > lines.len() {
        return Err(gone());
    }
    let (before, rest) = lines.split_at(from);
    let (now, after) = rest.split_at(last - from);
    let now = now.concat();
    if plain(&now) != plain(was) {
        return Err(CannotChange::LinesChanged { now: plain(&now) });
    }
    let mut written = before.concat();
    if !with.is_empty() {
        if !written.is_empty() && !written.ends_with('\n') {
            written += end;
        }
        written += &plain(with).replace('\n', end);
        written += end;
    }
    written += &after.concat();
    // A final line end is as it was.
    if !text.is_empty() && !text.ends_with('\n') && written.ends_with('\n') {
        written.truncate(written.trim_end_matches('\n').len().max(written.len() - 1));
        if written.ends_with('\r') {
            written.pop();
        }
    }
    Ok(written)
}

/// Lines as they are compared: `\n` between them and none behind the last.
fn plain(text: &str) -> String {
    let text = text.replace("\r\n", "\n");
    text.strip_suffix('\n').map(str::to_owned).unwrap_or(text)
}
