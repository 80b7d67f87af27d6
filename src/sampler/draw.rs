//! The drawing of a whole colony from its design.

use super::brood::{ATTEMPTS, Egg, Slot, Young, names};
use super::laws::Laws;
use super::{ClutchTruth, Dice, DrawError, Genome, Truth};
use crate::records::{
    AnimalId, Call, Candidate, Clutch, ClutchId, Colony, Count, Inheritance, Observation, Origin,
    Parent, Sex,
};

/// Draws the truth behind a design, and records that tell of it.
///
/// `design` says who was bred to whom, how many young there are, which of them were looked at and
/// whether a call was certain; what the calls, readings and egg counts of the young say is
/// replaced by what is drawn. Where losses are known (a complete clutch with its egg counts) the
/// number of fertile eggs is kept and how many hatch is drawn: hatchlings nobody breds from may
/// fall away, and further ones are added to the counts. Believed weights become fits.
///
/// # Errors
///
/// When the design cannot be drawn: see [`DrawError`].
pub fn fill(design: &Colony, seed: u64) -> Result<(Colony, Truth), DrawError> {
    fill_with(design, &[], seed)
}

/// As [`fill`], with founders whose genomes are given: `known[i]` is that of animal `i`.
///
/// Animals beyond the end of `known`, `None` and hatchlings are drawn. Strands must have one entry
/// for each gene.
///
/// # Errors
///
/// When the design cannot be drawn: see [`DrawError`].
pub fn fill_with(
    design: &Colony,
    known: &[Option<Genome>],
    seed: u64,
) -> Result<(Colony, Truth), DrawError> {
    let mut drawing = Drawing::new(design.clone(), Dice::new(seed))?;
    for (animal, genome) in design.animal_ids().zip(known) {
        let whole = |genome: &Genome| {
            genome.strands.iter().all(|strand| strand.alleles.len() == design.genes.len())
        };
        if design.animal(animal).origin == Origin::Founder {
            drawing.genomes[animal.0] = genome.clone().filter(whole);
        }
    }
    for animal in design.animal_ids() {
        if design.animal(animal).origin == Origin::Founder {
            drawing.found(animal)?;
        }
    }
    let mut left: Vec<_> = design.clutch_ids().collect();
    while let Some(&first) = left.first() {
        let ready = left.iter().position(|&clutch| drawing.ready(design.clutch(clutch)));
        let next = left.remove(ready.ok_or(DrawError::NoParents(first))?);
        drawing.breed(next)?;
    }
    Ok(drawing.finish())
}

/// A colony while it is drawn; animals keep the numbers of the design until the end.
#[derive(Clone, Debug)]
pub(super) struct Drawing {
    pub colony: Colony,
    pub laws: Laws,
    pub dice: Dice,
    pub genomes: Vec<Option<Genome>>,
    mixed_up: Vec<bool>,
    clutches: Vec<Option<ClutchTruth>>,
}

impl Drawing {
    /// The rules of a design, and nothing drawn yet.
    pub fn new(colony: Colony, mut dice: Dice) -> Result<Self, DrawError> {
        let unknown = |gene: &_| colony.gene(*gene).inheritance == Inheritance::Unknown;
        if let Some(gene) = colony.gene_ids().find(unknown) {
            return Err(DrawError::UnknownInheritance(gene));
        }
        let laws = Laws::new(&colony, &mut dice);
        let genomes = vec![None; colony.animals.len()];
        let mixed_up = vec![false; colony.animals.len()];
        let clutches = vec![None; colony.clutches.len()];
        Ok(Drawing { colony, laws, dice, genomes, mixed_up, clutches })
    }

    /// What an animal carries, once it is drawn.
    pub fn genome(&self, animal: AnimalId) -> Option<Genome> {
        self.genomes.get(animal.0).cloned().flatten()
    }

    fn ready(&self, clutch: &Clutch) -> bool {
        let drawn = |animal: AnimalId| self.genomes.get(animal.0).is_some_and(Option::is_some);
        let dam = match clutch.dam {
            Parent::Known(dam) => drawn(dam),
            Parent::Unknown => true,
        };
        dam && clutch.siring.candidates.iter().all(|(candidate, _)| match candidate {
            Candidate::Known(sire) => drawn(*sire),
            _ => true,
        })
    }

    /// The sex an animal must have because something descends from it.
    fn parental_sex(&self, animal: AnimalId) -> Option<Sex> {
        self.colony.clutches.iter().find_map(|clutch| {
            let sires = clutch.siring.candidates.iter();
            if clutch.dam == Parent::Known(animal) {
                Some(Sex::Female)
            } else {
                let sires = sires.map(|(candidate, _)| *candidate);
                sires.into_iter().find(|one| *one == Candidate::Known(animal)).map(|_| Sex::Male)
            }
        })
    }

    /// Makes room for animals and clutches added to the colony.
    pub fn grow(&mut self) {
        self.genomes.resize(self.colony.animals.len(), None);
        self.mixed_up.resize(self.colony.animals.len(), false);
        self.clutches.resize(self.colony.clutches.len(), None);
    }

    /// Draws a founder, and its readings.
    pub fn found(&mut self, id: AnimalId) -> Result<(), DrawError> {
        let animal = self.colony.animal(id).clone();
        let sex = animal.sex.or_else(|| self.parental_sex(id));
        let genome = match self.genome(id) {
            Some(known) => known,
            None => self
                .laws
                .founder(&self.colony, &animal, sex, &mut self.dice)
                .ok_or(DrawError::ImpossibleFounder(id))?,
        };
        self.read_again(id, &genome);
        self.genomes[id.0] = Some(genome);
        Ok(())
    }

    fn read_again(&mut self, id: AnimalId, genome: &Genome) {
        let animal = self.colony.animal(id);
        let draw =
            |reading| self.laws.reading(&self.colony, reading, genome, animal.sex, &mut self.dice);
        let readings = animal.readings.iter().map(draw).collect();
        self.colony.animals[id.0].readings = readings;
    }

    /// Draws a clutch whose parents are drawn.
    ///
    /// Where the sire chosen, or an unknown parent, cannot have such young, others are drawn.
    pub fn breed(&mut self, id: ClutchId) -> Result<(), DrawError> {
        const FAMILIES: usize = 8;
        let again =
            |drawn: &Result<(), DrawError>| matches!(drawn, Err(DrawError::ImpossibleClutch(_)));
        let mut drawn = self.brood(id);
        for _ in 1..FAMILIES {
            if !again(&drawn) {
                break;
            }
            drawn = self.brood(id);
        }
        drawn
    }

    /// Draws the sire of a clutch, its eggs, and what is written down of them.
    fn brood(&mut self, id: ClutchId) -> Result<(), DrawError> {
        let clutch = self.colony.clutch(id).clone();
        let mut slots = self.slots(&clutch);
        let family = self.family(id, &clutch)?;
        let mut pool = Vec::new();
        let mut lost = Vec::new();
        let fertile = fertile(&clutch);
        if let Some(fertile) = fertile {
            (pool, lost) = self.hatch_some(id, &family, fertile, &slots)?;
            slots.sort_by_key(|slot| slot.sex.is_none());
            let spare = spare_slot(&clutch);
            slots.resize(pool.len(), spare);
            slots.sort_by_key(|slot| slot.animal.map_or(usize::MAX, |animal| animal.0));
        }
        let mut more = Vec::new();
        let mut litter = self.litter(id, &family, &slots, pool, &mut more)?;
        let kept = |litter: &[Young]| {
            clutch.kept_if.is_empty() || litter.iter().any(|one| names(&one.seen, &clutch.kept_if))
        };
        let mut attempts = 0;
        while !kept(&litter) {
            litter = self.litter(id, &family, &slots, Vec::new(), &mut Vec::new())?;
            attempts += 1;
            if attempts == ATTEMPTS || litter.is_empty() {
                return Err(DrawError::ImpossibleClutch(id));
            }
        }
        if fertile.is_none() {
            lost = more;
        }
        let truth = ClutchTruth {
            unknown_dam: (clutch.dam == Parent::Unknown).then(|| family.dam.clone()),
            unknown_sire: family.unknown_sire.clone(),
            sire: family.sire,
            sires: Vec::new(),
            counted: Vec::new(),
            lost: lost.into_iter().map(|egg| egg.genome).collect(),
        };
        self.write(id, clutch, litter, truth);
        Ok(())
    }

    /// Incubates a known number of eggs, again where too few hatch for those bred from later.
    fn hatch_some(
        &mut self,
        id: ClutchId,
        family: &super::brood::Family,
        fertile: usize,
        slots: &[Slot],
    ) -> Result<(Vec<Egg>, Vec<Egg>), DrawError> {
        let needed = slots.iter().filter(|slot| slot.sex.is_some()).count();
        let kept = usize::from(!self.colony.clutch(id).kept_if.is_empty());
        for _ in 0..ATTEMPTS {
            let (hatched, lost) = self.incubate(id, family, fertile)?;
            if hatched.len() >= needed.max(kept) {
                return Ok((hatched, lost));
            }
        }
        Err(DrawError::ImpossibleClutch(id))
    }

    /// Room for every hatchling of a clutch: those kept apart, then those counted.
    fn slots(&self, clutch: &Clutch) -> Vec<Slot> {
        let apart = clutch.hatchlings.iter().map(|&id| {
            let animal = self.colony.animal(id);
            let sex = self.parental_sex(id);
            Slot {
                animal: Some(id),
                named: animal.id.is_some(),
                sex,
                sexed: sex.or(animal.sex).is_some(),
                view: animal.seen.clone(),
            }
        });
        let counted = clutch.counts.iter().flat_map(|count| {
            let sexed = count.number[0].saturating_add(count.number[1]);
            (0..count.total()).map(move |number| Slot {
                animal: None,
                named: false,
                sex: None,
                sexed: number < sexed,
                view: count.seen.clone(),
            })
        });
        apart.chain(counted).collect()
    }

    /// Writes a drawn litter into the records of its clutch.
    fn write(
        &mut self,
        id: ClutchId,
        mut clutch: Clutch,
        litter: Vec<Young>,
        mut truth: ClutchTruth,
    ) {
        let before = clutch.recorded();
        let after = u32::try_from(litter.len()).unwrap_or(u32::MAX);
        write_eggs(&mut clutch, before, after, truth.lost.len());
        clutch.hatchlings.clear();
        let mut counts: Vec<Count> = Vec::new();
        for young in litter {
            match young.slot.animal {
                Some(animal) => {
                    clutch.hatchlings.push(animal);
                    truth.sires.push(young.sire);
                    self.write_animal(animal, young, &clutch);
                }
                None => count(&mut counts, &mut truth, young),
            }
        }
        clutch.counts = counts;
        self.colony.clutches[id.0] = clutch;
        self.clutches[id.0] = Some(truth);
    }

    fn write_animal(&mut self, id: AnimalId, young: Young, clutch: &Clutch) {
        let grown = self.colony.animal(id).grown.clone();
        let grown = grown.map(|view| self.observe(&view, &young.genome, true, clutch.date(), true));
        let animal = &mut self.colony.animals[id.0];
        animal.sex = young.slot.sexed.then_some(young.genome.sex);
        animal.seen = young.seen;
        animal.grown = grown;
        animal.believed = false;
        self.read_again(id, &young.genome);
        self.mixed_up[id.0] = young.mixed_up;
        self.genomes[id.0] = Some(young.genome);
    }

    /// The colony without the hatchlings that never hatched, and the truth about it.
    pub fn finish(self) -> (Colony, Truth) {
        let Drawing { mut colony, laws, genomes, mixed_up, clutches, .. } = self;
        let mut number = Vec::with_capacity(genomes.len());
        let mut drawn = 0;
        for genome in &genomes {
            number.push(AnimalId(drawn));
            drawn += usize::from(genome.is_some());
        }
        let mut hatched = genomes.iter().map(Option::is_some);
        colony.animals.retain(|_| hatched.next().unwrap_or(false));
        let renumber = |animal: &mut AnimalId| *animal = number[animal.0];
        for clutch in &mut colony.clutches {
            clutch.hatchlings.iter_mut().for_each(renumber);
            if let Parent::Known(dam) = &mut clutch.dam {
                renumber(dam);
            }
            for (candidate, _) in &mut clutch.siring.candidates {
                if let Candidate::Known(sire) = candidate {
                    renumber(sire);
                }
            }
        }
        for gene in &mut colony.genes {
            gene.first_seen.animals.retain(|animal| genomes[animal.0].is_some());
            gene.first_seen.animals.iter_mut().for_each(renumber);
        }
        let kept = |(genome, mixed_up): (Option<Genome>, bool)| genome.map(|one| (one, mixed_up));
        let (animals, mixed_up) = genomes.into_iter().zip(mixed_up).filter_map(kept).unzip();
        let clutches = clutches.into_iter().flatten().collect();
        let Laws { penetrance, crossover, .. } = laws;
        (colony, Truth { animals, mixed_up, clutches, penetrance, crossover })
    }
}

/// The number of fertile eggs, where the losses of a clutch are known and count.
fn fertile(clutch: &Clutch) -> Option<usize> {
    let counted = clutch.complete && clutch.recorded_only.is_empty();
    let lost = match (clutch.died, clutch.eggs, clutch.slugs) {
        _ if !counted => None,
        (Some(died), _, _) => Some(died),
        (None, Some(eggs), Some(slugs)) => {
            Some(eggs.saturating_sub(slugs).saturating_sub(clutch.recorded()))
        }
        _ => None,
    };
    lost.map(|lost| clutch.recorded() as usize + lost as usize)
}

/// Room for a young more than the design has: counted, not sexed.
fn spare_slot(clutch: &Clutch) -> Slot {
    let normal = Observation { call: Call::Looks(Vec::new()), ..Observation::default() };
    let view = clutch.counts.last().map_or(normal, |count| count.seen.clone());
    Slot { animal: None, named: false, sex: None, sexed: false, view }
}

/// Egg counts that add up with what hatched; a count nobody wrote stays unwritten.
fn write_eggs(clutch: &mut Clutch, before: u32, after: u32, lost: usize) {
    let lost = u32::try_from(lost).unwrap_or(u32::MAX);
    let implied = match (clutch.eggs, clutch.died) {
        (Some(eggs), Some(died)) => eggs.saturating_sub(before).saturating_sub(died),
        _ => 0,
    };
    let slugs = clutch.slugs.unwrap_or(implied);
    if clutch.eggs.is_some() {
        clutch.eggs = Some(after.saturating_add(lost).saturating_add(slugs));
    }
    if clutch.died.is_some() {
        clutch.died = Some(lost);
    }
}

/// Adds a young to the count of those that were seen alike.
fn count(counts: &mut Vec<Count>, truth: &mut ClutchTruth, young: Young) {
    let row = match (young.slot.sexed, young.genome.sex) {
        (false, _) => 2,
        (true, Sex::Male) => 0,
        (true, Sex::Female) => 1,
    };
    let position = counts.iter().position(|count| count.seen == young.seen).unwrap_or_else(|| {
        let seen = young.seen.clone();
        counts.push(Count { seen, number: [0; 3], place: Default::default() });
        truth.counted.push(Vec::new());
        counts.len() - 1
    });
    counts[position].number[row] += 1;
    truth.counted[position].push((young.genome, young.sire));
}
