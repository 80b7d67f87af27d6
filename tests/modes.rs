//! Does `mode` weigh every way a look may be inherited as its definition says?
//!
//! `world` writes the ways down once more and enumerates; the rest compares with it, with closed
//! forms, and with stories drawn from it.

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that cannot read its own records has to fail")]

mod modes {
    mod brute_force;
    mod calibration;
    mod closed_forms;
    mod records_of_a_look;
    mod stories;
    pub mod support;
    pub mod urns;
    pub mod world;
}
