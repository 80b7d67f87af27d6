//! Who belongs to a family, and how they hang together.

use std::collections::{BTreeMap, BTreeSet};

use super::family_layout::{Layout, layout};
use super::family_marks::room;
use crate::presentation::names;
use crate::presentation::wording::percent;
use crate::questions::unnamed_young;
use crate::records::{AnimalId, Candidate, ClutchId, Colony, GeneId, Origin, Parent, Sex};

/// Room for a symbol without a label.
const NARROW: f64 = 46.0;

/// Who stands in the picture.
#[derive(Clone, Debug)]
pub(super) enum Who {
    Animal(AnimalId),
    /// Young without an id: what they were called, and how many.
    Young(Option<usize>, u32),
    /// A parent that nobody recorded.
    Unrecorded(Sex),
}

/// A family, with everybody in place.
pub(super) struct Family<'a> {
    pub(super) colony: &'a Colony,
    pub(super) gene: GeneId,
    pub(super) who: Vec<Who>,
    /// The chance of carrying, for each animal that was answered for.
    pub(super) carries: BTreeMap<AnimalId, f64>,
    /// For each union whether its sire is in doubt, and whether its parents are relatives.
    pub(super) doubt: Vec<bool>,
    pub(super) related: Vec<bool>,
    pub(super) layout: Layout,
}

/// Some animals with those nearest to them: forebears of two generations, mates, full and half
/// siblings with an id, and young.
pub fn near(colony: &Colony, animals: &[AnimalId]) -> Vec<AnimalId> {
    let mut near: BTreeSet<AnimalId> = animals.iter().copied().collect();
    for id in animals {
        let parents = parents_of(colony, *id);
        let grandparents = parents.iter().flat_map(|parent| parents_of(colony, *parent));
        near.extend(grandparents);
        near.extend(parents.iter().copied());
        for clutch in &colony.clutches {
            let sires = clutch.siring.candidates.iter().map(|(c, w)| (*c, w.to_bits()));
            let own = self::parents(&clutch.dam, &sires.collect::<Vec<_>>());
            let own: Vec<AnimalId> = own.into_iter().flatten().collect();
            if own.contains(id) {
                near.extend(own.iter().copied());
            }
            if own.contains(id) || own.iter().any(|parent| parents.contains(parent)) {
                near.extend(clutch.hatchlings.iter().copied());
            }
        }
    }
    near.retain(|id| colony.animal(*id).id.is_some());
    near.into_iter().collect()
}

/// The dam and the possible sires of an animal, as far as they are recorded.
fn parents_of(colony: &Colony, id: AnimalId) -> Vec<AnimalId> {
    let Origin::Clutch(clutch) = colony.animal(id).origin else { return Vec::new() };
    let clutch = colony.clutch(clutch);
    let sires = clutch.siring.candidates.iter().map(|(c, w)| (*c, w.to_bits()));
    parents(&clutch.dam, &sires.collect::<Vec<_>>()).into_iter().flatten().collect()
}

/// Who the parents of a clutch may be; the number of the family and its parents come out equal for
/// clutches of the same pair.
type Pair = (Parent, Vec<(Candidate, u64)>);

/// Gathers the family of some animals and puts everybody in place.
pub(super) fn build<'a>(
    colony: &'a Colony,
    gene: GeneId,
    members: &BTreeSet<AnimalId>,
    carries: BTreeMap<AnimalId, f64>,
) -> Family<'a> {
    let mut who: Vec<Who> = members.iter().map(|id| Who::Animal(*id)).collect();
    let place: BTreeMap<AnimalId, usize> =
        members.iter().enumerate().map(|(at, id)| (*id, at)).collect();
    let mut pairs: Vec<(Pair, Vec<ClutchId>)> = Vec::new();
    for id in colony.clutch_ids() {
        let clutch = colony.clutch(id);
        let weights = clutch.siring.candidates.iter().map(|(c, w)| (*c, w.to_bits()));
        let pair: Pair = (clutch.dam, weights.collect());
        match pairs.iter_mut().find(|(known, _)| *known == pair) {
            Some((_, clutches)) => clutches.push(id),
            None => pairs.push((pair, vec![id])),
        }
    }
    let (mut unions, mut doubt, mut related) = (Vec::new(), Vec::new(), Vec::new());
    for ((dam, sires), clutches) in pairs {
        let children = children(colony, gene, &clutches, &place, &mut who);
        let known = parents(&dam, &sires);
        let here = known.iter().flatten().any(|id| place.contains_key(id));
        let of_note = children.iter().any(|at| matches!(who[*at], Who::Animal(_)));
        if children.is_empty() || !(here || of_note) {
            continue;
        }
        let mut own = Vec::new();
        for (at, parent) in known.iter().enumerate() {
            match parent {
                Some(id) => own.extend(place.get(id)),
                None => {
                    who.push(Who::Unrecorded(if at == 0 { Sex::Female } else { Sex::Male }));
                    own.push(who.len() - 1);
                }
            }
        }
        doubt.push(sires.len() > 1);
        related.push(are_related(colony, &known));
        unions.push((own, children));
    }
    let wide = |who: &Who| match who {
        Who::Animal(id) => {
            let chance = carries.get(id).map_or(String::new(), |chance| brief(*chance));
            room(&names::animal(colony, *id), &chance)
        }
        Who::Young(..) | Who::Unrecorded(_) => NARROW,
    };
    let wides: Vec<f64> = who.iter().map(wide).collect();
    let layout = layout(&wides, unions);
    Family { colony, gene, who, carries, doubt, related, layout }
}

/// The dam and every candidate for the sire; `None` is one that nobody recorded.
fn parents(dam: &Parent, sires: &[(Candidate, u64)]) -> Vec<Option<AnimalId>> {
    let dam = match dam {
        Parent::Known(dam) => Some(*dam),
        Parent::Unknown => None,
    };
    let sire = |(candidate, _): &(Candidate, u64)| match candidate {
        Candidate::Known(sire) => Some(Some(*sire)),
        Candidate::Unknown => Some(None),
        Candidate::NoFather => None,
    };
    std::iter::once(dam).chain(sires.iter().filter_map(sire)).collect()
}

/// The young of some clutches: those with an id, then the others by what they were called.
fn children(
    colony: &Colony,
    gene: GeneId,
    clutches: &[ClutchId],
    place: &BTreeMap<AnimalId, usize>,
    who: &mut Vec<Who>,
) -> Vec<usize> {
    let hatched = |clutch: &ClutchId| colony.clutch(*clutch).hatchlings.clone();
    let named = clutches.iter().flat_map(hatched);
    let mut children: Vec<usize> = named.filter_map(|id| place.get(&id).copied()).collect();
    let mut others: BTreeMap<Option<usize>, u32> = BTreeMap::new();
    for young in clutches.iter().flat_map(|clutch| unnamed_young(colony, *clutch, gene)) {
        *others.entry(young.class).or_default() += young.number;
    }
    for (class, number) in others {
        who.push(Who::Young(class, number));
        children.push(who.len() - 1);
    }
    children
}

/// A chance where room is scarce: `>99.9 %`.
pub(super) fn brief(chance: f64) -> String {
    percent(chance).replace("over ", ">").replace("under ", "<")
}

/// Whether two of the parents have an ancestor in common, or one is an ancestor of the other.
fn are_related(colony: &Colony, parents: &[Option<AnimalId>]) -> bool {
    let lines: Vec<BTreeSet<AnimalId>> =
        parents.iter().flatten().map(|id| ancestry(colony, *id)).collect();
    let Some((dam, sires)) = lines.split_first() else { return false };
    parents[0].is_some() && sires.iter().any(|sire| !sire.is_disjoint(dam))
}

/// An animal and all its recorded ancestors whose place is not in doubt.
fn ancestry(colony: &Colony, id: AnimalId) -> BTreeSet<AnimalId> {
    let (mut line, mut waiting) = (BTreeSet::new(), vec![id]);
    while let Some(id) = waiting.pop() {
        if !line.insert(id) {
            continue;
        }
        let Origin::Clutch(clutch) = colony.animal(id).origin else { continue };
        let clutch = colony.clutch(clutch);
        if let Parent::Known(dam) = clutch.dam {
            waiting.push(dam);
        }
        if let [(Candidate::Known(sire), _)] = clutch.siring.candidates.as_slice() {
            waiting.push(*sire);
        }
    }
    line
}
