//! Is the record that is wrong the one that is suspected, and are sound records left in peace?
//!
//! Slips are planted into colonies that the sampler drew, so that every other record is true. What
//! the data can show is found by writing each record otherwise and solving the colony anew.
//!
//! With `PROVEOUT_FULL=1` some hundreds of cases of each kind are tried.

mod slips {
    pub mod binomial;
    mod confusions;
    pub mod plant;
    pub mod tally;
    pub mod undo;
    pub mod warnings;
}

use proveout::questions::{Asked, conflicts, genotypes};
use proveout::records::{Format, read};
use slips::plant::{Plant, plant};
use slips::tally::{SLIP, tally};
use slips::undo::{every_record, log_evidence, undone};
use slips::warnings::{KINDS, of_sound, of_wrong_sires};

/// Where the seeds of the colonies begin.
const SEED: u64 = 71_000;

fn full() -> bool {
    std::env::var_os("PROVEOUT_FULL").is_some()
}

/// A colony is drawn and solved anew here, there all at once: rounding, no more.
const TOLERANCE: f64 = 1e-8;

#[test]
fn the_gain_of_every_slip_is_that_of_the_records_written_otherwise() {
    let mut compared = 0;
    for seed in SEED..SEED + 12 {
        let what = Plant::ALL[seed as usize % Plant::ALL.len()];
        let Some(planted) = plant(what, seed) else { continue };
        let colony = &planted.colony;
        let base = log_evidence(colony);
        let answer = conflicts(colony, &Asked::default(), SLIP).unwrap();
        assert!((answer.log_evidence - base).abs() < TOLERANCE || base == f64::NEG_INFINITY);
        for record in every_record(colony) {
            let gain = undone(colony, record) - base;
            let told = answer.slips.iter().find(|slip| record.is(colony, slip));
            match told {
                Some(slip) => {
                    let near = (slip.gain - gain).abs() < TOLERANCE || slip.gain == gain;
                    assert!(near, "seed {seed}, {record:?}: {} is told, not {gain}", slip.gain);
                    compared += 1;
                }
                // What cannot reach a chance of one in fifty may be left out.
                None => assert!(gain < 2.0, "seed {seed}: {record:?} gains {gain}, untold"),
            }
        }
    }
    assert!(compared >= 50, "only {compared} were compared");
}

#[test]
fn what_is_planted_is_ranked_first() {
    let (wanted, seeds) = if full() { (300, 400_000) } else { (12, 20_000) };
    let mut poor = String::new();
    for (at, what) in Plant::ALL.into_iter().enumerate() {
        let from = SEED + 1_000_000 * at as u64;
        let tally = tally(what, from..from + seeds, wanted);
        println!("{what:?}: {tally}");
        assert!(tally.shown >= wanted, "{what:?}: too few can be seen: {tally}");
        if 10 * tally.first < 9 * tally.shown {
            poor.push_str(&format!("{what:?}: {tally}\n"));
        }
    }
    assert!(poor.is_empty(), "{poor}");
}

#[test]
fn a_sound_colony_is_warned_of_at_most_once_in_a_hundred() {
    let one_kind = if full() { 2_000 } else { 100 };
    let (mut drawn, mut all, mut warned) = (0, 0, 0);
    for (at, kind) in KINDS.into_iter().enumerate() {
        let from = SEED + 20_000_000 + 1_000_000 * at as u64;
        let of_kind = of_sound(kind, from..from + one_kind / kind.2);
        println!("sound, {}: {of_kind}", kind.0);
        assert!(of_kind.too_large * 10 < of_kind.asked, "{}: {of_kind}", kind.0);
        drawn += one_kind / kind.2;
        all += of_kind.asked;
        warned += of_kind.warned;
        // Ten times the share would show even in a hundred.
        assert!(f64::from(of_kind.warned) <= 0.01 * f64::from(of_kind.asked) + 1.0, "{}", kind.0);
    }
    assert!(u64::from(all) >= drawn * 9 / 10, "only {all} had an answer");
    assert!(100 * warned <= all, "{warned} of {all} sound colonies were warned of");
}

#[test]
fn a_wrong_sire_that_shows_is_often_warned_of() {
    let wanted = if full() { 300 } else { 40 };
    let from = SEED + 30_000_000;
    let warned = of_wrong_sires(from..from + 20_000, wanted);
    println!("wrong sire that shows: {warned}");
    assert_eq!(warned.asked, wanted);
    assert!(4 * warned.warned >= warned.asked, "{warned}");
}

/// A pair that is said to be so, and its clutch: is there a warning?
fn warns(assume: &str, told: &str, clutch: &str) -> bool {
    warns_of("", assume, told, clutch)
}

/// The same with more said of the gene.
fn warns_of(gene: &str, assume: &str, told: &str, clutch: &str) -> bool {
    let text = format!(
        "[assume]\n{assume}\n[gene.ash]\ninheritance = \"recessive\"\n{gene}\n\
         [[animal]]\nid = \"Dam\"\nsold_as = [\"{told}\"]\n\
         [[animal]]\nid = \"Sire\"\nsold_as = [\"{told}\"]\n\
         [[clutch]]\nid = \"K\"\ndam = \"Dam\"\nsire = \"Sire\"\n{clutch}"
    );
    let colony = read(text.as_bytes(), Format::Toml).unwrap().colony;
    genotypes(&colony, &Asked::default()).unwrap().surprise.is_some()
}

#[test]
fn young_written_down_for_their_look_are_no_surprise() {
    let six = "[[clutch.count]]\nlooks = [\"ash\"]\nnumber = 6\n";
    // One quarter each: six of six have the chance 1/4096.
    assert!(warns("", "het ash", six));
    assert!(!warns("", "het ash", &format!("recorded_only = [\"ash\"]\n{six}")));
}

#[test]
fn young_that_are_only_read_when_named_are_no_surprise() {
    let young = "[[clutch.count]]\nlooks = [\"ash\"]\nnumber = 6\n\
                 [[clutch.count]]\nlooks = []\nnumber = 6\n\
                 [[clutch.hatchling]]\nid = \"K-1\"\nlooks = [\"ash\"]\n";
    let in_year = |year: u32| format!("hatched = {year}-06-01\n{young}");
    let since = "judged_since = 2024-01-01";
    // Seven of thirteen; before the date, or of hatchlings, nobody read the six others.
    assert!(!warns_of(since, "", "het ash", &in_year(2024)));
    assert!(!warns_of(since, "", "het ash", &in_year(2023)));
    assert!(!warns_of("from_age = \"adult\"", "", "het ash", &in_year(2024)));
    // All of eight would be, one in 65,536, if they were read whatever they are.
    let eight = young.replace("looks = []\nnumber = 6", "looks = [\"ash\"]\nnumber = 1");
    assert!(warns_of(since, "", "het ash", &format!("hatched = 2024-06-01\n{eight}")));
    assert!(!warns_of(since, "", "het ash", &format!("hatched = 2023-06-01\n{eight}")));
}

#[test]
fn young_that_are_read_under_a_mask_only_when_named_are_no_surprise() {
    let colony = |hides: &str| {
        let young: String = (1..=7)
            .map(|at| {
                let looks = if at < 7 { "\"haze\", \"ash\"" } else { "\"haze\"" };
                format!("[[clutch.hatchling]]\nid = \"K-{at}\"\nlooks = [{looks}]\n")
            })
            .collect();
        let text = format!(
            "[gene.ash]\ninheritance = \"recessive\"\n\
             [gene.haze]\ninheritance = \"recessive\"\n\
             [[mask]]\nlook = \"haze\"\nhides = [\"{hides}\"]\n\
             [[animal]]\nid = \"Dam\"\nlooks = [\"haze\"]\nsold_as = [\"het ash\"]\n\
             [[animal]]\nid = \"Sire\"\nlooks = [\"haze\"]\nsold_as = [\"het ash\"]\n\
             [[clutch]]\nid = \"K\"\ndam = \"Dam\"\nsire = \"Sire\"\n{young}"
        );
        read(text.as_bytes(), Format::Toml).unwrap().colony
    };
    let warned = |colony| genotypes(&colony, &Asked::default()).unwrap().surprise.is_some();
    assert!(!warned(colony("ash")));
    // Six ash of seven that could be seen: 22 in 16,384.
    let mut seen = colony("ash");
    seen.masks.clear();
    assert!(warned(seen));
}

#[test]
fn a_young_that_may_be_from_elsewhere_is_less_of_a_surprise() {
    let one = "[[clutch.hatchling]]\nid = \"K-1\"\nlooks = [\"ash\"]\n";
    // A misread, one in a thousand; or mixed up, and ash by 0.25 × 0.25.
    assert!(warns("background = 0.25", "not het ash", one));
    assert!(!warns("background = 0.25\nmix_up = 0.4", "not het ash", one));
    // A young without an id cannot be mixed up.
    assert!(warns(
        "background = 0.25\nmix_up = 0.4",
        "not het ash",
        &one.replace("id = \"K-1\"\n", "")
    ));
}
