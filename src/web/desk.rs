//! The records file on the desk, and what was read of it.

use std::collections::VecDeque;
use std::io;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use proveout::presentation::report::About;
use proveout::questions::{Asked, Unanswerable};
use proveout::records::keep::{Kept, NotSaved, version_of};
use proveout::records::{Colony, Format};

use super::answers::Sheet;

/// So many versions are remembered besides the last: earlier ones, and those only tried.
const REMEMBERED: usize = 8;

/// Makes the report of a colony.
pub type MakeReport = fn(&Colony, &Asked, &About) -> Result<String, Unanswerable>;

/// What the page is to be of.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The records file.
    pub file: PathBuf,
    /// How it is written; told by its name unless given.
    pub format: Option<Format>,
    /// Assumptions set for the page, over what the file says.
    pub assume: Vec<(String, f64)>,
    /// Bytes that the tables of an exact answer may take.
    pub memory: u64,
    /// Makes the report.
    pub report: MakeReport,
}

/// What the last change was, to be shown with its undoing.
#[derive(Clone, Debug, PartialEq)]
pub struct LastChange {
    /// The version before it.
    pub from: String,
    /// The version after it.
    pub to: String,
}

/// The records file with all that is known of it.
pub struct Desk {
    /// What the page is of.
    pub settings: Settings,
    /// The port that is listened on.
    pub port: u16,
    /// What a form of ours carries; another one at every start.
    pub token: String,
    kept: Mutex<Kept>,
    sheets: Mutex<VecDeque<Arc<Sheet>>>,
    last: Mutex<Option<LastChange>>,
}

/// A lock whose holder broke off is still a lock: what it holds is replaced whole or not at all.
fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// Opens the records file.
    ///
    /// # Errors
    ///
    /// When it cannot be read, or is not UTF-8 text.
    pub fn open(settings: Settings, port: u16) -> io::Result<Self> {
        let kept = Kept::open(&settings.file)?;
        let token = rand::random::<[u8; 32]>().iter().map(|byte| format!("{byte:02x}")).collect();
        let kept = Mutex::new(kept);
        let (sheets, last) = (Mutex::default(), Mutex::default());
        Ok(Desk { settings, port, token, kept, sheets, last })
    }

    /// The name of the records file, without its folder.
    pub fn file_name(&self) -> String {
        let name = self.settings.file.file_name();
        name.map_or_else(|| "records".to_owned(), |name| name.to_string_lossy().into_owned())
    }

    /// The records as they stand in the file now.
    ///
    /// # Errors
    ///
    /// When the file cannot be read.
    pub fn current(&self) -> io::Result<Arc<Sheet>> {
        let text = {
            let mut kept = held(&self.kept);
            kept.refresh()?;
            kept.text().to_owned()
        };
        Ok(self.sheet(&text))
    }

    /// What a text says; read once for each text.
    pub fn sheet(&self, text: &str) -> Arc<Sheet> {
        let version = version_of(text.as_bytes());
        if let Some(found) = self.remembered(&version) {
            return found;
        }
        let sheet = Arc::new(Sheet::read(text, version, self.format(), &self.settings));
        let mut sheets = held(&self.sheets);
        sheets.push_back(Arc::clone(&sheet));
        if sheets.len() > REMEMBERED {
            // The version of the last change is kept for as long as it can be taken back.
            let last = self.last_change();
            let needed =
                |sheet: &Arc<Sheet>| last.as_ref().is_some_and(|l| l.from == sheet.version);
            let at = sheets.iter().position(|sheet| !needed(sheet)).unwrap_or_default();
            sheets.remove(at);
        }
        sheet
    }

    /// A version that was read before, if it is still remembered; it is then remembered longer.
    pub fn remembered(&self, version: &str) -> Option<Arc<Sheet>> {
        let mut sheets = held(&self.sheets);
        let at = sheets.iter().position(|sheet| sheet.version == version)?;
        let found = sheets.remove(at)?;
        sheets.push_back(Arc::clone(&found));
        Some(found)
    }

    /// How the file is written.
    pub fn format(&self) -> Format {
        let of = |extension: Option<&str>| Format::of(extension, b"");
        let extension = self.settings.file.extension().and_then(|ending| ending.to_str());
        self.settings.format.unwrap_or_else(|| of(extension))
    }

    /// Saves a text over the version it was made from.
    ///
    /// # Errors
    ///
    /// As [`Kept::save`].
    pub fn save(&self, text: &str, seen: &str) -> Result<(), NotSaved> {
        let mut kept = held(&self.kept);
        kept.save(text, seen)?;
        let to = kept.version().to_owned();
        if to != seen {
            *held(&self.last) = Some(LastChange { from: seen.to_owned(), to });
        }
        Ok(())
    }

    /// Goes back to the version before.
    ///
    /// # Errors
    ///
    /// As [`Kept::undo`].
    pub fn undo(&self, seen: &str) -> Result<(), NotSaved> {
        let mut kept = held(&self.kept);
        kept.undo(seen)?;
        let to = kept.version().to_owned();
        *held(&self.last) = Some(LastChange { from: seen.to_owned(), to });
        Ok(())
    }

    /// The text of the version before, if one is kept that differs.
    pub fn previous(&self) -> Option<String> {
        held(&self.kept).previous().ok().flatten()
    }

    /// The last change made from a page, if it is still the last.
    pub fn last_change(&self) -> Option<LastChange> {
        held(&self.last).clone()
    }
}
