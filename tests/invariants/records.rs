//! Ways of writing the same thing down.

use std::f64::consts::LN_2;

use proptest::prelude::*;
use proveout::questions::{Asked, Unanswerable, genotypes};
use proveout::records::{
    Animal, Call, Clutch, ClutchId, Colony, Date, Observation, Origin, Reading, ReadingKind, Sex,
    Status,
};
use rand::RngExt;

use crate::judge::Build;
use crate::random_colonies::small;
use crate::reorder::{Shuffle, reordered};
use crate::whole::{same, same_but_evidence, whole};
use crate::{TOLERANCE, config, dice, features};

/// A hatchling of which nothing is known yet.
fn hatchling(clutch: usize, id: Option<String>, sex: Option<Sex>, seen: Observation) -> Animal {
    Animal {
        id,
        place: Default::default(),
        origin: Origin::Clutch(ClutchId(clutch)),
        sex,
        hatched: None,
        seen,
        seen_grown: false,
        grown: None,
        believed: false,
        statements: vec![],
        trust: None,
        readings: vec![],
        status: Status::Elsewhere,
        note: None,
    }
}

/// Adds a hatchling; the animals stay in the order of their clutches.
fn add(colony: &Colony, clutch: usize, young: Vec<Animal>) -> Colony {
    let mut more = colony.clone();
    for animal in young {
        more.clutches[clutch].hatchlings.push(proveout::records::AnimalId(more.animals.len()));
        more.animals.push(animal);
    }
    reordered(&more, Shuffle::Nothing, &mut dice(0))
}

/// Every counted young as a hatchling.
fn counts_kept_apart(colony: &Colony, with_ids: bool) -> Colony {
    let mut apart = colony.clone();
    apart.clutches.iter_mut().for_each(|clutch| clutch.counts.clear());
    for (at, clutch) in colony.clutches.iter().enumerate() {
        let mut young = Vec::new();
        for count in &clutch.counts {
            let sexes = [Some(Sex::Male), Some(Sex::Female), None];
            for (sex, number) in sexes.into_iter().zip(count.number) {
                for _ in 0..number {
                    let id = with_ids.then(|| format!("counted {at} {}", young.len()));
                    young.push(hatchling(at, id, sex, count.seen.clone()));
                }
            }
        }
        apart = add(&apart, at, young);
    }
    apart
}

/// Every observation of a colony.
fn observations(colony: &mut Colony) -> impl Iterator<Item = &mut Observation> {
    let animals = colony.animals.iter_mut();
    let animals = animals.flat_map(|animal| [Some(&mut animal.seen), animal.grown.as_mut()]);
    let counts = colony.clutches.iter_mut().flat_map(|clutch| &mut clutch.counts);
    animals.flatten().chain(counts.map(|count| &mut count.seen))
}

fn without_egg_counts(mut colony: Colony) -> Colony {
    for clutch in &mut colony.clutches {
        (clutch.eggs, clutch.slugs, clutch.died) = (None, None, None);
    }
    colony
}

fn is_selected(clutch: &Clutch) -> bool {
    !clutch.recorded_only.is_empty() || !clutch.kept_if.is_empty()
}

/// The colony with one more gene, that nobody ever judged.
fn with_unrelated_gene(colony: &Colony, since: bool) -> Colony {
    let mut more = colony.clone();
    let mut gene = Build::new().incomplete("unrelated").background(&[0.125]).colony().genes;
    let id = proveout::records::GeneId(more.genes.len());
    if since {
        let day = |year| Some(Date { year, month: None, day: None });
        gene[0].judged_since = day(2030);
        more.clutches.iter_mut().for_each(|clutch| clutch.hatched = day(2024));
        more.animals.iter_mut().for_each(|animal| animal.hatched = day(2020));
    }
    more.genes.append(&mut gene);
    if !since {
        observations(&mut more)
            .filter(|seen| seen.call != Call::NotRecorded)
            .for_each(|seen| seen.unread.push(id));
    }
    more
}

/// A failure says which order it was; what is rejected is no failure.
fn of(what: Shuffle, why: TestCaseError) -> TestCaseError {
    match why {
        TestCaseError::Fail(why) => TestCaseError::fail(format!("{what:?}: {why}")),
        rejected => rejected,
    }
}

proptest! {
    #![proptest_config(config(200))]

    #[test]
    fn no_order_of_anything_matters(seed in any::<u64>(), everything in any::<bool>()) {
        let colony = small(seed, features(everything));
        let answer = whole(&colony);
        for what in Shuffle::EACH {
            let other = reordered(&colony, what, &mut dice(seed));
            same(&answer, &whole(&other), TOLERANCE)
                .map_err(|why| of(what, why))?;
        }
    }

    #[test]
    fn young_that_are_counted_are_young(
        seed in any::<u64>(),
        everything in any::<bool>(),
        with_ids in any::<bool>(),
    ) {
        let mut colony = small(seed, features(everything));
        if with_ids {
            colony.assumptions.mix_up = 0.0;
        }
        let kept_apart = counts_kept_apart(&colony, with_ids);
        let known = |name: &str| !name.starts_with("counted");
        let apart = whole(&kept_apart).map(|answer| answer.only(known));
        same(&whole(&colony), &apart, TOLERANCE)?;
    }

    #[test]
    fn one_more_young_that_nobody_read_changes_nothing(
        seed in any::<u64>(),
        everything in any::<bool>(),
        has_id in any::<bool>(),
        recorded in any::<bool>(),
    ) {
        let colony = without_egg_counts(small(seed, features(everything)));
        let seen = match recorded {
            true => Observation {
                call: Call::Looks(vec![]),
                unread: colony.gene_ids().collect(),
                place: None,
            },
            false => Observation::default(),
        };
        let clutch = dice(seed).random_range(0..colony.clutches.len());
        if is_selected(&colony.clutches[clutch]) {
            return Ok(());
        }
        let id = has_id.then(|| "new".to_owned());
        let more = add(&colony, clutch, vec![hatchling(clutch, id, None, seen)]);
        prop_assert_eq!(more.animals.len(), colony.animals.len() + 1);
        let more = whole(&more).map(|answer| answer.only(|name| name != "new"));
        same(&whole(&colony), &more, TOLERANCE)?;
    }

    #[test]
    fn a_gene_that_nobody_judged_says_nothing_of_the_others(
        seed in any::<u64>(),
        everything in any::<bool>(),
        since in any::<bool>(),
    ) {
        let colony = small(seed, features(everything));
        let more = whole(&with_unrelated_gene(&colony, since));
        // What ties genes together, such as a sire for each egg, may leave no room for one more.
        prop_assume!(!matches!(more, Err(Unanswerable::TooLarge { .. })));
        let (Ok(mut few), Ok(mut more)) = (whole(&colony), more) else {
            prop_assert!(whole(&colony).is_err());
            return Ok(());
        };
        let allowed = TOLERANCE * few.log_evidence.abs().max(1.0);
        prop_assert!((few.log_evidence - more.log_evidence).abs() <= allowed);
        more.posteriors.retain(|[_, gene, _], _| gene != "unrelated");
        more.priors.retain(|[_, gene, _], _| gene != "unrelated");
        // A list of identities is longer with one more gene, and ends elsewhere.
        few.identities.clear();
        more.identities.clear();
        same_but_evidence(&few, &more, TOLERANCE)?;
    }

    #[test]
    fn how_well_a_look_fits_is_a_matter_of_ratios(
        seed in any::<u64>(),
        everything in any::<bool>(),
        scale in prop::sample::select(vec![1e-6, 0.3, 7.0, 1e9]),
    ) {
        let colony = small(seed, features(everything));
        let mut scaled = colony.clone();
        for seen in observations(&mut scaled) {
            if let Call::Either(list) = &mut seen.call {
                list.iter_mut().for_each(|one| one.fit *= scale);
            }
        }
        same(&whole(&colony), &whole(&scaled), TOLERANCE)?;
    }

    #[test]
    fn a_scale_of_readings_moves_nothing_but_the_log_evidence(
        seed in any::<u64>(),
        everything in any::<bool>(),
        doublings in -40_i32..40,
    ) {
        let mut colony = small(seed, features(everything));
        let Ok(answer) = genotypes(&colony, &Asked::default()) else { return Ok(()) };
        // One reading more, on an animal that has parents where the other has none.
        for one in [&answer.genotypes[0], answer.genotypes.last().unwrap()] {
            let weights = [0.5, 0.25, 0.75, 0.125, 1.0, 0.0625];
            let list = one.genotypes.iter().copied().zip(weights).collect();
            let reading = Reading {
                gene: one.gene,
                kind: ReadingKind::Likelihood(list),
                place: Default::default(),
            };
            colony.animals[one.animal.0].readings.push(reading);
        }
        let Ok(plain) = whole(&colony) else { return Ok(()) };
        let mut scaled = colony.clone();
        let mut readings = 0;
        for animal in scaled.animals.iter_mut().filter(|animal| !animal.believed) {
            for reading in &mut animal.readings {
                if let ReadingKind::Likelihood(list) = &mut reading.kind {
                    list.iter_mut().for_each(|(_, weight)| *weight *= f64::from(doublings).exp2());
                    readings += 1;
                }
            }
        }
        let scaled = whole(&scaled).unwrap();
        same_but_evidence(&plain, &scaled, TOLERANCE)?;
        let moved = scaled.log_evidence - plain.log_evidence;
        let want = f64::from(readings * doublings) * LN_2;
        let allowed = TOLERANCE * plain.log_evidence.abs().max(want.abs()).max(1.0);
        prop_assert!(readings > 0 && (moved - want).abs() <= allowed, "{moved} but {want}");
    }

    #[test]
    fn a_result_is_a_likelihood_of_every_genotype(seed in any::<u64>()) {
        let colony = small(seed, features(false));
        let mut other = colony.clone();
        for animal in &mut other.animals {
            for reading in &mut animal.readings {
                let ReadingKind::Result { genotype, reliability } = reading.kind else { continue };
                let all = colony.gene(reading.gene).two_copy_genotypes();
                let others = (1.0 - reliability) / (all.len() - 1) as f64;
                let chance = |one| (one, if one == genotype { reliability } else { others });
                reading.kind = ReadingKind::Likelihood(all.into_iter().map(chance).collect());
            }
        }
        same(&whole(&colony), &whole(&other), TOLERANCE)?;
    }

    #[test]
    fn chances_are_chances(seed in any::<u64>(), everything in any::<bool>()) {
        let colony = small(seed, features(everything));
        let Ok(answer) = genotypes(&colony, &Asked::default()) else { return Ok(()) };
        prop_assert!(answer.log_evidence.is_finite());
        let sums = |chances: &[f64]| {
            let sound = chances.iter().all(|chance| (0.0..=1.0 + TOLERANCE).contains(chance));
            sound && (chances.iter().sum::<f64>() - 1.0).abs() <= TOLERANCE
        };
        for one in &answer.genotypes {
            prop_assert!(sums(&one.posterior), "{one:?}");
            prop_assert!(sums(&one.prior), "{one:?}");
        }
        for one in &answer.sires {
            let after: Vec<f64> = one.candidates.iter().map(|(_, _, after)| *after).collect();
            prop_assert!(sums(&after), "{one:?}");
        }
        for one in &proveout::questions::identify(&colony, &Asked::default()).unwrap().hatchlings {
            let mut all: Vec<f64> = one.identities.iter().map(|one| one.probability).collect();
            all.push(one.rest);
            prop_assert!(sums(&all), "{one:?}");
            let genotypes = one.identities.iter().flat_map(|identity| &identity.genotype);
            for (gene, list) in genotypes {
                let list: Vec<f64> = list.iter().map(|(_, chance)| *chance).collect();
                prop_assert!(sums(&list), "{gene:?} of {one:?}");
            }
        }
    }
}
