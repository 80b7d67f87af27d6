//! There and back: a colony as a sheet, and the sheet as a colony.

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use proveout::records::sheet::{Mapping, Sheet, export, import, is_own, own_mapping};
use proveout::records::{Colony, Format, Place, read, to_toml};
use proveout::sampler::{Features, Params, sample_colony};

use super::{Desk, colony_of};

/// The same colony standing nowhere.
pub fn without_places(mut colony: Colony) -> Colony {
    colony.genes.iter_mut().for_each(|gene| gene.place = Place::default());
    colony.linkage.iter_mut().for_each(|group| group.place = Place::default());
    colony.masks.iter_mut().for_each(|mask| mask.place = Place::default());
    colony.combinations.iter_mut().for_each(|one| one.place = Place::default());
    for animal in &mut colony.animals {
        animal.place = Place::default();
        animal.seen.place = None;
        animal.grown.iter_mut().for_each(|seen| seen.place = None);
        animal.statements.iter_mut().for_each(|told| told.place = Place::default());
        animal.readings.iter_mut().for_each(|reading| reading.place = Place::default());
    }
    for clutch in &mut colony.clutches {
        clutch.place = Place::default();
        for count in &mut clutch.counts {
            count.place = Place::default();
            count.seen.place = None;
        }
    }
    colony
}

/// The colony that a colony's own sheet gives, and that importing it again changes nothing.
fn there_and_back(colony: &Colony, separator: char) -> Colony {
    let csv = export(colony, separator);
    let sheet = Sheet::read(csv.as_bytes(), None).unwrap();
    assert_eq!(sheet.separator, separator);
    assert!(is_own(&sheet));
    let mapping = own_mapping(&sheet).unwrap();
    let outcome = import(&sheet, &mapping, None).unwrap_or_else(|why| panic!("{why:#?}\n{csv}"));
    assert_eq!(outcome.reports, [], "{csv}");
    let text = outcome.text.unwrap();
    let back = read(text.as_bytes(), Format::Toml).unwrap().colony;
    let again = import(&sheet, &mapping, Some((&text, &back))).unwrap();
    assert_eq!((again.text, again.reports), (None, vec![]), "{csv}\n{text}");
    without_places(back)
}

#[test]
fn the_demo_and_the_stories_come_back_as_they_went() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = vec![root.join("datasets/demo/colony.toml")];
    for folder in ["datasets/stories", "datasets/published", "datasets/confusions"] {
        let all = fs::read_dir(root.join(folder)).unwrap().map(|entry| entry.unwrap().path());
        files.extend(all.filter(|path| path.extension().is_some_and(|ending| ending == "toml")));
    }
    assert!(files.len() > 20);
    for file in files {
        let colony = colony_of(&file);
        for separator in [',', ';', '\t'] {
            let back = there_and_back(&colony, separator);
            assert_eq!(back, without_places(colony.clone()), "{}", file.display());
        }
    }
}

#[test]
fn the_program_exports_and_imports_without_a_keepers_work() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/demo/colony.toml");
    let desk = Desk::with("", Some(&fs::read_to_string(&demo).unwrap()));
    let before = desk.text("colony.toml");
    let words = ["export", "colony.toml", "--separator", "semicolon", "--out", "sheet.csv"];
    let exported = desk.run(&words);
    assert_eq!(exported.status, 0, "{}", exported.err);
    assert!(exported.err.contains("uncertain calls") && exported.err.contains("readings"));
    assert!(exported.err.contains("remarks"));

    // Into the file it came from: nothing is new, not a byte changes.
    let ended = desk.import(&[]);
    assert_eq!(ended.status, 0, "{}{}", ended.out, ended.err);
    assert!(ended.out.contains("Nothing new"), "{}", ended.out);
    assert_eq!(desk.text("colony.toml"), before);
    assert!(!desk.path("sheet.mapping.toml").exists());

    // Into a new file: the same colony.
    let ended = desk.run(&["import", "sheet.csv", "--into", "new.toml"]);
    assert_eq!(ended.status, 0, "{}{}", ended.out, ended.err);
    let [new, old] = ["new.toml", "colony.toml"].map(|name| colony_of(&desk.path(name)));
    assert_eq!(without_places(new), without_places(old));
}

#[test]
fn every_key_of_the_format_comes_back() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/messages");
    for name in ["everything.toml", "everything.json"] {
        let text = fs::read(folder.join(name)).unwrap();
        let format = Format::of(Path::new(name).extension().and_then(|e| e.to_str()), &text);
        let Ok(checked) = read(&text, format) else { continue };
        let back = there_and_back(&checked.colony, ';');
        assert_eq!(back, without_places(checked.colony), "{name}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(96) })]

    #[test]
    fn a_random_colony_comes_back_as_it_went(
        seed in any::<u64>(),
        genes in 1_usize..6,
        system in 0_usize..3,
        everything in any::<bool>(),
    ) {
        use proveout::records::SexSystem::{Environmental, Xy, Zw};
        let params = Params {
            genes,
            sex_system: [Environmental, Xy, Zw][system],
            features: if everything { Features::all() } else { Features::default() },
            ..Params::everything()
        };
        let (colony, _) = sample_colony(&params, seed).unwrap();
        // As it reads: weights of sires are normalised in the reading.
        let text = to_toml(&colony);
        let colony = read(text.as_bytes(), Format::Toml).unwrap().colony;
        let back = there_and_back(&colony, ',');
        prop_assert_eq!(nearly(back), nearly(without_places(colony)));
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        tried(&bytes);
    }

    #[test]
    fn no_text_of_a_sheet_makes_the_reader_panic(
        text in "[a-z0-9;,\t\"'\n\r?%+=./ äé\u{feff}-]{0,300}",
    ) {
        tried(text.as_bytes());
        tried(format!("id;hatched;dam;clutch;eggs;looks;number\n{text}").as_bytes());
    }

    #[test]
    fn no_text_of_a_mapping_makes_it_panic(text in "[a-z0-9=\\[\\]{}\"'\n?#., -]{0,200}") {
        let _ = Mapping::read(&text);
        let _ = Mapping::read(&format!("[columns]\nid = \"animal\"\n[words]\n{text}"));
    }
}

/// Normalising weights once more can move the last bit.
fn nearly(mut colony: Colony) -> Colony {
    for (_, weight) in colony.clutches.iter_mut().flat_map(|c| &mut c.siring.candidates) {
        *weight = (*weight * 1e12).round();
    }
    colony
}

/// Everything that can be done with the bytes of a sheet.
fn tried(bytes: &[u8]) {
    let Ok(sheet) = Sheet::read(bytes, None) else { return };
    let text = proveout::records::sheet::propose(&sheet, None, "sheet");
    let open = Mapping::read(&text);
    // What was proposed is a mapping, whatever the sheet holds.
    if let Err(questions) = &open {
        for question in questions {
            assert!(!question.text.contains("not TOML"), "{}\n{text}", question.text);
        }
    }
    let answered = text
        .replace("inheritance = \"?\"", "inheritance = \"recessive\"")
        .replace("\"?\"", "\"ignored\"")
        .replace("?%", "50%");
    for mapping in [open, Mapping::read(&answered)].into_iter().flatten() {
        let _ = import(&sheet, &mapping, None);
    }
}
