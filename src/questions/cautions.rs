//! What may harm an animal, wherever it can still matter.

use std::cell::OnceCell;

use rustc_hash::FxHashMap;

use super::{Asked, Model};
use crate::genetics::{Kinship, recorded_candidates};
use crate::numbers::at_least;
use crate::records::{
    AnimalId, Candidate, Clutch, ClutchId, Colony, GeneId, Inheritance, Origin, Status,
};

/// Harmful young are worth a word from this chance on.
const EXPECTED: f64 = 0.01;
/// Inbreeding is worth a word from this coefficient on: that of young of half sibs.
const CLOSE: f64 = 0.125;
/// Losses are unusual when their chance times the number of clutches is below this.
const UNUSUAL: f64 = 0.05;
/// An animal counts as having two copies from this chance on.
const TWO_COPIES: f64 = 0.9;

/// What kind of harm.
#[derive(Clone, Debug, PartialEq)]
pub enum CautionKind {
    /// Some genotypes never hatch; the figure is the share of fertile eggs of the pairing.
    Lethal,
    /// The keeper wrote a caution about the gene; the figure is the share of the young of the
    /// pairing that have one of its looks.
    Harmful {
        /// The chance of each look class, from 1.
        looks: Vec<f64>,
    },
    /// The parents are close kin; the figure is the inbreeding coefficient of their young.
    Inbreeding {
        /// Whether a sire in doubt was weighed by his chances.
        weighed: bool,
    },
    /// More eggs died than chance explains; the figure is the chance of so many or more.
    EggLosses {
        /// Fertile eggs that died.
        lost: u32,
        /// Fertile eggs.
        fertile: u32,
    },
    /// No grown animal with two copies is on record, or it is not known how the gene is inherited.
    NoHistory,
}

/// Something that may harm an animal.
#[derive(Clone, Debug, PartialEq)]
pub struct Caution {
    /// What kind of harm.
    pub kind: CautionKind,
    /// The hatchling it is about, if it is about one.
    pub animal: Option<AnimalId>,
    /// The clutch, or the pairing as it was made for this clutch.
    pub clutch: Option<ClutchId>,
    /// The gene.
    pub gene: Option<GeneId>,
    /// A chance or a coefficient, as the kind says.
    pub figure: Option<f64>,
}

/// Every caution that concerns what is asked; those the keeper wrote, whatever is asked.
pub(super) fn cautions(model: &Model<'_>, asked: &Asked) -> Vec<Caution> {
    let colony = model.colony;
    let pairings = pairings(colony, asked);
    let expected = Expected::new(model);
    let mut found = Vec::new();
    for gene in colony.gene_ids() {
        found.extend(of_gene(&expected, gene, &pairings));
    }
    let genes = colony.gene_ids().filter(|gene| asked.wants_gene(*gene));
    found.extend(genes.filter(|gene| no_history(&expected, asked, *gene, &pairings)).map(|gene| {
        let (animal, clutch, figure) = (None, None, None);
        Caution { kind: CautionKind::NoHistory, animal, clutch, gene: Some(gene), figure }
    }));
    found.extend(inbreeding(model, asked));
    found.extend(egg_losses(&expected, asked));
    found
}

/// One clutch for each pairing that can be made again, and is asked about.
fn pairings(colony: &Colony, asked: &Asked) -> Vec<ClutchId> {
    let mut seen = Vec::new();
    let mut kept = Vec::new();
    for id in colony.clutch_ids() {
        let clutch = colony.clutch(id);
        let sires: Vec<AnimalId> = clutch.named_sires().collect();
        let pair = (clutch.dam, sires);
        if can_be_repeated(colony, clutch) && concerns(colony, asked, id) && !seen.contains(&pair) {
            seen.push(pair);
            kept.push(id);
        }
    }
    kept
}

/// Whether both parents may breed again.
fn can_be_repeated(colony: &Colony, clutch: &Clutch) -> bool {
    let breeds = |animal: AnimalId| {
        !matches!(colony.animal(animal).status, Status::Retired | Status::Sold | Status::Dead)
    };
    clutch.named_dam().is_some_and(breeds) && clutch.named_sires().any(breeds)
}

/// Whether a clutch, one of its parents or one of its young is asked about.
fn concerns(colony: &Colony, asked: &Asked, id: ClutchId) -> bool {
    let clutch = colony.clutch(id);
    let named = |animal: &AnimalId| {
        clutch.named_parents().any(|parent| parent == *animal) || clutch.hatchlings.contains(animal)
    };
    (asked.clutches.is_empty() || asked.clutches.contains(&id))
        && (asked.animals.is_empty() || asked.animals.iter().any(named))
}

/// What the keeper or the declaration says of every gene, whatever the pairings.
pub(super) fn of_all_genes(colony: &Colony) -> Vec<Caution> {
    colony.gene_ids().filter_map(|gene| of_whole_gene(colony, gene)).collect()
}

fn of_whole_gene(colony: &Colony, gene: GeneId) -> Option<Caution> {
    let declared = colony.gene(gene);
    let kind = if declared.caution.is_some() {
        CautionKind::Harmful { looks: Vec::new() }
    } else if !declared.lethal.is_empty() {
        CautionKind::Lethal
    } else {
        return None;
    };
    Some(Caution { kind, animal: None, clutch: None, gene: Some(gene), figure: None })
}

/// What the keeper or the declaration says of a gene, and the pairings that can give it.
fn of_gene(expected: &Expected<'_>, gene: GeneId, pairings: &[ClutchId]) -> Vec<Caution> {
    let declared = expected.model.colony.gene(gene);
    let caution =
        |kind, clutch, figure| Caution { kind, animal: None, clutch, gene: Some(gene), figure };
    let mut found: Vec<Caution> = of_whole_gene(expected.model.colony, gene).into_iter().collect();
    if found.is_empty() || declared.inheritance == Inheritance::Unknown {
        return found;
    }
    for clutch in pairings {
        if !declared.lethal.is_empty() {
            let dies = expected.lethal(*clutch, gene).filter(|dies| *dies >= EXPECTED);
            found.extend(dies.map(|dies| caution(CautionKind::Lethal, Some(*clutch), Some(dies))));
        } else if let Some(genotypes) = expected.young(*clutch, gene) {
            let locus = expected.model.net.locus(gene);
            let mut looks = vec![0.0; declared.looks.len()];
            for (chance, class) in genotypes.iter().zip(&locus.class).filter(|(_, c)| **c > 0) {
                // A suspected gene may have a look that has no name.
                if let Some(look) = looks.get_mut(class - 1) {
                    *look += chance;
                }
            }
            let figure: f64 = looks.iter().sum();
            if figure >= EXPECTED {
                found.push(caution(CautionKind::Harmful { looks }, Some(*clutch), Some(figure)));
            }
        }
    }
    found
}

/// What is to be expected of the young of a clutch's parents.
struct Expected<'m> {
    model: &'m Model<'m>,
    /// For each gene, made when first needed: the genotypes of the young of each pair of parents,
    genotypes: Vec<OnceCell<Vec<Vec<f64>>>>,
    /// and the chance that an egg of theirs can hatch.
    hatching: Vec<OnceCell<Vec<f64>>>,
}

impl<'m> Expected<'m> {
    fn new(model: &'m Model<'m>) -> Self {
        let genes = model.colony.genes.len();
        let (genotypes, hatching) = (vec![OnceCell::new(); genes], vec![OnceCell::new(); genes]);
        Expected { model, genotypes, hatching }
    }

    /// The chance of each pair of states of the parents of a clutch, sire slowest; `None` where a
    /// sire is not one variable.
    fn parents(&self, clutch: ClutchId, gene: GeneId) -> Option<Vec<f64>> {
        let pair = self.model.net.pairing(clutch, gene)?;
        let mut joint = self.model.work.joint(&self.model.tree, pair)?;
        let total: f64 = joint.iter().sum();
        joint.iter_mut().for_each(|chance| *chance /= total);
        (total > 0.0).then_some(joint)
    }

    /// The chance of each genotype of a hatched young.
    fn young(&self, clutch: ClutchId, gene: GeneId) -> Option<Vec<f64>> {
        let joint = self.parents(clutch, gene)?;
        let rows = self.genotypes[gene.0].get_or_init(|| self.model.net.chances_of_genotypes(gene));
        let mut sums = vec![0.0; self.model.net.locus(gene).genotypes.len()];
        for (chance, row) in joint.iter().zip(rows) {
            sums.iter_mut().zip(row).for_each(|(sum, genotype)| *sum += chance * genotype);
        }
        Some(sums)
    }

    /// Chances of the share of fertile eggs that can hatch at the unit of a gene.
    fn hatching(&self, clutch: ClutchId, gene: GeneId) -> Option<Vec<(f64, f64)>> {
        let joint = self.parents(clutch, gene)?;
        let shares = self.hatching[gene.0].get_or_init(|| self.model.net.chances_of_hatching(gene));
        let mut by_share: Vec<(f64, f64)> = Vec::new();
        for (chance, hatches) in joint.into_iter().zip(shares) {
            match by_share.iter_mut().find(|(_, share)| share == hatches) {
                Some((sum, _)) => *sum += chance,
                None => by_share.push((chance, *hatches)),
            }
        }
        Some(by_share)
    }

    /// The chance that a fertile egg never hatches for its genotype.
    fn lethal(&self, clutch: ClutchId, gene: GeneId) -> Option<f64> {
        let shares = self.hatching(clutch, gene)?;
        Some(shares.iter().map(|(chance, hatches)| chance * (1.0 - hatches)).sum())
    }
}

/// Whether young with two copies may come, or are there, and the records hold no grown one.
fn no_history(expected: &Expected<'_>, asked: &Asked, gene: GeneId, pairings: &[ClutchId]) -> bool {
    let model = expected.model;
    let declared = model.colony.gene(gene);
    if declared.inheritance == Inheritance::Unknown {
        return true;
    }
    let locus = model.net.locus(gene);
    let two = |weights: &[f64]| -> f64 {
        let pairs = locus.genotypes.iter().zip(weights);
        pairs.filter(|(genotype, _)| genotype.mutant_copies() == 2).map(|(_, w)| w).sum()
    };
    let has_two = |animal: &AnimalId| two(&model.posterior(*animal, gene)) >= TWO_COPIES;
    let named = |animal: &AnimalId| model.colony.animal(*animal).id.is_some();
    let animals: Vec<AnimalId> = model.colony.animal_ids().filter(named).filter(has_two).collect();
    if animals.iter().any(|animal| is_grown(model.colony, *animal)) {
        return false;
    }
    let asked_about = |animal: &&AnimalId| {
        asked.wants(model.colony, **animal) && model.colony.animal(**animal).status != Status::Dead
    };
    let may_come = |clutch: &ClutchId| {
        expected.young(*clutch, gene).is_some_and(|genotypes| two(&genotypes) >= EXPECTED)
    };
    animals.iter().any(|animal| asked_about(&animal)) || pairings.iter().any(may_come)
}

/// Whether an animal was seen grown, or bred.
fn is_grown(colony: &Colony, id: AnimalId) -> bool {
    let animal = colony.animal(id);
    let founder = animal.origin == Origin::Founder && animal.seen_grown;
    let bred = |clutch: &Clutch| clutch.named_parents().any(|parent| parent == id);
    founder || animal.grown.is_some() || colony.clutches.iter().any(bred)
}

/// Pairings and hatchlings that are closely inbred.
fn inbreeding(model: &Model<'_>, asked: &Asked) -> Vec<Caution> {
    let colony = model.colony;
    if colony.clutches.is_empty() {
        return Vec::new();
    }
    let mut known = FxHashMap::default();
    for one in &model.net.sires {
        let chances = model.work.marginal(&model.tree, one.selector);
        let candidates = one.candidates.iter().zip(chances);
        let weighed: Vec<(Candidate, f64)> =
            candidates.map(|((candidate, _), chance)| (*candidate, chance)).collect();
        known.insert((one.clutch, one.hatchling), weighed);
    }
    let sires = |clutch: ClutchId, hatchling: Option<AnimalId>| {
        let found = known.get(&(clutch, hatchling)).cloned();
        found.unwrap_or_else(|| recorded_candidates(colony, clutch))
    };
    let Some(kinship) = Kinship::new(colony, &sires) else { return Vec::new() };
    let mut found = Vec::new();
    for id in colony.clutch_ids().filter(|id| concerns(colony, asked, *id)) {
        let weighed = in_doubt(colony, id);
        let kind = CautionKind::Inbreeding { weighed };
        let figure = kinship.inbreeding_in(id);
        if figure >= CLOSE && can_be_repeated(colony, colony.clutch(id)) {
            let (animal, clutch, figure) = (None, Some(id), Some(figure));
            found.push(Caution { kind: kind.clone(), animal, clutch, gene: None, figure });
        }
        for young in &colony.clutch(id).hatchlings {
            let animal = colony.animal(*young);
            let figure = kinship.inbreeding(*young);
            if figure >= CLOSE && animal.id.is_some() && animal.status != Status::Dead {
                let (animal, clutch, figure) = (Some(*young), Some(id), Some(figure));
                found.push(Caution { kind: kind.clone(), animal, clutch, gene: None, figure });
            }
        }
    }
    found
}

/// Whether a sire is in doubt, of a clutch or of those it descends from.
fn in_doubt(colony: &Colony, id: ClutchId) -> bool {
    let mut waiting = vec![id];
    let mut seen = vec![false; colony.clutches.len()];
    while let Some(id) = waiting.pop() {
        if std::mem::replace(&mut seen[id.0], true) {
            continue;
        }
        if recorded_candidates(colony, id).len() > 1 {
            return true;
        }
        let clutch = colony.clutch(id);
        for parent in clutch.named_parents() {
            if let Origin::Clutch(of) = colony.animal(parent).origin {
                waiting.push(of);
            }
        }
    }
    false
}

/// Clutches that lost more eggs than chance and the lethal genes declared explain.
///
/// # Source
///
/// The binomial tail of the losses, times the number of clutches with known losses (Bonferroni).
fn egg_losses(expected: &Expected<'_>, asked: &Asked) -> Vec<Caution> {
    let colony = expected.model.colony;
    let known = |id: &ClutchId| colony.clutch(*id).lost_eggs().is_some();
    let clutches: Vec<ClutchId> = colony.clutch_ids().filter(known).collect();
    let mut found = Vec::new();
    for id in clutches.iter().copied().filter(|id| concerns(colony, asked, *id)) {
        let clutch = colony.clutch(id);
        let Some(lost) = clutch.lost_eggs().filter(|lost| *lost > 0) else { continue };
        let fertile = clutch.recorded().saturating_add(lost);
        let Some(chance) = so_many_lost(expected, id, lost, fertile) else { continue };
        if chance * (clutches.len() as f64) < UNUSUAL {
            let kind = CautionKind::EggLosses { lost, fertile };
            let (animal, clutch, gene, figure) = (None, Some(id), None, Some(chance));
            found.push(Caution { kind, animal, clutch, gene, figure });
        }
    }
    found
}

/// The chance of so many losses or more, given what the parents are; `None` where a lethal gene may
/// be at work and the parents are not one pair.
fn so_many_lost(expected: &Expected<'_>, id: ClutchId, lost: u32, fertile: u32) -> Option<f64> {
    let model = expected.model;
    let alive = 1.0 - model.colony.assumptions.egg_loss;
    // Chances of the share of eggs that can hatch, unit by unit.
    let mut shares = vec![(1.0, 1.0)];
    let mut done = Vec::new();
    for gene in model.colony.gene_ids().filter(|gene| !model.colony.gene(*gene).lethal.is_empty()) {
        let unit = model.net.unit(gene);
        if done.contains(&unit) {
            continue;
        }
        done.push(unit);
        let of_unit = expected.hatching(id, gene)?;
        let with = |(chance, share): &(f64, f64)| {
            let (chance, share) = (*chance, *share);
            of_unit.iter().map(move |(c, s)| (chance * c, share * s)).collect::<Vec<_>>()
        };
        shares = shares.iter().flat_map(with).filter(|(chance, _)| *chance > 1e-9).collect();
    }
    Some(shares.iter().map(|(c, share)| c * at_least(lost, fertile, 1.0 - alive * share)).sum())
}

/// The mean of the cautions of several colonies that differ in what is unknown, by their weights.
pub(super) fn average<'c>(shares: impl Iterator<Item = (f64, &'c [Caution])>) -> Vec<Caution> {
    let mut mean: Vec<Caution> = Vec::new();
    for (weight, cautions) in shares {
        for one in cautions {
            let mut scaled = one.clone();
            scaled.figure = one.figure.map(|figure| weight * figure);
            if let CautionKind::Harmful { looks } = &mut scaled.kind {
                looks.iter_mut().for_each(|chance| *chance *= weight);
            }
            match mean.iter_mut().find(|other| same(other, one)) {
                Some(other) => add(other, &scaled),
                None => mean.push(scaled),
            }
        }
    }
    mean
}

fn same(one: &Caution, other: &Caution) -> bool {
    std::mem::discriminant(&one.kind) == std::mem::discriminant(&other.kind)
        && (one.animal, one.clutch, one.gene) == (other.animal, other.clutch, other.gene)
}

fn add(sum: &mut Caution, more: &Caution) {
    if let (Some(sum), Some(more)) = (&mut sum.figure, more.figure) {
        *sum += more;
    }
    if let (CautionKind::Harmful { looks }, CautionKind::Harmful { looks: more }) =
        (&mut sum.kind, &more.kind)
    {
        looks.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
    }
}
