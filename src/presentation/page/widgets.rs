//! Fields of forms: each with its label, its hint and what is wrong with it.

use askama::Template;

use crate::presentation::report::written;

/// Something wrong with what was entered, and the field it is about.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The name of the field; empty for the form as a whole.
    pub field: String,
    /// What is wrong, as a sentence.
    pub words: String,
}

impl Fault {
    /// A fault of a field.
    pub fn new(field: impl Into<String>, words: impl Into<String>) -> Self {
        Fault { field: field.into(), words: words.into() }
    }
}

/// What a field takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Words.
    Text,
    /// Words over several lines.
    Lines,
    /// A day, by the browser's own calendar.
    Day,
    /// A whole number.
    Whole,
    /// A number with a decimal point.
    Decimal,
    /// How well a look fits: the script puts a slider beside it.
    Fit,
}

impl Kind {
    fn keys(self) -> &'static str {
        match self {
            Kind::Text | Kind::Lines | Kind::Day => "text",
            Kind::Whole => "numeric",
            Kind::Decimal | Kind::Fit => "decimal",
        }
    }
}

#[derive(Template)]
#[template(path = "input.html")]
struct Input<'i> {
    name: &'i str,
    label: &'i str,
    hint: &'i str,
    value: &'i str,
    fault: Option<&'i str>,
    kind: &'static str,
    keys: &'static str,
    fit: bool,
    lines: bool,
}

/// A choice: what is sent, what is read, whether it is chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What is sent.
    pub value: String,
    /// What is read.
    pub label: String,
}

impl Choice {
    /// A choice that is read as it is sent.
    pub fn plain(value: &str) -> Self {
        Choice::new(value, value)
    }

    /// A choice.
    pub fn new(value: &str, label: &str) -> Self {
        Choice { value: value.to_owned(), label: label.to_owned() }
    }
}

#[derive(Template)]
#[template(path = "select.html")]
struct Select<'s> {
    name: &'s str,
    label: &'s str,
    hint: &'s str,
    fault: Option<&'s str>,
    choices: Vec<(&'s Choice, bool)>,
}

#[derive(Template)]
#[template(path = "toggles.html")]
struct Toggles<'t> {
    name: &'t str,
    legend: &'t str,
    hint: &'t str,
    class: &'t str,
    kind: &'static str,
    fault: Option<&'t str>,
    choices: Vec<(&'t Choice, bool)>,
}

/// Draws fields, with the faults that are about them.
#[derive(Clone, Copy, Debug)]
pub struct Drawn<'d> {
    /// What is wrong.
    pub faults: &'d [Fault],
}

impl<'d> Drawn<'d> {
    fn fault(&self, name: &str) -> Option<&'d str> {
        self.faults.iter().find(|fault| fault.field == name).map(|fault| fault.words.as_str())
    }

    /// A field to write in.
    pub fn input(&self, kind: Kind, name: &str, label: &str, hint: &str, value: &str) -> String {
        // What the calendar of the browser cannot hold is written out.
        let day = kind == Kind::Day && (value.is_empty() || is_day(value));
        written(&Input {
            name,
            label,
            // The calendar says itself how a day is entered.
            hint: if day { "" } else { hint },
            value,
            fault: self.fault(name),
            kind: if day { "date" } else { "text" },
            keys: kind.keys(),
            fit: kind == Kind::Fit,
            lines: kind == Kind::Lines,
        })
    }

    /// A choice from a list.
    pub fn select(
        &self,
        name: &str,
        label: &str,
        hint: &str,
        choices: &[Choice],
        value: &str,
    ) -> String {
        // What is no longer in the list is still what was chosen.
        let lost = Choice::plain(value);
        let found = choices.iter().any(|choice| choice.value == value);
        let mut all: Vec<(&Choice, bool)> =
            choices.iter().map(|choice| (choice, choice.value == value)).collect();
        if !found {
            all.push((&lost, true));
        }
        written(&Select { name, label, hint, fault: self.fault(name), choices: all })
    }

    /// Names to tap, any number of them.
    pub fn toggles(
        &self,
        name: &str,
        legend: &str,
        [hint, class]: [&str; 2],
        choices: &[Choice],
        chosen: &[String],
    ) -> String {
        let (kind, fault) = ("checkbox", self.fault(name));
        let on = |choice: &Choice| chosen.contains(&choice.value);
        let choices = choices.iter().map(|choice| (choice, on(choice))).collect();
        written(&Toggles { name, legend, hint, class, kind, fault, choices })
    }

    /// Names to tap, one of them.
    pub fn one_of(
        &self,
        name: &str,
        legend: &str,
        [hint, class]: [&str; 2],
        choices: &[Choice],
        chosen: &str,
    ) -> String {
        let (kind, fault) = ("radio", self.fault(name));
        let on = |choice: &Choice| choice.value == chosen;
        let choices = choices.iter().map(|choice| (choice, on(choice))).collect();
        written(&Toggles { name, legend, hint, class, kind, fault, choices })
    }
}

/// Whether a text is a day as the calendar of a browser writes it.
fn is_day(text: &str) -> bool {
    let shape = |(at, byte): (usize, u8)| match at {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    };
    text.len() == 10 && text.bytes().enumerate().all(shape)
}

#[derive(Template)]
#[template(path = "faults.html")]
struct Faults<'f> {
    faults: &'f [Fault],
    /// Whether it is put into a page that has said so already.
    part: bool,
}

/// What is wrong with a form, each with the way to its field; nothing where nothing is.
pub fn faults(faults: &[Fault]) -> String {
    summary(faults, false)
}

/// The same for a part of a page that is read out when it changes.
pub fn faults_in_part(faults: &[Fault]) -> String {
    summary(faults, true)
}

fn summary(faults: &[Fault], part: bool) -> String {
    if faults.is_empty() { String::new() } else { written(&Faults { faults, part }) }
}

#[derive(Template)]
#[template(path = "hidden.html")]
struct Hidden<'h> {
    pairs: &'h [(&'h str, &'h str)],
}

/// Fields that are sent and not seen.
pub fn hidden(pairs: &[(&str, &str)]) -> String {
    written(&Hidden { pairs })
}
