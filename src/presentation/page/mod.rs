//! The pages of `serve`: what they look like and say.
//!
//! Every page is made from answers, and from forms that the room `web` has filled in. A page is
//! the content that one of these files makes, set in a [`Frame`]. Names that come from the file
//! are escaped by the templates; words come from the same places as those of the report. Pages get
//! the colony twice: made fit for reading, for words, and as it is written, for addresses and
//! fields.

mod address;
mod animal;
mod animal_form;
mod assume_form;
mod choices;
mod clutch;
mod clutch_form;
mod entered;
mod facts;
mod frame;
mod gene;
mod home;
mod mend_form;
mod outcome;
mod paper;
mod rows;
mod trouble;
mod widgets;
mod young;

pub use address::{animal as animal_address, clutch as clutch_address, coded};
pub use animal::{animal, animals, call_words};
pub use animal_form::{AnimalForm, AnimalWords, animal_form};
pub use assume_form::{AssumeForm, assume_form, plain_words};
pub use clutch::{clutch, clutches};
pub use clutch_form::{
    Below, CHANGEABLE, ClutchForm, CountForm, CountedForm, YoungForm, clutch_form,
};
pub use entered::{entered, field_words};
pub use frame::{Frame, Here, script, style, together};
pub use gene::gene;
pub use home::{Home, home};
pub use mend_form::{MendForm, mend_form, to_mend};
pub use outcome::{Done, difference, done, meanwhile, notes, outcome, part, undo};
pub use paper::{labels, paper};
pub use trouble::{fault, mistakes, unanswerable, words, words_plainly};
pub use widgets::Fault;
