//! Do expectations, workings and other assumptions give what they must?

#![allow(clippy::unwrap_used)]

use proveout::questions::{
    Asked, Conclusion, Copies, Knob, Proposition, conclusion, expected, genotypes, what_if, working,
};
use proveout::records::{Colony, Format, read};

/// A 66% het, five normals and a visual with a visual mate; nothing can be called wrongly.
const TEST_MATING: &str = r#"
[assume]
background = 0
misread = 0
[gene.teasel]
inheritance = "recessive"
[[animal]]
id = "Dam"
sex = "female"
looks = []
sold_as = ["66% het teasel"]
[[animal]]
id = "Sire"
sex = "male"
looks = ["teasel"]
[[clutch]]
id = "first"
dam = "Dam"
sire = "Sire"
hatched = "2020"
[[clutch.count]]
looks = []
number = 5
"#;

fn colony(text: &str) -> Colony {
    read(text.as_bytes(), Format::Toml).unwrap().colony
}

fn of(colony: &Colony, animal: &str, gene: &str) -> Proposition {
    Proposition {
        animal: colony.find_animal(animal).unwrap(),
        gene: colony.find_gene(gene).unwrap(),
        allele: 1,
        copies: Copies::Any,
    }
}

/// The chance of a proposition, as `genotypes` answers it.
fn answered(colony: &Colony, proposition: Proposition) -> f64 {
    let answer = genotypes(colony, &Asked::default()).unwrap();
    let found = answer
        .genotypes
        .iter()
        .find(|one| one.animal == proposition.animal && one.gene == proposition.gene);
    found.unwrap().carries()
}

#[test]
fn the_young_of_a_test_mating_are_expected_as_the_binomial_says() {
    let colony = colony(TEST_MATING);
    let found = expected(&colony, &Asked::default()).unwrap();
    assert_eq!(found.len(), 1);
    let one = &found[0];
    assert_eq!((one.seen, one.judged, one.class), (0, 5, 1));
    // Two thirds are het, and then each young is teasel by an even chance.
    for (number, ways) in [1.0, 5.0, 10.0, 10.0, 5.0, 1.0].into_iter().enumerate() {
        let none = if number == 0 { 1.0 / 3.0 } else { 0.0 };
        let known = none + 2.0 / 3.0 * ways / 32.0;
        assert!((one.chances[number] - known).abs() < 1e-12, "{number}: {:?}", one.chances);
    }
    assert!(one.within());
}

#[test]
fn the_working_of_a_test_mating_is_that_of_the_handbooks() {
    let colony = colony(TEST_MATING);
    let answer = genotypes(&colony, &Asked { explain: true, ..Asked::default() }).unwrap();
    let dam = of(&colony, "Dam", "teasel");
    let story = answer.stories.iter().find(|story| story.proposition == dam).unwrap();
    let work = working(story);
    let near = |got: [f64; 2], known: [f64; 2]| {
        assert!(got.iter().zip(known).all(|(g, k)| (g - k).abs() < 1e-12), "{got:?} {known:?}");
    };
    near(work.prior, [2.0 / 3.0, 1.0 / 3.0]);
    assert_eq!(work.likelihoods.len(), 1);
    near(work.likelihoods[0].0, [1.0 / 32.0, 1.0]);
    near(work.joint, [2.0 / 96.0, 1.0 / 3.0]);
    near(work.posterior, [1.0 / 17.0, 16.0 / 17.0]);
}

#[test]
fn every_point_of_a_curve_is_what_the_question_answers_there() {
    let colony = colony(include_str!("../datasets/demo/colony.toml"));
    let asked = [of(&colony, "Tamsin", "teasel"), of(&colony, "22B-1", "hawser")];
    let found = what_if(&colony, &asked, Asked::MEMORY).unwrap();
    let mut compared = 0;
    for one in &found {
        assert!((one.chance - answered(&colony, one.proposition)).abs() < 1e-12);
        for curve in &one.curves {
            let at = curve.values.iter().position(|value| *value == curve.now).unwrap();
            assert!((curve.chances[at].unwrap() - one.chance).abs() < 1e-12);
            assert!(curve.values.windows(2).all(|pair| pair[0] < pair[1]));
            for (value, chance) in curve.values.iter().zip(&curve.chances) {
                let mut other = colony.clone();
                match curve.knob {
                    Knob::Background(None) => other.assumptions.background = *value,
                    Knob::Misread(None) => other.assumptions.misread = *value,
                    Knob::OtherSire => other.assumptions.other_sire = *value,
                    Knob::Trust(None) => other.assumptions.trust = *value,
                    Knob::Trust(Some(animal)) => other.animals[animal.0].trust = Some(*value),
                    knob => panic!("{knob:?} is not of this colony"),
                }
                let Some(chance) = chance else {
                    assert!(
                        genotypes(&other, &Asked::default()).is_err(),
                        "{:?} {value}",
                        curve.knob
                    );
                    continue;
                };
                let known = answered(&other, one.proposition);
                assert!(
                    (chance - known).abs() < 1e-12,
                    "{:?} {value}: {chance} {known}",
                    curve.knob
                );
                compared += 1;
            }
        }
    }
    assert!(compared > 60, "{compared} compared");
}

#[test]
fn the_change_that_turns_the_conclusion_is_the_smallest_one_tried() {
    let colony = colony(include_str!("../datasets/demo/colony.toml"));
    let found = what_if(&colony, &[of(&colony, "Tamsin", "teasel")], Asked::MEMORY).unwrap();
    let one = &found[0];
    let turn = one.turn.unwrap();
    assert_ne!(conclusion(turn.chance), conclusion(one.chance));
    let share = |knob: Knob, value: f64| {
        let curve = one.curves.iter().find(|curve| curve.knob == knob).unwrap();
        (value - curve.now).abs() / (curve.values.last().unwrap() - curve.values[0])
    };
    for curve in &one.curves {
        for (value, chance) in curve.values.iter().zip(&curve.chances) {
            if chance.is_some_and(|chance| conclusion(chance) != conclusion(one.chance)) {
                assert!(share(curve.knob, *value) >= share(turn.knob, turn.value));
            }
        }
    }
    assert_eq!(conclusion(0.05), Conclusion::RuledOut);
    assert_eq!(conclusion(0.95), Conclusion::Shown);
}
