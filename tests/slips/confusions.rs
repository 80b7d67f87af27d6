//! Confusions as they happen, in records nobody wrote: `datasets/confusions`.

use std::fs;
use std::path::{Path, PathBuf};

use proveout::numbers::exp;
use proveout::presentation::conflicts_text;
use proveout::questions::{Asked, ConflictsAnswer, Slip, SlipKind, conflicts, genotypes};
use proveout::records::{Candidate, Colony, Format, read};

use super::tally::SLIP;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/confusions")
}

fn colony(name: &str) -> Colony {
    let text = fs::read(folder().join(name)).unwrap();
    read(&text, Format::Toml).unwrap().colony
}

fn suspected(colony: &Colony) -> ConflictsAnswer {
    conflicts(colony, &Asked::default(), SLIP).unwrap()
}

fn first(answer: &ConflictsAnswer) -> Vec<&Slip> {
    answer.slips.iter().filter(|slip| slip.rank == 1).collect()
}

#[test]
fn a_holdback_swapped_at_the_tub_is_found() {
    let colony = colony("swapped-at-the-tub.toml");
    let answer = suspected(&colony);
    let [slip] = first(&answer)[..] else { panic!("one is first: {:?}", answer.slips) };
    assert_eq!(slip.kind, SlipKind::Identity);
    assert_eq!(slip.animal, colony.find_animal("Linnet"));
    assert_eq!(slip.from, colony.find_clutch("2021-race"), "where it came from is told");
    let next = answer.slips.iter().find(|other| other.rank > 1).unwrap();
    assert!(slip.gain > next.gain + 3.0, "and nothing else comes near: {next:?}");
}

#[test]
fn two_young_of_looks_alike_are_found_together() {
    let colony = colony("look-alikes-in-one-clutch.toml");
    let answer = suspected(&colony);
    let mut found: Vec<_> = first(&answer).iter().map(|slip| (slip.kind, slip.animal)).collect();
    found.sort_by_key(|(_, animal)| *animal);
    let called = |id| (SlipKind::Call, colony.find_animal(id));
    assert_eq!(found, [called("24-2"), called("24-5")]);
    // Neither parent's other young leave room for super sedge: a call of one young that names one
    // of five wrong looks by mistake has the chance 0.001 / 5, and without it 1.
    let factor = exp(answer.slips[0].gain);
    assert!((factor / 5_000.0 - 1.0).abs() < 0.01, "{factor}");
}

/// Chances of `+/+`, `+/kelp`, `kelp/kelp` in unrelated stock.
fn stock(q: f64) -> [f64; 3] {
    [(1.0 - q) * (1.0 - q), 2.0 * q * (1.0 - q), q * q]
}

/// The chance that all `young` are daughters called kelp and the clutch has no father, by hand.
fn fatherless(young: i32, weight: f64, q: f64, m: f64) -> f64 {
    let [clear, carrier, visual] = stock(q);
    let not = clear + carrier;
    let dams = [m * clear / not, m * carrier / not, 1.0 - m];
    let sires = [clear * (1.0 - m), carrier * (1.0 - m), visual * m];
    let passes = [0.0, 0.5, 1.0];
    let called = |kelp: f64| kelp * (1.0 - m) + (1.0 - kelp) * m;
    let (mut without, mut with) = (0.0, 0.0);
    for (dam, from_dam) in dams.iter().zip(passes) {
        for (sire, from_sire) in sires.iter().zip(passes) {
            // Without a father a carrier's young has kelp twice or not at all.
            without += dam * sire * called(from_dam).powi(young);
            with += dam * sire * (called(from_dam * from_sire) / 2.0).powi(young);
        }
    }
    weight * without / (weight * without + (1.0 - weight) * with)
}

#[test]
fn daughters_without_a_father_are_told_from_those_of_a_hidden_carrier() {
    let mut colony = colony("daughters-without-a-father.toml");
    for young in [1, 2, 3, 5] {
        colony.clutches[0].counts[0].number = [0, young, 0];
        let answer = genotypes(&colony, &Asked::default()).unwrap();
        let [clutch] = &answer.sires[..] else { panic!("one clutch: {:?}", answer.sires) };
        let none = clutch.candidates.iter().find(|(who, ..)| *who == Candidate::NoFather);
        let (_, before, after) = *none.unwrap();
        let want = fatherless(young as i32, 0.05, 0.005, 0.001);
        assert_eq!(before, 0.05);
        assert!((after - want).abs() < 1e-12, "{young} young: {after}, by hand {want}");
    }
    let five = fatherless(5, 0.05, 0.005, 0.001);
    assert!(five > 0.999, "five daughters settle it: {five}");
    assert!(suspected(&colony).slips.iter().all(|slip| slip.probability < 0.02));
}

#[test]
fn a_son_has_a_father() {
    let mut colony = colony("daughters-without-a-father.toml");
    colony.clutches[0].counts[0].number = [1, 4, 0];
    let answer = genotypes(&colony, &Asked::default()).unwrap();
    let none = answer.sires[0].candidates.iter().find(|(who, ..)| *who == Candidate::NoFather);
    assert_eq!(none.unwrap().2, 0.0);
}

#[test]
fn what_is_said_of_a_confusion_fits_on_a_page() {
    let mut read = 0;
    for entry in fs::read_dir(folder()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let colony = colony(&name);
        let text = conflicts_text(&colony, &suspected(&colony));
        for line in text.lines() {
            assert!(line.chars().count() <= 96, "{name}: {line}");
        }
        read += 1;
    }
    assert!(read >= 3);
}
