//! Mending lines that something is wrong with.

use askama::Template;

use super::clutch_form::{Below, FIRST_BUTTON, end};
use super::entered::entered;
use super::frame::Frame;
use super::widgets::{faults, hidden};
use crate::presentation::report::written;
use crate::records::RecordError;

/// So many lines are shown to be mended at once.
const LINES: usize = 20;
/// A longer line is not put into a field.
const LONGEST: usize = 4000;
/// So many lines around it are shown.
const AROUND: usize = 2;

/// A line to be mended, as entered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MendForm {
    /// Its number, from 1.
    pub line: usize,
    /// What is wrong with it, and what to do.
    pub wrong: Vec<(String, Option<String>)>,
    /// What stands there.
    pub was: String,
    /// What is to stand there.
    pub with: String,
    /// The lines around it, with their numbers; it is the one that is marked.
    pub around: Vec<(usize, String, bool)>,
}

/// The lines that errors point at, each once.
pub fn to_mend(text: &str, errors: &[RecordError]) -> Vec<MendForm> {
    let lines: Vec<&str> = text.lines().collect();
    let mut all: Vec<MendForm> = Vec::new();
    for error in errors {
        let line = error.place.line.max(1);
        let wrong = (error.message.clone(), error.help.clone());
        if let Some(found) = all.iter_mut().find(|one| one.line == line) {
            found.wrong.push(wrong);
            continue;
        }
        let own = lines.get(line - 1).copied().unwrap_or_default();
        if all.len() == LINES || own.len() > LONGEST {
            continue;
        }
        let near = line.saturating_sub(AROUND).max(1)..=line + AROUND;
        let around = near.filter_map(|at| {
            let text: String = lines.get(at - 1)?.chars().take(200).collect();
            Some((at, text, at == line))
        });
        all.push(MendForm {
            line,
            wrong: vec![wrong],
            was: own.to_owned(),
            with: own.to_owned(),
            around: around.collect(),
        });
    }
    all
}

#[derive(Template)]
#[template(path = "mend.html")]
struct Mend<'m> {
    at: usize,
    one: &'m MendForm,
}

/// The page with the form; `number` is how many mistakes there are, `left` are lines that were
/// mended and have no place in the file any more.
pub fn mend_form(
    frame: &Frame,
    number: usize,
    form: &[MendForm],
    left: &[MendForm],
    below: &Below,
) -> String {
    let mut html = below.above.clone() + &faults(&below.faults);
    let pair = |one: &MendForm| (format!("line {}", one.line), one.with.clone());
    html.push_str(&entered(&left.iter().map(pair).collect::<Vec<_>>()));
    if number == 0 {
        html.push_str(
            "<p>Nothing in the file needs mending any more.</p><p class=\"buttons\">\
             <a class=\"button first\" href=\"/\">To the first page</a></p>",
        );
        return html;
    }
    let words = if number == 1 { "1 mistake".to_owned() } else { format!("{number} mistakes") };
    let shown = match form.len() {
        0 => "None of them can be mended here; use a text editor.",
        _ => "Mend the lines below; nothing else in the file is touched.",
    };
    html.push_str(&format!(
        "<p>{words} must be mended before anything can be answered. {shown}</p>\
         <form method=\"post\" action=\"/mend\" autocomplete=\"off\">"
    ));
    html.push_str(FIRST_BUTTON);
    html.push_str(&hidden(&[
        ("token", &frame.token),
        ("seen", &frame.version),
        ("lines", &form.len().to_string()),
    ]));
    for (at, one) in form.iter().enumerate() {
        html.push_str(&written(&Mend { at, one }));
    }
    html + &end(below) + "</form>"
}
