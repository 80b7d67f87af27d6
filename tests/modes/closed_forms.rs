//! What pencil and paper give.

use std::process::Command;

use proveout::numbers::uniform_nodes;
use proveout::presentation::names;
use proveout::questions::Family;

use super::support::{Answer, ask, ask_allelic, ask_with, same};

const EXACT: f64 = 1e-12;

/// A colony in which nothing is misread and the look is new to the world.
fn file(system: &str, assume: [f64; 2], gene: &str, rest: &str) -> String {
    let [background, misread] = assume;
    format!(
        "sex_system = \"{system}\"\n[assume]\nbackground = {background}\nmisread = {misread}\n\
         [gene.quill]\ninheritance = \"unknown\"\nlooks = [\"quill\"]\nfirst_seen = [\"Q\"]\n\
         {gene}\n{rest}"
    )
}

const PAIR: &str = "[[animal]]\nid = \"Q\"\nsex = \"male\"\nlooks = [\"quill\"]\n\
                    [[animal]]\nid = \"N\"\nsex = \"female\"\nlooks = [\"normal\"]\n";

fn clutch(id: &str, dam: &str, sire: &str, more: &str) -> String {
    format!("[[clutch]]\nid = \"{id}\"\ndam = \"{dam}\"\nsire = \"{sire}\"\n{more}")
}

fn count(look: &str, number: u32) -> String {
    match number {
        0 => String::new(),
        _ => format!("[[clutch.count]]\nlooks = [\"{look}\"]\nnumber = {number}\n"),
    }
}

/// Q bred once to N: `hits` of `number` young show the look.
fn outcross(assume: [f64; 2], gene: &str, hits: u32, number: u32) -> String {
    let young = count("quill", hits) + &count("normal", number - hits);
    file("environmental", assume, gene, &(PAIR.to_owned() + &clutch("A", "N", "Q", &young)))
}

/// The chance of draws in a row, each at the rate the earlier ones suggest.
fn urn(start: [f64; 2], hits: u32, misses: u32) -> f64 {
    let up = |from: f64, n: u32| (0..n).map(|i| from + f64::from(i)).product::<f64>();
    up(start[0], hits) * up(start[1], misses) / up(start[0] + start[1], hits + misses)
}

#[test]
fn one_outcross_agrees_with_the_binomial_and_the_beta_binomial() {
    for number in 1..=9 {
        for hits in 0..=number {
            let answer = ask(&outcross([0.0, 0.0], "", hits, number));
            let half = 0.5f64.powi(number as i32).ln();
            let never = if hits == 0 { 0.0 } else { f64::NEG_INFINITY };
            same("dominant", answer.log("dominant"), half, EXACT);
            same("incomplete dominant", answer.log("incomplete dominant"), half, EXACT);
            same("recessive", answer.log("recessive"), never, EXACT);
            let misses = number - hits;
            // The normal mate was scored before the clutch hatched.
            let common = urn([1.0, 99.0], hits, misses + 1);
            same("chance", answer.log("chance"), common.ln(), EXACT);
            let own = urn([0.1, 0.9], hits, misses) * urn([1.0, 99.0], 0, 1);
            same("clutch effect", answer.log("clutch effect"), own.ln(), EXACT);
        }
    }
}

#[test]
fn one_outcross_with_a_background_and_misread_calls_agrees_with_its_formula() {
    let (b, m) = (0.03f64, 0.02f64);
    let start = [(1.0 - b) * (1.0 - b), 2.0 * b * (1.0 - b), b * b];
    let called = |shows: bool, hit: bool| if shows == hit { 1.0 - m } else { m };
    // For each way the least number of copies that shows.
    for (way, needed) in [("dominant", 1), ("recessive", 2)] {
        for (hits, number) in [(0, 4), (2, 5), (3, 6), (6, 6)] {
            let (mut sum, mut shown) = (0.0, 0.0);
            for q in needed..3 {
                shown += start[q];
                for n in 0..3 {
                    let normal = start[n] * called(n >= needed, false);
                    let pass = [q as f64 / 2.0, n as f64 / 2.0];
                    let copies = [
                        (1.0 - pass[0]) * (1.0 - pass[1]),
                        pass[0] * (1.0 - pass[1]) + pass[1] * (1.0 - pass[0]),
                        pass[0] * pass[1],
                    ];
                    let chance = |hit: bool| -> f64 {
                        (0..3).map(|c| copies[c] * called(c >= needed, hit)).sum()
                    };
                    sum += start[q]
                        * normal
                        * chance(true).powi(hits)
                        * chance(false).powi(number - hits);
                }
            }
            let answer = ask(&outcross([b, m], "", hits as u32, number as u32));
            same(way, answer.log(way), (sum / shown).ln(), EXACT);
        }
    }
}

#[test]
fn three_of_six_speak_for_dominant_as_far_as_look_alikes_are_rare() {
    let odds = |gene: &str| {
        let answer = ask(&outcross([0.0, 0.0], gene, 3, 6));
        // The normal mate is no look-alike either way; its call is not what is asked here.
        let mate = answer.of("chance").by_clutch[0] - answer.of("dominant").by_clutch[0];
        answer.factor("dominant", "chance") * mate.exp()
    };
    assert_eq!((odds("look_alikes = 0.01") / 100.0).round() * 100.0, 16100.0);
    assert_eq!(format!("{:.1}", odds("look_alikes = 0.2")), "3.4");
    assert_eq!(format!("{:.1}", odds("look_alikes = 0.2\nmisread = 0")), "3.8");
    same(
        "16,100",
        odds("look_alikes = 0.01\nmisread = 0"),
        0.5f64.powi(6) / 0.0099f64.powi(3),
        EXACT,
    );
    let with = 0.6f64.powi(3) * 0.4f64.powi(3);
    same("3.4", odds("look_alikes = 0.2"), with / 0.16f64.powi(3), EXACT);
}

/// An animal with both looks bred to a normal one.
fn both_looks(misread: f64, young: &str) -> String {
    format!(
        "[assume]\nbackground = 0\nmisread = {misread}\n\
         [gene.brindle]\ninheritance = \"dominant\"\n[gene.quill]\ninheritance = \"dominant\"\n\
         [[animal]]\nid = \"D\"\nsex = \"female\"\nlooks = [\"brindle\", \"quill\"]\n\
         sold_as = [\"het brindle\", \"het quill\"]\n\
         [[animal]]\nid = \"S\"\nsex = \"male\"\nsold_as = [\"not het brindle\", \"not het quill\"]\n\
         {}",
        clutch("A", "D", "S", young)
    )
}

fn counts(both: u32, brindle: u32, quill: u32, neither: u32) -> String {
    let two = match both {
        0 => String::new(),
        _ => format!("[[clutch.count]]\nlooks = [\"brindle\", \"quill\"]\nnumber = {both}\n"),
    };
    two + &count("brindle", brindle) + &count("quill", quill) + &count("normal", neither)
}

#[test]
fn five_young_with_exactly_one_look_speak_32_to_1_for_alleles() {
    let answer = ask_allelic(&both_looks(0.0, &counts(0, 3, 2, 0)), ["brindle", "quill"]);
    let odds = (answer.same_locus.log_evidence - answer.free.log_evidence).exp();
    same("five young", odds, 32.0, EXACT);
    let bound = answer.bound.unwrap();
    assert_eq!(bound.young, 5);
    same("bound", bound.below, 1.0 - 0.05f64.powf(0.2), EXACT);
}

#[test]
fn one_young_with_both_looks_excludes_alleles_unless_it_is_misread() {
    let at = |misread: f64| {
        let text = both_looks(misread, &counts(1, 3, 2, 0));
        let answer = ask_allelic(&text, ["brindle", "quill"]);
        (answer.same_locus.log_evidence - answer.free.log_evidence).exp()
    };
    assert_eq!(at(0.0), 0.0);
    let mut last = 0.0;
    for m in [1e-6, 0.001, 0.01, 0.05] {
        let one = 0.5 * ((1.0 - m) * (1.0 - m) + m * m);
        let both = m * (1.0 - m);
        let want = (one / 0.25f64).powi(5) * both / 0.25;
        same("odds", at(m), want, 1e-11);
        assert!(at(m) > last, "{m}");
        last = at(m);
    }
}

#[test]
fn the_crossover_is_integrated_over_to_eight_digits() {
    for (both, brindle, quill, neither) in [(0, 3, 2, 0), (1, 6, 5, 0), (5, 1, 0, 4), (2, 2, 2, 2)]
    {
        let text = both_looks(0.0, &counts(both, brindle, quill, neither));
        let answer = ask_allelic(&text, ["brindle", "quill"]);
        let [together, apart] = [both + neither, brindle + quill].map(|n| n as i32);
        let at = |r: f64| {
            let [same, cross] = [(1.0 - r) / 2.0, r / 2.0];
            0.5 * (cross.powi(together) * same.powi(apart)
                + same.powi(together) * cross.powi(apart))
        };
        let nodes = uniform_nodes(0.0, 0.5, std::num::NonZeroUsize::new(128).unwrap());
        let want: f64 = nodes.iter().map(|(r, weight)| weight * at(*r)).sum();
        same("linked", answer.linked.log_evidence, want.ln(), 1e-8);
        let mean: f64 = nodes.iter().map(|(r, weight)| weight * at(*r) * r).sum();
        let range = answer.crossover.unwrap();
        same("mean", range.mean, mean / want, 1e-7);
        let inside =
            uniform_nodes(range.lower, range.upper, std::num::NonZeroUsize::new(128).unwrap());
        let inside: f64 = inside.iter().map(|(r, weight)| weight * at(*r)).sum();
        let mass = inside * (range.upper - range.lower) / 0.5 / want;
        assert!((mass - 0.95).abs() < 1e-3, "{mass}");
    }
}

#[test]
fn one_clutch_of_normals_leaves_what_it_cannot_tell_and_names_the_cross_that_does() {
    for (system, sex, other) in [("XY", "male", "female"), ("ZW", "female", "male")] {
        let pair = format!(
            "[[animal]]\nid = \"Q\"\nsex = \"{sex}\"\nlooks = [\"quill\"]\n\
             [[animal]]\nid = \"N\"\nsex = \"{other}\"\nlooks = [\"normal\"]\n"
        );
        let (dam, sire) = if sex == "male" { ("N", "Q") } else { ("Q", "N") };
        let young = "[[clutch.count]]\nlooks = [\"normal\"]\nnumber = \"3.3.0\"\n";
        let text = file(system, [0.005, 0.001], "", &(pair + &clutch("A", dam, sire, young)));
        let answer = ask_with(&text, Vec::new(), true).unwrap();
        let standing = answer.answer.standing();
        for way in ["recessive", "sex-linked recessive", "chance"] {
            let stands = |one: &&proveout::questions::ModeResult| {
                names::mode(&answer.colony, one.mode) == way
            };
            assert!(standing.iter().any(stands), "{system}: {way}");
        }
        let best = answer.answer.deciding.first().unwrap();
        assert!(best.bits > 0.1, "{system}: {}", best.bits);
        let shares: Vec<f64> = best.decides.iter().map(|one| one.expected[1]).collect();
        let most = shares.iter().copied().fold(0.0, f64::max);
        let least = shares.iter().copied().fold(1.0, f64::min);
        assert!(most - least > 0.2, "{system}: {shares:?}");
    }
}

/// Q × N gives six normals; a daughter back to Q gives two of four.
fn back_to_its_sire(assume: [f64; 2], genes: &str) -> String {
    let first = "[[clutch.hatchling]]\nid = \"D\"\nsex = \"female\"\nlooks = [\"normal\"]\n";
    let first = clutch("A", "N", "Q", &(first.to_owned() + &count("normal", 5)));
    let back = clutch("B", "D", "Q", &(count("quill", 2) + &count("normal", 2)));
    file("environmental", assume, "", &format!("{genes}{PAIR}{first}{back}"))
}

#[test]
fn a_daughter_back_to_her_sire_tells_recessive_from_dominant_64_to_1() {
    let odds = |assume| ask(&back_to_its_sire(assume, "")).factor("recessive", "dominant");
    same("nothing misread", odds([0.0, 0.0]), 64.0, EXACT);
    for background in [0.0005, 0.005, 0.05] {
        let odds = odds([background, 0.001]);
        assert!((odds / 64.0 - 1.0).abs() < 0.05, "{background}: {odds}");
    }
}

#[test]
fn ten_unrelated_genes_change_no_familys_prior_and_no_odds_between_other_families() {
    let genes: String =
        (0..10).map(|at| format!("[gene.g{at}]\ninheritance = \"recessive\"\n")).collect();
    let one = ask(&back_to_its_sire([0.005, 0.001], "[gene.g]\ninheritance = \"recessive\"\n"));
    let ten = ask(&back_to_its_sire([0.005, 0.001], &genes));
    for family in Family::ALL {
        let of = |answer: &Answer| -> f64 {
            let all = answer.answer.modes.iter().filter(|one| one.family == family);
            all.map(|one| one.prior).sum()
        };
        same("prior", of(&ten), of(&one), EXACT);
    }
    let odds = |answer: &Answer| answer.of("recessive").posterior / answer.of("chance").posterior;
    same("odds", odds(&ten) / odds(&one), 1.0, 1e-9);
}

#[test]
fn two_looks_are_mere_variation_where_copies_do_not_tell_them_apart() {
    let two = |assume, hits: [u32; 2], normal: u32| {
        let text = outcross(assume, "", 0, 0)
            .replace("looks = [\"quill\"]\nfirst", "looks = [\"quill\", \"strong\"]\nfirst");
        let young = count("quill", hits[0]) + &count("strong", hits[1]) + &count("normal", normal);
        ask(&(text + &young))
    };
    // Beta(2, 1) for the share of the first look, of which the first find is one.
    let answer = two([0.0, 0.0], [2, 1], 3);
    let share = urn([2.0, 1.0], 2, 1);
    same("dominant", answer.log("dominant"), (0.5f64.powi(6) * share).ln(), EXACT);
    let chance = urn([1.0, 99.0], 3, 4) * urn([1.0, 1.0], 2, 1);
    same("chance", answer.log("chance"), chance.ln(), EXACT);
    assert_eq!(answer.log("incomplete dominant"), f64::NEG_INFINITY);
    // The same by more nodes than the program takes, with calls that may be wrong.
    let m = 0.04;
    let answer = two([0.0, m], [7, 4], 9);
    let at = |f: f64| {
        let called = |first: f64, second: f64, none: f64, right: f64| {
            right * (1.0 - m) + (first + second + none - right) * m / 2.0
        };
        let [first, second, none] = [0.5 * f, 0.5 * (1.0 - f), 0.5];
        called(first, second, none, first).powi(7)
            * called(first, second, none, second).powi(4)
            * called(first, second, none, none).powi(9)
    };
    let nodes = uniform_nodes(0.0, 1.0, std::num::NonZeroUsize::new(256).unwrap());
    let sum: f64 = nodes.iter().map(|(f, weight)| weight * 2.0 * f * at(*f)).sum();
    same("dominant", answer.log("dominant"), (sum * (1.0 - m)).ln(), 1e-8);
}

#[test]
fn an_unknown_penetrance_is_integrated_over_to_eight_digits() {
    let text = |penetrance: &str| {
        back_to_its_sire([0.02, 0.002], "[gene.ash]\ninheritance = \"recessive\"\n")
            .replace("first_seen", &format!("penetrance = {penetrance}\nfirst_seen"))
    };
    let whole = ask(&text("\"unknown\""));
    let nodes = uniform_nodes(0.5, 1.0, std::num::NonZeroUsize::new(32).unwrap());
    let at: Vec<(f64, f64, Answer)> =
        nodes.into_iter().map(|(p, weight)| (p, weight, ask(&text(&p.to_string())))).collect();
    for one in whole.answer.modes.iter().filter(|one| one.mode.is_inherited()) {
        let way = names::mode(&whole.colony, one.mode);
        // That the first find shows it at all is likelier the higher the penetrance.
        let above: f64 = at.iter().map(|(p, w, answer)| w * p * answer.log(&way).exp()).sum();
        let below: f64 = at.iter().map(|(p, w, _)| w * p).sum();
        same(&way, one.log_evidence, (above / below).ln(), 1e-8);
    }
}

#[test]
fn selection_for_the_look_divides_by_its_chance_under_every_way() {
    let text = |key: &str, hits, normal| {
        let young =
            format!("{key} = [\"quill\"]\n") + &count("quill", hits) + &count("normal", normal);
        file(
            "environmental",
            [0.0, 0.0],
            "look_alikes = 0.1\nmisread = 0",
            &(PAIR.to_owned() + &clutch("A", "N", "Q", &young)),
        )
    };
    let of = |answer: &Answer, way: &str| answer.of(way).by_clutch[1];
    let kept = ask(&text("kept_if", 2, 3));
    same("dominant", of(&kept, "dominant"), (0.5f64.powi(5) / (1.0 - 0.5f64.powi(5))).ln(), EXACT);
    let rate = 0.1f64.powi(2) * 0.9f64.powi(3);
    same("chance", of(&kept, "chance"), (rate / (1.0 - 0.9f64.powi(5))).ln(), EXACT);
    assert_eq!(kept.log("recessive"), f64::NEG_INFINITY);
    let only = ask(&text("recorded_only", 3, 0));
    for way in ["dominant", "chance", "clutch effect"] {
        same(way, of(&only, way), 0.0, EXACT);
    }
    assert_eq!(only.log("recessive"), f64::NEG_INFINITY);
    // At a rate that is not known: ∫ r²(1−r)³ / (1 − (1−r)⁵) over Beta(0.1, 0.9), r = u¹⁰.
    let nodes = uniform_nodes(0.0, 1.0, std::num::NonZeroUsize::new(400).unwrap());
    let over = |f: &dyn Fn(f64) -> f64| -> f64 {
        nodes.iter().map(|(u, w)| w * f(u.powi(10)) * (1.0 - u.powi(10)).powf(-0.1)).sum()
    };
    let above = over(&|r| r * r * (1.0 - r).powi(3) / (1.0 - (1.0 - r).powi(5)));
    same("clutch effect", of(&kept, "clutch effect"), (above / over(&|_| 1.0)).ln(), 1e-4);
}

#[test]
fn a_first_find_says_no_more_for_having_been_selected() {
    let text = |key: &str| {
        let young = format!(
            "{key}[[clutch.hatchling]]\nid = \"Q\"\nsex = \"male\"\nlooks = [\"quill\"]\n{}",
            if key.starts_with("rec") { String::new() } else { count("normal", 3) }
        );
        let pair = PAIR.replace("\"Q\"", "\"S\"").replace("[\"quill\"]", "[\"normal\"]");
        file("environmental", [0.02, 0.01], "", &(pair + &clutch("A", "N", "S", &young)))
    };
    let [plain, kept] = ["", "kept_if = [\"quill\"]\n"].map(|key| ask(&text(key)));
    for one in &plain.answer.modes {
        let way = names::mode(&plain.colony, one.mode);
        same(&way, kept.log(&way), one.log_evidence, 1e-9);
    }
    let alone = |key: &str| text(key).replace(&count("normal", 3), "");
    let [plain, only] = ["", "recorded_only = [\"quill\"]\n"].map(|key| ask(&alone(key)));
    for one in &plain.answer.modes {
        let way = names::mode(&plain.colony, one.mode);
        same(&way, only.log(&way), one.log_evidence, 1e-9);
    }
}

#[test]
fn an_uncertain_call_is_weighed_by_its_fits_under_every_way() {
    let young = "[[clutch.hatchling]]\nid = \"x\"\n\
                 either = [{ looks = [\"quill\"], fit = 0.7 }, { looks = [], fit = 0.3 }]\n";
    let gene = "look_alikes = 0.1\nmisread = 0";
    let rest = PAIR.to_owned() + &clutch("A", "N", "Q", young);
    let answer = ask(&file("environmental", [0.0, 0.0], gene, &rest));
    let of = |way: &str| answer.of(way).by_clutch[1];
    same("dominant", of("dominant"), 0.5f64.ln(), EXACT);
    same("recessive", of("recessive"), 0.3f64.ln(), EXACT);
    same("chance", of("chance"), (0.1f64 * 0.7 + 0.9 * 0.3).ln(), EXACT);
    same("clutch effect", of("clutch effect"), (0.1f64 * 0.7 + 0.9 * 0.3).ln(), EXACT);
    // With another gene in one of the identities: Q × N hardly gives what nobody carries.
    let other = young.replace("looks = []", "looks = [\"ash\"]");
    let ash = "look_alikes = 0.1\nmisread = 0\n[gene.ash]\ninheritance = \"dominant\"";
    let answer = ask(&file(
        "environmental",
        [0.0, 0.0],
        ash,
        &(PAIR.to_owned() + &clutch("A", "N", "Q", &other)),
    ));
    let of = |way: &str| answer.of(way).by_clutch[1];
    same("dominant", of("dominant"), 0.35f64.ln(), EXACT);
    same("chance", of("chance"), 0.07f64.ln(), EXACT);
    assert_eq!(answer.log("recessive"), f64::NEG_INFINITY);
}

#[test]
fn lost_eggs_count_alike_under_every_way_and_speak_for_lethal_ones_alone() {
    let text = |eggs: &str, dam: &str| {
        let both = format!(
            "[[animal]]\nid = \"Q\"\nsex = \"male\"\nlooks = [\"quill\"]\n\
                    [[animal]]\nid = \"N\"\nsex = \"female\"\nlooks = [\"{dam}\"]\n"
        );
        let young = eggs.to_owned() + &count("quill", 5) + &count("normal", 2);
        let text = file("environmental", [0.0, 0.0], "", &(both + &clutch("A", "N", "Q", &young)));
        if dam == "quill" { text.replace("[\"Q\"]", "[\"Q\", \"N\"]") } else { text }
    };
    let loss = 0.1f64;
    for dam in ["normal", "quill"] {
        let [plain, lost] = ["", "died = 3\n"].map(|eggs| ask(&text(eggs, dam)));
        for one in plain.answer.modes.iter().filter(|one| one.log_evidence > f64::NEG_INFINITY) {
            let way = names::mode(&plain.colony, one.mode);
            let gained = lost.log(&way) - one.log_evidence;
            let lethal = way == "incomplete dominant, lethal" && dam == "quill";
            let want = if lethal {
                7.0 * (0.75 * (1.0 - loss)).ln() + 3.0 * (1.0 - 0.75 * (1.0 - loss)).ln()
            } else {
                7.0 * (1.0 - loss).ln() + 3.0 * loss.ln()
            };
            same(&format!("{dam}, {way}"), gained, want, 1e-11);
        }
    }
}

#[test]
fn what_nobody_could_have_judged_says_nothing() {
    let old = "[[animal]]\nid = \"P\"\nsex = \"male\"\n".to_owned()
        + &clutch("old", "N", "P", &format!("born = 2015-05-01\n{}", count("normal", 30)));
    let dated = PAIR.replace("looks = [\"quill\"]", "hatched = 2020-05-01\nlooks = [\"quill\"]");
    let new = clutch(
        "A",
        "N",
        "Q",
        &format!("born = 2022-05-01\n{}{}", count("quill", 2), count("normal", 4)),
    );
    let with = ask(&file("environmental", [0.01, 0.001], "", &format!("{dated}{old}{new}")));
    let without = ask(&file(
        "environmental",
        [0.01, 0.001],
        "",
        &format!("{dated}{}{new}", old.replace(&count("normal", 30), "complete = false\n")),
    ));
    let since = file(
        "environmental",
        [0.01, 0.001],
        "judged_since = 2014-01-01",
        &format!("{dated}{old}{new}"),
    );
    let since = ask(&since);
    for one in &without.answer.modes {
        let way = names::mode(&without.colony, one.mode);
        same(&way, with.log(&way), one.log_evidence, EXACT);
    }
    assert!((since.log("chance") - with.log("chance")).abs() > 0.1, "judged since earlier");

    // Hatchlings of a look that shows on adults only.
    let adult = ask(&outcross([0.01, 0.001], "from_age = \"adult\"", 0, 8));
    let nothing = ask(&outcross([0.01, 0.001], "", 0, 0));
    for one in &nothing.answer.modes {
        let way = names::mode(&nothing.colony, one.mode);
        same(&way, adult.log(&way), one.log_evidence, EXACT);
    }

    // Young whose other look hides it.
    let mask =
        "[gene.ash]\ninheritance = \"dominant\"\n[[mask]]\nlook = \"ash\"\nhides = [\"quill\"]\n";
    let ash = PAIR.replace("looks = [\"normal\"]", "looks = [\"ash\"]\nsold_as = [\"het ash\"]");
    let of = |young: &str| {
        let rest = ash.clone() + &clutch("A", "N", "Q", young);
        ask(&file("environmental", [0.0, 0.0], mask, &rest))
    };
    let hidden = of(&(count("ash", 4) + &count("normal", 3)));
    let seen = of(&count("normal", 3));
    for way in ["dominant", "incomplete dominant", "chance", "two dominant genes"] {
        let gained = hidden.log(way) - seen.log(way);
        same(way, gained, 4.0 * 0.5f64.ln(), 1e-11);
    }
}

#[test]
fn where_no_first_find_is_named_it_is_the_earliest_animal_that_shows_the_look() {
    let young =
        "[[clutch.hatchling]]\nid = \"x\"\nlooks = [\"quill\"]\n".to_owned() + &count("normal", 3);
    let later =
        "[[clutch.hatchling]]\nid = \"y\"\nlooks = [\"quill\"]\n".to_owned() + &count("normal", 2);
    let pair = PAIR.replace("\"Q\"", "\"S\"").replace("[\"quill\"]", "[\"normal\"]");
    let rest = pair.clone()
        + &clutch("B", "N", "S", &format!("born = 2022-05-01\n{later}"))
        + &clutch("A", "N", "S", &format!("born = 2021-05-01\n{young}"));
    let text = |first: &str| {
        file("environmental", [0.02, 0.01], "", &rest).replace("first_seen = [\"Q\"]\n", first)
    };
    let [absent, named] = ["", "first_seen = [\"x\"]\n"].map(|first| ask(&text(first)));
    assert_eq!(absent.answer.first_seen, named.answer.first_seen);
    // Only counted: one of the count becomes the first find.
    let counted =
        rest.replace("[[clutch.hatchling]]\nid = \"x\"\nlooks = [\"quill\"]\n", &count("quill", 1));
    let counted = counted
        .replace("[[clutch.hatchling]]\nid = \"y\"\nlooks = [\"quill\"]\n", &count("quill", 1));
    let counted =
        ask(&file("environmental", [0.02, 0.01], "", &counted)
            .replace("first_seen = [\"Q\"]\n", ""));
    for one in &named.answer.modes {
        let way = names::mode(&named.colony, one.mode);
        same(&way, absent.log(&way), one.log_evidence, EXACT);
        same(&way, counted.log(&way), one.log_evidence, 1e-10);
    }
}

#[test]
fn the_order_of_the_file_changes_nothing_and_the_parts_sum_to_the_whole() {
    let a = ["quill", "normal", "normal", "quill"]
        .map(|look| format!("[[clutch.hatchling]]\nlooks = [\"{look}\"]\n"));
    let d = "[[clutch.hatchling]]\nid = \"D\"\nsex = \"female\"\nlooks = [\"normal\"]\n";
    let dates = ["born = 2021-05-01\n", "born = 2022-05-01\n"];
    let one = PAIR.to_owned()
        + &clutch("A", "N", "Q", &(dates[0].to_owned() + d + &a.concat()))
        + &clutch("B", "D", "Q", &(dates[1].to_owned() + &count("quill", 2) + &count("normal", 2)));
    let turned: String = a.iter().rev().map(String::as_str).collect();
    let other =
        clutch("B", "D", "Q", &(dates[1].to_owned() + &count("normal", 2) + &count("quill", 2)))
            + &clutch("A", "N", "Q", &(dates[0].to_owned() + &turned + d))
            + PAIR;
    let genes = "penetrance = \"unknown\"\n[gene.ash]\ninheritance = \"recessive\"";
    let [one, other] = [one, other].map(|rest| ask(&file("ZW", [0.01, 0.002], genes, &rest)));
    for of in &one.answer.modes {
        let way = names::mode(&one.colony, of.mode);
        let turned = other.of(&way);
        same(&way, turned.log_evidence, of.log_evidence, 1e-10);
        same(&way, of.by_clutch.iter().sum(), of.log_evidence, 1e-10);
        assert_eq!(of.by_clutch.len(), 3, "{way}");
        for (here, there) in of.by_clutch.iter().zip(&turned.by_clutch) {
            same(&way, *there, *here, 1e-10);
        }
    }
}

#[test]
fn the_program_writes_the_same_numbers() {
    let folder = std::env::temp_dir().join(format!("proveout-modes-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("outcross.toml");
    std::fs::write(&path, outcross([0.0, 0.0], "look_alikes = 0.01\nmisread = 0", 3, 6)).unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_proveout"))
        .args(["mode", path.to_str().unwrap(), "quill", "--json"])
        .output()
        .unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let modes = json["modes"].as_array().unwrap();
    let of = |way: &str| modes.iter().find(|one| one["mode"] == way).unwrap();
    same("dominant", of("dominant")["log_evidence"].as_f64().unwrap(), 6.0 * 0.5f64.ln(), EXACT);
    // The normal mate is scored, too.
    let chance = 3.0 * 0.01f64.ln() + 4.0 * 0.99f64.ln();
    same("chance", of("chance")["log_evidence"].as_f64().unwrap(), chance, EXACT);
    assert!(of("recessive")["log_evidence"].is_null());
    let sum: f64 = modes.iter().map(|one| one["posterior"].as_f64().unwrap()).sum();
    same("posteriors", sum, 1.0, EXACT);
    for one in modes {
        let parts = one["by_clutch"].as_array().unwrap().iter();
        if let Some(whole) = one["log_evidence"].as_f64() {
            same(
                "parts",
                parts.map(|part| part["log_evidence"].as_f64().unwrap()).sum(),
                whole,
                EXACT,
            );
        }
    }
    assert!(json["deciding_crosses"].as_array().is_some_and(|list| !list.is_empty()));
}

#[test]
fn a_first_find_that_was_only_counted_is_told_without_a_name() {
    let pair = PAIR.replace("\"Q\"", "\"S\"").replace("[\"quill\"]", "[\"normal\"]");
    let young = count("quill", 2) + &count("normal", 3);
    let rest = pair + &clutch("A", "N", "S", &young);
    let text = file("ZW", [0.02, 0.01], "", &rest).replace("first_seen = [\"Q\"]\n", "");
    let answer = ask_with(&text, Vec::new(), true).unwrap();
    assert!(answer.answer.first_seen.is_empty());
    let said = proveout::presentation::mode_text(&answer.colony, &answer.answer);
    assert!(said.contains("A (N × S): 3 normal, 1 quill"), "{said}");
}

#[test]
fn selection_for_a_suspected_look_leaves_the_other_genes_alone() {
    let of = |key: &str| {
        let young = format!("{key}[[clutch.hatchling]]\nid = \"x\"\nlooks = [\"quill\"]\n");
        let ash = "[gene.ash]\ninheritance = \"recessive\"";
        let pair = PAIR.replace("looks = [\"normal\"]", "sold_as = [\"66% het ash\"]");
        let text =
            file("environmental", [0.02, 0.01], ash, &(pair + &clutch("A", "N", "Q", &young)));
        let colony = super::support::colony(&text);
        let asked = proveout::questions::Asked::default();
        let answer = proveout::questions::genotypes(&colony, &asked).unwrap();
        let ash = colony.find_gene("ash").unwrap();
        let own = answer.genotypes.iter().filter(|one| one.gene == ash);
        own.flat_map(|one| one.posterior.clone()).collect::<Vec<f64>>()
    };
    for key in ["recorded_only = [\"quill\"]\n", "kept_if = [\"quill\"]\n"] {
        assert_eq!(of("").len(), of(key).len());
        assert!(of(key).iter().all(|chance| (0.0..=1.0).contains(chance)), "{key}");
    }
}
