//! Families kept for what they show, and births without a father.

use super::support::*;

pub const ROWS: &[Row] = &[
    Row {
        id: "SEG-01",
        source: "Hogben, L., Worrall, R. L. & Zieve, I. (1932)",
        basis: READ,
        by: &[
            sibships_kept_for_an_affected_child_are_truncated,
            as_many_children_are_expected_to_be_affected_as_printed,
        ],
    },
    Row {
        id: "PAT-01",
        source: "Booth, W., Johnson, D. H., Moore, S.",
        basis: READ,
        by: &[
            twenty_two_caramel_daughters_have_no_father,
            without_a_father_there_are_only_sons_where_females_are_zw,
        ],
    },
];

/// Two carriers, and sibships of theirs that were kept if a child is affected.
fn sibships(families: &[[u64; 2]]) -> String {
    let mut text = "[assume]\nbackground = 0\nmisread = 0\n[gene.affected]\n\
                    inheritance = \"recessive\"\n"
        .to_owned();
    for (id, sex) in [("mother", "female"), ("father", "male")] {
        let told = "sold_as = [\"het affected\"]";
        text += &format!("[[animal]]\nid = \"{id}\"\nsex = \"{sex}\"\n{told}\n");
    }
    for (at, [affected, healthy]) in families.iter().enumerate() {
        let kept = "kept_if = [\"affected\"]";
        text +=
            &format!("[[clutch]]\nid = \"{at}\"\ndam = \"mother\"\nsire = \"father\"\n{kept}\n");
        for (look, number) in [("affected", affected), ("normal", healthy)] {
            if *number > 0 {
                text += &format!("[[clutch.count]]\nlooks = [\"{look}\"]\nnumber = {number}\n");
            }
        }
    }
    text
}

/// Size, number of families and affected children, as printed.
fn sizes() -> Vec<[u64; 3]> {
    let list = item("SEG-01")["counts"]["[size, families, affected]"].as_array().unwrap();
    let number = |row: &serde_json::Value, at: usize| row[at].as_u64().unwrap();
    list.iter().map(|row| [0, 1, 2].map(|at| number(row, at))).collect()
}

#[test]
fn sibships_kept_for_an_affected_child_are_truncated() {
    let mut families = Vec::new();
    let mut want = 0.0;
    for [size, number, affected] in sizes() {
        // How the affected are spread over families of one size is not printed, nor does it matter.
        let mut left = affected - number;
        for _ in 0..number {
            let more = left.min(size - 1);
            left -= more;
            families.push([1 + more, size - 1 - more]);
        }
        assert_eq!(left, 0);
        let (number, size, affected) = (number as f64, size as f64, affected as f64);
        want += multinomial(&[affected, number * size - affected], &[0.25, 0.75]);
        want -= number * (1.0 - 0.75f64.powf(size)).ln();
    }
    let total = &item("SEG-01")["counts"]["total"];
    assert_eq!(families.len() as u64, total["families"].as_u64().unwrap());
    let affected: u64 = families.iter().map(|[affected, _]| affected).sum();
    assert_eq!(affected, total["affected"].as_u64().unwrap());
    same("SEG-01", log_evidence(&sibships(&families)), want);
}

#[test]
fn as_many_children_are_expected_to_be_affected_as_printed() {
    let shares = numbers(&item("SEG-01")["expected"]["q'(n)=0.25/(1−0.75^n)"]);
    let mut expected = 0.0;
    for ([size, families, _], share) in sizes().into_iter().zip(shares) {
        let (mut ways, mut all, mut mean) = (1.0, 0.0, 0.0);
        for affected in 1..=size {
            ways *= (size - affected + 1) as f64 / affected as f64;
            let chance = ways * log_evidence(&sibships(&[[affected, size - affected]])).exp();
            all += chance;
            mean += affected as f64 * chance;
        }
        same("SEG-01", all, 1.0);
        let decimals = format!("{share}");
        printed("SEG-01", mean / size as f64, &format!("{decimals:0<6}"));
        expected += families as f64 * mean;
    }
    printed("SEG-01", expected, "56.9");
    printed("SEG-01", expected, "56.912");
}

/// A boa that hides caramel, and who may have sired her two litters.
fn boa(system: &str, sire: &str, litters: [u64; 2], sex: &str) -> String {
    let mut text = format!(
        "sex_system = \"{system}\"\n[assume]\nbackground = 0\nmisread = 0\n\
         [gene.caramel]\ninheritance = \"recessive\"\n\
         [[animal]]\nid = \"boa\"\nsex = \"female\"\nsold_as = [\"het caramel\"]\n\
         [[animal]]\nid = \"het\"\nsex = \"male\"\nsold_as = [\"het caramel\"]\n\
         [[animal]]\nid = \"clear\"\nsex = \"male\"\nsold_as = [\"not het caramel\"]\n"
    );
    for (at, young) in litters.into_iter().enumerate() {
        let number = if sex == "male" { format!("{young}.0.0") } else { format!("0.{young}.0") };
        text += &format!(
            "[[clutch]]\nid = \"{at}\"\ndam = \"boa\"\n{sire}\n\
             [[clutch.count]]\nlooks = [\"caramel\"]\nnumber = \"{number}\"\n"
        );
    }
    text
}

#[test]
fn twenty_two_caramel_daughters_have_no_father() {
    let counts = &item("PAT-01")["counts"];
    let all = counts["females"].as_u64().unwrap();
    // How many each litter had is not printed, nor does it matter.
    for first in [1, 10, 21] {
        let litters = [first, all - first];
        let of = |sire: &str| log_evidence(&boa("XY", sire, litters, "female"));
        let (none, het) = (of("sire = \"none\""), of("sire = \"het\""));
        same("PAT-01", none, all as f64 * 0.5f64.ln());
        same("PAT-01", het, all as f64 * 0.125f64.ln());
    }
    assert!(try_ask(&boa("XY", "sire = \"clear\"", [10, 12], "female")).is_none());
    assert!(try_ask(&boa("XY", "sire = \"none\"", [10, 12], "male")).is_none());
}

#[test]
fn without_a_father_there_are_only_sons_where_females_are_zw() {
    let of = |sex| try_ask(&boa("ZW", "sire = \"none\"", [10, 12], sex));
    assert!(of("female").is_none());
    same("PAT-01", of("male").unwrap().log_evidence(), 22.0 * 0.5f64.ln());
}
