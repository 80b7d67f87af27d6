//! Overall beliefs of the keeper.

use std::collections::BTreeMap;

use proptest::prelude::*;
use proveout::questions::{Asked, Unanswerable, genotypes};
use proveout::records::{Alternative, Animal, Call, Colony, Observation, Origin};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::judge::Build;
use crate::random_colonies::small;
use crate::reorder::{Shuffle, reordered};
use crate::whole::{same, whole};
use crate::{TOLERANCE, config, dice, features};

/// An animal about whose identity the keeper has a belief.
fn believe(colony: &Colony, animal: &mut Animal, belief: f64, dice: &mut ChaCha8Rng) {
    let looks = |dice: &mut ChaCha8Rng| {
        let mut looks = Vec::new();
        for gene in colony.gene_ids() {
            let class = dice.random_range(0..=colony.gene(gene).looks.len());
            if class > 0 {
                looks.push(proveout::records::Look { gene, class });
            }
        }
        looks
    };
    let one = Alternative { looks: looks(dice), fit: belief };
    let other = Alternative { looks: looks(dice), fit: 1.0 - belief };
    animal.seen = Observation { call: Call::Either(vec![one, other]), ..Default::default() };
    animal.grown = None;
    animal.readings.clear();
    animal.believed = true;
}

/// Numbers of the hatchlings of a colony.
fn hatchlings(colony: &Colony) -> Vec<usize> {
    let is = |at: &usize| colony.animals[*at].origin != Origin::Founder;
    (0..colony.animals.len()).filter(is).collect()
}

/// Nobody believes anything.
fn doubtless(mut colony: Colony) -> Colony {
    colony.animals.iter_mut().for_each(|animal| animal.believed = false);
    colony
}

fn posteriors(colony: &Colony) -> Option<BTreeMap<String, Vec<f64>>> {
    let answer = genotypes(colony, &Asked::default()).ok()?;
    let name = |at: usize| colony.animals[at].id.clone().unwrap();
    let one = |of: proveout::questions::GenotypeAnswer| {
        (format!("{} {:?}", name(of.animal.0), of.gene), of.posterior)
    };
    Some(answer.genotypes.into_iter().map(one).collect())
}

proptest! {
    #![proptest_config(config(150))]

    #[test]
    fn the_order_of_beliefs_does_not_matter(seed in any::<u64>(), everything in any::<bool>()) {
        let mut colony = doubtless(small(seed, features(everything)));
        let mut dice = dice(seed);
        let before = colony.clone();
        for at in hatchlings(&colony) {
            let belief = dice.random_range(0.05..0.95);
            if dice.random::<f64>() < 0.5 {
                believe(&before, &mut colony.animals[at], belief, &mut dice);
            }
        }
        let answer = whole(&colony);
        for what in [Shuffle::Clutches, Shuffle::Hatchlings, Shuffle::Everything] {
            same(&answer, &whole(&reordered(&colony, what, &mut dice)), TOLERANCE)?;
        }
    }

    #[test]
    fn a_lone_belief_is_where_everything_ends(
        seed in any::<u64>(),
        everything in any::<bool>(),
        belief in 0.01_f64..0.99,
    ) {
        let colony = doubtless(small(seed, features(everything)));
        let mut dice = dice(seed);
        let young = hatchlings(&colony);
        let at = young[dice.random_range(0..young.len())];
        let mut believed = colony.clone();
        believe(&colony, &mut believed.animals[at], belief, &mut dice);
        let Call::Either(list) = believed.animals[at].seen.call.clone() else { unreachable!() };
        let certain = |looks: &Vec<proveout::records::Look>| {
            let mut certain = believed.clone();
            certain.animals[at].believed = false;
            certain.animals[at].seen.call = Call::Looks(looks.clone());
            posteriors(&certain)
        };
        // Whatever a call can say, the belief says how likely it is to say so.
        let (one, other) = (certain(&list[0].looks), certain(&list[1].looks));
        let (Some(one), Some(other)) = (one, other) else {
            let answer = genotypes(&believed, &Asked::default());
            prop_assert!(matches!(answer, Err(Unanswerable::Impossible(_))));
            return Ok(());
        };
        let ends = posteriors(&believed).expect("both identities are possible");
        for (name, got) in &ends {
            for ((got, one), other) in got.iter().zip(&one[name]).zip(&other[name]) {
                let want = belief * one + (1.0 - belief) * other;
                prop_assert!((got - want).abs() <= TOLERANCE, "{name}: {got} but {want}");
            }
        }
    }

    #[test]
    fn a_lone_believed_hatchling_ends_at_its_belief(
        belief in 0.01_f64..0.99,
        siblings in 0_u32..5,
        supers in 0_u32..3,
    ) {
        use proveout::records::Sex::{Female, Male};
        let colony = Build::exact()
            .incomplete("tallow")
            .background(&[0.25])
            .founder("Dam", Female)
            .looks("tallow")
            .founder("Sire", Male)
            .looks("tallow")
            .clutch("A", "Dam", "Sire")
            .count("normal", siblings)
            .count("super tallow", supers)
            .young("Y")
            .either(&[("tallow", belief), ("super tallow", 1.0 - belief)])
            .believed()
            .colony();
        let answer = whole(&colony).unwrap();
        for (look, want) in [("tallow", belief), ("super tallow", 1.0 - belief)] {
            let key = ("Y".to_owned(), vec![format!("tallow: {look}")]);
            let got = answer.identities[&key];
            prop_assert!((got - want).abs() <= TOLERANCE, "{look}: {got} but {want}");
        }
    }
}
