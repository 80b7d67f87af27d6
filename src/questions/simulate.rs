//! Could this happen by luck? The colony, or clutches of one pairing, drawn anew.

use super::{Model, Unanswerable};
use crate::genetics::SexChromosome;
use crate::network::Grouping;
use crate::records::{
    AnimalId, Call, Candidate, Clutch, ClutchId, Colony, Count, Inheritance, Observation, Origin,
    Parent, Place, RecordError, Sex, SexSystem, Siring, SiringMode,
};
use crate::sampler::{Dice, DrawError, Genome, Strand, fill_with};

/// Eggs of a clutch of which nobody wrote how large clutches are.
const EGGS: u32 = 6;

/// What is drawn anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// Every clutch of the file, of the parents it has.
    Everything,
    /// More clutches of one pairing; the rest stays as it is.
    Pairing {
        /// The dam.
        dam: AnimalId,
        /// The sire.
        sire: AnimalId,
        /// How many clutches.
        clutches: u32,
        /// Fertile eggs in each; by default as many as the clutch size of the colony needs, or 6.
        eggs: Option<u32>,
    },
}

/// Draws clutches from what all records say of their parents: first the hidden genotypes of all
/// animals together, from their joint posterior, then eggs, losses, looks and calls.
///
/// The same seed gives the same colony.
///
/// # Errors
///
/// [`Unanswerable`] when the records cannot all be true, need too much memory, or leave open how a
/// gene is inherited or how often it shows.
pub fn simulate(
    colony: &Colony,
    drawn: Drawn,
    seed: u64,
    memory: u64,
) -> Result<Colony, Unanswerable> {
    refuse_unknowns(colony)?;
    let resolved = super::belief::resolve(colony, memory)?;
    let resolved = resolved.colony.as_ref();
    let model = Model::solve(resolved, Grouping::Siblings, memory)?;
    let mut dice = Dice::new(seed);
    let states = model.work.draw(&model.tree, &mut || dice.uniform());
    let genome = |animal: AnimalId, dice: &mut Dice| genome(&model, animal, &states, dice);
    // The sampler's own dice start elsewhere.
    let other = (dice.uniform() * (1u64 << 53) as f64) as u64;
    match drawn {
        Drawn::Everything => {
            let founder = |id: AnimalId| colony.animal(id).origin == Origin::Founder;
            let known: Vec<Option<Genome>> =
                colony.animal_ids().map(|id| founder(id).then(|| genome(id, &mut dice))).collect();
            let (made, _) = fill_with(colony, &known, other).map_err(|why| failed(colony, why))?;
            Ok(made)
        }
        Drawn::Pairing { dam, sire, clutches, eggs } => {
            let known = [dam, sire].map(|animal| Some(genome(animal, &mut dice)));
            let eggs = eggs.unwrap_or_else(|| eggs_needed(colony));
            let design = design(colony, [dam, sire], clutches, eggs);
            let (made, _) = fill_with(&design, &known, other).map_err(|why| failed(colony, why))?;
            let mut whole = colony.clone();
            for mut clutch in made.clutches {
                clutch.dam = Parent::Known(dam);
                clutch.siring.candidates = vec![(Candidate::Known(sire), 1.0)];
                whole.clutches.push(clutch);
            }
            Ok(whole)
        }
    }
}

/// What has no value cannot be drawn by it.
fn refuse_unknowns(colony: &Colony) -> Result<(), Unanswerable> {
    let error = |place: Place, message: String| RecordError {
        place,
        message,
        help: Some("give it a value in a copy of the file, and simulate that".to_owned()),
        related: None,
    };
    let unknown = colony.genes.iter().filter(|gene| gene.inheritance == Inheritance::Unknown);
    let mut errors: Vec<RecordError> = unknown
        .map(|gene| error(gene.place, format!("how {} is inherited is not known", gene.name)))
        .collect();
    let place = colony.genes.first().map(|gene| gene.place).unwrap_or_default();
    let unknown = super::unknowns::names(colony).into_iter();
    errors.extend(unknown.map(|name| error(place, format!("{name} is not known"))));
    if errors.is_empty() { Ok(()) } else { Err(Unanswerable::Impossible(errors)) }
}

/// What an animal carries in the configuration drawn.
fn genome(model: &Model<'_>, animal: AnimalId, states: &[usize], dice: &mut Dice) -> Genome {
    let colony = model.colony;
    let heterogametic = match colony.sex_system {
        SexSystem::Xy => Some(Sex::Male),
        SexSystem::Zw => Some(Sex::Female),
        SexSystem::Environmental => None,
    };
    let strand = || Strand { alleles: vec![None; colony.genes.len()], minor: false };
    let mut genome = Genome { strands: [strand(), strand()], sex: Sex::Female };
    let mut told = colony.animal(animal).sex;
    for unit in 0..model.net.units.len() {
        let mut pair = model.net.strands(animal, unit, states);
        let limited = Some(SexChromosome::Limited);
        if pair[0].chromosome == limited {
            pair.swap(0, 1);
        }
        if pair[0].chromosome.is_some() {
            let unlike = pair[1].chromosome == limited;
            told = told.or(heterogametic.map(|sex| if unlike { sex } else { other_sex(sex) }));
        }
        for (strand, haplotype) in genome.strands.iter_mut().zip(pair) {
            for (locus, allele) in model.net.units[unit].loci.iter().zip(&haplotype.alleles) {
                strand.alleles[locus.gene.0] = *allele;
            }
        }
    }
    genome.sex = told.unwrap_or(if dice.below(2) == 0 { Sex::Female } else { Sex::Male });
    genome.strands[1].minor = heterogametic == Some(genome.sex);
    genome
}

fn other_sex(sex: Sex) -> Sex {
    match sex {
        Sex::Female => Sex::Male,
        Sex::Male => Sex::Female,
    }
}

/// As many fertile eggs as hatch into a clutch of the colony's size.
fn eggs_needed(colony: &Colony) -> u32 {
    let alive = 1.0 - colony.assumptions.egg_loss;
    match colony.clutch_size {
        Some(size) if alive > 0.0 => (size.mean / alive).round().clamp(1.0, 100_000.0) as u32,
        _ => EGGS,
    }
}

/// A colony of the two parents and the clutches to be drawn.
fn design(colony: &Colony, parents: [AnimalId; 2], clutches: u32, eggs: u32) -> Colony {
    let mut design = colony.clone();
    design.animals = parents.map(|id| colony.animal(id).clone()).into();
    for animal in &mut design.animals {
        animal.origin = Origin::Founder;
        animal.statements.clear();
        animal.readings.clear();
        animal.grown = None;
    }
    design.genes.iter_mut().for_each(|gene| gene.first_seen.animals.clear());
    let seen = Observation { call: Call::Looks(Vec::new()), ..Observation::default() };
    let count = Count { seen, number: [eggs, 0, 0], place: Place::default() };
    let taken = |id: &str| colony.clutches.iter().any(|clutch| clutch.id == id);
    let free = (1u64..).map(|number| format!("SIM-{number}")).filter(|id| !taken(id));
    let clutch = |id: String| Clutch {
        id,
        place: Place::default(),
        dam: Parent::Known(AnimalId(0)),
        siring: Siring {
            candidates: vec![(Candidate::Known(AnimalId(1)), 1.0)],
            mode: SiringMode::One,
        },
        laid: None,
        hatched: None,
        eggs: Some(eggs),
        slugs: Some(0),
        died: Some(0),
        complete: true,
        hatchlings: Vec::new(),
        counts: vec![count.clone()],
        recorded_only: Vec::new(),
        kept_if: Vec::new(),
        note: Some("drawn by simulate; it never hatched".to_owned()),
    };
    design.clutches = free.take(clutches as usize).map(clutch).collect();
    design
}

/// Why the sampler gave up, at the place of the record.
fn failed(colony: &Colony, why: DrawError) -> Unanswerable {
    let clutch = |id: ClutchId| colony.clutches.get(id.0).map(|clutch| (clutch.place, &clutch.id));
    let (place, message) = match why {
        DrawError::ImpossibleFounder(id) => (
            colony.animals.get(id.0).map(|animal| animal.place).unwrap_or_default(),
            "no genotype that can be drawn fits what is recorded of this animal".to_owned(),
        ),
        DrawError::ImpossibleClutch(id) | DrawError::NoParents(id) => match clutch(id) {
            Some((place, id)) => {
                (place, format!("the parents of {id} hardly ever have young as written here"))
            }
            None => (Place::default(), "the pairing hardly ever has young".to_owned()),
        },
        other => (Place::default(), other.to_string()),
    };
    Unanswerable::Impossible(vec![RecordError { place, message, help: None, related: None }])
}
