//! One copy shows one thing, two copies another.

use super::support::*;

const DAVENPORT: &str = "Davenport, C. B. (1909). Inheritance of Characteristics in Domestic \
                         Fowl. Carnegie Inst. Washington Publ. 121";
/// From memory.
const BAUR: &str = "Baur, E., as quoted in classic texts";
const ANDALUSIAN: &str = "Bateson & Saunders (1902), Bateson & Punnett reports; Punnett, R. C. \
                          (1911). Mendelism, 3rd ed. Macmillan p.70";
const SHORTHORN: &str = "Jones, I. C. (1947). The inheritance of red, roan and white coat colour \
                         in dairy shorthorn cattle. J. Genet. 48(2): 155–163";
const GECKO: &str = "Guo, L. et al. (2021). Genetics of white color and iridophoroma in 'Lemon \
                     Frost' leopard geckos. PLoS Genet. 17(6): e1009580";

pub const ROWS: &[Row] = &[
    Row {
        id: "INC-01",
        source: DAVENPORT,
        basis: READ,
        by: &[
            split_combs_mated_together_give_one_to_two_to_one,
            grades_up_to_forty_leave_no_room_for_overlap,
            grades_above_fifty_call_split_combs_single,
            super::modes::of_all_ways_split_combs_are_incomplete_dominant,
        ],
    },
    Row {
        id: "INC-03",
        source: BAUR,
        basis: MEMORY_MEDIUM,
        by: &[
            pink_snapdragons_prove_both_parents_pink,
            super::modes::of_all_ways_pink_snapdragons_are_incomplete_dominant,
        ],
    },
    Row {
        id: "INC-05",
        source: ANDALUSIAN,
        basis: READ,
        by: &[blue_andalusians_give_a_quarter_a_half_a_quarter],
    },
    Row {
        id: "INC-06",
        source: SHORTHORN,
        basis: READ,
        by: &[six_shorthorn_matings_give_the_printed_percentages],
    },
    Row {
        id: "REP-03",
        source: GECKO,
        basis: READ,
        by: &[lemon_frost_gives_one_to_one_and_one_to_two_to_one],
    },
];

const ONE_TWO_ONE: [f64; 3] = [0.25, 0.5, 0.25];

/// Chicks with single comb, split comb and none, by the grade of their parents.
fn grades() -> impl Iterator<Item = (u32, Vec<f64>)> {
    let table = &item("INC-01")["counts"]["parents' grade: [n, I, Y, none]"];
    table.as_object().unwrap().iter().map(|(grade, row)| {
        let row = numbers(row);
        assert_eq!(row[0], row[1..].iter().sum::<f64>());
        (grade.parse().unwrap(), row[1..].to_vec())
    })
}

/// The file with the clutches of some grades only, and the counts in it.
fn of_grades(keep: impl Fn(u32) -> bool) -> (String, Vec<f64>) {
    let (mut text, mut sums) = (file("split-comb"), vec![0.0; 3]);
    for (grade, counts) in grades() {
        if keep(grade) {
            (0..3).for_each(|kind| sums[kind] += counts[kind]);
        } else {
            text = without_clutch(&text, &format!("grade {grade}"));
        }
    }
    (text, sums)
}

/// What the evidence gains when a share of the calls confuses single and split combs.
fn gain_of_confusion(text: &str, share: f64) -> f64 {
    let look = "inheritance = \"incomplete dominant\"\n";
    let confused = format!("{look}misread = {{ confused = {share} }}\n");
    log_evidence(&with(text, look, &confused)) - log_evidence(text)
}

/// The same in closed form: of the quarter single and the half split, a share swaps.
fn swapped(counts: &[f64], share: f64) -> f64 {
    let chances = [0.25 + 0.25 * share, 0.5 - 0.25 * share, 0.25];
    multinomial(counts, &chances) - multinomial(counts, &ONE_TWO_ONE)
}

#[test]
fn split_combs_mated_together_give_one_to_two_to_one() {
    let (text, sums) = of_grades(|_| true);
    assert_eq!(sums, observed("INC-01"));
    same(DAVENPORT, log_evidence(&text), multinomial(&sums, &ONE_TWO_ONE));
}

#[test]
fn grades_up_to_forty_leave_no_room_for_overlap() {
    let (text, sums) = of_grades(|grade| grade <= 40);
    assert_eq!(sums, [223.0, 437.0, 216.0]);
    same(DAVENPORT, log_evidence(&text), multinomial(&sums, &ONE_TWO_ONE));
    for share in [0.02, 0.16] {
        same(DAVENPORT, gain_of_confusion(&text, share), swapped(&sums, share));
    }
    // The best share is 0.014, and worth nothing; the share of all grades speaks against itself.
    let best = where_largest(0.0, 0.5, |share| gain_of_confusion(&text, share));
    printed(DAVENPORT, best, &format!("{:.3}", 3.0 * 223.0 / 660.0 - 1.0));
    assert!(gain_of_confusion(&text, best) < 0.1 && gain_of_confusion(&text, 0.16) < -3.0);
}

#[test]
fn grades_above_fifty_call_split_combs_single() {
    let (text, sums) = of_grades(|grade| grade > 50);
    assert_eq!(sums, [280.0, 343.0, 156.0]);
    for share in [0.16, 0.35] {
        same(DAVENPORT, gain_of_confusion(&text, share), swapped(&sums, share));
    }
    let best = where_largest(0.0, 0.9, |share| gain_of_confusion(&text, share));
    printed(DAVENPORT, best, &format!("{:.3}", 3.0 * 280.0 / 623.0 - 1.0));
    assert!(gain_of_confusion(&text, best) > 15.0);
}

#[test]
fn pink_snapdragons_prove_both_parents_pink() {
    let text = file("snapdragon");
    let answer = ask(&text);
    for parent in ["plant", "pollen"] {
        same(BAUR, answer.chance(parent, "red", "+/red"), 1.0);
    }
    // Of 1 : 2 : 1 beforehand, both pink is one pair in four.
    let counts = observed("INC-03");
    same(BAUR, answer.log_evidence(), 0.25f64.ln() + multinomial(&counts, &ONE_TWO_ONE));
}

#[test]
fn blue_andalusians_give_a_quarter_a_half_a_quarter() {
    let answer = ask(&file("andalusian"));
    let of = |chick| ["+/+", "+/blue", "blue/blue"].map(|g| answer.chance(chick, "blue", g));
    for (got, want) in of("chick of two blues").into_iter().zip(ONE_TWO_ONE) {
        same(ANDALUSIAN, got, want);
    }
    for (got, want) in of("chick of black and splashed").into_iter().zip([0.0, 1.0, 0.0]) {
        same(ANDALUSIAN, got, want);
    }
}

#[test]
fn six_shorthorn_matings_give_the_printed_percentages() {
    let answer = ask(&file("shorthorn"));
    let table = item("INC-06")["counts"]["expected % red,roan,white"].as_object().unwrap();
    assert_eq!(table.len(), 6);
    for (mating, percentages) in table {
        let calf = format!("calf of {mating}");
        let genotypes = ["+/+", "+/roan", "roan/roan"];
        for (percentage, genotype) in numbers(percentages).into_iter().zip(genotypes) {
            same(SHORTHORN, 100.0 * answer.chance(&calf, "roan", genotype), percentage);
        }
    }
}

#[test]
fn lemon_frost_gives_one_to_one_and_one_to_two_to_one() {
    let answer = ask(&file("lemon-frost"));
    let genotypes = ["+/+", "+/lemon frost", "lemon frost/lemon frost"];
    let hatchlings = [("of the backcross", [0.5, 0.5, 0.0]), ("of the intercross", ONE_TWO_ONE)];
    for (hatchling, shares) in hatchlings {
        for (genotype, want) in genotypes.iter().zip(shares) {
            same(GECKO, answer.chance(hatchling, "lemon frost", genotype), want);
        }
    }
}
