//! What was entered is never lost: a form that cannot be tried on the records as they are now is
//! shown again as it was sent.

use std::io;
use std::sync::Arc;

use proveout::presentation::page::{self, Below, Fault, Frame, Here};

use super::answers::Sheet;
use super::change::part;
use super::desk::Desk;
use super::fields::Fields;
use super::pages::{Open, of};
use super::reply::Reply;

/// Draws a form as it was sent, with the choices of a version that is sound.
pub type Draw<'d> = &'d dyn Fn(&Open<'_>, &Below) -> Reply;

/// The records as they are now.
///
/// # Errors
///
/// In words, when the file cannot be read or says something that is wrong.
pub fn sound(desk: &Desk) -> Result<Arc<Sheet>, String> {
    let file = desk.file_name();
    let sheet = desk.current().map_err(|error| unreadable(desk, &error))?;
    let Err(errors) = sheet.colony() else { return Ok(sheet) };
    let first = errors
        .first()
        .map_or(String::new(), |error| format!(" (line {}: {})", error.place.line, error.message));
    Err(format!(
        "{file} has mistakes just now{first}, so nothing was saved. Mend it in a text editor or, in \
         another tab, on the first page of this program. What you entered is still here."
    ))
}

/// That the file cannot be read.
pub fn unreadable(desk: &Desk, error: &io::Error) -> String {
    format!(
        "{} cannot be read just now ({error}). Nothing was saved; what you entered is still here.",
        desk.file_name()
    )
}

/// That what a form is about is not in the records any more.
pub fn gone(what: &str, id: &str) -> String {
    format!(
        "There is no {what} {id} in these records any more: it was renamed or taken away \
         meanwhile. Nothing was saved; what you entered is still here."
    )
}

/// Shows a form again, made from this version or, where that is broken, from the one it was made
/// from.
pub fn again(
    desk: &Desk,
    fields: &Fields,
    sheet: &Arc<Sheet>,
    below: &Below,
    draw: Draw<'_>,
) -> Reply {
    if fields.get("part") == "1" {
        return part(below);
    }
    if sheet.colony().is_ok() {
        return of(desk, sheet, |open| draw(open, below));
    }
    match sound(desk) {
        Ok(now) => of(desk, &now, |open| draw(open, below)),
        Err(words) => hold(desk, fields, words, draw),
    }
}

/// Shows a form as it was sent, made from the version that it was made from, and says why nothing
/// was done with it; where that version is forgotten, what was entered as plain text.
pub fn hold(desk: &Desk, fields: &Fields, words: String, draw: Draw<'_>) -> Reply {
    // Asked for first, also for a part of a page: so it is remembered for longer.
    let made_from = desk.remembered(fields.get("seen")).filter(|sheet| sheet.colony().is_ok());
    let below = fault(words);
    match made_from {
        _ if fields.get("part") == "1" => part(&below),
        Some(sheet) => of(desk, &sheet, |open| draw(open, &below)),
        None => as_text(desk, fields, &below),
    }
}

/// Nothing but a fault of the form as a whole.
pub fn fault(words: String) -> Below {
    Below { faults: vec![Fault::new("", words)], ..Below::default() }
}

/// A page with what was entered as plain text, and why nothing was done with it.
pub fn as_text(desk: &Desk, fields: &Fields, below: &Below) -> Reply {
    let frame = Frame {
        title: desk.file_name(),
        file: desk.file_name(),
        token: String::new(),
        version: String::new(),
        assumed: String::new(),
    };
    let entered: Vec<(String, String)> =
        fields.entered().map(|(name, value)| (page::field_words(name), value.to_owned())).collect();
    let way = "<p class=\"buttons\"><a class=\"button\" href=\"/\">To the first page</a></p>";
    let content = page::part(below) + &page::entered(&entered) + way;
    Reply::html(frame.page(Here::Broken, "Nothing was saved", &content))
}
