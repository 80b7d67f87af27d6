//! The genotypes of a colony with unknown penetrance or crossover: averaged over them.

use super::genotypes::{with_known_rates, worth_telling};
use super::model::Case;
use super::unknowns::integrate;
use super::{Asked, GenotypesAnswer, Proposition, Story, Unanswerable};
use crate::genetics::Locus;
use crate::records::{Colony, Genotype};

/// Averages the answer over unknown penetrance and crossover.
pub(super) fn over_unknowns(
    colony: &Colony,
    asked: &Asked,
) -> Result<GenotypesAnswer, Unanswerable> {
    let quick = Asked { explain: false, ..asked.clone() };
    let ask = |colony: &Colony| {
        let answer = with_known_rates(&Case::of(colony), &quick, false)?;
        let log = answer.log_evidence;
        Ok((answer, log))
    };
    let mixture = integrate(colony, &ask)?;
    let by_share = mixture.shares.iter();
    let cautions = super::cautions::average(
        by_share.map(|share| (share.weight, share.answer.cautions.as_slice())),
    );
    let mut shares = mixture.shares.into_iter();
    let Some(first) = shares.next() else { return Err(Unanswerable::Impossible(Vec::new())) };
    let mut answer = first.answer;
    scale(&mut answer, first.weight);
    for share in shares {
        add(&mut answer, &share.answer, share.weight);
    }
    answer.log_evidence = mixture.log_evidence;
    // METHOD: whether a clutch fits badly is judged at the likeliest values of the unknowns.
    answer.surprise = with_known_rates(&Case::of(&mixture.likeliest), &quick, true)?.surprise;
    answer.cautions = cautions;
    answer.warnings.push(format!("averaged over {}", mixture.names.join(" and ")));
    if asked.explain {
        answer.stories = bare_stories(colony, &answer);
    }
    Ok(answer)
}

fn scale(answer: &mut GenotypesAnswer, weight: f64) {
    for one in &mut answer.genotypes {
        let sexes = one.sex.as_mut().map(|sexes| sexes.as_mut_slice()).unwrap_or_default();
        one.prior.iter_mut().chain(&mut one.posterior).chain(sexes).for_each(|p| *p *= weight);
    }
    for one in &mut answer.sires {
        one.candidates.iter_mut().for_each(|(_, _, after)| *after *= weight);
    }
}

fn add(answer: &mut GenotypesAnswer, other: &GenotypesAnswer, weight: f64) {
    for (one, other) in answer.genotypes.iter_mut().zip(&other.genotypes) {
        one.prior.iter_mut().zip(&other.prior).for_each(|(p, o)| *p += weight * o);
        one.posterior.iter_mut().zip(&other.posterior).for_each(|(p, o)| *p += weight * o);
        if let (Some(sexes), Some(others)) = (&mut one.sex, &other.sex) {
            sexes.iter_mut().zip(others).for_each(|(p, o)| *p += weight * o);
        }
    }
    for (one, other) in answer.sires.iter_mut().zip(&other.sires) {
        for ((_, _, after), (_, _, o)) in one.candidates.iter_mut().zip(&other.candidates) {
            *after += weight * o;
        }
    }
}

/// The two ends of each story, where the way between them depends on an unknown.
fn bare_stories(colony: &Colony, answer: &GenotypesAnswer) -> Vec<Story> {
    let mut stories = Vec::new();
    for one in &answer.genotypes {
        let gene = colony.gene(one.gene);
        let locus = Locus::new(one.gene, gene, &colony.assumptions, colony.sex_system);
        let spread = |chances: &[f64]| -> Vec<f64> {
            let of = |g: &Genotype| one.genotypes.iter().position(|own| own == g);
            locus.genotypes.iter().map(|g| of(g).map_or(0.0, |at| chances[at])).collect()
        };
        for proposition in Proposition::all(one.animal, &locus) {
            let [before, after] = [&one.prior, &one.posterior]
                .map(|chances| proposition.chance(&locus, &spread(chances)));
            if worth_telling(before, after) {
                let (steps, because) = (Vec::new(), Vec::new());
                stories.push(Story {
                    proposition,
                    before,
                    after,
                    steps,
                    because,
                    floor: None,
                    error: None,
                });
            }
        }
    }
    stories
}
