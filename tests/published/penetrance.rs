//! Carriers that do not always show: Davenport's toes, and a cock without a tail.

use super::support::*;

const DAVENPORT: &str = "Davenport, C. B. (1909). Inheritance of Characteristics in Domestic \
                         Fowl. Carnegie Inst. Washington Publ. 121";

const fn row(id: &'static str, by: &'static [fn()]) -> Row {
    Row { id, source: DAVENPORT, basis: READ, by }
}

pub const ROWS: &[Row] = &[
    row(
        "PEN-01",
        &[
            houdan_crosses_are_most_likely_when_two_thirds_of_carriers_show,
            the_first_generation_alone_puts_it_at_eight_in_eleven,
            the_share_of_the_first_generation_fits_the_second_poorly,
        ],
    ),
    row("PEN-02", &[silkie_carriers_nearly_always_show]),
    row(
        "PEN-03",
        &[
            fifteen_families_together_are_one_of_hybrids,
            four_toed_parents_of_five_toed_chicks_carry_in_silence,
        ],
    ),
    row(
        "PEN-05",
        &[
            a_cock_who_never_passes_it_on_is_not_of_two_copies,
            super::modes::of_two_rumpless_cocks_one_passes_it_on_and_one_does_not,
        ],
    ),
];

/// The log evidence of the file when this share of carriers shows the extra toe.
fn at(text: &str, written: &str, share: f64) -> f64 {
    log_evidence(&with(text, written, &format!("= {share} }}")))
}

const HOUDAN: &str = "= 0.649 }";

/// Chances of four toes in the first generation, the second, and hybrids by four-toed.
fn four_toed(share: f64) -> [f64; 3] {
    [1.0 - share, 0.25 + 0.5 * (1.0 - share), 1.0 - 0.5 * share]
}

/// Four toes and more, of the Houdan crosses, as printed.
fn houdan() -> [[f64; 2]; 3] {
    let counts = &item("PEN-01")["counts"];
    let crosses = ["F1 (4-4, 4-5, 5-5)", "F2 (4-4,4-5,5-5,4-6,5-6)", "DR×R (4-4,4-5,5-5)"];
    crosses.map(|cross| {
        let toes = numbers(&counts[cross]);
        [toes[0], toes[1..].iter().sum()]
    })
}

fn closed_form(crosses: &[[f64; 2]], share: f64) -> f64 {
    let of = |(counts, four): (&[f64; 2], f64)| multinomial(counts, &[four, 1.0 - four]);
    crosses.iter().zip(four_toed(share)).map(of).sum()
}

#[test]
fn houdan_crosses_are_most_likely_when_two_thirds_of_carriers_show() {
    let text = file("houdan-toes");
    // The Houdan cock's genotype is a reading on 1 : 2 : 1; the constant goes.
    for share in [0.3, 0.649, 0.9] {
        let gain = at(&text, HOUDAN, share) - at(&text, HOUDAN, 0.5);
        same(DAVENPORT, gain, closed_form(&houdan(), share) - closed_form(&houdan(), 0.5));
    }
    let best = where_largest(0.01, 0.99, |share| at(&text, HOUDAN, share));
    printed(DAVENPORT, best, "0.649");
}

/// The Houdan file with its first generation only.
fn first_generation() -> String {
    let text = without_clutch(&file("houdan-toes"), "F2");
    without_clutch(&text, "back to four-toed")
}

#[test]
fn the_first_generation_alone_puts_it_at_eight_in_eleven() {
    let text = first_generation();
    let best = where_largest(0.01, 0.99, |share| at(&text, HOUDAN, share));
    printed(DAVENPORT, best, "0.727");
}

#[test]
fn the_share_of_the_first_generation_fits_the_second_poorly() {
    let text = without_clutch(&file("houdan-toes"), "F1");
    let text = without_clutch(&text, "back to four-toed");
    let gain = at(&text, HOUDAN, 0.727) - at(&text, HOUDAN, 0.649);
    let second = |share: f64| {
        let four = four_toed(share)[1];
        multinomial(&houdan()[1], &[four, 1.0 - four])
    };
    same(DAVENPORT, gain, second(0.727) - second(0.649));
    assert!(gain < -3.0, "{DAVENPORT}: gave {gain}");
    // 180 of 380 were counted.
    let best = where_largest(0.01, 0.99, |share| at(&file("houdan-toes"), HOUDAN, share));
    for (share, print) in [(80.0 / 110.0, "146.8"), (best, "161.6")] {
        let one = format!("{text}[[clutch.count]]\nlooks = [\"normal\"]\nnumber = 1\n");
        let chance = (at(&one, HOUDAN, share) - at(&text, HOUDAN, share)).exp();
        printed(DAVENPORT, 380.0 * chance, print);
    }
}

#[test]
fn silkie_carriers_nearly_always_show() {
    const SILKIE: &str = "= 0.957 }";
    let text = file("silkie-toes");
    let hybrids = without_clutch(&without_clutch(&text, "F2"), "back to four-toed");
    let best = where_largest(0.01, 0.999, |share| at(&hybrids, SILKIE, share));
    printed(DAVENPORT, best, "0.957");
    let two = without_clutch(&text, "back to four-toed");
    let one = format!("{two}[[clutch.count]]\nlooks = [\"normal\"]\nnumber = 1\n");
    let four = (log_evidence(&one) - log_evidence(&two)).exp();
    printed(DAVENPORT, 208.0 * four, "56.5");
    let crosses = [[6.0, 132.0], [64.0, 144.0], [120.0, 59.0]];
    for share in [0.8, 0.99] {
        let gain = at(&text, SILKIE, share) - at(&text, SILKIE, 0.957);
        same(DAVENPORT, gain, closed_form(&crosses, share) - closed_form(&crosses, 0.957));
    }
}

/// The fifteen families: toes of the hen and the cock, chicks with four toes and with more.
fn families() -> Vec<(bool, bool, [f64; 2])> {
    let counts = item("PEN-03")["counts"].as_object().unwrap();
    let table = counts.values().next().unwrap().as_array().unwrap();
    let family = |row: &serde_json::Value| {
        let chicks: Vec<f64> = (5..10).map(|at| row[at].as_f64().unwrap()).collect();
        (row[2] == "4-4", row[4] == "4-4", [chicks[0], chicks[1..].iter().sum()])
    };
    table.iter().map(family).collect()
}

#[test]
fn fifteen_families_together_are_one_of_hybrids() {
    const FAMILIES: &str = "= 0.55 }";
    let text = file("toes-by-family");
    let all = families();
    assert_eq!(all.len(), 15);
    let sum = [0, 1].map(|kind| all.iter().map(|(_, _, chicks)| chicks[kind]).sum::<f64>());
    assert_eq!(sum, [180.0, 200.0]);
    for share in [0.4, 0.55, 0.727] {
        let four = four_toed(share)[1];
        same(DAVENPORT, at(&text, FAMILIES, share), multinomial(&sum, &[four, 1.0 - four]));
    }
    // 180 of 380 with four toes: three quarters less half the share that shows.
    let best = where_largest(0.01, 0.99, |share| at(&text, FAMILIES, share));
    printed(DAVENPORT, best, &format!("{:.4}", 2.0 * (0.75 - 180.0 / 380.0)));
}

#[test]
fn four_toed_parents_of_five_toed_chicks_carry_in_silence() {
    let share = 0.55;
    let silent: Vec<_> = families().into_iter().filter(|(hen, cock, _)| *hen && *cock).collect();
    assert_eq!(silent.len(), 6);
    for (_, _, chicks) in silent {
        let text = format!(
            "[assume]\nbackground = 0.1\nmisread = 0\n\
             [gene.toe]\ninheritance = \"dominant\"\npenetrance = {{ \"+/toe\" = {share} }}\n\
             [[animal]]\nid = \"hen\"\nlooks = [\"normal\"]\n\
             [[animal]]\nid = \"cock\"\nlooks = [\"normal\"]\n\
             [[clutch]]\nid = \"family\"\ndam = \"hen\"\nsire = \"cock\"\n\
             [[clutch.count]]\nlooks = [\"normal\"]\nnumber = {}\n\
             [[clutch.count]]\nlooks = [\"toe\"]\nnumber = {}\n",
            chicks[0], chicks[1]
        );
        // A parent with four toes has one copy, unseen, or none; two would show.
        let (none, one) = (0.81, 0.18 * (1.0 - share));
        let of = |four: f64| multinomial(&chicks, &[four, 1.0 - four]).exp();
        let [_, both, single] = four_toed(share);
        let (both, single) = (one * one * of(both), one * none * of(single));
        let carrier = (both + single) / (both + 2.0 * single);
        let answer = ask(&text);
        for parent in ["hen", "cock"] {
            same(DAVENPORT, answer.chance(parent, "toe", "+/toe"), carrier);
            assert!(carrier > 0.5, "one of the two at least carries in silence");
        }
    }
}

#[test]
fn a_cock_who_never_passes_it_on_is_not_of_two_copies() {
    let text = file("rumpless-cocks");
    let alone = |kept: &str| {
        let all = ["daughters by 117", "F1 by F1", "hens by 116"];
        let others = all.into_iter().filter(|clutch| *clutch != kept);
        log_evidence(&others.fold(text.clone(), |text, clutch| without_clutch(&text, clutch)))
    };
    let powers_of_ten = |log: f64| log / 10f64.ln();
    printed(DAVENPORT, powers_of_ten(alone("daughters by 117")), "-28.6");
    printed(DAVENPORT, powers_of_ten(alone("F1 by F1")), "-15.9");
    // Cock 116 passes it on to half: 28 of 55.
    same(DAVENPORT, alone("hens by 116"), 55.0 * 0.5f64.ln());
}
