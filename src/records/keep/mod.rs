//! A records file on the disk, kept safe.
//!
//! A file is always one whole version, the old one or the new one; the version before stays beside
//! it; what another program wrote meanwhile is never overwritten. See [`Kept`].

mod differences;
mod kept;
mod whole;

pub use differences::{Difference, differences};
pub use kept::{Kept, NotSaved, version_of};
pub use whole::write_whole;
