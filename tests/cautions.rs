//! Is what may harm an animal said where it can still matter, and nowhere else?

#![allow(clippy::unwrap_used)]

use proveout::presentation::{genotypes_text, json};
use proveout::questions::{Asked, genotypes};
use proveout::records::{Colony, Format, read};
use serde_json::Value;

const TOLERANCE: f64 = 1e-12;

const HARM: &str = include_str!("cases/cautions_where_they_matter/records.toml");

fn colony(text: &str) -> Colony {
    read(text.as_bytes(), Format::Toml).unwrap_or_else(|e| panic!("{text}\n{e:?}")).colony
}

fn cautions(text: &str, kind: &str) -> Vec<Value> {
    cautions_asked(text, kind, &Asked::default())
}

fn cautions_asked(text: &str, kind: &str, asked: &Asked) -> Vec<Value> {
    let colony = colony(text);
    let answer = genotypes(&colony, asked).unwrap();
    let all: Value = serde_json::from_str(&json::genotypes(&colony, &answer)).unwrap();
    let all = all["cautions"].as_array().unwrap().clone();
    assert!(all.iter().all(|one| {
        one["text"]
            .as_str()
            .unwrap()
            .ends_with("ask a veterinarian, and mind the law where you live")
    }));
    all.into_iter().filter(|one| one["kind"] == kind).collect()
}

#[test]
fn harmful_young_are_expected_with_their_closed_forms() {
    let lethal = cautions(HARM, "lethal");
    let of_pair: Vec<&Value> = lethal.iter().filter(|one| !one["clutch"].is_null()).collect();
    assert_eq!(of_pair.len(), 1);
    assert!((of_pair[0]["figure"].as_f64().unwrap() - 0.25).abs() < TOLERANCE);
    let harmful = cautions(HARM, "harmful");
    let first = harmful.iter().find(|one| one["clutch"] == "23-1").unwrap();
    assert!((first["figure"].as_f64().unwrap() - 2.0 / 7.0 / 4.0).abs() < TOLERANCE);
    // The retired dam is not bred again.
    assert!(harmful.iter().all(|one| one["clutch"] != "23-2"));
}

#[test]
fn the_parents_are_weighed_together_and_not_one_by_one() {
    // One of the two is het for sure, as their one visual young shows; the chances alone would
    // multiply to less than the truth, which is that both carry.
    let text = "[assume]\nbackground = 0\nmisread = 0\n[gene.ash]\ninheritance = \"recessive\"\n\
                caution = \"c\"\n\
                [[animal]]\nid = \"a\"\nsex = \"female\"\nsold_as = [\"50% het ash\"]\n\
                [[animal]]\nid = \"b\"\nsex = \"male\"\nsold_as = [\"50% het ash\"]\n\
                [[clutch]]\nid = \"c\"\ndam = \"a\"\nsire = \"b\"\n";
    let clutch = |looks: &str, number: u32| {
        format!("{text}[[clutch.count]]\nlooks = [\"{looks}\"]\nnumber = {number}\n")
    };
    let figure = |text: &str| {
        let all = cautions(text, "harmful");
        all.iter().find(|one| !one["clutch"].is_null()).map(|one| one["figure"].as_f64().unwrap())
    };
    assert!((figure(&clutch("ash", 1)).unwrap() - 0.25).abs() < TOLERANCE);
    // Four normals: both carry with (3/4)^4 / (3 + (3/4)^4).
    let both = 0.75_f64.powi(4) / (3.0 + 0.75_f64.powi(4));
    assert!((figure(&clutch("normal", 4)).unwrap() - both / 4.0).abs() < TOLERANCE);
}

#[test]
fn losses_are_unusual_by_the_binomial_tail_times_the_clutches() {
    let losses = cautions(HARM, "egg losses");
    assert_eq!(losses.len(), 1);
    let tail = 6.0 * 0.9 * 0.1_f64.powi(5) + 0.1_f64.powi(6);
    assert!((losses[0]["figure"].as_f64().unwrap() - tail).abs() < 1e-9 * tail);
    let eggs = |eggs: u32, died: u32| {
        HARM.replace("eggs    = 7", &format!("eggs    = {eggs}"))
            .replace("died    = 5", &format!("died    = {died}"))
    };
    assert!(cautions(&eggs(3, 1), "egg losses").is_empty());
    // Three of four by chance alone: 4 · 0.9 · 0.1^3 + 0.1^4, under a twentieth; where a quarter of
    // the eggs has two copies of a lethal gene they are no riddle.
    assert_eq!(cautions(&eggs(5, 3), "egg losses").len(), 1);
    let normal = "looks   = [\"normal\"]\nsold_as = [\"het tumble\"]\nstatus";
    let carrier = normal.replace("[\"normal\"]", "[\"knell\"]");
    assert!(HARM.contains(normal));
    assert!(cautions(&eggs(5, 3).replace(normal, &carrier), "egg losses").is_empty());
}

#[test]
fn close_kin_are_named_from_an_eighth_up() {
    let close = cautions(HARM, "inbreeding");
    let of = |animal: Value| close.iter().find(|one| one["animal"] == animal).cloned();
    assert_eq!(of(Value::Null).unwrap()["figure"], 0.25);
    assert_eq!(of("24-1-a".into()).unwrap()["clutch"], "24-1");
    assert_eq!(close.len(), 2);
    // Kew's sire may be a stranger: half of what it was, which is an eighth.
    let doubt = HARM.replace(
        "id      = \"24-1\"                        # brother and sister\ndam     = \"Kew\"",
        "id      = \"24-1\"\ndam     = \"Elestren\"",
    );
    assert!(cautions(&doubt, "inbreeding").is_empty());
}

#[test]
fn a_sire_in_doubt_is_weighed_by_what_the_records_say_of_him() {
    let text = "[assume]\nbackground = 0\nmisread = 0\n[gene.ash]\ninheritance = \"recessive\"\n\
                [[animal]]\nid = \"a\"\nsex = \"female\"\nlooks = [\"ash\"]\n\
                [[animal]]\nid = \"b\"\nsex = \"male\"\nlooks = [\"ash\"]\n\
                [[animal]]\nid = \"n\"\nsex = \"male\"\nlooks = [\"normal\"]\n\
                [[clutch]]\nid = \"c\"\ndam = \"a\"\nsires = { b = 0.5, n = 0.5 }\n\
                [[clutch.hatchling]]\nid = \"d\"\nsex = \"female\"\nlooks = [\"LOOK\"]\n\
                [[clutch]]\nid = \"e\"\ndam = \"d\"\nsire = \"b\"\n\
                [[clutch.hatchling]]\nid = \"x\"\n";
    // An ash daughter is b's, and a normal one is not.
    let his = cautions(&text.replace("LOOK", "ash"), "inbreeding");
    assert_eq!(his[0]["figure"], 0.25);
    assert!(his[0]["text"].as_str().unwrap().contains("a sire in doubt weighed"));
    assert!(cautions(&text.replace("LOOK", "normal"), "inbreeding").is_empty());
}

#[test]
fn a_trait_without_a_grown_animal_is_said_once() {
    assert_eq!(cautions(HARM, "no history").len(), 1);
    let grown = format!("{HARM}[[animal]]\nid = \"Old\"\nlooks = [\"tumble\"]\n");
    assert!(cautions(&grown, "no history").is_empty());
}

#[test]
fn what_is_not_asked_about_is_left_out_but_for_the_keepers_own_words() {
    let colony = colony(HARM);
    let asked =
        Asked { animals: colony.find_animal("Elestren").into_iter().collect(), ..Asked::default() };
    assert_eq!(cautions_asked(HARM, "harmful", &asked).len(), 1);
    assert_eq!(cautions_asked(HARM, "egg losses", &asked).len(), 1);
    assert!(cautions_asked(HARM, "inbreeding", &asked).is_empty());
    let answer = genotypes(&colony, &Asked { explain: true, ..asked }).unwrap();
    assert!(genotypes_text(&colony, &answer).contains("ask before you breed more of them"));
}

#[test]
fn unknown_penetrance_is_averaged_over_in_cautions_too() {
    let text = HARM.replace("caution     = ", "penetrance = \"unknown\"\ncaution     = ");
    let harmful = cautions(&text, "harmful");
    let first = harmful.iter().find(|one| one["clutch"] == "23-1").unwrap();
    let figure = first["figure"].as_f64().unwrap();
    // The posterior of Cado is read from the same answer; Loveday is het for sure.
    let colony = colony(&text);
    let answer = genotypes(&colony, &Asked::default()).unwrap();
    let cado = colony.find_animal("Cado").unwrap();
    let one = answer.genotypes.iter().find(|one| one.animal == cado && one.gene.0 == 1).unwrap();
    assert!((figure - one.posterior[1] / 4.0).abs() < 1e-9, "{figure} {:?}", one.posterior);
}
