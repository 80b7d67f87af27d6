//! What an import says: how much went in, which rows did not and why, what is to be checked.

use super::check_text::{plural, wrapped};
use crate::records::sheet::{Added, Encoding, Outcome, Question, Report, Sheet};

/// What became of the records file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// It has everything new.
    Yes,
    /// It has what was understood; rows were left out.
    Partly,
    /// It was only tried.
    Tried,
    /// Rows were left out, and nothing was written because of them.
    No,
    /// There is nothing new.
    Nothing,
}

/// What an import came to.
pub fn import_text(sheet: &str, file: &str, outcome: &Outcome, written: Written) -> String {
    let mut text = wrapped(0, 2, &head(sheet, file, outcome, written));
    let (wrong, waiting): (Vec<&Report>, Vec<&Report>) =
        outcome.reports.iter().partition(|report| !report.troubles.is_empty());
    if !wrong.is_empty() {
        text += &format!("\nRows to look at ({})\n", wrong.len());
        for report in &wrong {
            text += &one_row(report);
        }
    }
    if !waiting.is_empty() {
        text += &format!(
            "\nRows that wait for them ({}): a clutch goes in whole, and after its parents\n",
            waiting.len()
        );
        text += &waits(&waiting);
    }
    let also = also(outcome);
    if !also.is_empty() {
        text.push('\n');
        text += &also;
    }
    text + &next(outcome, written)
}

fn head(sheet: &str, file: &str, outcome: &Outcome, written: Written) -> String {
    let rows = plural(outcome.rows, "row", "rows");
    let added = added(&outcome.added);
    let left = match outcome.reports.len() {
        0 => String::new(),
        number => format!("; {} left out", plural(number, "row", "rows")),
    };
    let reports = plural(outcome.reports.len(), "row", "rows");
    let has = if outcome.new_file {
        format!("{file} is made, with {added}")
    } else {
        format!("{file} now has {added} more")
    };
    match written {
        Written::Yes | Written::Partly => format!("{sheet}: {rows}. {has}{left}."),
        Written::Tried => {
            format!("{sheet}: {rows}. Tried only, nothing is written: {added}{left}.")
        }
        Written::No if outcome.text.is_none() => format!(
            "{sheet}: {rows}. Nothing is written: {reports} cannot go in, and no other is new."
        ),
        Written::No => format!(
            "{sheet}: {rows}. Nothing is written, because {reports} cannot go in; the others would \
             bring {added}."
        ),
        Written::Nothing => format!("{sheet}: {rows}. Nothing new: {file} stays as it is."),
    }
}

fn added(added: &Added) -> String {
    let mut parts = Vec::new();
    let mut part = |number: usize, one: &str, many: &str| {
        if number > 0 {
            parts.push(plural(number, one, many));
        }
    };
    part(added.genes, "gene", "genes");
    part(added.animals, "animal that came in", "animals that came in");
    part(added.clutches, "clutch", "clutches");
    part(added.hatchlings, "hatchling told apart", "hatchlings told apart");
    part(added.counted, "young only counted", "young only counted");
    part(added.filled, "missing fact filled in", "missing facts filled in");
    match parts.as_slice() {
        [] => "nothing new".to_string(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn one_row(report: &Report) -> String {
    let number = format!("  row {:<5}", report.row);
    let mut text = String::new();
    for (at, trouble) in report.troubles.iter().enumerate() {
        let lead = if at == 0 { number.as_str() } else { "           " };
        let mark = if trouble.reason.ends_with('?') { "" } else { ";" };
        let help = trouble.help.as_ref().map_or(String::new(), |help| format!("{mark} {help}"));
        let sentence = format!("{}{help}", trouble.reason).replace('\n', " ");
        let lines = wrapped(11, 11, &sentence);
        text += &lines.replacen("           ", lead, 1);
    }
    // A cell may hold signs that a terminal would obey.
    let text = text.replace(|sign: char| sign.is_control() && sign != '\n', " ");
    let row = report.text.replace(char::is_control, " ");
    text + &format!("           > {}\n", shortened(&row))
}

fn shortened(text: &str) -> String {
    if text.chars().count() <= 84 {
        return text.to_string();
    }
    text.chars().take(83).chain(['…']).collect()
}

/// The rows that wait, those with the same reason together.
fn waits(waiting: &[&Report]) -> String {
    let mut reasons: Vec<(&str, Vec<usize>)> = Vec::new();
    for report in waiting {
        match reasons.iter_mut().find(|(reason, _)| *reason == report.waits) {
            Some((_, rows)) => rows.push(report.row),
            None => reasons.push((&report.waits, vec![report.row])),
        }
    }
    let line =
        |(reason, rows): &(&str, Vec<usize>)| wrapped(2, 6, &format!("{}: {reason}", ranges(rows)));
    reasons.iter().map(line).collect()
}

/// `row 3`, `rows 4 to 7, 9`.
fn ranges(rows: &[usize]) -> String {
    let mut parts: Vec<(usize, usize)> = Vec::new();
    for row in rows {
        match parts.last_mut() {
            Some((_, last)) if *last + 1 == *row => *last = *row,
            _ => parts.push((*row, *row)),
        }
    }
    let word = |(first, last): &(usize, usize)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first} to {last}"),
    };
    let words: Vec<String> = parts.iter().map(word).collect();
    format!("{} {}", if rows.len() == 1 { "row" } else { "rows" }, words.join(", "))
}

fn also(outcome: &Outcome) -> String {
    let mut text = String::new();
    if outcome.known > 0 {
        let known = plural(outcome.known, "row says", "rows say");
        text += &wrapped(0, 2, &format!("{known} only what the file has already."));
    }
    if !outcome.repeated.is_empty() {
        let rows = ranges(&outcome.repeated);
        let verb = if outcome.repeated.len() == 1 { "repeats" } else { "repeat" };
        let count = if outcome.repeated.len() == 1 { "counts" } else { "count" };
        let rows = rows.replacen("row", "Row", 1);
        let sentence = format!("{rows} {verb} another row word for word and {count} once.");
        text += &wrapped(0, 2, &sentence);
    }
    text
}

fn next(outcome: &Outcome, written: Written) -> String {
    let sentence = match written {
        Written::Yes | Written::Nothing | Written::Tried => return String::new(),
        Written::Partly => {
            "Correct the rows above and import again: only what is new is added.".to_string()
        }
        Written::No if outcome.text.is_some() => {
            "Correct the rows above and import again, or add --partial to write the others now."
                .to_string()
        }
        Written::No => "Correct the rows above and import again.".to_string(),
    };
    format!("\n{}", wrapped(0, 2, &sentence))
}

/// That a first mapping was written, and what to check in it.
pub fn proposed_text(sheet: &Sheet, name: &str, mapping: &str, questions: &[Question]) -> String {
    let rows = sheet.rows.iter().filter(|row| !row.is_empty()).count();
    let separator = match sheet.separator {
        '\t' => "tabs",
        ';' => "semicolons",
        _ => "commas",
    };
    let mut text = wrapped(
        0,
        2,
        &format!(
            "{name}: {}, the headings among them, with {separator} between the cells, read as {}.",
            plural(rows, "row", "rows"),
            sheet.encoding.name()
        ),
    );
    if let Some(letters) = odd_letters(sheet) {
        text += &wrapped(0, 2, &format!("Are these letters right: {letters}?"));
    }
    text += &wrapped(
        0,
        2,
        &format!(
            "Nothing is imported yet. What its columns and words seem to mean stands in {mapping}: check every line of it."
        ),
    );
    if !questions.is_empty() {
        text += &format!("\nOnly you can answer ({})\n", questions.len());
        text += &question_lines(questions);
    }
    text + "\nThen run the same command again.\n"
}

/// Cells with letters that a wrong encoding would spoil.
fn odd_letters(sheet: &Sheet) -> Option<String> {
    if sheet.encoding != Encoding::Windows1252 {
        return None;
    }
    let cells = sheet.rows.iter().flat_map(|row| &row.cells);
    let odd = cells.filter(|cell| !cell.is_ascii());
    let words = odd.flat_map(|cell| cell.split_whitespace()).filter(|word| !word.is_ascii());
    let mut seen: Vec<&str> = Vec::new();
    for word in words.map(|word| word.trim_matches(|sign: char| !sign.is_alphanumeric())) {
        if !seen.contains(&word) {
            seen.push(word);
        }
        if seen.len() == 4 {
            break;
        }
    }
    (!seen.is_empty()).then(|| seen.join(", "))
}

/// That a mapping leaves questions.
pub fn questions_text(mapping: &str, questions: &[Question]) -> String {
    let number = plural(questions.len(), "thing", "things");
    let head = format!("Nothing is imported: {number} to settle in {mapping} first.");
    format!("{}{}", wrapped(0, 2, &head), question_lines(questions))
}

fn question_lines(questions: &[Question]) -> String {
    let line = |question: &Question| {
        let at = question.line.map_or(String::new(), |line| format!("line {line}: "));
        wrapped(2, 6, &format!("{at}{}", question.text))
    };
    questions.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbouring_rows_are_told_as_ranges() {
        assert_eq!(ranges(&[3]), "row 3");
        assert_eq!(ranges(&[3, 4, 6, 7, 8, 10]), "rows 3, 4, 6 to 8, 10");
    }
}
