//! The `proveout` program: reads one records file, asks one question, shows the answer.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::main()
}
