//! Where words go: answers to standard output or a file, everything else to standard error.

use std::io::{ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use proveout::records::keep::write_whole;

use super::Failure;

/// Writes an answer to standard output, or to a file that appears whole or not at all.
pub fn answer(text: &str, out: Option<&Path>) -> Result<(), Failure> {
    match out {
        Some(path) => write_file(path, text, true),
        None => print([text]),
    }
}

/// The same for an answer in pieces that follow each other.
pub fn answer_in_pieces(
    pieces: impl Iterator<Item = String>,
    out: Option<&Path>,
) -> Result<(), Failure> {
    match out {
        Some(path) => write_file(path, pieces.collect::<String>(), true),
        None => print(pieces),
    }
}

/// Writes to standard output; a closed pipe ends quietly.
fn print(pieces: impl IntoIterator<Item = impl AsRef<str>>) -> Result<(), Failure> {
    let mut stdout = std::io::stdout().lock();
    let mut written = pieces.into_iter().map(|piece| stdout.write_all(piece.as_ref().as_bytes()));
    match written.try_for_each(|one| one).and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::File(format!("cannot write the answer: {error}")))
        }
        _ => Ok(()),
    }
}

/// Writes to standard output, whatever becomes of it.
pub fn print_quietly(text: &str) {
    let _ = print([text]);
}

/// Writes to standard error, whatever becomes of it.
pub fn tell(text: &str) {
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

/// Whether messages may be coloured: on a terminal, unless NO_COLOR asks otherwise.
pub fn colour_on_stderr() -> bool {
    std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
        && std::io::stderr().is_terminal()
}

/// Files that this run has read or written: an answer must not replace one of them.
static TAKEN: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Keeps the answers of this run from being written over a file.
pub fn taken(path: &Path) {
    if let (Ok(path), Ok(mut all)) = (path.canonicalize(), TAKEN.lock()) {
        all.push(path);
    }
}

fn is_taken(path: &Path) -> bool {
    let Ok(path) = path.canonicalize() else { return false };
    TAKEN.lock().is_ok_and(|all| all.contains(&path))
}

/// Writes a file beside its place and then moves it there, so that it is never half written.
pub fn write_file(path: &Path, content: impl AsRef<[u8]>, overwrite: bool) -> Result<(), Failure> {
    if is_taken(path) {
        return Err(Failure::Usage(format!(
            "{} was read or written just now, and the answer would replace it; choose another name",
            path.display()
        )));
    }
    write_whole(path, content.as_ref(), overwrite).map_err(|error| {
        let name = path.display();
        Failure::File(match error.kind() {
            ErrorKind::AlreadyExists => {
                format!("{name} exists already and is left as it is; choose another name")
            }
            _ => format!("cannot write {name}: {error}"),
        })
    })?;
    taken(path);
    Ok(())
}
