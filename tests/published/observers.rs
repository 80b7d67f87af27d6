//! One ear of maize, fifteen observers: what they call is evidence with an error of its own.

use super::support::*;

const PEARL: &str = "Pearl, R. (1911). The personal equation in breeding experiments involving \
                     certain characters of maize. Biol. Bull. 21: 339–366";

pub const ROWS: &[Row] = &[Row {
    id: "OBS-01",
    source: PEARL,
    basis: READ,
    by: &[
        every_observer_of_every_ear_has_the_closed_form_evidence,
        two_observers_of_one_ear_err_in_opposite_directions,
    ],
}];

/// Kernels in the order normal, sweet, white, both.
fn table() -> Vec<(u64, u64, [f64; 4])> {
    let rows = REFERENCE["observer_table_pearl_1911"].as_array().unwrap();
    let row = |row: &serde_json::Value| {
        let kinds = ["yellow_starchy", "yellow_sweet", "white_starchy", "white_sweet"];
        let counts = kinds.map(|kind| row[kind].as_f64().unwrap());
        (row["ear"].as_u64().unwrap(), row["observer"].as_u64().unwrap(), counts)
    };
    rows.iter().map(row).collect()
}

/// The ear as counted, with a misread written for the gene of white kernels and for all.
fn ear(counts: [f64; 4], misread: f64, white: &str) -> String {
    let mut text =
        with(&file("maize-ear-8-observer-1"), "misread = 0", &format!("misread = {misread}"));
    for (printed, count) in ["352", "102", "52", "26"].iter().zip(counts) {
        text = with(&text, &format!("number = {printed}\n"), &format!("number = {count} \n"));
    }
    with(&text, "[gene.white]\n", &format!("[gene.white]\n{white}\n"))
}

/// Chances of the four calls when sweet and white are each called wrongly at these rates.
fn calls(sweet: [f64; 2], white: [f64; 2]) -> [f64; 4] {
    let called = |[missed, imagined]: [f64; 2]| 0.25 * (1.0 - missed) + 0.75 * imagined;
    let (sweet, white) = (called(sweet), called(white));
    [(1.0 - sweet) * (1.0 - white), sweet * (1.0 - white), (1.0 - sweet) * white, sweet * white]
}

#[test]
fn every_observer_of_every_ear_has_the_closed_form_evidence() {
    assert_eq!(table().len(), 59);
    for (_, _, counts) in table() {
        let sound = log_evidence(&ear(counts, 0.0, ""));
        same(PEARL, sound, multinomial(&counts, &calls([0.0; 2], [0.0; 2])));
        let doubted = log_evidence(&ear(counts, 0.05, ""));
        same(PEARL, doubted, multinomial(&counts, &calls([0.05; 2], [0.05; 2])));
        let told = "misread = { missed = 0.3, imagined = 0.02 }";
        let apart = log_evidence(&ear(counts, 0.01, told));
        same(PEARL, apart, multinomial(&counts, &calls([0.01; 2], [0.3, 0.02])));
    }
}

/// Where the evidence of an observer of ear 8 is largest when white kernels are so miscalled.
fn best(observer: usize, kind: &str) -> (f64, f64) {
    let text = file(&format!("maize-ear-8-observer-{observer}"));
    let miscalled = |rate: f64| {
        let told = format!("[gene.white]\nmisread = {{ {kind} = {rate} }}\n");
        log_evidence(&with(&text, "[gene.white]\n", &told))
    };
    let best = where_largest(0.0, 0.9, miscalled);
    (best, miscalled(best) - log_evidence(&text))
}

#[test]
fn two_observers_of_one_ear_err_in_opposite_directions() {
    // White kernels of the 532 of ear 8: 78 by the first observer, 161 by the second.
    let (missed, gain) = best(1, "missed");
    printed(PEARL, missed, &format!("{:.4}", 1.0 - 4.0 * 78.0 / 532.0));
    let share = 78.0 / 532.0;
    let want = multinomial(&[78.0, 454.0], &[4.0 * share, (1.0 - share) / 0.75]);
    assert!((gain - want).abs() < 1e-6 && gain > 15.0, "{PEARL}: gave {gain}, expected {want}");
    let (imagined, gain) = best(2, "imagined");
    printed(PEARL, imagined, &format!("{:.4}", (161.0 / 532.0 - 0.25) / 0.75));
    assert!(gain > 3.0, "{PEARL}: gave {gain}");
    // And neither of them errs the other way.
    for (observer, kind) in [(1, "imagined"), (2, "missed")] {
        let (rate, _) = best(observer, kind);
        assert!(rate < 1e-6, "{PEARL}: observer {observer} has {kind} at {rate}");
    }
}
