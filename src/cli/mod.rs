//! Read, ask, show: one file for each command.

mod allelic;
mod args;
mod chart;
mod check;
mod conflicts;
mod eggs;
mod export;
mod failure;
mod genotypes;
mod goal;
mod identify;
mod import;
mod input;
mod labels;
mod mode;
mod new;
mod output;
mod pairings;
mod planning_args;
mod progress;
mod report;
mod serve;
mod sheet_args;
mod simulate;
mod values;

use std::process::ExitCode;

use clap::Parser;

use args::{Args, Command};
use failure::Failure;

/// Runs the program and says how it ended.
pub fn main() -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(told) => {
            // A closed pipe ends quietly; there is nobody left to tell.
            let _ = told.print();
            return ExitCode::from(if told.use_stderr() { 2 } else { 0 });
        }
    };
    let json = args.json();
    let ended = std::panic::catch_unwind(|| run(args));
    match ended {
        Ok(Ok(())) => ExitCode::SUCCESS,
        Ok(Err(failure)) => failure.report(json),
        Err(_) => Failure::Fault.report(json),
    }
}

fn run(args: Args) -> Result<(), Failure> {
    match args.command {
        Command::New(new) => new::run(&new),
        Command::Check(check) => check::run(&check),
        Command::Genotypes(question) => genotypes::run(&question),
        Command::Identify(question) => identify::run(&question),
        Command::Mode(args) => mode::run(&args),
        Command::Allelic(args) => allelic::run(&args),
        Command::Conflicts(question) => conflicts::run(&question),
        Command::Pairings(args) => pairings::run(&args),
        Command::Eggs(args) => eggs::run(&args),
        Command::Goal(args) => goal::run(&args),
        Command::Labels(question) => labels::run(&question),
        Command::Report(question) => report::run(&question),
        Command::Serve(asked) => serve::run(&asked),
        Command::Simulate(asked) => simulate::run(&asked),
        Command::Import(asked) => import::run(&asked),
        Command::Export(asked) => export::run(&asked),
    }
}
