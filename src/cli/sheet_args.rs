//! The command line of `import` and `export`.

use std::path::PathBuf;

use clap::ValueEnum;

use super::args::Notation;

pub const IMPORT_EXAMPLES: &str = "Examples:\n  \
    proveout import sheet.csv --into colony.toml            first: writes sheet.mapping.toml\n  \
    proveout import sheet.csv --into colony.toml --dry-run  then: what would go in?\n  \
    proveout import sheet.csv --into colony.toml            and in it goes\n  \
    proveout import sheet.csv --into colony.toml --partial  without the rows in doubt";

pub const IMPORT_ABOUT: &str = "My clutches are in a spreadsheet. Makes records of it; what is not \
    understood is reported.\n\n\
    The first run writes a mapping beside the sheet: what its columns and words seem to mean, with \
    a `?` where only you know. Check it, then run the same command again. The sheet is CSV or TSV, \
    in UTF-8, UTF-16 or Windows-1252.\n\n\
    A row that is not understood or in doubt is reported with its number, and nothing of it is \
    written. A clutch goes in whole or not at all, and after its parents. While any row is left \
    out nothing is written, unless --partial asks for the others; the exit status is then 1 \
    either way, and 0 when every row was understood. Importing again adds only what is new, and \
    never overwrites what the file says. The version before is kept beside the file.";

pub const EXPORT_EXAMPLES: &str = "Examples:\n  \
    proveout export colony.toml --out colony.csv\n  \
    proveout export colony.toml --separator semicolon --out colony.csv";

pub const EXPORT_ABOUT: &str = "I want my records in a spreadsheet. One row for each animal, \
    hatchling or count.\n\n\
    What has no column of its own stands in the columns `more` and `clutch more` as in a records \
    file; genes and settings are rows at the end. `import` knows this sheet without a mapping and \
    makes the same colony of it. Remarks (lines with #) are not carried along.";

/// `import`.
#[derive(Debug, clap::Args)]
pub struct ImportArgs {
    /// The sheet, CSV or TSV; `-` is standard input.
    pub sheet: PathBuf,
    /// The records file it goes into; made when it does not exist.
    #[arg(long, value_name = "FILE")]
    pub into: PathBuf,
    /// What the columns and words of the sheet mean. [default: SHEET.mapping.toml]
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
    /// Says what would go in and writes nothing.
    #[arg(long)]
    pub dry_run: bool,
    /// Writes what is understood although rows are left out.
    #[arg(long, conflicts_with = "dry_run")]
    pub partial: bool,
    /// Answers in JSON.
    #[arg(long)]
    pub json: bool,
}

/// `export`.
#[derive(Debug, clap::Args)]
pub struct ExportArgs {
    /// The records file; `-` is standard input.
    pub file: PathBuf,
    /// How the records are written; otherwise told by the name, or by the first character.
    #[arg(long, value_enum)]
    pub format: Option<Notation>,
    /// What stands between two cells.
    #[arg(long, value_enum, default_value = "comma")]
    pub separator: Separator,
    /// Writes the sheet to a file.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Writes what the columns mean to a file, for a sheet whose headings you will change.
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
}

/// What stands between two cells.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Separator {
    /// A comma.
    Comma,
    /// A semicolon, as spreadsheets with a decimal comma expect.
    Semicolon,
    /// A tab.
    Tab,
}

impl Separator {
    /// The sign itself.
    pub fn sign(self) -> char {
        match self {
            Separator::Comma => ',',
            Separator::Semicolon => ';',
            Separator::Tab => '\t',
        }
    }
}
