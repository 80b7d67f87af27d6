//! What stands around every page.

use askama::Template;

use crate::presentation::charts::{defs, style_sheet};
use crate::presentation::report::written;

/// What every page says besides its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// The title of the colony.
    pub title: String,
    /// The name of the records file, without its folder.
    pub file: String,
    /// What a form of ours carries.
    pub token: String,
    /// The version of the records that the page was made from.
    pub version: String,
    /// The assumptions set for the page, over what the file says; empty when there are none.
    pub assumed: String,
}

/// A page in the list of pages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Here {
    /// What is open.
    Home,
    /// The animals.
    Animals,
    /// The clutches.
    Clutches,
    /// A new clutch.
    Enter,
    /// The assumptions.
    Assume,
    /// Labels and the report.
    Paper,
    /// None of them; the file is sound.
    Elsewhere,
    /// None of them can be made: the file is broken.
    Broken,
}

const WAYS: [(Here, &str, &str); 6] = [
    (Here::Home, "/", "Open questions"),
    (Here::Enter, "/enter", "Enter a clutch"),
    (Here::Animals, "/animals", "Animals"),
    (Here::Clutches, "/clutches", "Clutches"),
    (Here::Assume, "/assume", "Assumptions"),
    (Here::Paper, "/paper", "Print"),
];

struct Way {
    address: &'static str,
    name: &'static str,
    here: bool,
}

#[derive(Template)]
#[template(path = "frame.html")]
struct Page<'p> {
    frame: &'p Frame,
    heading: &'p str,
    sound: bool,
    ways: Vec<Way>,
    patterns: String,
    content: &'p str,
}

impl Frame {
    /// A whole page; `content` is escaped already.
    pub fn page(&self, here: Here, heading: &str, content: &str) -> String {
        let way = |(at, address, name): &(Here, &'static str, &'static str)| Way {
            address,
            name,
            here: *at == here,
        };
        let ways = WAYS.iter().map(way).collect();
        let sound = here != Here::Broken;
        let page = written(&Page { frame: self, heading, sound, ways, patterns: defs(), content });
        together(&page)
    }
}

/// A sign of per cent stays with its number, and odds stay together.
pub fn together(html: &str) -> String {
    html.replace(" %", "\u{a0}%").replace(" : ", "\u{a0}:\u{a0}")
}

/// The style sheet of every page, pictures included.
pub fn style() -> String {
    include_str!("templates/page.css").to_owned() + &style_sheet()
}

/// The script: tries what is being entered while it is entered. Everything works without it.
pub fn script() -> String {
    include_str!("templates/page.js").to_owned()
}
