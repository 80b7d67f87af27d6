//! What pencil and paper give.

use proveout::numbers::uniform_nodes;
use proveout::presentation::names;
use proveout::questions::Family;

use super::support::{Answer, ask, ask_allelic, ask_with, same};

pub(super) const EXACT: f64 = 1e-12;

/// A colony in which nothing is misread and the look is new to the world.
pub(super) fn file(system: &str, assume: [f64; 2], gene: &str, rest: &str) -> String {
    let [background, misread] = assume;
    format!(
        "sex_system = \"{system}\"\n[assume]\nbackground = {background}\nmisread = {misread}\n\
         [gene.quill]\ninheritance = \"unknown\"\nlooks = [\"quill\"]\nfirst_seen = [\"Q\"]\n\
         {gene}\n{rest}"
    )
}

pub(super) const PAIR: &str = "[[animal]]\nid = \"Q\"\nsex = \"male\"\nlooks = [\"quill\"]\n\
                    [[animal]]\nid = \"N\"\nsex = \"female\"\nlooks = [\"normal\"]\n";

pub(super) fn clutch(id: &str, dam: &str, sire: &str, more: &str) -> String {
    format!("[[clutch]]\nid = \"{id}\"\ndam = \"{dam}\"\nsire = \"{sire}\"\n{more}")
}

pub(super) fn count(look: &str, number: u32) -> String {
    match number {
        0 => String::new(),
        _ => format!("[[clutch.count]]\nlooks = [\"{look}\"]\nnumber = {number}\n"),
    }
}

/// Q bred once to N: `hits` of `number` young show the look.
pub(super) fn outcross(assume: [f64; 2], gene: &str, hits: u32, number: u32) -> String {
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
