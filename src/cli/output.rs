//! Where words go: answers to standard output or a file, everything else to standard error.

use std::io::{ErrorKind, IsTerminal, Write};
use std::path::Path;

use super::Failure;

/// Writes an answer to standard output, or to a file that appears whole or not at all.
pub fn answer(text: &str, out: Option<&Path>) -> Result<(), Failure> {
    match out {
        Some(path) => write_file(path, text, true),
        None => print(text),
    }
}

/// Writes to standard output; a closed pipe ends quietly.
fn print(text: &str) -> Result<(), Failure> {
    let mut stdout = std::io::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::File(format!("cannot write the answer: {error}")))
        }
        _ => Ok(()),
    }
}

/// Writes to standard output, whatever becomes of it.
pub fn print_quietly(text: &str) {
    let _ = print(text);
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

/// Writes a file beside its place and then moves it there, so that it is never half written.
pub fn write_file(path: &Path, content: impl AsRef<[u8]>, overwrite: bool) -> Result<(), Failure> {
    let failed = |what: &str, error: &dyn std::fmt::Display| {
        Failure::File(format!("cannot {what} {}: {error}", path.display()))
    };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut file = tempfile::Builder::new()
        .prefix(".proveout-")
        .permissions_like_new_file()
        .tempfile_in(folder.unwrap_or(Path::new(".")))
        .map_err(|error| failed("write", &error))?;
    file.write_all(content.as_ref())
        .and_then(|()| file.as_file().sync_all())
        .map_err(|error| failed("write", &error))?;
    let moved = if overwrite { file.persist(path) } else { file.persist_noclobber(path) };
    match moved {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == ErrorKind::AlreadyExists => Err(Failure::File(
            format!("{} exists already and is left as it is; choose another name", path.display()),
        )),
        Err(error) => Err(failed("write", &error.error)),
    }
}

/// A file made by a keeper is readable as other files are, not private as temporary ones.
trait LikeNewFile {
    fn permissions_like_new_file(&mut self) -> &mut Self;
}

impl LikeNewFile for tempfile::Builder<'_, '_> {
    #[cfg(unix)]
    fn permissions_like_new_file(&mut self) -> &mut Self {
        use std::os::unix::fs::PermissionsExt;
        // The system takes away what the user's mask forbids.
        self.permissions(std::fs::Permissions::from_mode(0o666))
    }

    #[cfg(not(unix))]
    fn permissions_like_new_file(&mut self) -> &mut Self {
        self
    }
}
