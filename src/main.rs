//! The `proveout` program: reads one records file, asks one question, shows the answer.

#![warn(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::main()
}
