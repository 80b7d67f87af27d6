//! Tiny colonies, enumerated allele by allele.

use super::support::ask;
use super::world::{Beast, System, World, log_evidence};

fn young(parents: [usize; 2], female: bool, quill: usize, clutch: usize) -> Beast {
    Beast::young(parents, female, [Some(0), Some(quill)], clutch)
}

fn normal(female: bool) -> Beast {
    Beast::founder(female, [Some(0), Some(0)])
}

fn first(female: bool) -> Beast {
    Beast { first: true, ..Beast::founder(female, [Some(0), Some(1)]) }
}

/// Three shapes of story, each in every sex system.
fn worlds() -> Vec<(&'static str, World)> {
    let mut all = Vec::new();
    for system in [System::Environmental, System::Xy, System::Zw] {
        let mut world = |name: &'static str, background: f64, misread: f64, beasts: Vec<Beast>| {
            all.push((name, World { system, background, misread, beasts }));
        };
        let mut story = vec![first(false), normal(true)];
        story.extend([true, true, false].map(|female| young([1, 0], female, 0, 0)));
        story.push(young([1, 0], true, 1, 0));
        story.push(young([2, 0], true, 1, 1));
        story.push(young([2, 0], false, 0, 1));
        world("a founder, its young, and a daughter back to it", 0.02, 0.003, story.clone());
        world("the same with nothing misread", 0.3, 0.0, story);

        let mut hatched = vec![normal(true), normal(false)];
        hatched.push(Beast { first: true, ..young([0, 1], false, 1, 0) });
        hatched.push(young([0, 1], true, 0, 0));
        hatched.push(young([0, 1], true, 1, 0));
        hatched.push(Beast::young([0, 1], true, [None, None], 0));
        hatched.push(normal(true));
        hatched.extend([1, 0, 1].map(|quill| young([6, 2], quill == 0, quill, 1)));
        world("first found on a hatchling that is bred on", 0.05, 0.01, hatched);

        let mut several = vec![normal(true), first(false)];
        several.push(Beast { first: true, ..young([0, 1], true, 1, 0) });
        several.push(Beast { first: true, ..young([0, 1], true, 1, 0) });
        several.push(Beast::young([0, 1], true, [Some(0), None], 0));
        several.push(young([0, 1], false, 0, 0));
        world("first found on three animals at once", 0.05, 0.01, several);

        let mut cross = vec![first(false), Beast::founder(true, [Some(1), Some(0)])];
        cross.push(Beast::young([1, 0], true, [Some(1), Some(0)], 0));
        cross.push(Beast::young([1, 0], true, [Some(0), Some(1)], 0));
        cross.push(Beast::young([1, 0], false, [Some(0), Some(0)], 0));
        cross.push(Beast { het_ash: true, ..normal(false) });
        cross.push(Beast::young([2, 5], true, [Some(1), Some(0)], 1));
        cross.push(Beast::young([2, 5], false, [Some(0), Some(1)], 1));
        world("bred to an animal that shows ash", 0.04, 0.005, cross);
    }
    all
}

#[test]
fn the_evidence_of_every_way_is_that_of_plain_enumeration() {
    let mut wrong = Vec::new();
    for (name, world) in worlds() {
        let answer = ask(&world.text());
        let ways = world.ways();
        assert_eq!(answer.answer.modes.len(), ways.len(), "{name}");
        let logs: Vec<f64> = ways.iter().map(|(way, _)| log_evidence(&world, *way)).collect();
        let weights: Vec<f64> =
            ways.iter().zip(&logs).map(|((_, prior), log)| prior * log.exp()).collect();
        let all: f64 = weights.iter().sum();
        for (((way, prior), log), weight) in ways.iter().zip(&logs).zip(&weights) {
            let got = answer.of(way.name());
            let what = format!("{name}, {:?}, {}", world.system, way.name());
            wrong.extend(differs(&what, got.prior, *prior));
            wrong.extend(differs(&what, got.log_evidence, *log));
            wrong.extend(differs(&what, got.posterior, weight / all));
            wrong.extend(differs(&what, got.by_clutch.iter().sum(), *log));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn differs(what: &str, got: f64, want: f64) -> Option<String> {
    let same = got == want || (got - want).abs() <= 1e-10 * want.abs().max(1.0);
    (!same).then(|| format!("{what}: gave {got}, expected {want}"))
}
