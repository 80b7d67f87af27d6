//! Does a keeper's spreadsheet become records with nothing guessed, and come back?

#![allow(clippy::unwrap_used)]

#[path = "sheets/messy.rs"]
mod messy;
#[path = "sheets/round_trip.rs"]
mod round_trip;
#[path = "sheets/small.rs"]
mod small;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use messy::Messy;
use proveout::records::{Call, Colony, Format, Parent, Sex, read};

const GENES: &str = "\
# The shed, as I wrote it by hand.
title = \"Shed\"   # for now

[gene.teasel]
inheritance = \"recessive\"

[gene.gorse]
inheritance = \"incomplete dominant\"   # seen on one copy

[gene.hawser]
inheritance = \"recessive\"

# ---- animals
[[animal]]
id  = \"Alte\"       # here before all others
sex = \"female\"
";

/// A folder with a sheet and perhaps a records file, and the program run in it.
struct Desk {
    folder: tempfile::TempDir,
}

struct Ended {
    status: i32,
    out: String,
    err: String,
}

impl Desk {
    fn with(sheet: impl AsRef<[u8]>, records: Option<&str>) -> Desk {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("sheet.csv"), sheet).unwrap();
        if let Some(records) = records {
            fs::write(folder.path().join("colony.toml"), records).unwrap();
        }
        Desk { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    fn run(&self, words: &[&str]) -> Ended {
        let mut command = Command::cargo_bin("proveout").unwrap();
        let output = command.current_dir(self.folder.path()).args(words).output().unwrap();
        Ended {
            status: output.status.code().unwrap(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    fn import(&self, more: &[&str]) -> Ended {
        self.run(&[&["import", "sheet.csv", "--into", "colony.toml"], more].concat())
    }

    /// Imports and gives what was answered as JSON.
    fn json(&self, more: &[&str]) -> (i32, serde_json::Value) {
        let ended = self.import(&[&["--json"], more].concat());
        let json = serde_json::from_str(&ended.out);
        (ended.status, json.unwrap_or_else(|_| panic!("{}{}", ended.out, ended.err)))
    }

    /// Writes answers into the mapping: each text is replaced where it stands.
    fn answer(&self, answers: &[(&str, &str)]) {
        let mut mapping = self.text("sheet.mapping.toml");
        for (open, answer) in answers {
            assert!(mapping.contains(open), "no `{open}` in\n{mapping}");
            mapping = mapping.replace(open, answer);
        }
        fs::write(self.path("sheet.mapping.toml"), mapping).unwrap();
    }

    fn colony(&self) -> Colony {
        colony_of(&self.path("colony.toml"))
    }
}

fn colony_of(path: &Path) -> Colony {
    let text = fs::read(path).unwrap();
    match read(&text, Format::Toml) {
        Ok(checked) => checked.colony,
        Err(errors) => panic!("{errors:#?}"),
    }
}

/// The rows of an answer: why each is left out, and whether it only waits.
fn rows(json: &serde_json::Value) -> (BTreeMap<usize, String>, BTreeSet<usize>) {
    let mut wrong = BTreeMap::new();
    let mut waiting = BTreeSet::new();
    for row in json["rows"].as_array().unwrap() {
        let number = usize::try_from(row["row"].as_u64().unwrap()).unwrap();
        if row["waits_for"].as_array().unwrap().is_empty() {
            wrong.insert(number, row["reason"].as_str().unwrap().to_string());
        } else {
            waiting.insert(number);
        }
    }
    (wrong, waiting)
}

fn looks_of(colony: &Colony, call: &Call) -> Option<BTreeSet<String>> {
    match call {
        Call::NotRecorded => None,
        Call::Looks(looks) => {
            let name = |look: &proveout::records::Look| {
                colony.gene(look.gene).look_name(look.class).to_string()
            };
            Some(looks.iter().map(name).collect())
        }
        Call::Either(_) => panic!("the sheet has no uncertain calls"),
    }
}

/// Every row that is neither wrong nor waiting has arrived with its facts, and nothing else has.
fn has_all_good(colony: &Colony, sheet: &Messy) {
    let waiting = sheet.waiting();
    let out = |row: &usize| sheet.wrong.contains_key(row) || waiting.contains(row);
    let set = |looks: &Option<Vec<String>>| {
        looks.as_ref().map(|looks| looks.iter().cloned().collect::<BTreeSet<String>>())
    };
    let mut animals = 1;
    for founder in &sheet.founders {
        let found = colony.find_animal(&founder.id);
        assert_eq!(found.is_none(), out(&founder.row), "{founder:?}");
        let Some(id) = found else { continue };
        animals += 1;
        let animal = colony.animal(id);
        assert_eq!(animal.sex == Some(Sex::Female), founder.female, "{founder:?}");
        assert_eq!(looks_of(colony, &animal.seen.call), set(&founder.looks), "{founder:?}");
        let told: Vec<&str> = animal.statements.iter().map(|told| told.text.as_str()).collect();
        assert_eq!(told, founder.told, "{founder:?}");
        assert_eq!(animal.hatched.unwrap().year, i32::from(founder.year), "{founder:?}");
    }
    let mut clutches = 0;
    for clutch in &sheet.clutches {
        let left = clutch.young.iter().any(|young| out(&young.row));
        let found = colony.find_clutch(&clutch.id);
        assert_eq!(found.is_none(), left, "{}", clutch.id);
        let Some(id) = found else { continue };
        clutches += 1;
        let there = colony.clutch(id);
        let Parent::Known(dam) = there.dam else { panic!("{} has a dam", clutch.id) };
        assert_eq!(colony.animal(dam).id.as_deref(), Some(clutch.dam.as_str()));
        let sire = there.named_sires().next().unwrap();
        assert_eq!(colony.animal(sire).id.as_deref(), Some(clutch.sire.as_str()));
        let (year, month, day) = clutch.hatched;
        assert_eq!(there.hatched.unwrap().to_string(), format!("{year}-{month:02}-{day:02}"));
        assert_eq!((there.eggs, there.slugs), (Some(clutch.eggs), Some(clutch.slugs)));
        let (apart, counted): (Vec<_>, Vec<_>) =
            clutch.young.iter().partition(|young| young.id.is_some());
        assert_eq!((there.hatchlings.len(), there.counts.len()), (apart.len(), counted.len()));
        for young in apart {
            animals += 1;
            let id = colony.find_animal(young.id.as_ref().unwrap()).unwrap();
            let animal = colony.animal(id);
            assert!(there.hatchlings.contains(&id));
            assert_eq!(looks_of(colony, &animal.seen.call), set(&young.looks), "{young:?}");
            if let Some(female) = young.sex {
                assert_eq!(animal.sex == Some(Sex::Female), female, "{young:?}");
            }
        }
        for (count, young) in there.counts.iter().zip(counted) {
            assert_eq!(count.number, young.number, "{young:?}");
            assert_eq!(looks_of(colony, &count.seen.call), set(&young.looks), "{young:?}");
        }
    }
    assert_eq!(colony.animals.len(), animals, "nobody else came in");
    assert_eq!(colony.clutches.len(), clutches);
}

#[test]
fn exactly_the_rows_in_doubt_are_reported_and_every_other_arrives_with_its_facts() {
    let sheet = Messy::new(20, true);
    assert!(sheet.rows.len() > 450, "{} rows", sheet.rows.len());
    let desk = Desk::with(sheet.bytes(), Some(GENES));

    // The first run asks, and imports nothing.
    let first = desk.import(&[]);
    assert_eq!(first.status, 0, "{}", first.err);
    assert!(first.out.contains("Nothing is imported yet"), "{}", first.out);
    assert!(first.out.contains("Windows-1252"), "{}", first.out);
    assert_eq!(desk.text("colony.toml"), GENES);
    let mapping = desk.text("sheet.mapping.toml");
    for line in [
        "Tier = \"animal\"",
        "Genetik = \"looks and sold as\"",
        "\".\" = \"day first\"",
        "\"teasle\" = \"?\"",
        "\"poss het teasel\" = \"?% het teasel\"",
        "\"hahn\" = \"?\"",
        "clutch_gaps = \"?\"",
    ] {
        assert!(mapping.contains(line), "no {line} in\n{mapping}");
    }

    // A mapping with questions stops the second run.
    let second = desk.import(&[]);
    assert_eq!(second.status, 1);
    assert!(second.out.contains("poss het teasel"), "{}", second.out);
    assert_eq!(desk.text("sheet.mapping.toml"), mapping, "it is never overwritten");

    desk.answer(&[
        ("clutch_gaps = \"?\"", "clutch_gaps = \"as above\""),
        ("\"?% het teasel\"", "\"50% het teasel\""),
        ("= \"?\"", "= \"report\""),
    ]);
    let (status, json) = desk.json(&[]);
    assert_eq!(status, 1);
    assert_eq!(json["written"], false);
    assert_eq!(desk.text("colony.toml"), GENES, "nothing is written while a row is in doubt");
    let (wrong, waiting) = rows(&json);
    for (row, word) in &sheet.wrong {
        let reason = wrong.get(row).map_or("not reported", String::as_str);
        let text = sheet.rows[row - 2].join(";");
        assert!(reason.contains(word), "row {row} ({text}): {reason}, not {word}");
    }
    let surplus: Vec<_> = wrong.iter().filter(|(row, _)| !sheet.wrong.contains_key(row)).collect();
    assert!(surplus.is_empty(), "{surplus:#?}");
    assert_eq!(waiting, sheet.waiting());
    let repeated: Vec<usize> = sheet.repeated.iter().copied().collect();
    assert_eq!(json["repeated"], serde_json::json!(repeated));

    // Asked for, the others go in, and no byte of the file is touched.
    let partial = desk.import(&["--partial"]);
    assert_eq!(partial.status, 1, "{}", partial.err);
    let text = desk.text("colony.toml");
    for line in GENES.lines() {
        assert!(text.contains(line), "{line} is gone");
    }
    assert_eq!(desk.text("colony.proveout-previous.toml"), GENES);
    has_all_good(&desk.colony(), &sheet);

    // Once more adds nothing.
    let again = desk.import(&["--partial"]);
    assert_eq!(again.status, 1);
    assert_eq!(desk.text("colony.toml"), text);

    // Corrected, what was left out is added and nothing twice.
    let sound = Messy::new(20, false);
    fs::write(desk.path("sheet.csv"), sound.bytes()).unwrap();
    let (status, json) = desk.json(&[]);
    assert_eq!(status, 0, "{json:#}");
    assert_eq!(json["rows"], serde_json::json!([]));
    has_all_good(&desk.colony(), &sound);
    let text = desk.text("colony.toml");
    let (status, _) = desk.json(&[]);
    assert_eq!((status, desk.text("colony.toml")), (0, text));
}

#[test]
fn the_report_names_every_row_on_lines_that_fit_a_page() {
    let sheet = Messy::new(20, true);
    let desk = Desk::with(sheet.bytes(), Some(GENES));
    let first = desk.import(&[]);
    println!("{}", first.out);
    desk.answer(&[
        ("clutch_gaps = \"?\"", "clutch_gaps = \"as above\""),
        ("\"?% het teasel\"", "\"50% het teasel\""),
        ("= \"?\"", "= \"report\""),
    ]);
    println!("{}", desk.text("sheet.mapping.toml"));
    let ended = desk.import(&[]);
    println!("{}", ended.out);
    for row in sheet.wrong.keys() {
        let lead = format!("  row {row} ");
        assert!(ended.out.lines().any(|line| line.starts_with(&lead)), "{row}: {}", ended.out);
    }
    assert!(ended.out.contains(&format!("Rows to look at ({})", sheet.wrong.len())));
    assert!(ended.out.contains(&format!("({}): a clutch goes in whole", sheet.waiting().len())));
    assert!(ended.out.lines().chain(first.out.lines()).all(|line| line.chars().count() <= 100));
}
