//! The `proveout` program.
fn main() {}
