//! Clutches: who sires, which eggs hatch, and which hatchlings are written down.

use super::call::Viewing;
use super::doubt::Doubt;
use super::draw::Drawing;
use super::{DrawError, Genome};
use crate::records::{
    AnimalId, Call, Candidate, Clutch, ClutchId, Date, Look, Observation, Parent, Sex, SiringMode,
};

/// Attempts before a clutch counts as impossible; met by what happens once in a thousand.
pub(super) const ATTEMPTS: usize = 100_000;

/// The parents of one clutch.
#[derive(Clone, Debug)]
pub(super) struct Family {
    pub dam: Genome,
    pub unknown_sire: Option<Genome>,
    pub candidates: Vec<(Candidate, f64)>,
    /// The sire of the whole clutch; `None` when each egg has its own.
    pub sire: Option<Candidate>,
}

/// Room for one hatchling in the records of a clutch.
#[derive(Clone, Debug)]
pub(super) struct Slot {
    /// The animal, when it is kept apart.
    pub animal: Option<AnimalId>,
    /// Whether it has an id, so that it can be mixed up.
    pub named: bool,
    /// The sex it must have.
    pub sex: Option<Sex>,
    /// Whether its sex is written down.
    pub sexed: bool,
    /// How it is looked at: what the call says is drawn, whether there is one is not.
    pub view: Observation,
}

/// One hatchling as drawn.
#[derive(Clone, Debug)]
pub(super) struct Young {
    pub slot: Slot,
    pub genome: Genome,
    pub sire: Candidate,
    pub mixed_up: bool,
    pub seen: Observation,
}

/// One egg as drawn.
#[derive(Clone, Debug)]
pub(super) struct Egg {
    pub genome: Genome,
    pub sire: Candidate,
}

impl Drawing {
    /// The parents of a clutch: unknown ones from unrelated stock, one for the clutch, and the
    /// sire by the weights of the candidates, `other_sire` among them.
    pub(super) fn family(&mut self, id: ClutchId, clutch: &Clutch) -> Result<Family, DrawError> {
        let dam = match clutch.dam {
            Parent::Known(dam) => self.genome(dam).ok_or(DrawError::NoParents(id))?,
            Parent::Unknown => self.stranger(Some(Sex::Female))?,
        };
        let mut candidates = clutch.siring.candidates.clone();
        let other = self.colony.assumptions.other_sire;
        if let ([(Candidate::Known(_), weight)], true) = (&mut candidates[..], other > 0.0) {
            *weight = 1.0 - other;
            candidates.push((Candidate::Unknown, other));
        }
        let nobody = candidates.iter().any(|(candidate, _)| *candidate == Candidate::Unknown);
        let unknown_sire = if nobody { Some(self.stranger(Some(Sex::Male))?) } else { None };
        let mut family = Family { dam, unknown_sire, candidates, sire: None };
        if clutch.siring.mode == SiringMode::One {
            family.sire = Some(self.choose(id, &family)?);
        }
        Ok(family)
    }

    /// An animal from unrelated stock.
    fn stranger(&mut self, sex: Option<Sex>) -> Result<Genome, DrawError> {
        self.laws.unrelated(&self.colony, sex, &mut self.dice).ok_or(DrawError::NoLivingStock)
    }

    fn choose(&mut self, id: ClutchId, family: &Family) -> Result<Candidate, DrawError> {
        let weights: Vec<_> = family.candidates.iter().map(|(_, weight)| *weight).collect();
        let chosen = self.dice.weighted(&weights).ok_or(DrawError::NoParents(id))?;
        Ok(family.candidates[chosen].0)
    }

    /// One fertile egg, by the sire given, by that of the clutch, or by one of its own.
    fn conceive(
        &mut self,
        id: ClutchId,
        family: &Family,
        sire: Option<Candidate>,
    ) -> Result<Egg, DrawError> {
        let sire = match sire.or(family.sire) {
            Some(sire) => sire,
            None => self.choose(id, family)?,
        };
        let father = match sire {
            Candidate::Known(sire) => Some(self.genome(sire).ok_or(DrawError::NoParents(id))?),
            Candidate::Unknown => family.unknown_sire.clone(),
            Candidate::NoFather => None,
        };
        let genes = &self.colony.genes;
        let genome = match father {
            Some(father) => self.laws.egg(genes, &family.dam, &father, &mut self.dice),
            None => {
                let both = self.colony.assumptions.virgin_heterozygosity;
                self.laws.virgin_egg(genes, &family.dam, both, &mut self.dice)
            }
        };
        Ok(Egg { genome, sire })
    }

    /// Whether a fertile egg hatches: never when it is lethal at any gene, else unless it is lost.
    fn hatches(&mut self, egg: &Egg) -> bool {
        let lethal = |gene| self.colony.gene(gene).lethal.contains(&egg.genome.genotype(gene));
        let viable = !self.colony.gene_ids().any(lethal);
        viable && !self.dice.coin(self.colony.assumptions.egg_loss)
    }

    /// Fertile eggs of known number: those that hatch and those that die.
    pub(super) fn incubate(
        &mut self,
        id: ClutchId,
        family: &Family,
        fertile: usize,
    ) -> Result<(Vec<Egg>, Vec<Egg>), DrawError> {
        let mut hatched = Vec::new();
        let mut lost = Vec::new();
        for _ in 0..fertile {
            let egg = self.conceive(id, family, None)?;
            if self.hatches(&egg) { hatched.push(egg) } else { lost.push(egg) }
        }
        Ok((hatched, lost))
    }

    /// Eggs until one hatches that has the sex wanted; those that die on the way go to `lost`.
    fn hatchling(
        &mut self,
        id: ClutchId,
        family: &Family,
        sire: Option<Candidate>,
        sex: Option<Sex>,
        lost: &mut Vec<Egg>,
    ) -> Result<Egg, DrawError> {
        for _ in 0..ATTEMPTS {
            let egg = self.conceive(id, family, sire)?;
            if !self.hatches(&egg) {
                lost.push(egg);
            } else if sex.is_none_or(|sex| sex == egg.genome.sex) {
                return Ok(egg);
            }
        }
        Err(DrawError::ImpossibleClutch(id))
    }

    /// The hatchlings for `slots`: from the eggs of `pool`, and from new ones when it is empty or
    /// holds none of the sex a slot needs.
    pub(super) fn litter(
        &mut self,
        id: ClutchId,
        family: &Family,
        slots: &[Slot],
        mut pool: Vec<Egg>,
        lost: &mut Vec<Egg>,
    ) -> Result<Vec<Young>, DrawError> {
        let clutch = self.colony.clutch(id).clone();
        let mut litter = Vec::with_capacity(slots.len());
        for slot in slots {
            let fits = |egg: &Egg| slot.sex.is_none_or(|sex| sex == egg.genome.sex);
            let young = if !clutch.recorded_only.is_empty() {
                self.selected(id, family, slot, &clutch)?
            } else {
                let egg = match pool.iter().position(fits) {
                    Some(position) => pool.remove(position),
                    None => self.hatchling(id, family, None, slot.sex, lost)?,
                };
                self.at_the_tub(egg, slot, clutch.date(), clutch.kept_if.is_empty())?
            };
            litter.push(young);
        }
        Ok(litter)
    }

    /// A hatchling of a clutch of which only some looks are written down: its sire is chosen
    /// first, then eggs of the two are drawn until one hatches and is called one of the looks.
    fn selected(
        &mut self,
        id: ClutchId,
        family: &Family,
        slot: &Slot,
        clutch: &Clutch,
    ) -> Result<Young, DrawError> {
        let sire = match family.sire {
            Some(sire) => sire,
            None => self.choose(id, family)?,
        };
        for _ in 0..ATTEMPTS {
            let egg = self.hatchling(id, family, Some(sire), slot.sex, &mut Vec::new())?;
            let young = self.at_the_tub(egg, slot, clutch.date(), false)?;
            if names(&young.seen, &clutch.recorded_only) {
                return Ok(young);
            }
        }
        Err(DrawError::ImpossibleClutch(id))
    }

    /// A hatched egg as it is written down: one with an id may be mixed up with unrelated stock.
    fn at_the_tub(
        &mut self,
        egg: Egg,
        slot: &Slot,
        date: Option<Date>,
        may_doubt: bool,
    ) -> Result<Young, DrawError> {
        let mixed_up = slot.named && self.dice.coin(self.colony.assumptions.mix_up);
        let Egg { genome, sire } = egg;
        let genome = if mixed_up { self.stranger(slot.sex)? } else { genome };
        let mut seen = self.observe(&slot.view, &genome, false, date, may_doubt);
        if !may_doubt && seen.call == Call::NotRecorded {
            seen.call = Call::Looks(Vec::new());
            seen = self.observe(&seen, &genome, false, date, false);
        }
        Ok(Young { slot: slot.clone(), genome, sire, mixed_up, seen })
    }

    /// What is seen on an animal that is looked at as `view` was.
    pub(super) fn observe(
        &mut self,
        view: &Observation,
        genome: &Genome,
        grown: bool,
        date: Option<Date>,
        may_doubt: bool,
    ) -> Observation {
        let viewing = Viewing { grown, date, unread: &view.unread };
        let doubt = match &view.call {
            Call::NotRecorded => return view.clone(),
            Call::Either(alternatives) if may_doubt => Doubt::between(alternatives),
            _ => None,
        };
        let made = self.laws.looks(&self.colony, genome, viewing, &mut self.dice);
        let call = match doubt {
            Some(doubt) => doubt.record(&self.colony, viewing, made, &mut self.dice),
            None => Call::Looks(made),
        };
        Observation { call, ..view.clone() }
    }
}

/// Whether a plain call names one of these looks.
pub(super) fn names(seen: &Observation, looks: &[Look]) -> bool {
    matches!(&seen.call, Call::Looks(called) if called.iter().any(|look| looks.contains(look)))
}
