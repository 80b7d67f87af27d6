//! The `proveout` program: reads one records file, asks one question, shows the answer;
//! or serves a page to work in.

#![warn(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

mod cli;
mod web;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::main()
}
