//! A records file being changed, without losing a byte of what is not touched.
//!
//! In: the text of a file and a [`Change`]. Out: the text with that change made and nothing else
//! moved, or why it cannot be made ([`CannotChange`]).
//!
//! Nothing is written anew that stands already: a change becomes a few replaced stretches of the
//! text. Remarks, blank lines, spacing, line ends and the order of the file stay because nobody
//! touches them.

mod change;
mod commas;
mod draft;
mod find;
mod layout;
mod meaning;
mod replaced;
mod sections;
mod style;
#[cfg(test)]
mod tests;
mod text;
mod tree;
mod work;

pub use change::{CannotChange, Change, Entry, Record};
pub use draft::Draft;
