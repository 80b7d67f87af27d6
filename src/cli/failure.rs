//! How the program can end badly, and its exit status.

use std::process::ExitCode;

use proveout::presentation::diagnostics::{errors_json, render_errors};
use proveout::records::RecordError;

use super::output;

/// Why there is no answer. The exit statuses are listed here and nowhere else.
#[derive(Debug)]
pub enum Failure {
    /// The records are wrong or impossible: exit status 1.
    Records {
        /// The name of the file.
        file: String,
        /// Its text.
        text: String,
        /// What is wrong with it.
        errors: Vec<RecordError>,
    },
    /// Rows of a sheet were left out, and the answer says which: 1.
    LeftOut,
    /// The command line is wrong: 2.
    Usage(String),
    /// Only an estimate would be possible: 3.
    TooLarge(String),
    /// A file cannot be read or written, or would be overwritten: 4.
    File(String),
    /// A fault of the program: 70.
    Fault,
}

impl Failure {
    fn status(&self) -> u8 {
        match self {
            Failure::Records { .. } | Failure::LeftOut => 1,
            Failure::Usage(_) => 2,
            Failure::TooLarge(_) => 3,
            Failure::File(_) => 4,
            Failure::Fault => 70,
        }
    }

    /// Tells the user, in JSON on standard output when that was asked for.
    pub fn report(self, json: bool) -> ExitCode {
        let status = self.status();
        match self {
            Failure::Records { text, errors, .. } if json => {
                output::print_quietly(&(errors_json(&text, &errors) + "\n"));
            }
            Failure::Records { file, text, errors } => {
                let colour = output::colour_on_stderr();
                output::tell(&render_errors(&file, &text, &errors, colour));
                let number = errors.len();
                let noun = if number == 1 { "error" } else { "errors" };
                output::tell(&format!("{number} {noun} in {file}\n"));
            }
            Failure::Usage(message) | Failure::TooLarge(message) | Failure::File(message) => {
                if json {
                    let error = serde_json::json!({
                        "line": null, "column": null, "text": null,
                        "message": message, "help": null,
                    });
                    let errors = serde_json::json!({ "schema": 1, "errors": [error] });
                    output::print_quietly(&format!("{errors:#}\n"));
                } else {
                    output::tell(&format!("error: {message}\n"));
                }
            }
            Failure::LeftOut => {}
            Failure::Fault => output::tell(
                "error: a fault of the program, not of your records; your file was not changed\n\
                 please report it with the message above\n",
            ),
        }
        ExitCode::from(status)
    }
}
