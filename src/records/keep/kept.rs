//! A records file on the disk with the version last seen of it.

use std::ffi::OsString;
use std::fmt;
use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;

use sha2::{Digest, Sha256};

use super::whole::{folder, stage, sync_folder};
use crate::records::MAX_BYTES;

/// A records file on the disk with the version last seen of it.
///
/// The version before is kept beside the file: `colony.toml` has `colony.proveout-previous.toml`. While a
/// version is written, it stands in a hidden file whose name begins with that of the records
/// file and `.proveout-`; what a power cut leaves of those is put in order by the next
/// [`open`](Kept::open) or [`save`](Kept::save).
#[derive(Clone, Debug)]
pub struct Kept {
    path: PathBuf,
    text: String,
    version: String,
}

/// Why a version was not saved. The file is then as it was.
#[derive(Debug)]
#[non_exhaustive]
pub enum NotSaved {
    /// Another program changed the file since the version that the change was made from.
    ChangedMeanwhile {
        /// What stands in the file now; signs that are not UTF-8 are replaced.
        theirs: String,
    },
    /// There is no version before this one.
    NothingToUndo,
    /// The file cannot be read or written.
    Io(io::Error),
}

impl fmt::Display for NotSaved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotSaved::ChangedMeanwhile { .. } => {
                f.write_str("the file was changed by another program meanwhile; nothing was saved")
            }
            NotSaved::NothingToUndo => f.write_str("there is no earlier version to go back to"),
            NotSaved::Io(error) => write!(f, "the file cannot be saved: {error}"),
        }
    }
}

impl std::error::Error for NotSaved {}

impl From<io::Error> for NotSaved {
    fn from(error: io::Error) -> Self {
        NotSaved::Io(error)
    }
}

/// The name of a version: SHA-256 of its bytes, in 64 hexadecimal digits.
pub fn version_of(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Kept {
    /// Reads a records file, and puts in order what an interrupted save may have left beside it.
    ///
    /// # Errors
    ///
    /// What the system says; `InvalidData` when the file is not UTF-8.
    pub fn open(path: impl Into<PathBuf>) -> io::Result<Kept> {
        let path = path.into();
        let place = Beside::of(&path)?;
        if let Ok(Some(_alone)) = place.lock() {
            // A folder that cannot be written can still be read.
            let _ = place.put_in_order();
        }
        let text = read_text(&place.file)?;
        let version = version_of(text.as_bytes());
        Ok(Kept { path, text, version })
    }

    /// The path that the file was opened by.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The text as last seen or saved.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The name of that version; see [`version_of`].
    pub fn version(&self) -> &str {
        &self.version
    }

    /// Looks at the file again; true when it is another version now.
    ///
    /// # Errors
    ///
    /// As [`open`](Kept::open).
    pub fn refresh(&mut self) -> io::Result<bool> {
        let text = read_text(&self.path)?;
        let changed = text != self.text;
        self.take(text);
        Ok(changed)
    }

    /// Where the version before is kept.
    ///
    /// # Errors
    ///
    /// When the file is gone.
    pub fn previous_path(&self) -> io::Result<PathBuf> {
        Ok(Beside::of(&self.path)?.previous)
    }

    /// The text of the version before, if there is one that differs.
    ///
    /// # Errors
    ///
    /// As [`open`](Kept::open).
    pub fn previous(&self) -> io::Result<Option<String>> {
        let place = Beside::of(&self.path)?;
        // A save that was interrupted behind its last step left it under the other name.
        let current = read_text(&place.file)?;
        for kept in [&place.pending, &place.previous] {
            match read_text(kept) {
                Ok(text) if text != current => return Ok(Some(text)),
                Err(error) if error.kind() != ErrorKind::NotFound => return Err(error),
                _ => {}
            }
        }
        Ok(None)
    }

    /// Saves a text as the new version.
    ///
    /// `seen` names the version that the change was made from. At every instant the file is the
    /// old version or the new one, whole; the old one is kept beside it. A link stays a link,
    /// permissions stay as they are. A text that is there already changes nothing.
    ///
    /// # Errors
    ///
    /// [`NotSaved::ChangedMeanwhile`] when the file is not `seen`, up to the moment of the move;
    /// [`NotSaved::Io`] when it is gone, write-protected, or the disk is full.
    pub fn save(&mut self, text: &str, seen: &str) -> Result<(), NotSaved> {
        let place = Beside::of(&self.path)?;
        let _alone = place.lock()?;
        place.put_in_order()?;
        let current = fs::read(&place.file)?;
        unchanged(&current, seen)?;
        if current != text.as_bytes() {
            place.replace(&current, text.as_bytes(), seen)?;
        }
        self.take(text.to_string());
        Ok(())
    }

    /// Goes back to the version before; doing it again brings the change back.
    ///
    /// # Errors
    ///
    /// As [`save`](Kept::save), and [`NotSaved::NothingToUndo`].
    pub fn undo(&mut self, seen: &str) -> Result<(), NotSaved> {
        let previous = self.previous()?.ok_or(NotSaved::NothingToUndo);
        // Whoever changed the file matters more than what there is to undo.
        unchanged(&fs::read(&self.path)?, seen)?;
        self.save(&previous?, seen)
    }

    fn take(&mut self, text: String) {
        self.version = version_of(text.as_bytes());
        self.text = text;
    }
}

fn read_text(path: &Path) -> io::Result<String> {
    let mut bytes = Vec::new();
    File::open(path)?.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    if bytes.len() > MAX_BYTES {
        return Err(io::Error::new(ErrorKind::InvalidData, "the file is too large for records"));
    }
    String::from_utf8(bytes)
        .map_err(|_| io::Error::new(ErrorKind::InvalidData, "the file is not UTF-8 text"))
}

fn unchanged(current: &[u8], seen: &str) -> Result<(), NotSaved> {
    if version_of(current) == seen {
        return Ok(());
    }
    Err(NotSaved::ChangedMeanwhile { theirs: String::from_utf8_lossy(current).into_owned() })
}

/// The file that a path leads to, and what is kept beside it.
struct Beside {
    file: PathBuf,
    /// The version before.
    previous: PathBuf,
    /// What will be the version before once the file has been replaced.
    pending: PathBuf,
    /// How the names of files that are being written begin.
    prefix: String,
}

impl Beside {
    fn of(path: &Path) -> io::Result<Beside> {
        let file = fs::canonicalize(path)?;
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let mut previous = OsString::from(file.file_stem().unwrap_or_default());
        previous.push(".proveout-previous");
        if let Some(extension) = file.extension() {
            previous.push(".");
            previous.push(extension);
        }
        let prefix = format!(".{name}.proveout-");
        Ok(Beside {
            previous: file.with_file_name(previous),
            pending: file.with_file_name(format!("{prefix}before")),
            prefix,
            file,
        })
    }

    fn folder(&self) -> &Path {
        folder(&self.file)
    }

    /// Keeps other runs of this program from saving in the same folder until it is dropped.
    ///
    /// `None` where folders cannot be locked; comparing bytes right before the move protects the
    /// file without it too.
    ///
    /// # Errors
    ///
    /// `WouldBlock` when the other one takes very long.
    fn lock(&self) -> io::Result<Option<File>> {
        let Ok(folder) = File::open(self.folder()) else { return Ok(None) };
        for _ in 0..500 {
            match folder.try_lock() {
                Ok(()) => return Ok(Some(folder)),
                Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(10)),
                Err(TryLockError::Error(_)) => return Ok(None),
            }
        }
        let busy = "another run of the program is saving in this folder";
        Err(io::Error::new(ErrorKind::WouldBlock, busy))
    }

    /// Replaces the file.
    ///
    /// The old version waits under a name of its own until the file has been replaced, and only
    /// then takes the place of the one before it. So at no instant is the version before lost:
    /// whether the move has happened can be told by comparing (see
    /// [`put_in_order`](Beside::put_in_order)).
    fn replace(&self, old: &[u8], new: &[u8], seen: &str) -> Result<(), NotSaved> {
        let metadata = fs::metadata(&self.file)?;
        if metadata.permissions().readonly() {
            let protected = io::Error::new(ErrorKind::PermissionDenied, "it is write-protected");
            return Err(NotSaved::Io(protected));
        }
        let staged = stage(self.folder(), &self.prefix, new, Some(&metadata))?;
        let waiting = stage(self.folder(), &self.prefix, old, Some(&metadata))?;
        waiting.persist(&self.pending).map_err(|error| error.error)?;
        sync_folder(self.folder());
        let moved = unchanged(&fs::read(&self.file)?, seen)
            .and_then(|()| Ok(staged.persist(&self.file).map_err(|error| error.error)?));
        if let Err(error) = moved {
            let _ = fs::remove_file(&self.pending);
            return Err(error);
        }
        sync_folder(self.folder());
        // The new version is in place: from here on the save has happened. Were this move lost in
        // a power cut, the next save would make it again.
        let _ = fs::rename(&self.pending, &self.previous);
        Ok(())
    }

    /// Finishes or takes back what an interrupted save has left.
    ///
    /// A version that waits to become the one before, and equals the file, was not replaced: it
    /// goes. One that differs was, and takes its place. Files that were still being written go.
    fn put_in_order(&self) -> io::Result<()> {
        match fs::read(&self.pending) {
            Ok(waiting) if waiting == fs::read(&self.file)? => fs::remove_file(&self.pending)?,
            Ok(_) => fs::rename(&self.pending, &self.previous)?,
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => return Err(error),
        }
        for entry in fs::read_dir(self.folder())?.flatten() {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            let random = name.strip_prefix(&self.prefix).and_then(|name| name.strip_suffix(".tmp"));
            let ours = random.is_some_and(|random| {
                random.len() == 6 && random.bytes().all(|byte| byte.is_ascii_alphanumeric())
            });
            if ours {
                let _ = fs::remove_file(entry.path());
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tempfile::TempDir;

    fn opened(text: &str) -> (TempDir, PathBuf, Kept) {
        let folder = TempDir::new().unwrap();
        let path = folder.path().join("colony.toml");
        fs::write(&path, text).unwrap();
        let kept = Kept::open(&path).unwrap();
        (folder, path, kept)
    }

    fn save(kept: &mut Kept, text: &str) -> Result<(), NotSaved> {
        let seen = kept.version().to_string();
        kept.save(text, &seen)
    }

    fn undo(kept: &mut Kept) -> Result<(), NotSaved> {
        let seen = kept.version().to_string();
        kept.undo(&seen)
    }

    #[test]
    fn an_undo_can_be_undone() {
        let (_folder, path, mut kept) = opened("one");
        assert!(matches!(undo(&mut kept), Err(NotSaved::NothingToUndo)));
        save(&mut kept, "two").unwrap();
        assert_eq!(kept.version(), version_of(b"two"));
        let beside = kept.previous_path().unwrap();
        assert_eq!(beside.file_name().unwrap(), "colony.proveout-previous.toml");
        assert_eq!(fs::read_to_string(beside).unwrap(), "one");
        undo(&mut kept).unwrap();
        assert_eq!((kept.text(), &fs::read_to_string(&path).unwrap()[..]), ("one", "one"));
        undo(&mut kept).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
    }

    #[test]
    fn what_another_program_wrote_is_never_overwritten() {
        let (_folder, path, mut kept) = opened("one");
        save(&mut kept, "two").unwrap();
        fs::write(&path, "theirs").unwrap();
        let told = |result| match result {
            Err(NotSaved::ChangedMeanwhile { theirs }) => theirs,
            other => panic!("{other:?}"),
        };
        assert_eq!(told(save(&mut kept, "three")), "theirs");
        assert_eq!(told(undo(&mut kept)), "theirs");
        assert_eq!(fs::read_to_string(&path).unwrap(), "theirs");
        assert_eq!(kept.previous().unwrap().as_deref(), Some("one"));
        assert!(kept.refresh().unwrap() && !kept.refresh().unwrap());
        save(&mut kept, "three").unwrap();
        assert_eq!(kept.previous().unwrap().as_deref(), Some("theirs"));
    }

    #[test]
    fn a_change_between_the_first_look_and_the_move_is_seen() {
        let (_folder, path, kept) = opened("one");
        let place = Beside::of(&path).unwrap();
        fs::write(&path, "theirs").unwrap();
        let result = place.replace(b"one", b"two", kept.version());
        assert!(matches!(result, Err(NotSaved::ChangedMeanwhile { .. })));
        assert_eq!(fs::read_to_string(&path).unwrap(), "theirs");
        assert!(!place.pending.exists() && !place.previous.exists());
    }

    #[test]
    fn the_same_text_again_keeps_the_version_before() {
        let (_folder, _, mut kept) = opened("one");
        save(&mut kept, "two").unwrap();
        save(&mut kept, "two").unwrap();
        assert_eq!(kept.previous().unwrap().as_deref(), Some("one"));
    }

    #[test]
    fn an_interrupted_save_is_finished_or_taken_back() {
        let (_folder, path, mut kept) = opened("one");
        save(&mut kept, "two").unwrap();
        let place = Beside::of(&path).unwrap();
        // Stopped before the move: the waiting version is the file itself.
        fs::write(&place.pending, "two").unwrap();
        assert_eq!(kept.previous().unwrap().as_deref(), Some("one"));
        let kept = Kept::open(&path).unwrap();
        assert_eq!((kept.text(), kept.previous().unwrap().as_deref()), ("two", Some("one")));
        assert!(!place.pending.exists());
        // Stopped behind the move: it is the version before.
        fs::write(&path, "three").unwrap();
        fs::write(&place.pending, "two").unwrap();
        assert_eq!(kept.previous().unwrap().as_deref(), Some("two"));
        let kept = Kept::open(&path).unwrap();
        assert_eq!((kept.text(), kept.previous().unwrap().as_deref()), ("three", Some("two")));
        assert!(!place.pending.exists());
    }

    #[test]
    fn only_our_own_leftovers_are_cleared_away() {
        let (folder, path, _) = opened("one");
        let ours = ".colony.toml.proveout-a1B2c3.tmp";
        let others =
            [".colony.toml.proveout-notes.txt", ".other.toml.proveout-a1B2c3.tmp", "a.tmp"];
        for name in others.iter().chain([&ours]) {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        Kept::open(&path).unwrap();
        assert!(!folder.path().join(ours).exists());
        assert!(others.iter().all(|name| folder.path().join(name).exists()));
    }

    #[test]
    fn what_cannot_be_read_says_so() {
        let (_folder, path, mut kept) = opened("one");
        fs::write(&path, b"\xff").unwrap();
        assert_eq!(Kept::open(&path).unwrap_err().kind(), ErrorKind::InvalidData);
        fs::remove_file(&path).unwrap();
        assert!(matches!(save(&mut kept, "two"), Err(NotSaved::Io(_))));
        assert!(!path.exists(), "what was taken away is not made anew");
    }

    #[cfg(unix)]
    #[test]
    fn links_and_permissions_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let (folder, path, _) = opened("one");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        fs::create_dir(folder.path().join("desk")).unwrap();
        let link = folder.path().join("desk/link.toml");
        symlink("../colony.toml", &link).unwrap();
        let mut kept = Kept::open(&link).unwrap();
        save(&mut kept, "two").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
        let beside = fs::canonicalize(folder.path()).unwrap().join("colony.proveout-previous.toml");
        assert_eq!(kept.previous_path().unwrap(), beside);
        assert_eq!(fs::metadata(&beside).unwrap().permissions().mode() & 0o777, 0o640);
        fs::set_permissions(&path, fs::Permissions::from_mode(0o440)).unwrap();
        let error = save(&mut kept, "three").unwrap_err();
        assert_eq!(error.to_string(), "the file cannot be saved: it is write-protected");
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
    }
}
