//! Is a label never stronger than the records?

#![allow(clippy::unwrap_used)]

use std::fs;

use assert_cmd::Command;
use proveout::presentation::{json, labels_csv, labels_text};
use proveout::questions::{Asked, LabelsAnswer, labels};
use proveout::records::{Colony, Format, read};
use proveout::sampler::{Features, Params, sample_colony};
use serde_json::Value;

const STOCK: &str = r#"
    [gene.ash]
    inheritance = "recessive"
    [[animal]]
    id = "Maud"
    sex = "female"
    looks = ["normal"]
    sold_as = ["66% het ash"]
    [[animal]]
    id = "Ivo"
    sex = "male"
    looks = ["ash"]
"#;

fn colony(text: &str) -> Colony {
    read(text.as_bytes(), Format::Toml).unwrap_or_else(|e| panic!("{text}\n{e:?}")).colony
}

fn answer(text: &str, level: f64) -> (Colony, LabelsAnswer) {
    let colony = colony(text);
    let answer = labels(&colony, &Asked::default(), level).unwrap();
    (colony, answer)
}

fn parsed(colony: &Colony, answer: &LabelsAnswer) -> Value {
    serde_json::from_str(&json::labels(colony, answer)).unwrap()
}

/// The label of an animal, as JSON.
fn label(text: &str, level: f64, animal: &str) -> Value {
    let (colony, answer) = answer(text, level);
    let all = parsed(&colony, &answer);
    let all = all["labels"].as_array().unwrap().clone();
    all.into_iter().find(|label| label["animal"] == animal).unwrap()
}

/// The first `N in M` of a text, as a chance.
fn figure(text: &str) -> Option<f64> {
    let words: Vec<String> =
        text.split(' ').map(|word| word.replace([',', ':', ';'], "")).collect();
    let at = words.windows(3).position(|three| {
        three[1] == "in" && three[0].parse::<f64>().is_ok() && three[2].parse::<f64>().is_ok()
    })?;
    Some(words[at].parse::<f64>().unwrap() / words[at + 2].parse::<f64>().unwrap())
}

#[test]
fn no_figure_on_a_label_says_more_than_the_records() {
    let (mut claims, mut doubts, mut proven) = (0, 0, 0);
    for seed in 0..60 {
        let params = Params {
            founders: 5,
            seasons: 2,
            clutches: 3,
            young: (2, 6),
            genes: 3,
            // Unknown rates and linkage take long and change no word.
            features: Features { unknown_rates: false, linkage: false, ..Features::all() },
            ..Params::default()
        };
        let Ok((colony, _)) = sample_colony(&params, seed) else { continue };
        let asked = Asked { memory: 1 << 24, ..Asked::default() };
        let Ok(answer) = labels(&colony, &asked, 0.95) else { continue };
        for label in parsed(&colony, &answer)["labels"].as_array().unwrap() {
            let text = label["text"].as_str().unwrap();
            let claim = label["claim"].as_str().unwrap();
            let ground = label["ground"].as_str().unwrap();
            let card = text.strip_suffix(ground).unwrap();
            assert!(!text.contains("100 in 100"), "{text}");
            let Some(probability) = label["probability"].as_f64() else { continue };
            if claim == "proven" {
                assert!(probability >= 0.95, "{label}");
                proven += 1;
            } else {
                assert!(!card.replace("not proven", "").contains("proven"), "{label}");
            }
            let Some(figure) = figure(card) else { continue };
            if card.contains("fewer than") {
                assert!(probability < figure, "{label}");
            } else if ["none", "test-bred"].contains(&claim) {
                doubts += 1;
                assert!(figure >= probability, "{label}");
            } else {
                claims += 1;
                assert!(figure <= probability, "{label}");
                assert!(probability - figure < 0.0101, "too cautious: {label}");
            }
        }
    }
    assert!(claims > 200 && doubts > 20 && proven > 10, "{claims} {doubts} {proven}");
}

#[test]
fn young_prove_at_the_level_asked_for_and_not_above_it() {
    let clutch = "[[clutch]]\nid = \"a\"\ndam = \"Maud\"\nsire = \"Ivo\"\n\
                  [[clutch.count]]\nlooks = [\"ash\"]\nnumber = 1\n";
    let text = format!("{STOCK}{clutch}");
    // One ash young, called wrongly once in a thousand: odds ×499.
    assert_eq!(label(&text, 0.99, "Maud")["claim"], "proven");
    assert_eq!(label(&text, 0.9999, "Maud")["claim"], "possible");
    assert_eq!(label(STOCK, 0.6, "Maud")["claim"], "possible", "a seller's word proves nothing");
}

#[test]
fn a_certain_seller_and_a_visual_parent_are_no_proof() {
    let text = STOCK.replace("66% het ash", "het ash");
    assert_eq!(label(&text, 0.99, "Maud")["claim"], "as sold");
    let clutch = "[[clutch]]\nid = \"a\"\ndam = \"Maud\"\nsire = \"Ivo\"\n\
                  [[clutch.hatchling]]\nid = \"y\"\nlooks = [\"normal\"]\n";
    let young = label(&format!("{STOCK}{clutch}"), 0.99, "y");
    assert_eq!(young["claim"], "by descent");
    assert_eq!(young["customary"], "100 % het ash");
    assert!(young["text"].as_str().unwrap().contains("not proven"));
}

#[test]
fn normal_young_never_say_not_het() {
    let clutch = "[[clutch]]\nid = \"a\"\ndam = \"Maud\"\nsire = \"Ivo\"\n\
                  [[clutch.count]]\nlooks = [\"normal\"]\nnumber = ";
    let few = label(&format!("{STOCK}{clutch}6"), 0.99, "Maud");
    assert_eq!((&few["claim"], &few["customary"]), (&"possible".into(), &"66 % het ash".into()));
    assert!(few["text"].as_str().unwrap().starts_with("possible het ash, 3 in 100"), "{few}");
    let many = label(&format!("{STOCK}{clutch}12"), 0.99, "Maud");
    assert_eq!(many["claim"], "test-bred");
    let text = many["text"].as_str().unwrap();
    assert!(text.contains("no sign in 12 young") && !text.contains("not het"), "{text}");
}

#[test]
fn young_of_a_mate_without_the_gene_are_no_test() {
    let text = format!(
        "[assume]\nbackground = 0\n{}\n[[clutch]]\nid = \"a\"\ndam = \"Maud\"\nsire = \"Ivo\"\n\
         [[clutch.count]]\nlooks = [\"normal\"]\nnumber = 30\n",
        STOCK.replace("looks = [\"ash\"]", "looks = [\"normal\"]"),
    );
    let maud = label(&text, 0.99, "Maud");
    assert_eq!(maud["claim"], "possible");
    assert!(maud["text"].as_str().unwrap().starts_with("possible het ash, 66 in 100"), "{maud}");
}

#[test]
fn a_reading_proves_as_far_as_it_is_reliable() {
    let read = |reliability: f64| {
        let line = format!(
            "readings = [{{ gene = \"ash\", result = \"+/ash\", reliability = {reliability} }}]\n"
        );
        STOCK.replace(
            "sold_as = [\"66% het ash\"]\n",
            &format!("{line}sold_as = [\"66% het ash\"]\n"),
        )
    };
    // A normal animal is not ash/ash, so the odds are r : (1 − r)/2.
    assert_eq!(label(&read(0.999), 0.99, "Maud")["claim"], "proven");
    assert_eq!(label(&read(0.9), 0.99, "Maud")["claim"], "possible");
}

#[test]
fn a_doubtful_sire_and_an_uncertain_call_are_said() {
    let text = format!(
        "{STOCK}[[animal]]\nid = \"Ebbe\"\nsex = \"male\"\nlooks = [\"normal\"]\n\
         [[clutch]]\nid = \"a\"\ndam = \"Maud\"\nsires = {{ Ivo = 0.5, Ebbe = 0.5 }}\n\
         [[clutch.hatchling]]\nid = \"y\"\n\
         either = [{{ looks = [\"normal\"], fit = 0.5 }}, {{ looks = [\"ash\"], fit = 0.5 }}]\n"
    );
    let young = label(&text, 0.99, "y");
    assert_eq!(young["claim"], "uncertain call");
    let text = young["text"].as_str().unwrap();
    assert!(text.starts_with("may be ash, ") && text.contains("its sire is in doubt: "), "{text}");
}

#[test]
fn a_gene_of_unknown_inheritance_is_never_proven_and_has_no_figure() {
    let text = format!(
        "{STOCK}[gene.quill]\ninheritance = \"unknown\"\nlooks = [\"quill\"]\n\
         first_seen = [\"Q\"]\n[[animal]]\nid = \"Q\"\nsex = \"male\"\nlooks = [\"quill\"]\n\
         [[clutch]]\nid = \"a\"\ndam = \"Maud\"\nsire = \"Q\"\n\
         [[clutch.hatchling]]\nid = \"y\"\nlooks = [\"quill\"]\n"
    );
    let (colony, answer) = answer(&text, 0.99);
    let all = parsed(&colony, &answer);
    let of_quill: Vec<&Value> =
        all["labels"].as_array().unwrap().iter().filter(|label| label["gene"] == "quill").collect();
    assert_eq!(of_quill.len(), 4);
    for label in of_quill {
        assert_eq!(label["probability"], Value::Null);
        assert_ne!(label["claim"], "proven");
    }
    let text = labels_text(&colony, &answer);
    assert!(text.contains("shows quill; how that is inherited is not known"), "{text}");
    assert!(text.contains("kin of animals that show quill"), "{text}");
}

#[test]
fn every_list_ends_with_what_it_is_not() {
    for text in [STOCK.to_owned(), STOCK.replace("sold_as = [\"66% het ash\"]", "")] {
        let (colony, answer) = answer(&text, 0.99);
        let text = labels_text(&colony, &answer).replace('\n', " ");
        assert!(text.contains("No label here is a certificate."), "{text}");
        assert!(text.trim_end().ends_with("and how it must be labelled."), "{text}");
    }
}

#[test]
fn the_sheet_has_a_row_for_each_label_told() {
    let (colony, answer) = answer(STOCK, 0.99);
    let sheet = labels_csv(&colony, &answer);
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let heading = ["animal", "gene", "text", "customary", "probability", "ground"];
    assert_eq!(reader.headers().unwrap().iter().collect::<Vec<_>>(), heading);
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), answer.labels.iter().filter(|label| label.told).count());
    let maud = rows.iter().find(|row| &row[0] == "Maud").unwrap();
    assert_eq!(&maud[3], "66 % het ash");
    // The stated two thirds, and the normal look that carriers and others share.
    assert!((maud[4].parse::<f64>().unwrap() - 2.0 / 3.0).abs() < 1e-12);
}

#[test]
fn the_command_line_knows_its_limits() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("colony.toml"), STOCK).unwrap();
    let run = |more: &[&str]| {
        let mut command = Command::cargo_bin("proveout").unwrap();
        command.current_dir(folder.path()).args(["labels", "colony.toml"]).args(more);
        command.output().unwrap()
    };
    for wrong in [&["--level", "1"][..], &["--level", "0.5"], &["--csv", "--json"]] {
        assert_eq!(run(wrong).status.code(), Some(2), "{wrong:?}");
    }
    let sheet = run(&["--csv", "--out", "labels.csv"]);
    assert!(sheet.status.success() && sheet.stdout.is_empty());
    assert!(
        fs::read_to_string(folder.path().join("labels.csv")).unwrap().starts_with("animal,gene")
    );
    let one = run(&["--json", "--animal", "Ivo"]);
    let one: Value = serde_json::from_slice(&one.stdout).unwrap();
    assert_eq!(one["schema"], 1);
    assert!(one["labels"].as_array().unwrap().iter().all(|label| label["animal"] == "Ivo"));
}
