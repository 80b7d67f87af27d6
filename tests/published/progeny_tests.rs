//! Progeny tests: how many normal young clear a suspect, and what they leave of a doubt.

use super::support::*;

/// The handbooks; the general formula stands in all of them.
const HANDBOOKS: &str = "Standard; e.g. Van Vleck, L. D., Pollak, E. J. & Oltenacu, E. A. B. \
                         (1987) Genetics for the Animal Sciences";
const LITTERS: &str = "standard litter form of the test";
const COUNSELLING: &str = "arithmetic identity used in all genetic-counselling texts";
/// From memory.
const GOOD: &str = "Good, I. J. (1950) Probability and the Weighing of Evidence";

pub const ROWS: &[Row] = &[
    Row {
        id: "PT-FORM",
        source: HANDBOOKS,
        basis: READ,
        by: &[a_mating_misses_by_the_genotypes_of_the_group_of_mates],
    },
    Row {
        id: "PT-5/7",
        source: HANDBOOKS,
        basis: READ,
        by: &[five_and_seven_normal_young_of_a_visual_mate_clear_a_suspect],
    },
    Row {
        id: "PT-11/16",
        source: HANDBOOKS,
        basis: READ,
        by: &[eleven_and_strictly_seventeen_normal_young_of_a_carrier_clear_a_suspect],
    },
    Row {
        id: "PT-23/35",
        source: HANDBOOKS,
        basis: MEMORY_HIGH,
        by: &[
            twenty_three_and_thirty_five_daughters_of_carriers_clear_a_suspect,
            own_daughters_are_half_carriers_when_their_dams_are_clear,
        ],
    },
    Row {
        id: "PT-LIT",
        source: LITTERS,
        basis: FORMULA,
        by: &[
            a_litter_shares_the_genotype_of_its_dam,
            litter_mates_are_not_independent_mates,
            five_and_seven_mates_remain_the_floor_however_large_the_litters,
        ],
    },
    Row { id: "PT-Q", source: HANDBOOKS, basis: FORMULA, by: &[random_mates_test_by_frequency] },
    Row {
        id: "PT-POST",
        source: COUNSELLING,
        basis: FORMULA,
        by: &[normal_young_leave_the_exact_fractions_of_a_doubt],
    },
    Row { id: "BF-04", source: GOOD, basis: MEMORY_HIGH, by: &[a_normal_young_weighs_decibans] },
];

/// A suspect, and mates of one kind, each with one clutch of normal young.
struct Test {
    /// Frequency of the recessive where nothing is told.
    background: f64,
    /// What is told about the suspect.
    suspect: &'static str,
    /// What is told or seen of each mate.
    mate: &'static str,
    mates: usize,
    /// Normal young of each mate.
    young: usize,
}

impl Test {
    fn of(mate: &'static str, mates: usize, young: usize) -> Test {
        Test { background: 0.0, suspect: "het recessive", mate, mates, young }
    }

    fn parents(&self) -> String {
        let Test { background, suspect, mate, mates, .. } = self;
        let mut text = format!(
            "[assume]\nbackground = {background}\nmisread = 0\n\
             [gene.recessive]\ninheritance = \"recessive\"\n\
             [[animal]]\nid = \"suspect\"\nsold_as = [\"{suspect}\"]\n"
        );
        for at in 0..*mates {
            text += &format!("[[animal]]\nid = \"mate {at}\"\n{mate}\n");
        }
        text
    }

    fn text(&self) -> String {
        let mut text = self.parents();
        for at in 0..self.mates {
            text += &format!(
                "[[clutch]]\nid = \"clutch {at}\"\ndam = \"mate {at}\"\nsire = \"suspect\"\n\
                 [[clutch.count]]\nlooks = [\"normal\"]\nnumber = {}\n",
                self.young
            );
        }
        text
    }

    /// The chance that every young is normal.
    fn miss(&self) -> f64 {
        (log_evidence(&self.text()) - log_evidence(&self.parents())).exp()
    }

    /// The chance that the suspect carries.
    fn carrier(&self) -> f64 {
        ask(&self.text()).chance("suspect", "recessive", "+/recessive")
    }
}

const VISUAL: &str = "looks = [\"recessive\"]";
const CARRIER: &str = "sold_as = [\"het recessive\"]";
const HALF_CARRIER: &str = "sold_as = [\"50% het recessive\"]";
const UNTOLD: &str = "";
const NORMAL: &str = "looks = [\"normal\"]";

/// Asserts that so many, and not one fewer, leave at most this chance of a miss.
#[track_caller]
fn smallest(needed: usize, allowed: f64, miss: impl Fn(usize) -> f64) {
    let (enough, too_few) = (miss(needed), miss(needed - 1));
    assert!(enough <= allowed && allowed < too_few, "{needed}: {enough} <= {allowed} < {too_few}");
}

#[test]
fn a_mating_misses_by_the_genotypes_of_the_group_of_mates() {
    let text = file("progeny-test");
    let miss = (log_evidence(&text) - log_evidence(&without_clutch(&text, "test"))).exp();
    // The shares stand in the file: 3, 5 and 2 of 10.
    same(HANDBOOKS, miss, 0.3 + 0.75 * 0.5 + 0.5 * 0.2);
    for (mate, want) in [(VISUAL, 0.5), (CARRIER, 0.75), ("sold_as = [\"not het recessive\"]", 1.0)]
    {
        same(HANDBOOKS, Test::of(mate, 1, 1).miss(), want);
    }
}

#[test]
fn five_and_seven_normal_young_of_a_visual_mate_clear_a_suspect() {
    let miss = |young| Test::of(VISUAL, 1, young).miss();
    let counts = &item("PT-5/7")["counts"];
    assert_eq!((counts["n95"].as_u64(), counts["n99"].as_u64()), (Some(5), Some(7)));
    smallest(5, 0.05, miss);
    smallest(7, 0.01, miss);
    printed(HANDBOOKS, miss(5), "0.03125");
    printed(HANDBOOKS, miss(6), "0.015625");
    printed(HANDBOOKS, miss(7), "0.0078125");
}

#[test]
fn eleven_and_strictly_seventeen_normal_young_of_a_carrier_clear_a_suspect() {
    let miss = |young| Test::of(CARRIER, 1, young).miss();
    smallest(11, 0.05, miss);
    // The handbooks print 16; it leaves a little more than 1 in 100.
    smallest(17, 0.01, miss);
    for (young, print) in [(10, "0.05631"), (11, "0.04224"), (16, "0.010023"), (17, "0.007517")] {
        printed(HANDBOOKS, miss(young), print);
    }
}

#[test]
fn twenty_three_and_thirty_five_daughters_of_carriers_clear_a_suspect() {
    let miss = |mates| Test::of(HALF_CARRIER, mates, 1).miss();
    smallest(23, 0.05, miss);
    smallest(35, 0.01, miss);
    for (mates, print) in [(22, "0.05299"), (23, "0.04636"), (34, "0.01067"), (35, "0.009339")] {
        printed(HANDBOOKS, miss(mates), print);
    }
}

/// A sire with daughters by clear dams, and one normal young by each daughter.
fn own_daughters(suspect: &str, daughters: usize, tested: bool) -> String {
    let mut text = format!(
        "[assume]\nbackground = 0\nmisread = 0\n[gene.recessive]\ninheritance = \"recessive\"\n\
         [[animal]]\nid = \"suspect\"\nsold_as = [\"{suspect}\"]\n\
         [[animal]]\nid = \"dam\"\nsold_as = [\"not het recessive\"]\n\
         [[clutch]]\nid = \"daughters\"\ndam = \"dam\"\nsire = \"suspect\"\n"
    );
    for at in 0..daughters {
        text += &format!("[[clutch.hatchling]]\nid = \"daughter {at}\"\n");
    }
    for at in 0..if tested { daughters } else { 0 } {
        text += &format!(
            "[[clutch]]\nid = \"test {at}\"\ndam = \"daughter {at}\"\nsire = \"suspect\"\n\
             [[clutch.count]]\nlooks = [\"normal\"]\nnumber = 1\n"
        );
    }
    text
}

#[test]
fn own_daughters_are_half_carriers_when_their_dams_are_clear() {
    for daughters in [1, 2, 23, 35] {
        let untested = log_evidence(&own_daughters("het recessive", daughters, false));
        let tested = log_evidence(&own_daughters("het recessive", daughters, true));
        let miss = 0.875f64.powi(daughters as i32);
        same(HANDBOOKS, (tested - untested).exp(), miss);
        // A sire who carries or not with even chances, and so is tied to himself through them.
        let answer = ask(&own_daughters("50% het recessive", daughters, true));
        let carrier = answer.chance("suspect", "recessive", "+/recessive");
        same(HANDBOOKS, carrier, miss / (1.0 + miss));
    }
}

#[test]
fn a_litter_shares_the_genotype_of_its_dam() {
    let table = &item("PT-LIT")["counts"]["m: miss per mate, mates for 95%, mates for 99%"];
    let table = table.as_object().unwrap();
    assert_eq!(table.len(), 9);
    for (young, printed_row) in table {
        let (young, row) = (young.parse().unwrap(), numbers(printed_row));
        let print = printed_row[0].to_string();
        let miss = |mates| Test::of(HALF_CARRIER, mates, young).miss();
        printed(LITTERS, miss(1), &print);
        same(LITTERS, miss(1), 0.5 + 0.5 * 0.75f64.powi(young as i32));
        smallest(row[1] as usize, 0.05, miss);
        smallest(row[2] as usize, 0.01, miss);
    }
}

#[test]
fn litter_mates_are_not_independent_mates() {
    printed(LITTERS, Test::of(HALF_CARRIER, 1, 8).miss(), "0.5501");
    printed(LITTERS, Test::of(HALF_CARRIER, 8, 1).miss(), "0.3436");
}

#[test]
fn five_and_seven_mates_remain_the_floor_however_large_the_litters() {
    for (mates, allowed) in [(5, 0.05), (7, 0.01)] {
        smallest(mates, allowed, |mates| Test::of(HALF_CARRIER, mates, 200).miss());
    }
}

#[test]
fn random_mates_test_by_frequency() {
    let table =
        &item("PT-Q")["counts"]["q: n95,n99 (all mates) | n95,n99 (normal-looking mates only)"];
    let table = table.as_object().unwrap();
    assert_eq!(table.len(), 6);
    for (frequency, needed) in table {
        let background: f64 = frequency.parse().unwrap();
        let needed = numbers(needed);
        let one = |mate| Test { background, ..Test::of(mate, 1, 1) }.miss();
        same(HANDBOOKS, one(UNTOLD), 1.0 - background / 2.0);
        same(HANDBOOKS, one(NORMAL), 1.0 - background / (2.0 * (1.0 + background)));
        for (mate, needed) in [(UNTOLD, &needed[..2]), (NORMAL, &needed[2..])] {
            let miss = |mates| Test { background, ..Test::of(mate, mates, 1) }.miss();
            smallest(needed[0] as usize, 0.05, miss);
            smallest(needed[1] as usize, 0.01, miss);
        }
    }
}

#[test]
fn normal_young_leave_the_exact_fractions_of_a_doubt() {
    let of = |list: &str| item("PT-POST")["counts"][list].as_array().unwrap().iter();
    let cases: [(&str, &str, &str, &[usize]); 3] = [
        ("prior 2/3 × aa, n=1..7", "66% het recessive", VISUAL, &[1, 2, 3, 4, 5, 6, 7]),
        ("prior 2/3 × Aa, n=1,2,4,8,11,16", "66% het recessive", CARRIER, &[1, 2, 4, 8, 11, 16]),
        ("prior 1/2 × aa, n=1,5,7", "50% het recessive", VISUAL, &[1, 5, 7]),
    ];
    for (list, suspect, mate, numbers) in cases {
        assert_eq!(of(list).len(), numbers.len());
        for (print, young) in of(list).zip(numbers) {
            let test = Test { suspect, ..Test::of(mate, 1, *young) };
            same(COUNSELLING, test.carrier(), fraction(print.as_str().unwrap()));
        }
    }
}

#[test]
fn a_normal_young_weighs_decibans() {
    let odds = |chance: f64| chance / (1.0 - chance);
    for (mate, print) in [(VISUAL, "-3.01"), (CARRIER, "-1.25")] {
        let test = |young| Test { suspect: "66% het recessive", ..Test::of(mate, 1, young) };
        let (before, after) = (test(1).carrier(), test(2).carrier());
        printed(GOOD, 10.0 * (odds(after) / odds(before)).log10(), print);
    }
}
