//! `import`: a sheet into records, with nothing guessed.

use std::path::{Path, PathBuf};

use proveout::presentation::{
    Written, import_json, import_text, proposed_text, questions_json, questions_text,
};
use proveout::records::keep::{Kept, NotSaved};
use proveout::records::sheet::{
    CannotImport, Mapping, Names, Outcome, Question, Sheet, import, is_own, own_mapping, propose,
};
use proveout::records::{Colony, Format, read};

use super::args::ImportArgs;
use super::input::load;
use super::progress::Progress;
use super::{Failure, output};

/// The records file that a sheet goes into.
struct Target {
    name: String,
    kept: Kept,
    colony: Colony,
}

pub fn run(asked: &ImportArgs) -> Result<(), Failure> {
    let (_, bytes) = load(&asked.sheet)?;
    let mut target = target(&asked.into)?;
    let path = mapping_path(asked);
    let written = path.as_deref().map(text_of).transpose()?.flatten();
    let first = Sheet::read(&bytes, None).map_err(|why| unreadable(asked, &why))?;
    let mapping = match (&written, own_mapping(&first)) {
        (Some(text), _) => match Mapping::read(text) {
            Ok(mapping) => mapping,
            Err(questions) => return ask(asked, path.as_deref(), &questions),
        },
        (None, Some(own)) => own,
        (None, None) => return first_run(asked, path, &first, target.as_ref()),
    };
    let own = mapping.own || is_own(&first);
    let mapping = Mapping { own, ..mapping };
    let sheet = Sheet::read(&bytes, mapping.separator).map_err(|why| unreadable(asked, &why))?;
    let into = target.as_ref().map(|target| (target.kept.text(), &target.colony));
    let working = Progress::begin("putting the rows together");
    let outcome = import(&sheet, &mapping, into);
    drop(working);
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(CannotImport::Questions(questions)) => {
            return ask(asked, path.as_deref(), &questions);
        }
        Err(CannotImport::Unsound { text, errors }) => {
            let file = format!("{} as it would be (nothing is written)", asked.into.display());
            return Err(Failure::Records { file, text, errors });
        }
        Err(CannotImport::Unchangeable(why)) => {
            let file = asked.into.display();
            return Err(Failure::File(format!("{file} cannot take in the sheet: {why}")));
        }
    };
    let became = save(asked, &outcome, target.as_mut())?;
    tell(asked, &outcome, became)
}

fn tell(asked: &ImportArgs, outcome: &Outcome, became: Written) -> Result<(), Failure> {
    let text = if asked.json {
        import_json(outcome, became)
    } else {
        import_text(&called(&asked.sheet), &called(&asked.into), outcome, became)
    };
    output::answer(&text, None)?;
    if outcome.reports.is_empty() { Ok(()) } else { Err(Failure::LeftOut) }
}

/// Writes the records where that is wanted, and says what became of them.
fn save(
    asked: &ImportArgs,
    outcome: &Outcome,
    target: Option<&mut Target>,
) -> Result<Written, Failure> {
    let left = !outcome.reports.is_empty();
    let Some(text) = &outcome.text else {
        return Ok(if left { Written::No } else { Written::Nothing });
    };
    if asked.dry_run {
        return Ok(Written::Tried);
    }
    if left && !asked.partial {
        return Ok(Written::No);
    }
    match target {
        None => output::write_file(&asked.into, text, false)?,
        Some(target) => {
            let seen = target.kept.version().to_string();
            target.kept.save(text, &seen).map_err(|why| match why {
                NotSaved::Io(error) => {
                    Failure::File(format!("cannot write {}: {error}", target.name))
                }
                other => Failure::File(format!("{}: {other}", target.name)),
            })?;
        }
    }
    Ok(if left { Written::Partly } else { Written::Yes })
}

fn unreadable(asked: &ImportArgs, why: &str) -> Failure {
    Failure::File(format!("{}: {why}", asked.sheet.display()))
}

/// The records file, if it exists; it must be sound before anything is added.
fn target(into: &Path) -> Result<Option<Target>, Failure> {
    let name = into.display().to_string();
    if into.as_os_str() == "-" {
        return Err(Failure::Usage("--into names a file; it cannot be standard output".into()));
    }
    let json = into.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json"));
    if json {
        return Err(Failure::Usage(format!("{name}: a sheet goes into records in TOML only")));
    }
    let kept = match Kept::open(into) {
        Ok(kept) => kept,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(Failure::File(format!("cannot read {name}: {error}"))),
    };
    match read(kept.text().as_bytes(), Format::Toml) {
        Ok(checked) => Ok(Some(Target { name, kept, colony: checked.colony })),
        Err(errors) => {
            let text = kept.text().to_string();
            Err(Failure::Records { file: name, text, errors })
        }
    }
}

/// Where the mapping stands: as asked for, else beside the sheet.
fn mapping_path(asked: &ImportArgs) -> Option<PathBuf> {
    let beside =
        || (asked.sheet.as_os_str() != "-").then(|| asked.sheet.with_extension("mapping.toml"));
    asked.mapping.clone().or_else(beside)
}

/// The text of a file that may not exist.
fn text_of(path: &Path) -> Result<Option<String>, Failure> {
    match std::fs::read(path) {
        Ok(bytes) => String::from_utf8(bytes)
            .map(Some)
            .map_err(|_| Failure::File(format!("{} is not UTF-8 text", path.display()))),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Failure::File(format!("cannot read {}: {error}", path.display()))),
    }
}

fn ask(asked: &ImportArgs, path: Option<&Path>, questions: &[Question]) -> Result<(), Failure> {
    let name = path.map_or("the sheet".to_string(), called);
    let text = if asked.json {
        questions_json(&name, questions)
    } else {
        questions_text(&name, questions)
    };
    output::answer(&text, None)?;
    Err(Failure::LeftOut)
}

/// No mapping yet: writes one to be checked, and imports nothing.
fn first_run(
    asked: &ImportArgs,
    path: Option<PathBuf>,
    sheet: &Sheet,
    target: Option<&Target>,
) -> Result<(), Failure> {
    let Some(path) = path else {
        return Err(Failure::Usage(
            "a sheet from standard input needs --mapping, to say where its mapping stands".into(),
        ));
    };
    let names = target.map(|target| Names::of(&target.colony));
    let name = called(&asked.sheet);
    let mapping = propose(sheet, names.as_ref(), &name);
    let questions = Mapping::read(&mapping).err().unwrap_or_default();
    if asked.dry_run && !asked.json {
        return output::answer(&mapping, None);
    }
    if !asked.dry_run {
        output::write_file(&path, &mapping, false)?;
    }
    let text = if asked.json {
        questions_json(&called(&path), &questions)
    } else {
        proposed_text(sheet, &name, &called(&path), &questions)
    };
    output::answer(&text, None)
}

/// What a message calls a file: its name without the folders.
fn called(path: &Path) -> String {
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    if name == "-" { "standard input".to_string() } else { name }
}
