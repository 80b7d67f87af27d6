//! What does a change of the records move?

use super::propositions::odds;
use super::{
    Copies, GenotypeAnswer, GenotypesAnswer, IN_DOUBT, IdentifyAnswer, Identity, ModeAnswer,
    Proposition,
};
use crate::genetics::Mode;
use crate::records::{AnimalId, Candidate, ClutchId, Colony, GeneId};

/// A chance that moved by less than this was not moved, unless its odds were.
const MOVED: f64 = 0.005;
/// Odds that changed by this factor moved,
const FACTOR: f64 = 1.5;
/// where the chance is no nearer to 0 or 1 than this.
const IN_SIGHT: f64 = 0.0005;

/// The answers to one version of the records.
#[derive(Clone, Copy, Debug)]
pub struct Version<'a> {
    /// The colony.
    pub colony: &'a Colony,
    /// What each animal carries.
    pub carried: &'a GenotypesAnswer,
    /// What each hatchling is.
    pub young: &'a IdentifyAnswer,
    /// How each suspected gene is inherited.
    pub modes: &'a [ModeAnswer],
}

/// The chance of one proposition, before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CarrierMoved {
    /// What it is about, with the numbers of the colony afterwards.
    pub proposition: Proposition,
    /// Its chance before; `None` where there was no such animal.
    pub before: Option<f64>,
    /// Its chance after.
    pub after: f64,
}

/// The chance of one way of inheritance, before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ModeMoved {
    /// The gene.
    pub gene: GeneId,
    /// The way.
    pub mode: Mode,
    /// Its chance before; `None` where it was not weighed.
    pub before: Option<f64>,
    /// Its chance after.
    pub after: f64,
}

/// The chance of one candidate for the sire, before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SireMoved {
    /// The clutch.
    pub clutch: ClutchId,
    /// The hatchling, where each egg has its own sire.
    pub hatchling: Option<AnimalId>,
    /// The candidate.
    pub candidate: Candidate,
    /// Its chance before; `None` where it was none.
    pub before: Option<f64>,
    /// Its chance after.
    pub after: f64,
}

/// What a hatchling most probably is, and the chance of that before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct YoungMoved {
    /// The hatchling.
    pub animal: AnimalId,
    /// What it most probably is now.
    pub identity: Identity,
    /// The chance of the same before; `None` where there was no such hatchling.
    pub before: Option<f64>,
    /// Its chance after.
    pub after: f64,
}

/// What a change of the records moved, the largest moves first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Moves {
    /// What animals carry.
    pub carriers: Vec<CarrierMoved>,
    /// What hatchlings are.
    pub young: Vec<YoungMoved>,
    /// How suspected genes are inherited.
    pub modes: Vec<ModeMoved>,
    /// Who the sires are.
    pub sires: Vec<SireMoved>,
}

impl Moves {
    /// Whether nothing moved.
    pub fn is_empty(&self) -> bool {
        self.carriers.is_empty()
            && self.young.is_empty()
            && self.modes.is_empty()
            && self.sires.is_empty()
    }
}

/// Compares two versions of the records; animals, genes and clutches are the same where their
/// names are.
pub fn moves(before: Option<&Version<'_>>, after: &Version<'_>) -> Moves {
    let known = Known::new(before, after);
    let mut moves = Moves {
        carriers: carriers(&known, after),
        young: young(&known, after),
        modes: modes(&known, after),
        sires: sires(&known, after),
    };
    let by_size = |a: (Option<f64>, f64), b: (Option<f64>, f64)| size(b).total_cmp(&size(a));
    moves.carriers.sort_by(|a, b| by_size((a.before, a.after), (b.before, b.after)));
    moves.young.sort_by(|a, b| by_size((a.before, a.after), (b.before, b.after)));
    moves.modes.sort_by(|a, b| b.after.total_cmp(&a.after));
    moves
}

/// How far a chance moved.
fn size((before, after): (Option<f64>, f64)) -> f64 {
    before.map_or(0.0, |before| (after - before).abs())
}

fn moved(before: f64, after: f64) -> bool {
    let factor = odds(after) / odds(before);
    let in_sight = |chance: f64| chance.min(1.0 - chance) >= IN_SIGHT;
    (after - before).abs() >= MOVED
        || (in_sight(before) || in_sight(after)) && !(1.0 / FACTOR..=FACTOR).contains(&factor)
}

/// The version before, and which of its animals, genes and clutches are which now.
struct Known<'k> {
    before: Option<&'k Version<'k>>,
    animals: Vec<Option<AnimalId>>,
    genes: Vec<Option<GeneId>>,
    /// Where each animal's answers begin among those of the version before.
    first: Vec<usize>,
}

impl<'k> Known<'k> {
    fn new(before: Option<&'k Version<'k>>, after: &Version<'_>) -> Self {
        let names: rustc_hash::FxHashMap<&str, AnimalId> = before
            .iter()
            .flat_map(|version| version.colony.animal_ids().map(|id| (version.colony, id)))
            .filter_map(|(colony, id)| Some((colony.animal(id).id.as_deref()?, id)))
            .collect();
        let animal = |animal: &crate::records::Animal| {
            animal.id.as_deref().and_then(|id| names.get(id).copied())
        };
        let gene = |gene: &crate::records::Gene| {
            before.and_then(|version| version.colony.find_gene(&gene.name))
        };
        let rows = before.map_or(&[][..], |version| &version.carried.genotypes);
        let mut first = vec![rows.len(); before.map_or(0, |v| v.colony.animals.len())];
        for (at, row) in rows.iter().enumerate().rev() {
            first[row.animal.0] = at;
        }
        Known {
            before,
            animals: after.colony.animals.iter().map(animal).collect(),
            genes: after.colony.genes.iter().map(gene).collect(),
            first,
        }
    }

    fn row(&self, animal: AnimalId, gene: GeneId) -> Option<&'k GenotypeAnswer> {
        let (animal, gene) = (self.animals[animal.0]?, self.genes[gene.0]?);
        let rows = &self.before?.carried.genotypes;
        let own = rows.get(self.first[animal.0]..)?.iter().take_while(|row| row.animal == animal);
        own.into_iter().find(|row| row.gene == gene)
    }
}

/// The chance of a proposition, from the genotypes of an answer.
pub(super) fn chance(row: &GenotypeAnswer, allele: usize, copies: Copies) -> f64 {
    let least = if copies == Copies::Two { 2 } else { 1 };
    let pairs = row.genotypes.iter().zip(&row.posterior);
    let hits = pairs.filter(|(genotype, _)| genotype.copies_of(allele) >= least);
    hits.map(|(_, chance)| chance).sum::<f64>().clamp(0.0, 1.0)
}

fn carriers(known: &Known<'_>, after: &Version<'_>) -> Vec<CarrierMoved> {
    let mut found = Vec::new();
    for row in &after.carried.genotypes {
        let earlier = known.row(row.animal, row.gene);
        let names = &after.colony.gene(row.gene).alleles;
        for allele in 1..=names.len() {
            // The number of an allele may have changed with the order in which they are declared.
            let then = earlier.and_then(|earlier| {
                let colony = known.before?.colony;
                let own = &colony.gene(earlier.gene).alleles;
                let at = own.iter().position(|name| *name == names[allele - 1])? + 1;
                Some((earlier, at))
            });
            let mut any: Option<CarrierMoved> = None;
            for copies in [Copies::Any, Copies::Two] {
                let (animal, gene) = (row.animal, row.gene);
                let one = CarrierMoved {
                    proposition: Proposition { animal, gene, allele, copies },
                    before: then.map(|(earlier, at)| chance(earlier, at, copies)),
                    after: chance(row, allele, copies),
                };
                let worth = match one.before {
                    Some(before) => moved(before, one.after),
                    // A young that was not there before.
                    None => IN_DOUBT.contains(&one.after),
                };
                if worth && any.is_none_or(|any| !double(&any, &one)) {
                    found.push(one);
                    any = Some(one);
                }
            }
        }
    }
    found
}

/// Whether two chances are told as one.
pub(super) fn same(one: f64, other: f64) -> bool {
    (one - other).abs() < MOVED
}

/// Whether two copies say the same as one does.
fn double(any: &CarrierMoved, two: &CarrierMoved) -> bool {
    let before = any.before.zip(two.before).is_none_or(|(a, b)| same(a, b));
    before && same(any.after, two.after)
}

fn young(known: &Known<'_>, after: &Version<'_>) -> Vec<YoungMoved> {
    let mut found = Vec::new();
    for hatchling in &after.young.hatchlings {
        let Some(top) = hatchling.visible.first() else { continue };
        let identity = top.identity.clone();
        let chance = identity.probability;
        let earlier = known.animals[hatchling.animal.0].and_then(|id| {
            let before = known.before?;
            let earlier = before.young.hatchlings.iter().find(|one| one.animal == id)?;
            let looks = |colony: &Colony, looks: &[crate::records::Look]| {
                let name = |look: &crate::records::Look| {
                    let gene = colony.gene(look.gene);
                    (gene.name.clone(), gene.look_name(look.class).to_owned())
                };
                let mut names: Vec<_> = looks.iter().map(name).collect();
                names.sort();
                names
            };
            let wanted = looks(after.colony, &identity.looks);
            let own = |one: &&super::Visible| looks(before.colony, &one.identity.looks) == wanted;
            Some(earlier.visible.iter().find(own).map_or(0.0, |one| one.identity.probability))
        });
        let worth = match earlier {
            Some(before) => moved(before, chance),
            None => IN_DOUBT.contains(&chance) || hatchling.uncertain_call,
        };
        if worth {
            let animal = hatchling.animal;
            found.push(YoungMoved { animal, identity, before: earlier, after: chance });
        }
    }
    found
}

fn modes(known: &Known<'_>, after: &Version<'_>) -> Vec<ModeMoved> {
    let mut found = Vec::new();
    for answer in after.modes {
        let earlier = known.genes[answer.gene.0]
            .and_then(|gene| known.before?.modes.iter().find(|one| one.gene == gene));
        for one in &answer.modes {
            // A way that names another gene has the same number as long as no gene was added.
            let then = earlier.and_then(|e| e.modes.iter().find(|other| other.mode == one.mode));
            let before = then.map(|then| then.posterior);
            if before.is_none_or(|before| moved(before, one.posterior)) {
                let (gene, mode, after) = (answer.gene, one.mode, one.posterior);
                found.push(ModeMoved { gene, mode, before, after });
            }
        }
    }
    found
}

fn sires(known: &Known<'_>, after: &Version<'_>) -> Vec<SireMoved> {
    let mut found = Vec::new();
    for answer in &after.carried.sires {
        let id = &after.colony.clutch(answer.clutch).id;
        let earlier = known.before.and_then(|before| {
            let hatchling = match answer.hatchling {
                Some(id) => Some(known.animals[id.0]?),
                None => None,
            };
            let own = |one: &&super::SireAnswer| {
                before.colony.clutch(one.clutch).id == *id && one.hatchling == hatchling
            };
            before.carried.sires.iter().find(own)
        });
        for (candidate, _, now) in &answer.candidates {
            let then = match candidate {
                Candidate::Known(id) => known.animals[id.0].map(Candidate::Known),
                other => Some(*other),
            };
            let before = earlier.zip(then).and_then(|(earlier, then)| {
                earlier.candidates.iter().find(|(one, _, _)| *one == then).map(|(_, _, p)| *p)
            });
            if before.is_none_or(|before| moved(before, *now)) {
                let (clutch, hatchling) = (answer.clutch, answer.hatchling);
                let candidate = *candidate;
                found.push(SireMoved { clutch, hatchling, candidate, before, after: *now });
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::{Asked, genotypes, identify};
    use super::*;
    use crate::records::{Format, read};

    const BEFORE: &str = "[assume]\nbackground = 0\nmisread = 0\n\
        [gene.ash]\ninheritance = \"recessive\"\n\
        [[animal]]\nid = \"dam\"\nsex = \"female\"\nlooks = []\nsold_as = [\"50% het ash\"]\n\
        [[animal]]\nid = \"sire\"\nsex = \"male\"\nlooks = [\"ash\"]\n\
        [[animal]]\nid = \"other\"\nlooks = []\nsold_as = [\"50% het ash\"]\n";

    fn compared(before: &str, after: &str) -> Moves {
        let read = |text: &str| read(text.as_bytes(), Format::Toml).unwrap().colony;
        let (before, after) = (read(before), read(after));
        let asked = Asked::default();
        let [carried, later] = [&before, &after].map(|c| genotypes(c, &asked).unwrap());
        let [young, younger] = [&before, &after].map(|c| identify(c, &asked).unwrap());
        let before = Version { colony: &before, carried: &carried, young: &young, modes: &[] };
        let after = Version { colony: &after, carried: &later, young: &younger, modes: &[] };
        moves(Some(&before), &after)
    }

    #[test]
    fn three_normals_from_a_visual_mate_halve_the_odds_three_times() {
        // Founders are added in front, so that every number of an animal changes.
        let after =
            BEFORE.replacen("[[animal]]", "[[animal]]\nid = \"new\"\nlooks = []\n[[animal]]", 1)
                + "[[clutch]]\nid = \"A\"\ndam = \"dam\"\nsire = \"sire\"\n\
               [[clutch.count]]\nlooks = []\nnumber = 3\n";
        let found = compared(BEFORE, &after);
        assert_eq!(found.carriers.len(), 1, "{found:?}");
        let one = found.carriers[0];
        assert_eq!(one.proposition.animal, AnimalId(1));
        assert!((one.before.unwrap() - 0.5).abs() < 1e-12, "{one:?}");
        // Even odds halved three times: 1 : 8.
        assert!((one.after - 1.0 / 9.0).abs() < 1e-12, "{one:?}");
    }

    #[test]
    fn the_same_records_move_nothing() {
        assert!(compared(BEFORE, BEFORE).is_empty());
    }

    #[test]
    fn a_new_hatchling_has_no_chance_before() {
        let after = BEFORE.to_owned()
            + "[[clutch]]\nid = \"A\"\ndam = \"dam\"\nsire = \"other\"\n\
               [[clutch.hatchling]]\nid = \"A1\"\nlooks = []\n";
        let found = compared(BEFORE, &after);
        let new: Vec<_> = found.carriers.iter().filter(|one| one.before.is_none()).collect();
        assert_eq!(new.len(), 1, "{found:?}");
        // Each parent gives the allele once in four; of the normal young 6 of 15 carry it.
        assert!((new[0].after - 0.4).abs() < 1e-12, "{new:?}");
    }
}
