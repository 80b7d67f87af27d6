//! What each kind of record says of a suspected look: selection, uncertain calls, eggs, first finds.

use std::process::Command;

use proveout::numbers::uniform_nodes;
use proveout::presentation::names;

use super::closed_forms::{EXACT, PAIR, clutch, count, file, outcross};
use super::support::{Answer, ask, ask_with, same};

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
fn a_parent_without_a_date_was_there_before_its_young() {
    let young =
        "[[clutch.hatchling]]\nid = \"x\"\nlooks = [\"quill\"]\n".to_owned() + &count("normal", 3);
    let rest = PAIR.to_owned() + &clutch("A", "N", "Q", &format!("born = 2021-05-01\n{young}"));
    let text = |first: &str| {
        file("environmental", [0.02, 0.01], "", &rest).replace("first_seen = [\"Q\"]\n", first)
    };
    let [absent, named] = ["", "first_seen = [\"Q\"]\n"].map(|first| ask(&text(first)));
    assert_eq!(absent.answer.first_seen, named.answer.first_seen);
    for one in &absent.answer.modes {
        let way = names::mode(&absent.colony, one.mode);
        // A find that its parent's own look explains must not make a way likelier than certain.
        assert!(one.log_evidence <= 0.0, "{way}: {}", one.log_evidence);
        same(&way, named.log(&way), one.log_evidence, EXACT);
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
