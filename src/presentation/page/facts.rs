//! What heads the page of an animal or a clutch: facts, ways on, and what may harm.

use askama::Template;

use crate::presentation::cautions;
use crate::presentation::report::{List, written};
use crate::questions::Caution;
use crate::records::Colony;

/// A fact: its name, its words, and the page it leads to.
pub type Fact = (&'static str, String, Option<String>);

#[derive(Template)]
#[template(path = "facts.html")]
struct Facts {
    facts: Vec<Fact>,
    buttons: Vec<(String, &'static str)>,
}

/// Facts, and buttons with their addresses below them.
pub fn facts(facts: Vec<Fact>, buttons: Vec<(String, &'static str)>) -> String {
    written(&Facts { facts, buttons })
}

/// What may harm, set apart; nothing where nothing may.
pub fn harm(colony: &Colony, all: &[Caution]) -> String {
    let lines = cautions::lines(colony, all);
    if lines.is_empty() {
        return String::new();
    }
    let before = vec!["Ask a veterinarian, and mind the law where you live.".to_owned()];
    let list = written(&List { before, lines });
    format!("<div class=\"mind\"><h2>Cautions</h2>{list}</div>")
}
