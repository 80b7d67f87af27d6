//! Two copies that never hatch: two to one instead of three to one.

use super::support::*;

/// From memory.
const MICE: &str = "Castle, W. E. & Little, C. C. (1910). On a modified Mendelian ratio among \
                    yellow mice. Science 32: 868–870";
/// From memory, and to be looked up again before it is quoted.
const CREEPER: &str =
    "Landauer, W. & Dunn, L. C. (1930). Studies on the Creeper fowl. I. J. Genet. 23: 397–413";
/// From memory.
const HORSES: &str =
    "Pulos, W. L. & Hutt, F. B. (1969). Lethal dominant white in horses. J. Hered. 60: 59–63";

pub const ROWS: &[Row] = &[
    Row {
        id: "LET-01",
        source: MICE,
        basis: MEMORY_HIGH,
        by: &[
            yellow_mice_prefer_two_to_one_by_thirteen_powers_of_ten,
            super::modes::of_all_ways_yellow_mice_have_two_copies_that_never_hatch,
        ],
    },
    Row {
        id: "LET-04",
        source: CREEPER,
        basis: MEMORY_LOW_MEDIUM,
        by: &[creeper_fowl_prefer_two_to_one_and_say_nothing_with_normal_mates],
    },
    Row {
        id: "LET-05",
        source: HORSES,
        basis: MEMORY_MEDIUM_HIGH,
        by: &[forty_three_foals_cannot_exclude_three_to_one],
    },
];

const LETHAL: &str = "lethal = \"two copies\"\n";

/// What each showing and each other young adds for two to one over three to one.
const TWO_TO_ONE_OVER_THREE: [f64; 2] = [8.0 / 9.0, 4.0 / 3.0];

/// The parents have one copy for certain: told, as three to one would leave it open.
fn one_copy(name: &str, gene: &str) -> String {
    file(name)
        .replace(&format!("looks = [\"{gene}\"]\n\n"), &format!("sold_as = [\"het {gene}\"]\n\n"))
}

/// Log evidence with two copies lethal less that with two copies sound.
fn gain(text: &str) -> f64 {
    log_evidence(text) - log_evidence(&with(text, LETHAL, ""))
}

#[test]
fn yellow_mice_prefer_two_to_one_by_thirteen_powers_of_ten() {
    let counts = observed("LET-01");
    let text = one_copy("yellow-mice", "yellow");
    same(MICE, log_evidence(&text), multinomial(&counts, &[2.0 / 3.0, 1.0 / 3.0]));
    same(MICE, gain(&text), multinomial(&counts, &TWO_TO_ONE_OVER_THREE));
    printed(MICE, gain(&text) / 10f64.ln(), "13.426");
    // Yellow parents alone: sound, their look leaves the same single copy when the allele is rare.
    same(MICE, gain(&file("yellow-mice")), gain(&text));
}

#[test]
fn creeper_fowl_prefer_two_to_one_and_say_nothing_with_normal_mates() {
    let text = one_copy("creeper-fowl", "creeper");
    let want = multinomial(&observed("LET-04"), &TWO_TO_ONE_OVER_THREE);
    same(CREEPER, gain(&text), want);
    let with_normal = without_clutch(&text, "creeper by creeper");
    same(CREEPER, log_evidence(&with_normal), (1676.0 + 1661.0) * 0.5f64.ln());
    same(CREEPER, log_evidence(&with_normal), log_evidence(&with(&with_normal, LETHAL, "")));
}

#[test]
fn forty_three_foals_cannot_exclude_three_to_one() {
    let text = one_copy("white-horses", "white");
    let gain = gain(&text);
    same(HORSES, gain, multinomial(&observed("LET-05"), &TWO_TO_ONE_OVER_THREE));
    // Below three to one: not worth more than a bare mention.
    assert!(0.0 < gain && gain.exp() < 3.0, "{HORSES}: gave {gain}");
}
