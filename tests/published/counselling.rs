//! The autosomal worked examples of genetic counselling.

use super::support::*;

const SIB: &str = "standard (Thompson & Thompson; Emery)";
/// From memory.
const YOUNG: &str = "Young (2007); Ogino, Wilson & Grody (2004) J. Med. Genet. 41: e70";
const PANEL: &str = "worked blog on CF carrier testing";
/// From memory.
const EMERY: &str = "Turnpenny & Ellard, Emery's Elements of Medical Genetics";
/// From memory.
const NINE_IN_TEN: &str = "standard";
const AGE: &str = "Ogino, Wilson, Gold & Flodman (2007) J. Genet. Counsel. 16(1)";
const PARTNERS: &str = "Young (2007) type";
/// From memory.
const HARPER: &str = "Harper; Young";

pub const ROWS: &[Row] = &[
    Row {
        id: "BAY-07",
        source: SIB,
        basis: READ,
        by: &[the_normal_sib_of_an_affected_is_two_thirds_a_carrier],
    },
    Row {
        id: "BAY-08",
        source: YOUNG,
        basis: MEMORY_HIGH,
        by: &[a_search_that_finds_nine_in_ten_and_nothing_leaves_one_in_six],
    },
    Row {
        id: "BAY-09",
        source: PANEL,
        basis: READ,
        by: &[a_negative_panel_leaves_one_in_241_of_one_in_25],
    },
    Row {
        id: "BAY-10",
        source: EMERY,
        basis: MEMORY_HIGH,
        by: &[a_healthy_child_may_carry_what_eight_in_ten_show],
    },
    Row {
        id: "BAY-11",
        source: NINE_IN_TEN,
        basis: MEMORY_HIGH,
        by: &[penetrance_of_nine_in_ten_leaves_one_in_eleven],
    },
    Row {
        id: "BAY-13",
        source: AGE,
        basis: FORMULA,
        by: &[an_age_at_which_a_share_shows_is_a_penetrance],
    },
    Row {
        id: "BAY-15",
        source: PARTNERS,
        basis: FORMULA,
        by: &[normal_children_of_two_doubtful_partners_lower_both_together],
    },
    Row {
        id: "BAY-16",
        source: HARPER,
        basis: MEMORY_HIGH,
        by: &[
            a_normal_sib_and_a_first_cousin_risk_one_in_24,
            a_normal_sib_and_a_stranger_risk_one_in_150_or_1446_when_screened,
        ],
    },
];

#[test]
fn the_normal_sib_of_an_affected_is_two_thirds_a_carrier() {
    let text = file("normal-sib");
    for background in ["0.01", "0.3"] {
        // How common it is elsewhere does not matter: the affected sister tells of both parents.
        let text = with(&text, "background = 0.01", &format!("background = {background}"));
        let answer = ask(&text);
        same(SIB, answer.chance("brother", "affected", "+/affected"), 2.0 / 3.0);
        for parent in ["mother", "father"] {
            same(SIB, answer.chance(parent, "affected", "+/affected"), 1.0);
        }
    }
}

#[test]
fn a_search_that_finds_nine_in_ten_and_nothing_leaves_one_in_six() {
    let answer = ask(&file("normal-sib-screened"));
    same(YOUNG, answer.chance("brother", "affected", "+/affected"), 1.0 / 6.0);
}

#[test]
fn a_negative_panel_leaves_one_in_241_of_one_in_25() {
    let carrier = ask(&file("negative-panel")).chance("tested", "affected", "+/affected");
    // The laboratory printed 1/240, rounded.
    same(PANEL, carrier, 1.0 / 241.0);
    assert_eq!(format!("{:.0}", 1.0 / carrier - 1.0), "240");
}

#[test]
fn a_healthy_child_may_carry_what_eight_in_ten_show() {
    let text = file("healthy-child");
    let before = without_clutch(&text, "second");
    same(EMERY, ask(&before).chance("child", "affected", "+/affected"), 1.0 / 6.0);
    same(EMERY, (log_evidence(&text) - log_evidence(&before)).exp(), 1.0 / 15.0);
}

/// The chance that the healthy child carries, when this share of carriers shows.
fn healthy_child(penetrance: &str) -> f64 {
    let text = without_clutch(&file("healthy-child"), "second");
    let text = with(&text, "penetrance = 0.8", &format!("penetrance = {penetrance}"));
    ask(&text).chance("child", "affected", "+/affected")
}

#[test]
fn penetrance_of_nine_in_ten_leaves_one_in_eleven() {
    same(NINE_IN_TEN, healthy_child("0.9"), 1.0 / 11.0);
}

#[test]
fn an_age_at_which_a_share_shows_is_a_penetrance() {
    same(AGE, healthy_child("0.6"), 2.0 / 7.0);
    same(AGE, healthy_child("0.5"), 1.0 / 3.0);
}

#[test]
fn normal_children_of_two_doubtful_partners_lower_both_together() {
    let text = file("two-normal-sibs");
    let counted = "looks = [\"normal\"]\nnumber = 4";
    for (children, print) in ["4/9", "3/8", "9/29", "27/107", "81/401"].into_iter().enumerate() {
        let some = match children {
            0 => without_clutch(&text, "children"),
            _ => with(&text, counted, &format!("looks = [\"normal\"]\nnumber = {children}")),
        };
        let answer = ask(&some);
        // Both carry: then, and only then, one more child is affected with one chance in four.
        let one_more = match children {
            0 => with(&text, counted, "looks = [\"affected\"]\nnumber = 1"),
            _ => format!("{some}\n[[clutch.count]]\nlooks = [\"affected\"]\nnumber = 1\n"),
        };
        let both = 4.0 * (log_evidence(&one_more) - answer.log_evidence()).exp();
        same(PARTNERS, both, fraction(print));
        // Each alone: both, or one of two ways of a single carrier, which the children leave as is.
        let single = 2.0 / 9.0 / (4.0 / 9.0 * 0.75f64.powi(children as i32) + 5.0 / 9.0);
        for partner in ["he", "she"] {
            let carrier = answer.chance(partner, "affected", "+/affected");
            same(PARTNERS, carrier, fraction(print) + single);
        }
    }
}

#[test]
fn a_normal_sib_and_a_first_cousin_risk_one_in_24() {
    let text = file("sib-and-cousin");
    let before = without_clutch(&text, "child");
    same(HARPER, (log_evidence(&text) - log_evidence(&before)).exp(), 1.0 / 24.0);
    let answer = ask(&before);
    same(HARPER, answer.chance("sister", "affected", "+/affected"), 2.0 / 3.0);
    same(HARPER, answer.chance("cousin", "affected", "+/affected"), 1.0 / 4.0);
}

#[test]
fn a_normal_sib_and_a_stranger_risk_one_in_150_or_1446_when_screened() {
    let family = file("normal-sib");
    let screen = "readings = [{ gene = \"affected\", likelihood = { \"+/+\" = 1, \
                  \"+/affected\" = 0.1, \"affected/affected\" = 0.1 } }]";
    for (found, print) in [("", "1/150"), (screen, "1/1446")] {
        let stranger =
            format!("[[animal]]\nid = \"stranger\"\nsold_as = [\"4% het affected\"]\n{found}\n");
        let before = format!("{family}{stranger}");
        let child = "[[clutch]]\nid = \"child\"\ndam = \"stranger\"\nsire = \"brother\"\n\
                     [[clutch.count]]\nlooks = [\"affected\"]\nnumber = 1\n";
        let risk = (log_evidence(&format!("{before}{child}")) - log_evidence(&before)).exp();
        same(HARPER, risk, fraction(print));
    }
}
