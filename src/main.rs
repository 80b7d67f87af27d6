//! The `proveout` program: reads one records file, asks one question, shows the answer;
//! or serves a page to work in.

#![warn(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

mod cli;
mod web;

use std::process::ExitCode;

/// Much of the time of a large colony goes into small tables that are made and thrown away. Huge pages
/// are left alone: to clear them takes longer than they save.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    cli::main()
}
