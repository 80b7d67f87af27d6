//! The words of the builder for clutches and their young, and its end.

use proveout::records::{
    Animal, AnimalId, Call, Candidate, Clutch, ClutchId, Colony, Count, Observation, Origin,
    Parent, Sex, Siring, SiringMode, Status,
};

use super::build::{Brood, Build};
use super::build_names::{Names, date};

impl Build {
    /// A clutch. The dam can be `unknown`, the sire `unknown` or `none`.
    pub fn clutch(mut self, id: &str, dam: &str, sire: &str) -> Self {
        self.broods.push(Brood { dam: dam.into(), sires: vec![(sire.into(), 1.0)], young: vec![] });
        self.colony.clutches.push(Clutch {
            id: id.into(),
            place: Default::default(),
            dam: Parent::Unknown,
            siring: Siring { candidates: vec![], mode: SiringMode::One },
            laid: None,
            hatched: None,
            eggs: None,
            slugs: None,
            died: None,
            complete: true,
            hatchlings: vec![],
            counts: vec![],
            recorded_only: vec![],
            kept_if: vec![],
            note: None,
        });
        self
    }

    /// Changes the clutch named last.
    pub fn in_clutch(mut self, change: impl FnOnce(&mut Clutch)) -> Self {
        change(self.colony.clutches.last_mut().expect("a clutch"));
        self
    }

    /// Several candidate sires instead of one, with weights.
    pub fn sires(mut self, sires: &[(&str, f64)]) -> Self {
        let sires = sires.iter().map(|(name, weight)| ((*name).into(), *weight));
        self.broods.last_mut().expect("a clutch").sires = sires.collect();
        self
    }

    /// Each egg has its own sire.
    pub fn mixed(self) -> Self {
        self.in_clutch(|clutch| clutch.siring.mode = SiringMode::Mixed)
    }

    /// Eggs laid, and slugs among them.
    pub fn eggs(self, eggs: u32, slugs: u32) -> Self {
        self.in_clutch(|clutch| (clutch.eggs, clutch.slugs) = (Some(eggs), Some(slugs)))
    }

    /// Fertile eggs that died.
    pub fn died(self, died: u32) -> Self {
        self.in_clutch(|clutch| clutch.died = Some(died))
    }

    /// Not every hatchling is written down.
    pub fn incomplete_records(self) -> Self {
        self.in_clutch(|clutch| clutch.complete = false)
    }

    /// When the clutch hatched.
    pub fn hatched(self, day: &str) -> Self {
        self.in_clutch(|clutch| clutch.hatched = Some(date(day)))
    }

    /// Only young with one of these looks were written down.
    pub fn recorded_only(self, looks: &str) -> Self {
        let looks = Names(&self.colony).looks(looks);
        self.in_clutch(|clutch| clutch.recorded_only = looks)
    }

    /// The clutch is written down only because one of these looks was among it.
    pub fn kept_if(self, looks: &str) -> Self {
        let looks = Names(&self.colony).looks(looks);
        self.in_clutch(|clutch| clutch.kept_if = looks)
    }

    /// Young that were only counted.
    pub fn count(self, looks: &str, number: u32) -> Self {
        self.count_by_sex(looks, [0, 0, number])
    }

    /// Young that were only counted: males, females, unsexed.
    pub fn count_by_sex(self, looks: &str, number: [u32; 3]) -> Self {
        let call = Call::Looks(Names(&self.colony).looks(looks));
        let seen = Observation { call, ..Observation::default() };
        self.in_clutch(|clutch| {
            clutch.counts.push(Count { seen, number, place: Default::default() });
        })
    }

    /// A young kept apart; an empty id is none.
    pub fn young(mut self, id: &str) -> Self {
        let clutch = Origin::Clutch(ClutchId(self.colony.clutches.len() - 1));
        let young = Build::nobody(Some(id).filter(|id| !id.is_empty()), clutch, None);
        self.broods.last_mut().expect("a clutch").young.push(young);
        self
    }

    /// The colony: every name resolved, the sex of parents fixed.
    pub fn colony(self) -> Colony {
        let mut colony = self.colony;
        for (brood, clutch) in self.broods.iter().zip(&mut colony.clutches) {
            for young in &brood.young {
                clutch.hatchlings.push(AnimalId(colony.animals.len()));
                let status = Status::Elsewhere;
                let hatched = clutch.hatched.or(clutch.laid);
                colony.animals.push(Animal { hatched, status, ..young.clone() });
            }
        }
        for (number, brood) in self.broods.iter().enumerate() {
            let mut parent = |name: &str, sex: Sex| {
                let id = colony.find_animal(name).unwrap_or_else(|| panic!("no animal {name}"));
                let animal = &mut colony.animals[id.0];
                assert!(animal.sex.is_none_or(|known| known == sex), "{name} has the other sex");
                (animal.sex, animal.status) = (Some(sex), Status::Kept);
                id
            };
            let dam = match &brood.dam[..] {
                "unknown" => Parent::Unknown,
                name => Parent::Known(parent(name, Sex::Female)),
            };
            let total: f64 = brood.sires.iter().map(|(_, weight)| weight).sum();
            let candidate = |(name, weight): &(String, f64)| {
                let candidate = match &name[..] {
                    "unknown" => Candidate::Unknown,
                    "none" => Candidate::NoFather,
                    name => Candidate::Known(parent(name, Sex::Male)),
                };
                (candidate, weight / total)
            };
            let candidates = brood.sires.iter().map(candidate).collect();
            colony.clutches[number].dam = dam;
            colony.clutches[number].siring.candidates = candidates;
        }
        colony
    }
}
