//! `serve`: a page to work in, on this machine.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use proveout::records::Format;

use super::args::Notation;
use super::values::memory;
use super::{Failure, input, output, report};
use crate::web::{self, Settings};

/// `serve`.
#[derive(Debug, clap::Args)]
pub struct Serve {
    /// The records file.
    pub file: PathBuf,
    /// The port on 127.0.0.1; 0 takes any that is free.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub port: u16,
    /// Opens the page in the browser of this desktop.
    #[arg(long)]
    pub open: bool,
    /// Sets an assumption for the page, over what the file says.
    #[arg(long, value_name = "KEY=VALUE")]
    pub assume: Vec<String>,
    /// How the records are written; otherwise told by the name.
    #[arg(long, value_enum)]
    pub format: Option<Notation>,
    /// Room for the tables of an exact answer: 500M, 2G. [default: 1G]
    #[arg(long, value_name = "SIZE", value_parser = memory)]
    pub memory: Option<u64>,
}

pub fn run(asked: &Serve) -> Result<(), Failure> {
    let name = asked.file.display();
    if asked.file.as_os_str() == "-" {
        return Err(Failure::Usage("serve wants a file that it can write to, not `-`".into()));
    }
    let assume = asked.assume.iter().map(|text| input::assumed(text));
    let settings = Settings {
        file: asked.file.clone(),
        format: asked.format.map(|notation| match notation {
            Notation::Toml => Format::Toml,
            Notation::Json => Format::Json,
        }),
        assume: assume.collect::<Result<_, _>>()?,
        memory: asked.memory.unwrap_or(proveout::questions::Asked::MEMORY),
        report: report::page,
    };
    let ready = |address: &str| {
        output::print_quietly(&format!("{address}\n"));
        output::tell(&format!("serving {name} on this machine only; Ctrl-C ends it\n"));
        if asked.open {
            open(address);
        }
    };
    web::serve(settings, asked.port, ready)
        .map_err(|error| Failure::File(format!("cannot serve {name}: {error}")))
}

/// Starts the desktop's browser; when there is none, the address has been told.
fn open(address: &str) {
    let (program, first): (&str, &[&str]) = match () {
        () if cfg!(target_os = "macos") => ("open", &[]),
        () if cfg!(windows) => ("cmd", &["/C", "start", ""]),
        () => ("xdg-open", &[]),
    };
    let mut opener = Command::new(program);
    opener
        .args(first)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    match opener.spawn() {
        // Nobody waits for a browser to be closed.
        Ok(mut started) => drop(std::thread::spawn(move || started.wait())),
        Err(error) => {
            output::tell(&format!("note: no browser could be opened ({program}: {error})\n"));
        }
    }
}
