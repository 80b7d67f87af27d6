//! The file that `proveout new` writes.

/// A commented example of a records file, to begin with.
pub const STARTER: &str = include_str!("starter.toml");
