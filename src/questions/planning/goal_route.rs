//! A way to a goal: pairs one after another, and what is kept of their young.

use rustc_hash::FxHashMap;

use crate::genetics::Kinship;
use crate::records::AnimalId;

/// A parent of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Slot {
    /// An animal of the records.
    Animal(AnimalId),
    /// A young kept from an earlier step, of the sex its place asks for.
    Young(usize),
}

/// One pairing, and the look of the young that are kept: a female kind, a male kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Pair {
    /// Dam and sire.
    pub(super) parents: [Slot; 2],
    pub(super) keep: [Option<usize>; 2],
}

/// Pairs in an order in which each parent is there; the last one gives the animal of the goal.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Route {
    pub(super) pairs: Vec<Pair>,
    /// How many dams and sires of the last pairing are kept side by side.
    pub(super) lines: [u32; 2],
}

impl Route {
    pub(super) fn last(&self) -> Pair {
        self.pairs[self.pairs.len() - 1]
    }

    /// How many young of a sex are kept from a step.
    pub(super) fn kept(&self, step: usize, sex: usize) -> u32 {
        if self.pairs[step].keep[sex].is_none() {
            0
        } else if self.last().parents[sex] == Slot::Young(step) {
            self.lines[sex]
        } else {
            1
        }
    }

    /// Whether a parent of the last pairing is a young that no other step needs.
    pub(super) fn only_last(&self, sex: usize) -> bool {
        let slot = self.last().parents[sex];
        let before = &self.pairs[..self.pairs.len() - 1];
        matches!(slot, Slot::Young(_)) && before.iter().all(|pair| pair.parents[sex] != slot)
    }

    /// The animals of the records that take part, each with its sex.
    pub(super) fn animals(&self) -> Vec<(AnimalId, usize)> {
        let mut all = Vec::new();
        for pair in &self.pairs {
            for (sex, slot) in pair.parents.iter().enumerate() {
                if let Slot::Animal(animal) = slot
                    && !all.contains(&(*animal, sex))
                {
                    all.push((*animal, sex));
                }
            }
        }
        all.sort_unstable();
        all
    }

    /// What kind of route it is, whoever takes part: who is an animal of the records, who is kept
    /// from which step, who is bred back to an ancestor.
    pub(super) fn shape(&self) -> String {
        let mut shape = String::new();
        for pair in &self.pairs {
            for sex in 0..2 {
                let (own, mate) = (pair.parents[sex], pair.parents[1 - sex]);
                shape.push_str(&match own {
                    Slot::Young(step) => step.to_string(),
                    Slot::Animal(animal) if self.descends(mate, animal) => "b".into(),
                    Slot::Animal(_) => "a".into(),
                });
            }
            shape.push(' ');
        }
        shape
    }

    fn descends(&self, slot: Slot, from: AnimalId) -> bool {
        match slot {
            Slot::Animal(_) => false,
            Slot::Young(step) => self.pairs[step]
                .parents
                .iter()
                .any(|parent| *parent == Slot::Animal(from) || self.descends(*parent, from)),
        }
    }

    /// The inbreeding of the young of a step.
    pub(super) fn inbreeding(&self, kinship: &Kinship, step: usize) -> f64 {
        let [dam, sire] = self.pairs[step].parents;
        self.kin(kinship, (dam, 0), (sire, 1))
    }

    /// The kinship of two parents, each with its sex.
    ///
    /// # Source
    ///
    /// The tabular method: half the sum of the kinships of the younger's parents with the other;
    /// of an animal with itself, half of one more than its inbreeding.
    fn kin(&self, kinship: &Kinship, one: (Slot, usize), other: (Slot, usize)) -> f64 {
        let (later, earlier) = if one.0 > other.0 { (one, other) } else { (other, one) };
        match (later.0, earlier.0) {
            (Slot::Animal(a), Slot::Animal(b)) => kinship.between(a, b),
            (Slot::Young(step), _) if later == earlier => {
                f64::midpoint(1.0, self.inbreeding(kinship, step))
            }
            (Slot::Young(step), _) => {
                let [dam, sire] = self.pairs[step].parents;
                let [dam, sire] =
                    [(dam, 0), (sire, 1)].map(|parent| self.kin(kinship, parent, earlier));
                f64::midpoint(dam, sire)
            }
            (Slot::Animal(_), Slot::Young(_)) => 0.0,
        }
    }
}

/// Joins the ways to two parents; gives where each of them is then.
///
/// Steps that both need are made once, where they keep different sexes or the same look.
pub(super) fn join(
    one: (&[Pair], Slot),
    other: (&[Pair], Slot),
) -> (Vec<Pair>, [Slot; 2], Vec<usize>) {
    let mut pairs = one.0.to_vec();
    let mut places: Vec<usize> = Vec::with_capacity(other.0.len());
    for pair in other.0 {
        let moved = |slot: Slot, places: &[usize]| match slot {
            Slot::Young(step) => Slot::Young(places[step]),
            animal @ Slot::Animal(_) => animal,
        };
        let parents = pair.parents.map(|slot| moved(slot, &places));
        let agree = |known: &Pair| {
            let kept = known.keep.iter().zip(&pair.keep);
            let mut kept = kept.map(|(a, b)| a.is_none() || b.is_none() || a == b);
            known.parents == parents && kept.all(|agrees| agrees)
        };
        match pairs.iter().position(agree) {
            Some(at) => {
                for (own, more) in pairs[at].keep.iter_mut().zip(&pair.keep) {
                    *own = own.or(*more);
                }
                places.push(at);
            }
            None => {
                places.push(pairs.len());
                pairs.push(Pair { parents, keep: pair.keep });
            }
        }
    }
    let slot = match other.1 {
        Slot::Young(step) => Slot::Young(places[step]),
        animal @ Slot::Animal(_) => animal,
    };
    (pairs, [one.1, slot], places)
}

/// When animals can be bred, and how long a step takes.
pub(super) struct Calendar {
    /// Hatched young of a clutch.
    pub(super) clutch: f64,
    /// Clutches of a female in a season.
    pub(super) clutches: f64,
    /// Seasons that a female and a male need before they breed.
    pub(super) wait: [u32; 2],
    /// The first season in which an animal can be bred, where it is not the first.
    pub(super) ready: FxHashMap<AnimalId, u32>,
}

impl Calendar {
    /// The first and the last season of each step, for so many young.
    pub(super) fn seasons(&self, route: &Route, young: &[u32]) -> Vec<[u32; 2]> {
        let mut busy: FxHashMap<AnimalId, u32> = FxHashMap::default();
        let mut made: Vec<[u32; 2]> = Vec::with_capacity(route.pairs.len());
        for (step, (pair, young)) in route.pairs.iter().zip(young).enumerate() {
            let from = |sex: usize| match pair.parents[sex] {
                Slot::Animal(animal) => self.ready.get(&animal).copied().unwrap_or(1),
                Slot::Young(step) => made[step][1].saturating_add(self.wait[sex]),
            };
            let mut first = from(0).max(from(1));
            let last_step = step + 1 == route.pairs.len();
            let dams = if last_step { route.lines[0] } else { 1 };
            let each = self.clutches_of(*young).div_ceil(dams.max(1));
            let takes = (f64::from(each) / self.clutches - 1e-9).ceil().max(1.0);
            if let Slot::Animal(dam) = pair.parents[0] {
                first = first.max(busy.get(&dam).copied().unwrap_or(1));
                busy.insert(dam, first.saturating_add(takes as u32));
            }
            made.push([first, first.saturating_add(takes as u32 - 1)]);
        }
        made
    }

    /// Clutches that so many hatched young take.
    pub(super) fn clutches_of(&self, young: u32) -> u32 {
        (f64::from(young) / self.clutch - 1e-9).ceil().max(1.0) as u32
    }
}
