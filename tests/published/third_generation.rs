//! The third generation of Mendel's peas, and Fisher's point about tests of ten offspring.

use super::support::*;

const MENDEL: &str = "Mendel, G. (1866). Versuche über Pflanzen-Hybriden. Verh. naturforsch. \
                      Ver. Brünn 4 (Abh.): 3–47";
/// The shares and the chance of a miss; from memory.
const FISHER: &str = "Fisher, R. A. (1936). Has Mendel's work been rediscovered? Annals of \
                      Science 1(2): 115–137";

const OF_MANY: &[fn()] = &[a_third_generation_finds_two_hybrids_to_one_true_plant];
const OF_TEN: &[fn()] = &[
    ten_offspring_each_give_the_corrected_shares,
    mendels_tests_of_ten_fit_two_to_one_better_than_ten_offspring_can_give,
];

pub const ROWS: &[Row] = &[
    Row { id: "MEN-F3-1", source: MENDEL, basis: READ, by: OF_MANY },
    Row { id: "MEN-F3-2", source: MENDEL, basis: READ, by: OF_MANY },
    Row { id: "MEN-F3-3", source: MENDEL, basis: READ, by: OF_TEN },
    Row { id: "MEN-F3-6", source: MENDEL, basis: MEMORY_HIGH, by: OF_TEN },
    Row { id: "MEN-F3-7", source: MENDEL, basis: MEMORY_HIGH, by: OF_TEN },
    Row {
        id: "FIS-36",
        source: FISHER,
        basis: MEMORY_HIGH,
        by: &[
            ten_dominant_offspring_leave_one_hybrid_in_ten,
            a_test_of_ten_calls_too_few_plants_hybrid,
        ],
    },
];

/// Plants of the second generation that show the dominant form, each with a finding about it.
fn tested_plants(findings: &[(usize, &str)]) -> String {
    let text = file("fisher-ten-offspring");
    let parents = &text[..text.find("[[clutch.hatchling]]").unwrap()];
    let mut text = parents.to_string();
    for (number, finding) in findings {
        for plant in 0..*number {
            let at = text.len();
            text += &format!(
                "[[clutch.hatchling]]\nid = \"{at}-{plant}\"\nlooks = [\"normal\"]\n{finding}\n"
            );
        }
    }
    text
}

const HYBRID: &str =
    "readings = [{ gene = \"recessive\", result = \"+/recessive\", reliability = 1 }]";
const TRUE: &str = "readings = [{ gene = \"recessive\", result = \"+/+\", reliability = 1 }]";
/// What it says of a plant that one of its ten offspring at least is recessive.
const ONE_OF_TEN: &str = "readings = [{ gene = \"recessive\", likelihood = { \"+/+\" = 0, \
     \"+/recessive\" = 0.94368648529052734375, \"recessive/recessive\" = 1 } }]";
const NONE_OF_TEN: &str = "readings = [{ gene = \"recessive\", likelihood = { \"+/+\" = 1, \
     \"+/recessive\" = 0.05631351470947265625, \"recessive/recessive\" = 0 } }]";

/// Segregating and constant plants, as printed.
fn third_generation(id: &str) -> [usize; 2] {
    let counts = &item(id)["counts"];
    ["segregating", "constant"].map(|kind| counts[kind].as_u64().unwrap() as usize)
}

#[test]
fn a_third_generation_finds_two_hybrids_to_one_true_plant() {
    for id in ["MEN-F3-1", "MEN-F3-2"] {
        let [segregating, constant] = third_generation(id);
        let untested = log_evidence(&tested_plants(&[(segregating + constant, "")]));
        let tested = log_evidence(&tested_plants(&[(segregating, HYBRID), (constant, TRUE)]));
        let counts = [segregating as f64, constant as f64];
        same(MENDEL, tested - untested, multinomial(&counts, &[2.0 / 3.0, 1.0 / 3.0]));
    }
}

#[test]
fn ten_offspring_each_give_the_corrected_shares() {
    let missed = 0.75f64.powi(10);
    let shares = [2.0 / 3.0 * (1.0 - missed), 1.0 / 3.0 + 2.0 / 3.0 * missed];
    printed(FISHER, shares[0], "0.6291");
    printed(FISHER, shares[1], "0.3709");
    for id in ["MEN-F3-3", "MEN-F3-6", "MEN-F3-7"] {
        let [segregating, constant] = third_generation(id);
        let untested = log_evidence(&tested_plants(&[(segregating + constant, "")]));
        let findings = [(segregating, ONE_OF_TEN), (constant, NONE_OF_TEN)];
        let tested = log_evidence(&tested_plants(&findings));
        same(
            MENDEL,
            tested - untested,
            multinomial(&[segregating as f64, constant as f64], &shares),
        );
    }
}

#[test]
fn mendels_tests_of_ten_fit_two_to_one_better_than_ten_offspring_can_give() {
    // Two declared models of the same 300 plants: tests that never miss, and tests of ten.
    let missed = 0.75f64.powi(10);
    let mut gain = 0.0;
    for id in ["MEN-F3-3", "MEN-F3-6", "MEN-F3-7"] {
        let [segregating, constant] = third_generation(id);
        let never = tested_plants(&[(segregating, HYBRID), (constant, TRUE)]);
        let of_ten = tested_plants(&[(segregating, ONE_OF_TEN), (constant, NONE_OF_TEN)]);
        let counts = [segregating as f64, constant as f64];
        let more = log_evidence(&of_ten) - log_evidence(&never);
        same(FISHER, more, multinomial(&counts, &[1.0 - missed, 1.0 + 2.0 * missed]));
        gain += more;
    }
    assert!(gain < 0.0, "{FISHER}: gave {gain}");
}

#[test]
fn ten_dominant_offspring_leave_one_hybrid_in_ten() {
    let answer = ask(&file("fisher-ten-offspring"));
    let hybrid = answer.chance("plant", "recessive", "+/recessive");
    printed(FISHER, hybrid, "0.1012262");
    let missed = 2.0 * 0.75f64.powi(10);
    same(FISHER, hybrid, missed / (missed + 1.0));
}

#[test]
fn a_test_of_ten_calls_too_few_plants_hybrid() {
    let text = file("fisher-ten-offspring");
    let untested = log_evidence(&without_clutch(&text, "test"));
    let constant = (log_evidence(&text) - untested).exp();
    printed(FISHER, 1.0 - constant, "0.6291243235");
    printed(FISHER, 1.5 * (1.0 - constant), "0.9437");
    printed(FISHER, 600.0 * (1.0 - constant), "377.5");
    printed(FISHER, 1073.0 * (1.0 - constant), "675.05");
    // A hybrid plant itself: no recessive among ten.
    let hybrid = with(
        &text,
        "looks = [\"normal\"]\n\n[[clutch]]\nid = \"test\"",
        &format!("looks = [\"normal\"]\n{HYBRID}\n\n[[clutch]]\nid = \"test\""),
    );
    let missed = (log_evidence(&hybrid) - log_evidence(&without_clutch(&hybrid, "test"))).exp();
    printed(FISHER, missed, "0.0563135147");
}
