//! Pictures of answers, as SVG.
//!
//! One file for each picture. In: an answer of `questions`, from which every number comes. Out: a
//! [`Chart`], which stands alone or in a page. Marks are told apart by shape or pattern and by a
//! label as well as by colour; the colours are those of Okabe and Ito, and change with the
//! reader's choice of light or dark. The same answer gives the same bytes.

mod canvas;
mod chart;
mod eggs;
mod expected;
mod family;
mod family_layout;
mod family_marks;
mod family_members;
mod goal;
mod hatchlings;
mod hundred;
mod ladder;
mod measure;
mod modes;
mod moved;
mod pairings;
mod plot;
mod png;
mod style;
mod what_if;

pub use chart::Chart;
pub use eggs::eggs;
pub use expected::expected;
pub use family::{FAMILY_AT_MOST, family};
pub use family_members::near;
pub use goal::goal;
pub use hatchlings::{hatchlings, in_doubt};
pub use hundred::hundred;
pub use ladder::ladder;
pub use modes::{ModeBar, ModesPicture, mode, modes};
pub use moved::moved;
pub use pairings::pairings;
pub use png::NoPng;
pub use style::{PAINTS, Paint, defs, style_sheet};
pub use what_if::what_if;
pub(super) use what_if::{anything_moves, knob, no_difference};
