//! Rows and cells: separators, quoted line breaks, row numbers as a spreadsheet counts them.

use super::encoding::{Encoding, decode};

/// One row of a sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// Its number, as the spreadsheet counts it: the first row is 1, empty rows count.
    pub number: usize,
    /// Its cells, blanks around them removed.
    pub cells: Vec<String>,
}

impl Row {
    /// Whether no cell says anything.
    pub fn is_empty(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }

    /// A cell, or nothing where the row is short.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    /// The row on one line, as a message shows it.
    pub fn text(&self) -> String {
        let cells = self.cells.iter().filter(|cell| !cell.is_empty());
        let words: Vec<String> =
            cells.map(|cell| cell.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
        words.join(" | ")
    }
}

/// A sheet as it was read, before anything is understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// How its letters are stored.
    pub encoding: Encoding,
    /// What stands between two cells.
    pub separator: char,
    /// Every row, also the empty ones.
    pub rows: Vec<Row>,
}

/// The separators that are tried, most usual first.
const SEPARATORS: [char; 3] = [',', ';', '\t'];

impl Sheet {
    /// Reads a sheet; without `separator` the one that gives the most even columns is taken.
    ///
    /// # Errors
    ///
    /// A message when the bytes are no sheet, or a quotation mark is never closed.
    pub fn read(bytes: &[u8], separator: Option<char>) -> Result<Sheet, String> {
        let (text, encoding) = decode(bytes)?;
        let (text, told) = separator_line(&text);
        let separator = separator.or(told).unwrap_or_else(|| likely_separator(text));
        Ok(Sheet { encoding, separator, rows: rows(text, separator)? })
    }
}

/// Takes off a first line `sep=;`, which some spreadsheets write for others and do not show.
fn separator_line(text: &str) -> (&str, Option<char>) {
    let line = text.lines().next().unwrap_or_default();
    let told = line.strip_prefix("sep=").or(line.strip_prefix("SEP="));
    let Some(told) = told.and_then(|rest| rest.chars().next()) else { return (text, None) };
    if !SEPARATORS.contains(&told) {
        return (text, None);
    }
    let rest = &text[line.len()..];
    (rest.strip_prefix("\r\n").or(rest.strip_prefix('\n')).unwrap_or(rest), Some(told))
}

/// The separator that gives the most rows of one width, and of those the one with most columns.
fn likely_separator(text: &str) -> char {
    let even = |separator: &char| {
        let mut reader = reader(text, *separator);
        let widths: Vec<usize> = reader
            .records()
            .take(60)
            .map_while(Result::ok)
            .filter(|record| record.iter().any(|cell| !cell.trim().is_empty()))
            .map(|record| record.len())
            .collect();
        let width = widths
            .iter()
            .copied()
            .max_by_key(|width| (widths.iter().filter(|other| *other == width).count(), *width));
        let width = width.filter(|width| *width > 1).unwrap_or(0);
        let alike = widths.iter().filter(|other| **other == width && width > 1).count();
        (alike * 4 >= widths.len() * 3, width, alike)
    };
    let best = SEPARATORS.iter().rev().max_by_key(|separator| even(separator));
    best.copied().unwrap_or(',')
}

fn reader(text: &str, separator: char) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(separator).unwrap_or(b','))
        .from_reader(text.as_bytes())
}

fn rows(text: &str, separator: char) -> Result<Vec<Row>, String> {
    let mut reader = reader(text, separator);
    let mut record = csv::StringRecord::new();
    let mut rows: Vec<Row> = Vec::new();
    loop {
        let before = position(&reader, text);
        // The reader passes over empty lines without a word; the spreadsheet counts them.
        for _ in 0..empty_lines(text, before) {
            rows.push(Row { number: rows.len() + 1, cells: Vec::new() });
        }
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => return Ok(rows),
            Err(error) => return Err(format!("the sheet cannot be read: {error}")),
        }
        let number = rows.len() + 1;
        let written = &text[before..position(&reader, text)];
        if let Some(wrong) = misquoted(written, separator, &record) {
            return Err(format!("row {number}: {wrong}"));
        }
        rows.push(Row { number, cells: record.iter().map(plain).collect() });
    }
}

/// What is wrong with the quotation marks of a row, and what to do.
///
/// The reader of the sheet takes what it gets; a mark too much would swallow letters or whole rows.
fn misquoted(written: &str, separator: char, record: &csv::StringRecord) -> Option<String> {
    let written = written.trim_start_matches(['\r', '\n']);
    let (mut begins, mut inside) = (true, false);
    let mut signs = written.chars().peekable();
    while let Some(sign) = signs.next() {
        match (sign, inside) {
            ('"', true) if signs.peek() == Some(&'"') => drop(signs.next()),
            ('"', true) => {
                inside = false;
                let ends = |next: &char| *next == separator || matches!(next, '\r' | '\n');
                if !signs.peek().is_none_or(ends) {
                    return Some(
                        "a quotation mark ends the cell before its end; write `\"\"` for a quotation \
                         mark inside a cell"
                            .to_string(),
                    );
                }
            }
            ('"', false) if begins => inside = true,
            _ => {}
        }
        begins = !inside && (sign == separator || matches!(sign, '\r' | '\n'));
    }
    if inside {
        return Some(
            "a quotation mark that opens here is never closed; close it, or write `\"\"` for a \
             quotation mark inside a cell"
                .to_string(),
        );
    }
    let width = record.len();
    let whole_row = |line: &str| width > 1 && line.matches(separator).count() + 1 >= width;
    let swallowed = |cell: &str| cell.lines().skip(1).any(whole_row);
    record.iter().any(swallowed).then(|| {
        "a cell in quotation marks holds what looks like whole rows; close the mark where the cell ends"
            .to_string()
    })
}

fn position(reader: &csv::Reader<&[u8]>, text: &str) -> usize {
    let byte = usize::try_from(reader.position().byte()).unwrap_or(text.len()).min(text.len());
    (byte..text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(text.len())
}

/// How many empty lines stand at `from`, where a row has just ended.
fn empty_lines(text: &str, from: usize) -> usize {
    let bytes = text.as_bytes();
    let mut at = from;
    // The second half of a line end that the row before belongs to.
    if at > 0 && bytes[at - 1] == b'\r' && bytes.get(at) == Some(&b'\n') {
        at += 1;
    }
    let mut lines = 0;
    while let Some(sign @ (b'\r' | b'\n')) = bytes.get(at) {
        at += if *sign == b'\r' && bytes.get(at + 1) == Some(&b'\n') { 2 } else { 1 };
        lines += 1;
    }
    // Line ends behind the last row are no rows.
    if at == bytes.len() { 0 } else { lines }
}

/// Signs with which a spreadsheet begins a formula.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// A cell that no spreadsheet takes for a formula; `plain` gives the text back.
pub fn inert(cell: &str) -> String {
    let risky = cell.starts_with(FORMULA) || cell.starts_with('\'');
    if risky { format!("'{cell}") } else { cell.to_string() }
}

/// The text of a cell without blanks around it and without the mark that [`inert`] sets.
pub fn plain(cell: &str) -> String {
    let cell = cell.trim_matches(|sign: char| sign.is_whitespace() || sign == '\u{feff}');
    let marked = cell.strip_prefix('\'');
    let marked = marked.filter(|rest| rest.starts_with(FORMULA) || rest.starts_with('\''));
    marked.unwrap_or(cell).to_string()
}

/// A column as a spreadsheet calls it: A, B, … Z, AA.
pub fn column_name(column: usize) -> String {
    let letter = char::from(b'A' + u8::try_from(column % 26).unwrap_or(0));
    if column < 26 {
        letter.to_string()
    } else {
        column_name(column / 26 - 1) + &letter.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(text: &str) -> Vec<(usize, Vec<String>)> {
        let sheet = Sheet::read(text.as_bytes(), Some(',')).unwrap();
        sheet.rows.into_iter().map(|row| (row.number, row.cells)).collect()
    }

    fn row(number: usize, cells: &[&str]) -> (usize, Vec<String>) {
        (number, cells.iter().map(|cell| (*cell).to_string()).collect())
    }

    #[test]
    fn rows_are_counted_as_a_spreadsheet_counts_them() {
        for end in ["\n", "\r\n"] {
            let text = format!("id,note{end}{end}a,\"two{end}lines\"{end}{end}{end}b,x{end}{end}");
            let read = numbers(&text);
            let lines = format!("two{end}lines");
            assert_eq!(read[2], row(3, &["a", &lines]));
            assert_eq!(read[5], row(6, &["b", "x"]));
            assert_eq!(read.len(), 6);
        }
    }

    #[test]
    fn the_separator_is_found() {
        let find = |text: &str| Sheet::read(text.as_bytes(), None).unwrap().separator;
        assert_eq!(find("id;looks;note\na;x, y;hm\nb;x;well, well\n"), ';');
        assert_eq!(find("id,looks\na,x\nb,\"x;y\"\n"), ',');
        assert_eq!(find("id\tlooks\na\tx, y\n"), '\t');
        assert_eq!(find("sep=;\nid,a;b\n"), ';');
    }

    #[test]
    fn a_quotation_mark_that_never_closes_is_told() {
        let error = Sheet::read(b"id,note\na,\"open\nb,x\nc,y\n", Some(',')).unwrap_err();
        assert!(error.contains("row 2"), "{error}");
    }

    #[test]
    fn cells_that_look_like_formulas_read_back() {
        for cell in ["=1+1", "+x", "-3", "@a", "'quoted", "'=x", "plain", "5' long"] {
            assert_eq!(plain(&inert(cell)), cell);
            assert!(!inert(cell).starts_with(FORMULA));
        }
    }

    #[test]
    fn columns_have_the_letters_of_a_spreadsheet() {
        assert_eq!([0, 25, 26, 701, 702].map(column_name), ["A", "Z", "AA", "ZZ", "AAA"]);
    }
}
