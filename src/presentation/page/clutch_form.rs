//! Entering a clutch: what was counted first, then single hatchlings.

use std::fmt::Write;

use askama::Template;

use super::choices;
use super::frame::{Frame, together};
use super::widgets::{Choice, Drawn, Fault, Kind, faults, hidden};
use crate::presentation::report::written;
use crate::records::{Colony, Sex};

/// Young that were only counted, as entered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CountForm {
    /// Their looks; none is normal.
    pub looks: Vec<String>,
    /// Genes nobody judged.
    pub unread: Vec<String>,
    /// Males, females, and those not sexed.
    pub numbers: [String; 3],
}

/// A count that is there already.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CountedForm {
    /// What was counted, in words.
    pub what: String,
    /// Males, females, and those not sexed.
    pub numbers: [String; 3],
    /// The numbers when the form was made.
    pub was: [String; 3],
}

/// One hatchling, as entered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct YoungForm {
    /// Its name.
    pub id: String,
    /// `female`, `male` or empty.
    pub sex: String,
    /// `looks`, `none` or `either`.
    pub call: String,
    /// Its looks; none is normal.
    pub looks: Vec<String>,
    /// Genes nobody judged.
    pub unread: Vec<String>,
    /// What it may be, and how well its look fits that.
    pub either: [(Vec<String>, String); 2],
}

/// A clutch, as entered: every value as it was typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ClutchForm {
    /// The clutch that is there already, to which young are added.
    pub existing: Option<String>,
    /// Its name.
    pub id: String,
    /// The dam.
    pub dam: String,
    /// The sire.
    pub sire: String,
    /// Another male that may be the sire; empty = none.
    pub other: String,
    /// How likely each of the two is before the young are looked at.
    pub shares: [String; 2],
    /// When it was laid and when it hatched.
    pub dates: [String; 2],
    /// Eggs, slugs, and those that died in the egg.
    pub numbers: [String; 3],
    /// A remark.
    pub note: String,
    /// The young that were only counted.
    pub counts: Vec<CountForm>,
    /// The hatchlings.
    pub young: Vec<YoungForm>,
    /// The counts that are there already: what they show, their numbers, and what those were.
    pub counted: Vec<CountedForm>,
    /// What an existing clutch said when the form was made: dates, numbers, note.
    pub was: [String; 6],
}

/// The names of the six fields that an existing clutch can change.
pub const CHANGEABLE: [&str; 6] = ["laid", "hatched", "eggs", "slugs", "died", "note"];

impl ClutchForm {
    /// The values of [`CHANGEABLE`].
    pub fn changeable(&self) -> [&str; 6] {
        let [laid, hatched] = &self.dates;
        let [eggs, slugs, died] = &self.numbers;
        [laid, hatched, eggs, slugs, died, &self.note]
    }
}

/// What stands below a form: what trying it gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Below {
    /// What is wrong.
    pub faults: Vec<Fault>,
    /// What it would change, or why there is no answer; escaped already.
    pub result: String,
    /// What is to be said above the form; escaped already.
    pub above: String,
    /// Whether the records cannot all be true with it, and it may be written all the same.
    pub doubtful: bool,
}

/// The first button is the one that the enter key presses: it must not write anything.
pub(super) const FIRST_BUTTON: &str = "<button class=\"skip\" name=\"do\" value=\"try\" \
                                       tabindex=\"-1\" aria-hidden=\"true\">Try it</button>";

/// The page with the form. `frame` carries the version that it is made from.
pub fn clutch_form(
    colony: &Colony,
    plain: &Colony,
    frame: &Frame,
    form: &ClutchForm,
    below: &Below,
) -> String {
    let draw = Drawn { faults: &below.faults };
    let mut html = below.above.clone() + &faults(&below.faults);
    let _ = write!(
        html,
        "<form method=\"post\" action=\"/enter\" autocomplete=\"off\" data-try>{}",
        hidden(&[
            ("token", &frame.token),
            ("seen", &frame.version),
            ("counts", &form.counts.len().to_string()),
            ("young", &form.young.len().to_string()),
            ("counted", &form.counted.len().to_string()),
        ])
    );
    html.push_str(FIRST_BUTTON);
    html.push_str(&clutch_fields(colony, plain, &draw, form));
    let looks = choices::looks(colony, plain);
    let genes = choices::genes(colony, plain);
    let names = Names { looks: &looks, genes: &genes };
    html.push_str("<h2>Counted young</h2><p class=\"hint\">Young that look alike and are not kept apart: tap what they show, and count them.</p>");
    for (at, counted) in form.counted.iter().enumerate() {
        html.push_str(&counted_fields(&draw, at, counted));
    }
    for (at, count) in form.counts.iter().enumerate() {
        html.push_str(&count_fields(&draw, names, at, count));
    }
    html.push_str(&more("add-count", "Another kind of young", &format!("c{}", form.counts.len())));
    html.push_str("<h2 id=\"hatchlings\">Hatchlings of their own</h2><p class=\"hint\">Each with a name: those you keep, sell with papers, or cannot call.</p>");
    for (at, young) in form.young.iter().enumerate() {
        html.push_str(&young_fields(&draw, names, at, young));
    }
    html.push_str(&more("add-young", "Add a hatchling", &format!("y{}", form.young.len())));
    html.push_str(&end(below));
    html.push_str("</form>");
    html
}

/// The two buttons, and below them what was tried: what comes in while a finger is on its way must
/// not move a button from under it.
pub fn end(below: &Below) -> String {
    let (value, words) = match below.doubtful {
        true => ("save-anyway", "Write it down all the same"),
        false => ("save", "Write it down"),
    };
    let mut html = format!(
        "<p class=\"buttons\"><button name=\"do\" value=\"try\" formaction=\"#result\">Try it</button>\
         <button class=\"first\" name=\"do\" value=\"{value}\">{words}</button></p>\
         <p class=\"soft\">“Try it” shows what would change and writes nothing.</p>"
    );
    let cut = below.result.find("<div data-part=\"more\">");
    let (words, rest) = below.result.split_at(cut.unwrap_or(below.result.len()));
    let _ = write!(
        html,
        "<div id=\"result\" tabindex=\"-1\">\
         <div id=\"told\" role=\"status\" aria-live=\"polite\">{words}</div>\
         <div id=\"shown\">{rest}</div></div>\
         <p class=\"brief\" id=\"brief\" aria-hidden=\"true\" hidden></p>"
    );
    together(&html)
}

/// The names there are to tap.
#[derive(Clone, Copy)]
pub(super) struct Names<'n> {
    pub(super) looks: &'n [Choice],
    pub(super) genes: &'n [Choice],
}

/// A button that makes the form longer.
fn more(action: &str, words: &str, at: &str) -> String {
    format!(
        "<p class=\"buttons\"><button class=\"small\" name=\"do\" value=\"{action}\" \
         formaction=\"#{at}\">{words}</button></p>"
    )
}

fn clutch_fields(colony: &Colony, plain: &Colony, draw: &Drawn<'_>, form: &ClutchForm) -> String {
    let mut html = String::from("<fieldset><legend>The clutch</legend>");
    match &form.existing {
        Some(id) => html.push_str(&hidden(&[("clutch", id)])),
        None => {
            html.push_str(&draw.input(Kind::Text, "id", "Name of the clutch", "", &form.id));
            let unknown = Choice::new("unknown", "unknown");
            let mut dams = vec![Choice::new("", "choose one"), unknown.clone()];
            dams.splice(1..1, choices::parents(colony, plain, Sex::Female));
            html.push_str(&draw.select("dam", "Dam", "", &dams, &form.dam));
            let mut sires = vec![Choice::new("", "choose one"), unknown];
            sires.push(Choice::new("none", "none: a birth without a father"));
            sires.splice(1..1, choices::parents(colony, plain, Sex::Male));
            html.push_str(&draw.select("sire", "Sire", "", &sires, &form.sire));
            let open = if form.other.is_empty() { "" } else { " open" };
            let _ = write!(html, "<details{open}><summary>Another male may be the sire</summary>");
            sires[0].label = "no other".to_owned();
            html.push_str(&draw.select("other", "Or this one", "", &sires, &form.other));
            html.push_str("<div class=\"side\">");
            for (at, label) in ["How likely the first", "How likely the other"].iter().enumerate() {
                let name = format!("share{at}");
                html.push_str(&draw.input(Kind::Decimal, &name, label, "", &form.shares[at]));
            }
            html.push_str("</div></details>");
        }
    }
    html.push_str("<div class=\"side\">");
    let hint = "year-month-day";
    for (at, label) in ["Laid", "Hatched"].iter().enumerate() {
        html.push_str(&draw.input(Kind::Day, CHANGEABLE[at], label, hint, &form.dates[at]));
    }
    html.push_str("</div><div class=\"side\">");
    let labels = ["Eggs", "Slugs", "Died in the egg"];
    for (at, label) in labels.iter().enumerate() {
        let name = CHANGEABLE[at + 2];
        html.push_str(&draw.input(Kind::Whole, name, label, "", &form.numbers[at]));
    }
    html.push_str("</div>");
    html.push_str(&draw.input(Kind::Lines, "note", "Note", "for yourself", &form.note));
    if form.existing.is_some() {
        let names = CHANGEABLE.map(|name| format!("was-{name}"));
        let pairs: Vec<(&str, &str)> =
            names.iter().zip(&form.was).map(|(n, v)| (n.as_str(), v.as_str())).collect();
        html.push_str(&hidden(&pairs));
    }
    html + "</fieldset>"
}

fn count_fields(draw: &Drawn<'_>, names: Names<'_>, at: usize, count: &CountForm) -> String {
    let name = |part: &str| format!("c{at}-{part}");
    let mut html = format!("<fieldset id=\"c{at}\"><legend>Counted {}</legend>", at + 1);
    let hint = ["nothing tapped: normal", ""];
    html.push_str(&draw.toggles(&name("looks"), "They show", hint, names.looks, &count.looks));
    html.push_str("<div class=\"side\">");
    let parts = [("unsexed", "Not sexed", 2), ("males", "Males", 0), ("females", "Females", 1)];
    for (part, label, place) in parts {
        html.push_str(&draw.input(Kind::Whole, &name(part), label, "", &count.numbers[place]));
    }
    html.push_str("</div>");
    html.push_str(&unread(draw, &name("unread"), names, &count.unread));
    html + "</fieldset>"
}

/// The numbers of a count that is there already.
fn counted_fields(draw: &Drawn<'_>, at: usize, counted: &CountedForm) -> String {
    let name = |part: &str| format!("e{at}-{part}");
    let mut html = written(&Legend { words: &format!("Written down: {}", counted.what) });
    html.push_str("<div class=\"side\">");
    let parts = [("unsexed", "Not sexed", 2), ("males", "Males", 0), ("females", "Females", 1)];
    for (part, label, place) in parts {
        html.push_str(&draw.input(Kind::Whole, &name(part), label, "", &counted.numbers[place]));
        html.push_str(&hidden(&[(&name(&format!("was-{part}")), &counted.was[place])]));
    }
    html.push_str(&hidden(&[(&name("what"), &counted.what)]));
    html + "</div></fieldset>"
}

#[derive(Template)]
#[template(source = "<fieldset><legend>{{ words }}</legend>", ext = "html")]
struct Legend<'l> {
    words: &'l str,
}

pub(super) fn unread(draw: &Drawn<'_>, name: &str, names: Names<'_>, chosen: &[String]) -> String {
    let open = if chosen.is_empty() { "" } else { " open" };
    let legend = "Nobody could judge";
    let toggles = draw.toggles(name, legend, ["", ""], names.genes, chosen);
    format!("<details{open}><summary>Some genes could not be judged</summary>{toggles}</details>")
}

fn young_fields(draw: &Drawn<'_>, names: Names<'_>, at: usize, young: &YoungForm) -> String {
    let name = |part: &str| format!("y{at}-{part}");
    let mut html = format!("<fieldset id=\"y{at}\"><legend>Hatchling {}</legend>", at + 1);
    html.push_str(&draw.input(Kind::Text, &name("id"), "Name", "", &young.id));
    html.push_str(&draw.one_of(&name("sex"), "Sex", ["", ""], &choices::sexes(), &young.sex));
    html.push_str(&call_fields(draw, names, &format!("y{at}"), young));
    html.push_str(&unread(draw, &name("unread"), names, &young.unread));
    let _ = write!(
        html,
        "<p class=\"buttons\"><button class=\"small\" name=\"do\" value=\"drop-young-{at}\" \
         formaction=\"#hatchlings\">Take hatchling {} away</button></p></fieldset>",
        at + 1
    );
    html
}

/// What was called: looks, one of two, or nothing yet.
pub(super) fn call_fields(
    draw: &Drawn<'_>,
    names: Names<'_>,
    prefix: &str,
    young: &YoungForm,
) -> String {
    let name = |part: &str| format!("{prefix}-{part}");
    let calls = [
        Choice::new("looks", "I can call it"),
        Choice::new("either", "It may be one of two"),
        Choice::new("none", "Not looked at yet"),
    ];
    let mut html = draw.one_of(&name("call"), "Its look", ["", "call"], &calls, &young.call);
    let hint = ["nothing tapped: normal", "looks"];
    html.push_str(&draw.toggles(&name("looks"), "It shows", hint, names.looks, &young.looks));
    html.push_str("<div class=\"either\"><p class=\"hint\">How well its look fits each, by its look alone: of many true animals of that kind, how usual is this look?</p>");
    for (at, (looks, fit)) in young.either.iter().enumerate() {
        let legend = ["It may be", "Or it may be"][at];
        let hint = ["nothing tapped: normal", ""];
        let field = name(["first", "second"][at]);
        html.push_str(&draw.toggles(&field, legend, hint, names.looks, looks));
        let label = ["How well that fits, from 0 to 1", "How well this fits, from 0 to 1"][at];
        html.push_str(&draw.input(Kind::Fit, &format!("{field}-fit"), label, "", fit));
    }
    html + "</div>"
}
