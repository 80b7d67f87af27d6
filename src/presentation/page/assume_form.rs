//! Changing the assumptions.

use super::clutch_form::{Below, FIRST_BUTTON, end};
use super::frame::Frame;
use super::widgets::{Drawn, Kind, faults, hidden};
use crate::presentation::check_text::meaning;
use crate::records::Assumptions;

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

/// An assumption in plain words, by its key.
pub fn plain_words(key: &str) -> &'static str {
    match key {
        "background" => "How common a gene is in unrelated stock",
        "misread" => "A look that was called wrongly",
        "other_sire" => "Another sire than the recorded one",
        "mix_up" => "A hatchling that is from another clutch",
        "egg_loss" => "A good egg that dies",
        "trust" => "A seller who is right",
        _ => "A young without a father that has both alleles of its dam",
    }
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
        let ours = Assumptions::default().get(&one.key).unwrap_or_default();
        let hint = format!("{} ({} in the file; empty: {ours})", meaning(&one.key), one.key);
        let label = plain_words(&one.key);
        html.push_str(&draw.input(Kind::Decimal, &one.key, label, &hint, &one.value));
        html.push_str(&hidden(&[(&format!("was-{}", one.key), &one.was)]));
    }
    html + &end(below) + "</form>"
}
