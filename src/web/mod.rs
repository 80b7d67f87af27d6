//! The page of `serve`: a keeper's records in a browser on the same machine.
//!
//! `listen` takes connections, `guard` turns away whatever does not come from our own page, and
//! `routes` says which page answers what. `desk` holds the records file; every answer of the
//! engine is asked for in `answers` and nowhere else. The files named `*_form` turn what was
//! filled in into changes of the records; `change` tries them, or writes them down. What the pages
//! look like and say is in `presentation::page`.

mod animal_form;
mod answers;
mod assume_form;
mod change;
mod clutch_form;
mod desk;
mod fields;
mod guard;
mod held;
mod listen;
mod mend_form;
mod pages;
mod reply;
mod routes;
mod values;

pub use desk::Settings;
pub use listen::serve;
