//! What is said where there is no answer.

use askama::Template;

use crate::presentation::report::written;
use crate::presentation::wording::bytes;
use crate::questions::Unanswerable;
use crate::records::RecordError;

#[derive(Template)]
#[template(path = "trouble.html")]
struct Trouble {
    words: String,
    errors: Vec<(String, Option<String>)>,
}

/// Why a question has no answer.
pub fn unanswerable(why: &Unanswerable) -> String {
    match why {
        Unanswerable::Question(message) => words(message),
        Unanswerable::TooLarge { needed, allowed } => words(&format!(
            "An exact answer needs {} of tables, and {} is allowed. Start the program with more \
             --memory; what was written down is kept all the same.",
            bytes(*needed),
            bytes(*allowed)
        )),
        Unanswerable::Impossible(errors) => mistakes("These records cannot all be true:", errors),
    }
}

/// A sentence, and below it what is wrong, line by line.
pub fn mistakes(words: &str, errors: &[RecordError]) -> String {
    let errors = errors.iter().map(line).collect();
    written(&Trouble { words: words.to_owned(), errors })
}

/// One error in words, and what to do about it.
pub fn line(error: &RecordError) -> (String, Option<String>) {
    (format!("line {}: {}", error.place.line, error.message), error.help.clone())
}

/// A plain sentence or two.
pub fn words(text: &str) -> String {
    written(&Trouble { words: text.to_owned(), errors: Vec::new() })
}

/// A sentence, as nothing more than that.
pub fn words_plainly(text: &str) -> String {
    written(&Sentence { text })
}

#[derive(Template)]
#[template(source = "<div data-part=\"words\"><p>{{ text }}</p></div>", ext = "html")]
struct Sentence<'s> {
    text: &'s str,
}

/// A whole page where not even the records can be shown.
pub fn fault(words: &str) -> String {
    written(&Fault { words })
}

#[derive(Template)]
#[template(path = "fault.html")]
struct Fault<'f> {
    words: &'f str,
}
