//! Do estimates lie as close to the exact answer as their errors say, and are they marked as such?

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that finds nothing has to fail")]

use std::fmt::Write;

use assert_cmd::Command;
use proveout::inference::{JunctionTree, Sampling, estimate};
use proveout::network::{Grouping, VariableId, assemble};
use proveout::records::{Colony, Format, read};
use proveout::sampler::{Features, Params, sample_colony};
use serde_json::Value;

fn sampled(seed: u64) -> Option<Colony> {
    let features = Features { misread: true, statements: true, visible: true, ..Features::none() };
    let params =
        Params { features, genes: 2, founders: 5, seasons: 4, clutches: 4, ..Params::default() };
    sample_colony(&params, seed).ok().map(|(colony, _)| colony)
}

#[test]
fn the_errors_of_estimates_cover_the_exact_values_as_often_as_they_claim() {
    let (mut figures, mut within_one, mut within_two, mut colonies) = (0, 0, 0, 0);
    let (mut rare, mut rare_within) = (0, 0);
    for seed in 0..60 {
        let Some(colony) = sampled(seed) else { continue };
        let net = assemble(&colony, Grouping::Siblings);
        let evidence = net.all_evidence();
        let Ok(tree) = JunctionTree::plan(&net.graph, &evidence, 1 << 26) else { continue };
        let exact = tree.calibrate(&evidence).unwrap();
        // Tables so small that many animals have to be held in turn.
        let how = Sampling { seed, error: 0.004, work: 60_000_000, memory: 1 << 26, table: 81 };
        let found = estimate(&net.graph, &evidence, &how).unwrap();
        if found.largest_error == 0.0 {
            continue;
        }
        colonies += 1;
        for v in (0..net.graph.variables()).map(VariableId) {
            let truth = exact.marginal(v);
            // One figure of each variable: the others follow from it.
            let most =
                (0..truth.len()).max_by(|a, b| found.error(v)[*a].total_cmp(&found.error(v)[*b]));
            let at = most.unwrap();
            let (error, off) = (found.error(v)[at], (found.marginal(v)[at] - truth[at]).abs());
            if error == 0.0 {
                assert!(off <= 1e-9, "seed {seed}: {off} off, none claimed");
                continue;
            }
            // Rare states have a larger error than they need.
            if !(0.02..=0.98).contains(&truth[at]) {
                rare += 1;
                rare_within += i32::from(off <= 2.0 * error);
                continue;
            }
            figures += 1;
            within_one += i32::from(off <= error);
            within_two += i32::from(off <= 2.0 * error);
        }
    }
    let share = |count: i32| f64::from(count) / f64::from(figures);
    println!("rare {rare_within} of {rare}");
    println!("{colonies} colonies, {figures} figures: {} {}", share(within_one), share(within_two));
    assert!(colonies >= 20 && figures > 1000, "{colonies} {figures}");
    // One and two standard errors of a normal distribution hold 68 and 95 of a hundred; figures of
    // one colony hang together.
    assert!(share(within_one) >= 0.64, "{}", share(within_one));
    assert!(share(within_two) >= 0.93, "{}", share(within_two));
    assert!(f64::from(rare_within) >= 0.95 * f64::from(rare), "{rare_within} of {rare}");
}

/// A closed colony: nobody comes in, any two are bred to each other, again and again.
fn closed(generations: usize, pairs: usize) -> String {
    let mut text = String::from("[gene.ash]\ninheritance = \"recessive\"\nbackground = 0.2\n");
    for at in 0..2 * pairs {
        let sex = if at % 2 == 0 { "female" } else { "male" };
        let _ =
            writeln!(text, "[[animal]]\nid = \"G0-{at}\"\nsex = \"{sex}\"\nlooks = [\"normal\"]");
    }
    for generation in 1..=generations {
        for pair in 0..pairs {
            let dam = 2 * pair;
            let sire = 2 * ((pair * 3 + generation) % pairs) + 1;
            let before = generation - 1;
            let _ = writeln!(
                text,
                "[[clutch]]\nid = \"C{generation}-{pair}\"\ndam = \"G{before}-{dam}\"\n\
                 sire = \"G{before}-{sire}\""
            );
            for (at, sex) in [(2 * pair, "female"), (2 * pair + 1, "male")] {
                let look = if (at + generation) % 11 == 0 { "ash" } else { "normal" };
                let _ = writeln!(
                    text,
                    "[[clutch.hatchling]]\nid = \"G{generation}-{at}\"\nsex = \"{sex}\"\n\
                     looks = [\"{look}\"]"
                );
            }
        }
    }
    text
}

fn asked(records: &str, more: &[&str]) -> (i32, Value, String) {
    let mut command = Command::cargo_bin("proveout").unwrap();
    let ended = command
        .args(["genotypes", "-", "--json", "--format", "toml"])
        .args(more)
        .write_stdin(records.to_owned())
        .output()
        .unwrap();
    let json = serde_json::from_slice(&ended.stdout).unwrap();
    (ended.status.code().unwrap(), json, String::from_utf8(ended.stderr).unwrap())
}

#[test]
fn what_does_not_fit_is_estimated_marked_and_near_what_more_memory_gives() {
    let records = closed(5, 5);
    let (status, exact, _) = asked(&records, &["--exact"]);
    assert_eq!((status, exact["method"].as_str()), (0, Some("exact")), "{exact}");
    let (status, found, _) = asked(&records, &["--memory", "2M", "--seed", "7"]);
    assert_eq!((status, found["method"].as_str()), (0, Some("estimated")));
    assert!(found["log_evidence"].is_null());
    assert!(found["warnings"][0].as_str().unwrap().contains("estimated by sampling"));
    let (_, again, _) = asked(&records, &["--memory", "2M", "--seed", "7"]);
    assert_eq!(found, again, "the same seed gives the same figures");
    let mut furthest = 0.0f64;
    for (one, other) in
        found["genotypes"].as_array().unwrap().iter().zip(exact["genotypes"].as_array().unwrap())
    {
        for (name, error) in one["error"].as_object().unwrap() {
            let [p, q] = [one, other].map(|of| of["posterior"][name].as_f64().unwrap());
            let error = error.as_f64().unwrap();
            assert!((0.0..0.01).contains(&error), "{one}");
            furthest = furthest.max((p - q).abs() / (error + 1e-9));
            assert!((p - q).abs() < 5.0 * error + 1e-6, "{one} {other}");
        }
    }
    assert!(furthest > 0.1, "it was not sampled at all");
}

#[test]
fn exact_or_nothing_is_refused_and_says_who_closes_the_loops() {
    let (status, told, _) = asked(&closed(5, 5), &["--memory", "2M", "--exact"]);
    assert_eq!(status, 3);
    let message = told["errors"][0]["message"].as_str().unwrap();
    assert!(message.contains("close the loops") && message.contains("at ash"), "{message}");
    // What it says is true: with those genotypes known it fits.
    assert!(read(closed(5, 5).as_bytes(), Format::Toml).is_ok());
}
