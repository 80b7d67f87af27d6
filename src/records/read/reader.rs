//! Collects what is wrong, and reads single values.

use super::super::date::Date;
use super::super::{Notice, Place, RecordError, nearest};
use super::lines::LineIndex;
use super::tree::{Node, Span, Table, Value};

/// Names that may be compared with misspellings, over the whole file; a file in which every
/// name is wrong must not take minutes.
const COMPARISONS: usize = 500_000;

/// Errors that are kept; a file with more is not a records file, and each takes memory.
const MOST_ERRORS: usize = 100_000;

/// Errors and notices so far, and the places of the file.
pub(super) struct Reader<'t> {
    lines: LineIndex<'t>,
    pub errors: Vec<RecordError>,
    pub notices: Vec<Notice>,
    comparisons: usize,
    /// Takes the errors after the last that is kept.
    beyond: RecordError,
}

/// An error that was just reported, to be completed.
pub(super) struct Reported<'r> {
    error: &'r mut RecordError,
}

impl Reported<'_> {
    /// Adds what to do about it.
    pub fn help(self, help: impl Into<String>) -> Self {
        self.error.help = Some(help.into());
        self
    }

    /// Adds another place that matters.
    pub fn related(self, place: Place, what: impl Into<String>) -> Self {
        self.error.related = Some((place, what.into()));
        self
    }
}

impl<'t> Reader<'t> {
    /// A reader of a text whose first character is at `first`.
    pub fn new(text: &'t [u8], first: usize) -> Self {
        let lines = LineIndex::new(text, first);
        let beyond = RecordError {
            place: Place::default(),
            message: String::new(),
            help: None,
            related: None,
        };
        Reader { lines, errors: Vec::new(), notices: Vec::new(), comparisons: COMPARISONS, beyond }
    }

    /// The place of a span.
    pub fn place(&self, span: Span) -> Place {
        self.lines.place(span.start, span.end)
    }

    /// Reports an error.
    pub fn error(&mut self, span: Span, message: impl Into<String>) -> Reported<'_> {
        let place = self.place(span);
        let at = self.errors.len();
        if at >= MOST_ERRORS {
            return Reported { error: &mut self.beyond };
        }
        self.errors.push(RecordError { place, message: message.into(), help: None, related: None });
        Reported { error: &mut self.errors[at] }
    }

    /// Reports a doubt.
    pub fn notice(&mut self, span: Span, message: impl Into<String>) {
        let place = Some(self.place(span));
        self.notices.push(Notice { place, message: message.into() });
    }

    /// Reports a value of the wrong kind; always `None`.
    pub fn wrong_kind<T>(&mut self, what: &str, node: &Node, expected: &str) -> Option<T> {
        self.error(node.span, format!("`{what}` must be {expected}, not {}", node.kind()));
        None
    }

    /// Help for a name that is not among `names`: the nearest one, or the names themselves.
    pub fn suggest<'n>(
        &mut self,
        wrong: &str,
        kind: &str,
        names: impl Iterator<Item = &'n str> + Clone,
    ) -> String {
        let count = names.clone().take(self.comparisons + 1).count();
        if count == 0 {
            return format!("no {kind} is declared in this file");
        }
        if count > self.comparisons {
            self.comparisons = 0;
            return format!("no {kind} of this name is declared");
        }
        self.comparisons -= count;
        match nearest(wrong, names.clone()) {
            Some(near) => format!("did you mean `{}`?", short(near)),
            None if count <= 12 => one_of(names),
            None => format!("none of the {count} names of this kind is like it"),
        }
    }

    /// A text, with the blanks around it removed.
    pub fn text<'n>(&mut self, what: &str, node: &'n Node) -> Option<&'n str> {
        match &node.value {
            Value::Text(text) => Some(text.trim()),
            _ => self.wrong_kind(what, node, "text in quotes"),
        }
    }

    /// One of a few words.
    pub fn choice<T: Copy>(&mut self, what: &str, node: &Node, words: &[(&str, T)]) -> Option<T> {
        let found = self.text(what, node)?;
        if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == found) {
            return Some(*meaning);
        }
        let names = words.iter().map(|(word, _)| *word);
        let help = match nearest(found, names.clone()) {
            Some(near) => format!("did you mean `{near}`? {}", one_of(names)),
            None => one_of(names),
        };
        self.error(node.span, format!("`{what}` cannot be `{}`", short(found))).help(help);
        None
    }

    /// True or false.
    pub fn flag(&mut self, what: &str, node: &Node) -> Option<bool> {
        match node.value {
            Value::Flag(flag) => Some(flag),
            _ => self.wrong_kind(what, node, "true or false, without quotes"),
        }
    }

    /// A finite number.
    pub fn number(&mut self, what: &str, node: &Node) -> Option<f64> {
        match node.value {
            Value::Number(number, _) if number.is_finite() => Some(number),
            Value::Number(..) => {
                self.error(node.span, format!("`{what}` is not a finite number"));
                None
            }
            _ => self.wrong_kind(what, node, "a number, without quotes"),
        }
    }

    /// A finite number that is not negative.
    pub fn amount(&mut self, what: &str, node: &Node) -> Option<f64> {
        let number = self.number(what, node)?;
        if number < 0.0 {
            self.error(node.span, format!("`{what}` is negative")).help("it must be 0 or more");
            return None;
        }
        Some(number)
    }

    /// A chance, from 0 to `most`.
    pub fn chance_up_to(&mut self, most: f64, what: &str, node: &Node) -> Option<f64> {
        let number = self.number(what, node)?;
        if (0.0..=most).contains(&number) {
            return Some(number);
        }
        let help = if number > 1.0 && number <= 100.0 && most == 1.0 {
            format!("write {number} % as {}", (number * 1e6).round() / 1e8)
        } else {
            format!("a chance of 1 in 20 is written 0.05; the most here is {most}")
        };
        self.error(node.span, format!("`{what}` must lie between 0 and {most}")).help(help);
        None
    }

    /// A chance, from 0 to 1.
    pub fn chance(&mut self, what: &str, node: &Node) -> Option<f64> {
        self.chance_up_to(1.0, what, node)
    }

    /// A count of eggs or young.
    pub fn count(&mut self, what: &str, node: &Node) -> Option<u32> {
        match node.value {
            Value::Number(_, Some(whole)) if whole < 0 => {
                self.error(node.span, format!("`{what}` is negative")).help("it must be 0 or more");
                None
            }
            Value::Number(_, Some(whole)) if whole <= 1_000_000 => u32::try_from(whole).ok(),
            Value::Number(number, _) if number.is_finite() && number.abs() <= 1_000_000.0 => {
                self.error(node.span, format!("`{what}` must be a whole number"));
                None
            }
            Value::Number(..) => {
                self.error(node.span, format!("`{what}` is too large"))
                    .help("counts go up to 1,000,000");
                None
            }
            _ => self.wrong_kind(what, node, "a whole number, without quotes"),
        }
    }

    /// A list.
    pub fn list<'n, 'x>(&mut self, what: &str, node: &'n Node<'x>) -> Option<&'n [Node<'x>]> {
        match &node.value {
            Value::List(list) => Some(list),
            Value::Text(text) => {
                let help = format!("put it in brackets: {what} = [\"{}\"]", short(text));
                self.error(node.span, format!("`{what}` must be a list")).help(help);
                None
            }
            _ => self.wrong_kind(what, node, "a list in brackets"),
        }
    }

    /// A list of texts, each with where it stands; what is not text is reported and left out.
    pub fn texts<'n>(&mut self, what: &str, node: &'n Node) -> Option<Vec<(&'n str, Span)>> {
        let list = self.list(what, node)?;
        let text = |item: &'n Node| Some((self.text(what, item)?, item.span));
        Some(list.iter().filter_map(text).collect())
    }

    /// A table.
    pub fn table<'n, 'x>(&mut self, what: &str, node: &'n Node<'x>) -> Option<&'n Table<'x>> {
        match &node.value {
            Value::Table(table) => Some(table),
            _ => self.wrong_kind(what, node, "a table in braces"),
        }
    }

    /// A date known to the day, the month or the year; `None` also for `unknown`.
    pub fn date(&mut self, what: &str, node: &Node) -> Option<Date> {
        match &node.value {
            Value::Day(year, month, day) => {
                Some(Date { year: *year, month: Some(*month), day: Some(*day) })
            }
            Value::Text(text) if text.trim() == "unknown" => None,
            Value::Text(text) => {
                let date = parse_date(text.trim());
                if date.is_none() {
                    self.error(
                        node.span,
                        format!("`{}` is not a date of the calendar", short(text)),
                    )
                    .help("write 2024-05-30, \"2024-05\" or \"2024\"");
                }
                date
            }
            Value::Number(_, Some(year @ 1000..=9999)) => {
                self.error(node.span, format!("`{what}` must be a date, not a number"))
                    .help(format!("put a year in quotes: \"{year}\""));
                None
            }
            _ => {
                let message = format!("`{what}` must be a date, not {}", node.kind());
                self.error(node.span, message).help("write 2024-05-30, \"2024-05\" or \"2024\"");
                None
            }
        }
    }
}

/// `2024`, `2024-05` or `2024-05-30`, when there is such a day.
fn parse_date(text: &str) -> Option<Date> {
    let mut parts = text.split('-');
    let mut part = |digits: usize| -> Option<Option<u16>> {
        let Some(part) = parts.next() else { return Some(None) };
        let good = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
        if good { part.parse().ok().map(Some) } else { None }
    };
    let (year, month, day) = (part(4)??, part(2)?, part(2)?);
    if parts.next().is_some() || month.is_some_and(|month| !(1..=12).contains(&month)) {
        return None;
    }
    let days = match month {
        Some(2) if (year % 4 == 0 && year % 100 != 0) || year % 400 == 0 => 29,
        Some(2) => 28,
        Some(4 | 6 | 9 | 11) => 30,
        _ => 31,
    };
    if day.is_some_and(|day| day == 0 || day > days) {
        return None;
    }
    let small = |value: Option<u16>| value.and_then(|value| u8::try_from(value).ok());
    Some(Date { year: i32::from(year), month: small(month), day: small(day) })
}

/// A name as a message shows it: one line, not too long.
pub(super) fn short(name: &str) -> String {
    let name = name.trim();
    if name.chars().count() <= 60 {
        return name.to_string();
    }
    name.chars().take(59).chain(['…']).collect()
}

/// `expected one of …`.
pub(super) fn one_of<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let names: Vec<String> = names.map(|name| format!("`{}`", short(name))).collect();
    match names.as_slice() {
        [] => "nothing is expected here".to_string(),
        [only] => format!("expected {only}"),
        [first, second] => format!("expected {first} or {second}"),
        [others @ .., last] => format!("expected {} or {last}", others.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_read_to_the_day_the_month_or_the_year() {
        assert_eq!(parse_date("2024").unwrap().to_string(), "2024");
        assert_eq!(parse_date("2024-05").unwrap().to_string(), "2024-05");
        assert_eq!(parse_date("2024-02-29").unwrap().to_string(), "2024-02-29");
        for wrong in
            ["", "24", "2023-02-29", "2024-13", "2024-1", "2024-01-01-01", "2024-05-00", "x"]
        {
            assert_eq!(parse_date(wrong), None, "{wrong}");
        }
    }
}
