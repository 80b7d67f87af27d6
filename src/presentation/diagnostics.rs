//! Errors and notices of a records file, shown where they stand.

use std::ops::Range;

use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Renderer, Snippet};
use serde::Serialize;

use crate::records::{Notice, Place, RecordError};

/// Characters of a line that are shown before and behind the place; a line may have any length.
const BEFORE: usize = 60;
const BEHIND: usize = 100;

/// Every error with its line, a marker under the offending text, and what to do about it.
///
/// `text` is the file as it was read (bytes that are not UTF-8 replaced); a place outside of it is
/// shown without its line. Control characters are replaced, so that a file cannot steer a terminal.
pub fn render_errors(file_name: &str, text: &str, errors: &[RecordError], colour: bool) -> String {
    let mut page = Page::new(file_name, text, colour);
    for error in errors {
        let related = error.related.as_ref().map(|(place, what)| (*place, what.as_str()));
        page.add(Level::ERROR, &error.message, Some(error.place), error.help.as_deref(), related);
    }
    page.done
}

/// Every notice with its line and a marker.
pub fn render_notices(file_name: &str, text: &str, notices: &[Notice], colour: bool) -> String {
    let mut page = Page::new(file_name, text, colour);
    for notice in notices {
        let level = Level::NOTE.with_name("notice");
        page.add(level, &notice.message, notice.place, None, None);
    }
    page.done
}

/// The errors as one JSON document: `{ "schema": 1, "errors": [{ line, column, text, message,
/// help }] }`, `text` being the whole line.
pub fn errors_json(text: &str, errors: &[RecordError]) -> String {
    #[derive(Serialize)]
    struct Document<'e> {
        schema: u32,
        errors: Vec<One<'e>>,
    }
    #[derive(Serialize)]
    struct One<'e> {
        line: usize,
        column: usize,
        text: &'e str,
        message: &'e str,
        help: Option<&'e str>,
    }
    let mut document = Document { schema: 1, errors: Vec::with_capacity(errors.len()) };
    for error in errors {
        document.errors.push(One {
            line: error.place.line,
            column: error.place.column,
            text: whole_line(text, error.place.start),
            message: &error.message,
            help: error.help.as_deref(),
        });
    }
    serde_json::to_string_pretty(&document).unwrap_or_default()
}

/// Bytes of a line that JSON repeats for each error; one line may hold the whole colony.
const LONGEST_LINE: usize = 2000;

fn whole_line(text: &str, at: usize) -> &str {
    let at = boundary(text, at);
    let first = boundary(text, at.saturating_sub(LONGEST_LINE));
    let start = text[first..at].rfind('\n').map_or(first, |newline| first + newline + 1);
    let last = boundary(text, at + LONGEST_LINE);
    let end = text[at..last].find('\n').map_or(last, |newline| at + newline);
    text[start..end].trim_end_matches('\r')
}

struct Page<'p> {
    file_name: String,
    text: &'p str,
    renderer: Renderer,
    done: String,
}

impl<'p> Page<'p> {
    fn new(file_name: &str, text: &'p str, colour: bool) -> Self {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        Page { file_name: safe(file_name), text, renderer, done: String::new() }
    }

    fn add(
        &mut self,
        level: Level,
        message: &str,
        place: Option<Place>,
        help: Option<&str>,
        related: Option<(Place, &str)>,
    ) {
        let title = level.primary_title(safe(message));
        let Some(place) = place else {
            self.finish(Group::with_title(title), &[]);
            return;
        };
        let primary = self.point(place, help, AnnotationKind::Primary);
        let mut places = vec![(place, primary.1)];
        let mut group = title.element(primary.0);
        if let Some((place, what)) = related {
            let second = self.point(place, Some(what), AnnotationKind::Context);
            places.push((place, second.1));
            group = group.element(second.0);
        }
        self.finish(group, &places);
    }

    /// Renders a group; `places` come with the columns that their cut lines begin to count from.
    fn finish(&mut self, group: Group, places: &[(Place, usize)]) {
        let mut shown = self.renderer.render(&[group]);
        for (place, column) in places.iter().filter(|(place, column)| place.column != *column) {
            let head = format!("{}:{}:", self.file_name, place.line);
            let (wrong, right) = (format!("{head}{column}"), format!("{head}{}", place.column));
            shown = shown.replacen(&wrong, &right, 1);
        }
        if !self.done.is_empty() {
            self.done.push('\n');
        }
        self.done.push_str(&shown);
        self.done.push('\n');
    }

    /// The line of a place with its marker, and the column of the place in what is shown of it.
    fn point<'g>(
        &self,
        place: Place,
        label: Option<&str>,
        kind: AnnotationKind,
    ) -> (Snippet<'g, Annotation<'g>>, usize) {
        let (line, span) = excerpt(self.text, place);
        let column = line[..span.start].chars().count() + 1;
        let annotation = kind.span(span).label(label.map(safe));
        let path = self.file_name.clone();
        let snippet = Snippet::source(line).path(path).line_start(place.line);
        (snippet.annotation(annotation), column)
    }
}

/// The part of a line around a place, and where the place is in it.
fn excerpt(text: &str, place: Place) -> (String, Range<usize>) {
    let start = boundary(text, place.start);
    let end = boundary(text, place.end.max(start));
    let window = boundary(text, start.saturating_sub(4 * (BEFORE + 1)));
    let before = text[window..start].rsplit('\n').next().unwrap_or("");
    let skipped = before.chars().count().saturating_sub(BEFORE);
    let behind = &text[start..boundary(text, start + 4 * (BEHIND + 1))];
    let behind = behind.split('\n').next().unwrap_or("").trim_end_matches('\r');
    let cut = behind.chars().count() > BEHIND;
    let behind: String = behind.chars().take(BEHIND).collect();

    let mut line = String::new();
    if skipped > 0 {
        line.push('…');
    }
    line.extend(before.chars().skip(skipped).map(harmless));
    let first = line.len();
    let mut last = first;
    for (offset, character) in behind.char_indices() {
        line.push(harmless(character));
        if start + offset < end {
            last = line.len();
        }
    }
    if cut {
        line.push('…');
    }
    (line, first..last)
}

/// The nearest start of a character at or before an offset.
fn boundary(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

/// A text on one line that does nothing to a terminal.
fn safe(text: &str) -> String {
    text.chars().map(harmless).collect()
}

/// A tab as a blank; control characters, and those that turn the direction of writing, as a mark.
fn harmless(character: char) -> char {
    match character {
        '\t' => ' ',
        '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        '\u{feff}' => ' ',
        other if other.is_control() => '\u{fffd}',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Format, read};

    fn rendered(text: &str) -> String {
        let errors = read(text.as_bytes(), Format::Toml).unwrap_err();
        render_errors("colony.toml", text, &errors, false)
    }

    const BELLA: &str =
        "[[animal]]\nid = \"Bella\"\n[[clutch]]\nid = \"A\"\ndam = \"unknown\"\nsire = \"bella\"\n";

    #[test]
    fn an_error_is_shown_under_its_line_with_a_marker_and_help() {
        insta::assert_snapshot!(rendered(BELLA), @r#"
        error: no animal is called `bella`
         --> colony.toml:6:9
          |
        6 | sire = "bella"
          |         ^^^^^ did you mean `Bella`?
        "#);
    }

    #[test]
    fn another_place_that_matters_is_shown_too() {
        let text = "[[animal]]\nid = \"Bella\"\n[[animal]]\nid = \"Bella\"\n";
        insta::assert_snapshot!(rendered(text), @r#"
        error: two animals are called `Bella`
         --> colony.toml:4:7
          |
        4 | id = "Bella"
          |       ^^^^^ ids are unique; what a hatchling shows later belongs to its `grown`
          |
         ::: colony.toml:2:7
          |
        2 | id = "Bella"
          |       ----- the first one
        "#);
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        let padding = "x".repeat(50_000);
        let text =
            format!("{{\"title\": \"{padding}\", \"titel\": 1, \"species\": \"{padding}\"}}");
        let errors = read(text.as_bytes(), Format::Json).unwrap_err();
        let shown = render_errors("colony.json", &text, &errors, false);
        assert!(shown.len() < 600, "{shown}");
        assert!(shown.contains("colony.json:1:50016"), "{shown}");
        assert!(shown.contains("titel"), "{shown}");
    }

    #[test]
    fn control_characters_do_not_reach_the_terminal() {
        let text = "\u{1b}[31m = 1\u{202e}\n[[animal]]\nid = \"\\u001b[31m\u{7f}\"\n";
        for format in [Format::Toml, Format::Json] {
            let errors = read(text.as_bytes(), format).unwrap_err();
            let shown = render_errors("\u{1b}[2J.toml", text, &errors, false);
            let bad = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
            assert!(!shown.contains(bad), "{shown:?}");
        }
    }

    #[test]
    fn places_outside_the_text_are_shown_without_harm() {
        let place = Place { start: 900, end: 950, line: 70, column: 3 };
        let error = RecordError { place, message: "m".into(), help: None, related: None };
        assert!(render_errors("f", "é", std::slice::from_ref(&error), true).contains("f:70:3"));
        assert!(errors_json("", &[error]).contains("\"line\": 70"));
    }

    #[test]
    fn notices_have_a_place_or_none() {
        let place = Some(Place { start: 0, end: 1, line: 1, column: 1 });
        let notices = [
            Notice { place, message: "one".into() },
            Notice { place: None, message: "two".into() },
        ];
        insta::assert_snapshot!(render_notices("f", "abc", &notices, false), @r#"
        notice: one
         --> f:1:1
          |
        1 | abc
          | ^

        notice: two
        "#);
    }

    #[test]
    fn json_repeats_the_line_and_the_message() {
        let errors = read(BELLA.as_bytes(), Format::Toml).unwrap_err();
        assert_eq!(
            errors_json(BELLA, &errors),
            r#"{
  "schema": 1,
  "errors": [
    {
      "line": 6,
      "column": 9,
      "text": "sire = \"bella\"",
      "message": "no animal is called `bella`",
      "help": "did you mean `Bella`?"
    }
  ]
}"#
        );
    }
}
