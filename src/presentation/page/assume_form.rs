//! Changing the assumptions.

use super::clutch_form::{Below, FIRST_BUTTON, end};
use super::frame::Frame;
use super::widgets::{Drawn, Kind, faults, hidden};
use crate::presentation::check_text::meaning;

/// One assumption, as entered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AssumeForm {
    /// Its key.
    pub key: String,
    /// What was typed.
    pub value: String,
    /// What it was when the form was made.
    pub was: String,
}

/// The page with the form.
pub fn assume_form(frame: &Frame, form: &[AssumeForm], below: &Below) -> String {
    let draw = Drawn { faults: &below.faults };
    let mut html = below.above.clone() + &faults(&below.faults);
    html.push_str(
        "<p>These are yours to set; none of them is a published value. Try another value to see \
         what rests on it.</p>\
         <form method=\"post\" action=\"/assume\" autocomplete=\"off\" data-try>",
    );
    html.push_str(&hidden(&[("token", &frame.token), ("seen", &frame.version)]));
    html.push_str(FIRST_BUTTON);
    for one in form {
        let hint = meaning(&one.key);
        html.push_str(&draw.input(Kind::Decimal, &one.key, &one.key, hint, &one.value));
        html.push_str(&hidden(&[(&format!("was-{}", one.key), &one.was)]));
    }
    html + &end(below) + "</form>"
}
