//! Colonies drawn from nothing, season by season.

mod clutch;
mod founders;
mod mates;

use super::draw::Drawing;
use super::{Dice, DrawError, Params, Truth, invent};
use crate::records::{
    Alternative, AnimalId, Candidate, Colony, GeneId, Look, Parent, Place, Reading, ReadingKind,
    Sex, Status,
};

/// Draws a colony from nothing: genes, founders, and season after season of clutches.
///
/// Genes are called `g1`, `g2`, …, founders `f1`, …, hatchlings after their clutch. Who is bred,
/// what is judged and where a call is uncertain is chosen by chance and by what is recorded, never
/// by what only the [`Truth`] knows; given the records, those choices therefore say nothing about
/// the genotypes, and a correct engine is calibrated on such colonies.
///
/// # Errors
///
/// [`DrawError`], when the assumptions leave nothing to draw (every egg lost, no living stock).
pub fn sample_colony(params: &Params, seed: u64) -> Result<(Colony, Truth), DrawError> {
    let mut dice = Dice::new(seed);
    let colony = invent::declarations(params, &mut dice);
    let mut drawing = Drawing::new(colony, dice)?;
    founders::add(&mut drawing, params)?;
    for season in 0..params.seasons {
        let grown_up = drawing.colony.animals.len();
        for number in 1..=params.clutches {
            clutch::add(&mut drawing, params, season, number, grown_up)?;
        }
    }
    settle(&mut drawing.colony);
    Ok(drawing.finish())
}

/// A hatchling is kept if it is a parent.
fn settle(colony: &mut Colony) {
    for clutch in &colony.clutches {
        let sires = clutch.siring.candidates.iter().map(|(candidate, _)| *candidate);
        for candidate in sires {
            if let Candidate::Known(sire) = candidate {
                colony.animals[sire.0].status = Status::Kept;
            }
        }
        if let Parent::Known(dam) = clutch.dam {
            colony.animals[dam.0].status = Status::Kept;
        }
    }
}

/// Alternatives that differ in one gene, or in two at once.
fn alternatives(colony: &Colony, dice: &mut Dice) -> Vec<Alternative> {
    let gene = GeneId(dice.below(colony.genes.len()));
    let other = GeneId(dice.below(colony.genes.len()));
    let looks = colony.gene(gene).looks.len();
    let fits: &[f64] = match dice.below(4) {
        0 if looks > 1 => &[0.5, 0.3, 0.2],
        0 | 1 => &[0.7, 0.3],
        2 => &[0.9, 0.1],
        _ => &[0.5, 0.5],
    };
    let first = dice.below(looks + 1);
    let together = other != gene && dice.coin(0.4);
    let looks_of = |step: usize| {
        let class = (first + step) % (looks + 1);
        let second = if together && step == 0 { 1 } else { 0 };
        let both = [Look { gene, class }, Look { gene: other, class: second }];
        let mut named: Vec<_> = both.into_iter().filter(|look| look.class > 0).collect();
        named.sort();
        named
    };
    let each = fits.iter().enumerate();
    each.map(|(step, &fit)| Alternative { looks: looks_of(step), fit }).collect()
}

/// A test of one gene; what it says is drawn with the animal.
fn reading(drawing: &mut Drawing, animal: AnimalId) -> Reading {
    let gene = GeneId(drawing.dice.below(drawing.colony.genes.len()));
    let sex: Option<Sex> = drawing.colony.animal(animal).sex;
    let possible = drawing.laws.genotypes(drawing.colony.gene(gene), sex);
    let kind = if drawing.dice.coin(0.5) {
        ReadingKind::Result { genotype: possible[0], reliability: 0.95 }
    } else {
        let wrong = 0.2 / (possible.len().max(2) - 1) as f64;
        let weight = |(place, &genotype)| (genotype, if place == 0 { 0.8 } else { wrong });
        ReadingKind::Likelihood(possible.iter().enumerate().map(weight).collect())
    };
    Reading { gene, kind, place: Place::default() }
}
