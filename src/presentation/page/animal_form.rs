//! Changing what is written of an animal, or writing down a new one.

use super::choices;
use super::clutch_form::{Below, FIRST_BUTTON, Names, YoungForm, call_fields, end, unread};
use super::frame::Frame;
use super::widgets::{Choice, Drawn, Kind, faults, hidden};
use crate::records::Colony;

/// What can be written of an animal, each value as it was typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AnimalWords {
    /// `female`, `male` or empty.
    pub sex: String,
    /// What became of it.
    pub status: String,
    /// When it hatched; animals that came in only.
    pub hatched: String,
    /// What sellers said, with a semicolon between; animals that came in only.
    pub sold_as: String,
    /// A remark.
    pub note: String,
    /// What was seen; of a hatchling when it hatched. Its name and sex are not used.
    pub seen: YoungForm,
    /// What was seen when it was grown; hatchlings only.
    pub grown: YoungForm,
}

/// An animal, as entered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AnimalForm {
    /// The animal that is there already.
    pub existing: Option<String>,
    /// Whether it hatched here.
    pub hatchling: bool,
    /// The name of a new one.
    pub id: String,
    /// What is to be written.
    pub words: AnimalWords,
    /// What was written when the form was made.
    pub was: AnimalWords,
}

/// What became of animals, as it is written.
const STATUSES: [&str; 6] = ["kept", "resting", "retired", "sold", "dead", "elsewhere"];

impl AnimalWords {
    /// Names and values for fields of a form, the names beginning with `prefix`.
    fn pairs(&self, prefix: &str) -> Vec<(String, String)> {
        let mut pairs = Vec::new();
        let mut add = |name: &str, value: &str| {
            pairs.push((format!("{prefix}{name}"), value.to_owned()));
        };
        add("sex", &self.sex);
        add("status", &self.status);
        add("hatched", &self.hatched);
        add("sold_as", &self.sold_as);
        add("note", &self.note);
        for (part, call) in [("seen", &self.seen), ("grown", &self.grown)] {
            let mut own = |name: &str, value: &str| add(&format!("{part}-{name}"), value);
            own("call", &call.call);
            call.looks.iter().for_each(|look| own("looks", look));
            call.unread.iter().for_each(|gene| own("unread", gene));
            for (name, (looks, fit)) in ["first", "second"].iter().zip(&call.either) {
                looks.iter().for_each(|look| own(name, look));
                own(&format!("{name}-fit"), fit);
            }
        }
        pairs
    }
}

/// The page with the form.
pub fn animal_form(
    colony: &Colony,
    plain: &Colony,
    frame: &Frame,
    form: &AnimalForm,
    below: &Below,
) -> String {
    let draw = Drawn { faults: &below.faults };
    let mut html = below.above.clone() + &faults(&below.faults);
    html.push_str("<form method=\"post\" action=\"/change\" autocomplete=\"off\" data-try>");
    html.push_str(&hidden(&[("token", &frame.token), ("seen", &frame.version)]));
    html.push_str(FIRST_BUTTON);
    match &form.existing {
        Some(id) => html.push_str(&hidden(&[("id", id)])),
        None => {
            html.push_str(&hidden(&[("new", "1")]));
            html.push_str(&draw.input(Kind::Text, "id", "Name", "", &form.id));
        }
    }
    let was = form.was.pairs("was-");
    let was: Vec<(&str, &str)> = was.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    html.push_str(&hidden(&was));
    let words = &form.words;
    html.push_str(&draw.one_of("sex", "Sex", ["", ""], &choices::sexes(), &words.sex));
    let statuses = STATUSES.map(Choice::plain);
    html.push_str(&draw.select("status", "It is now", "", &statuses, &words.status));
    if !form.hatchling {
        let hint = "year-month-day";
        html.push_str(&draw.input(Kind::Day, "hatched", "Hatched", hint, &words.hatched));
        let hint = "what you were told, such as 66% het NAME; a semicolon between two";
        html.push_str(&draw.input(Kind::Text, "sold_as", "Sold as", hint, &words.sold_as));
    }
    let (looks, genes) = (choices::looks(colony, plain), choices::genes(colony, plain));
    let names = Names { looks: &looks, genes: &genes };
    let mut parts = vec![("seen", if form.hatchling { "When it hatched" } else { "What you see" })];
    if form.hatchling {
        parts.push(("grown", "When it was grown"));
    }
    for (part, legend) in parts {
        let call = if part == "seen" { &words.seen } else { &words.grown };
        html.push_str(&format!("<fieldset><legend>{legend}</legend>"));
        html.push_str(&call_fields(&draw, names, part, call));
        html.push_str(&unread(&draw, &format!("{part}-unread"), names, &call.unread));
        html.push_str("</fieldset>");
    }
    html.push_str(&draw.input(Kind::Lines, "note", "Note", "for yourself", &words.note));
    html + &end(below) + "</form>"
}
