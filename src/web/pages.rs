//! The pages that are only looked at.

use std::io;
use std::sync::Arc;

use axum::http::StatusCode;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use proveout::presentation::isolated;
use proveout::presentation::page::{self, Frame, Here, Home};
use proveout::presentation::report::About;
use proveout::questions::{Asked, Unanswerable};
use proveout::records::{AnimalId, ClutchId, Colony, GeneId, normalise};
use sha2::{Digest, Sha256};

use super::answers::Sheet;
use super::change::{First, last, undoing};
use super::desk::Desk;
use super::fields::Fields;
use super::mend_form;
use super::reply::Reply;

/// What stands around a page made from a version of the records.
pub fn frame(desk: &Desk, sheet: &Sheet) -> Frame {
    let title = sheet.colony().ok().and_then(|colony| isolated(colony).title.clone());
    let assumed = desk.settings.assume.iter().map(|(key, value)| format!("{key} = {value}"));
    Frame {
        title: match sheet.colony() {
            Ok(_) => title.unwrap_or_else(|| "Untitled colony".to_owned()),
            Err(_) => desk.file_name(),
        },
        file: desk.file_name(),
        token: desk.token.clone(),
        version: sheet.version.clone(),
        assumed: assumed.collect::<Vec<_>>().join(", "),
    }
}

/// The file cannot be read: says why.
pub fn unreadable(desk: &Desk, error: &io::Error) -> Reply {
    let words = format!("{} cannot be read: {error}", desk.file_name());
    Reply::html_as(StatusCode::SERVICE_UNAVAILABLE, page::fault(&words))
}

/// A version of the records that is sound, and its colony twice: for words and as it is written.
pub struct Open<'o> {
    /// The desk.
    pub desk: &'o Desk,
    /// The version.
    pub sheet: &'o Sheet,
    /// For words.
    pub colony: &'o Colony,
    /// As it is written.
    pub plain: &'o Colony,
}

impl Open<'_> {
    /// A whole page.
    pub fn page(&self, here: Here, heading: &str, content: &str) -> Reply {
        Reply::html(frame(self.desk, self.sheet).page(here, heading, content))
    }

    /// A page, or why it cannot be made.
    fn answered(&self, here: Here, heading: &str, content: Result<String, Unanswerable>) -> Reply {
        match content {
            Ok(content) => self.page(here, heading, &content),
            // Records that contradict each other are mended like those that cannot be read.
            Err(Unanswerable::Impossible(errors)) if !errors.is_empty() => {
                mend_form::show(self.desk, self.sheet, &errors)
            }
            Err(why) => self.page(here, heading, &page::unanswerable(&why)),
        }
    }

    /// What stands around its pages.
    pub fn frame(&self) -> Frame {
        frame(self.desk, self.sheet)
    }

    /// The same version, to be tried upon.
    pub fn again(&self) -> Arc<Sheet> {
        self.desk.sheet(&self.sheet.text)
    }

    /// What the last change moved and how to take it back, on the page that follows it.
    fn done(&self, fields: &Fields, first: First<'_>) -> String {
        if fields.get("done") != "1" {
            return String::new();
        }
        last(self.desk, self.sheet, first).map_or(String::new(), |html| page::done(&html))
    }

    /// Nothing has that name.
    pub fn not_found(&self, words: &str) -> Reply {
        let page =
            frame(self.desk, self.sheet).page(Here::Elsewhere, "Not here", &page::words(words));
        Reply::html_as(StatusCode::NOT_FOUND, page)
    }

    /// The animal that the field `id` names.
    pub fn animal(&self, fields: &Fields) -> Option<AnimalId> {
        self.plain.find_animal(&normalise(fields.get("id")))
    }

    /// The clutch that a field names.
    pub fn clutch(&self, fields: &Fields, name: &str) -> Option<ClutchId> {
        self.plain.find_clutch(&normalise(fields.get(name)))
    }
}

/// Shows a page of the records as they are; where they are broken, how to mend them.
pub fn with(desk: &Desk, show: impl FnOnce(&Open<'_>) -> Reply) -> Reply {
    match desk.current() {
        Err(error) => unreadable(desk, &error),
        Ok(sheet) => of(desk, &sheet, show),
    }
}

/// The same for a version that is in hand.
pub fn of(desk: &Desk, sheet: &Arc<Sheet>, show: impl FnOnce(&Open<'_>) -> Reply) -> Reply {
    match sheet.colony() {
        Ok(plain) => {
            let colony = isolated(plain);
            show(&Open { desk, sheet, colony: &colony, plain })
        }
        Err(errors) => mend_form::show(desk, sheet, errors),
    }
}

/// What is open.
pub fn home(desk: &Desk, fields: &Fields) -> Reply {
    with(desk, |open| {
        let done = open.done(fields, &|_| Vec::new());
        let content = || {
            let parts = Home {
                colony: open.colony,
                plain: open.plain,
                carried: open.sheet.carried()?,
                young: open.sheet.young()?,
                modes: open.sheet.modes()?,
                notices: open.sheet.notices(),
                can_undo: desk.previous().is_some(),
            };
            Ok(done + &page::home(&parts))
        };
        open.answered(Here::Home, "Open questions", content())
    })
}

/// All animals.
pub fn animals(desk: &Desk, _: &Fields) -> Reply {
    with(desk, |open| open.page(Here::Animals, "Animals", &page::animals(open.colony, open.plain)))
}

/// One animal.
pub fn animal(desk: &Desk, fields: &Fields) -> Reply {
    with(desk, |open| {
        let Some(id) = open.animal(fields) else {
            return open.not_found("There is no animal of that name in these records.");
        };
        let done = open.done(fields, &|_| vec![id]);
        let content = || {
            let (carried, young) = (open.sheet.animal(id)?, open.sheet.young()?);
            Ok(done + &page::animal(open.colony, open.plain, id, &carried, young))
        };
        let name = proveout::presentation::names::animal(open.colony, id);
        open.answered(Here::Elsewhere, &name, content())
    })
}

/// All clutches.
pub fn clutches(desk: &Desk, _: &Fields) -> Reply {
    with(desk, |open| {
        open.page(Here::Clutches, "Clutches", &page::clutches(open.colony, open.plain))
    })
}

/// One clutch.
pub fn clutch(desk: &Desk, fields: &Fields) -> Reply {
    with(desk, |open| {
        let Some(id) = open.clutch(fields, "id") else {
            return open.not_found("There is no clutch of that name in these records.");
        };
        let first = |colony: &Colony| {
            let own = colony.clutch(id);
            let parents = own.named_dam().into_iter().chain(own.named_sires());
            parents.chain(own.hatchlings.iter().copied()).collect()
        };
        let done = open.done(fields, &first);
        let content = || {
            let (carried, young) = (open.sheet.carried()?, open.sheet.young()?);
            let expected = open.sheet.expected(id)?;
            Ok(done + &page::clutch(open.colony, open.plain, id, carried, young, &expected))
        };
        let name = format!("Clutch {}", open.colony.clutch(id).id);
        open.answered(Here::Elsewhere, &name, content())
    })
}

/// One suspected gene.
pub fn gene(desk: &Desk, fields: &Fields) -> Reply {
    with(desk, |open| {
        let suspected = |gene: &GeneId| {
            open.plain.gene(*gene).inheritance == proveout::records::Inheritance::Unknown
        };
        let found = open.plain.find_gene(&normalise(fields.get("name"))).filter(suspected);
        let Some(gene) = found else {
            return open.not_found("There is no suspected gene of that name in these records.");
        };
        let content = || Ok(page::gene(open.colony, &open.sheet.mode(gene)?));
        let name = format!("How {} is inherited", open.colony.gene(gene).name);
        open.answered(Here::Elsewhere, &name, content())
    })
}

/// What can be printed.
pub fn paper(desk: &Desk, _: &Fields) -> Reply {
    with(desk, |open| open.page(Here::Paper, "Print", &page::paper()))
}

/// Labels to print and cut out.
pub fn labels(desk: &Desk, _: &Fields) -> Reply {
    with(desk, |open| {
        let content = || Ok(page::labels(open.colony, &open.sheet.labels()?));
        open.answered(Here::Paper, "Labels", content())
    })
}

/// The report, as the command of that name writes it.
pub fn report(desk: &Desk, _: &Fields) -> Reply {
    with(desk, |open| {
        let assumed = desk.settings.assume.iter().map(|(key, value)| format!("{key}={value}"));
        let about = About {
            file: desk.file_name(),
            hash: open.sheet.version.clone(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            assumed: assumed.collect(),
        };
        let asked = Asked { memory: desk.settings.memory, ..Asked::default() };
        match (desk.settings.report)(open.plain, &asked, &about) {
            Ok(html) => {
                let style =
                    html.split_once("<style>").and_then(|(_, rest)| rest.split_once("</style>"));
                let style =
                    style.map(|(style, _)| STANDARD.encode(Sha256::digest(style.as_bytes())));
                Reply { style, ..Reply::html(html) }
            }
            Err(why) => open.answered(Here::Paper, "Report", Err(why)),
        }
    })
}

/// What going back to the version before would change.
pub fn undo(desk: &Desk, _: &Fields) -> Reply {
    match desk.current() {
        Err(error) => unreadable(desk, &error),
        Ok(sheet) => {
            let frame = frame(desk, &sheet);
            let here = if sheet.colony().is_ok() { Here::Elsewhere } else { Here::Broken };
            let content = page::undo(&frame, undoing(desk, &sheet).as_deref());
            Reply::html(frame.page(here, "Take back the last change", &content))
        }
    }
}

/// There is no such address.
pub fn nothing_there(desk: &Desk, _: &Fields) -> Reply {
    with(desk, |open| open.not_found("There is no such page."))
}
