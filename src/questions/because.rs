//! What an answer rests on besides what was seen.

use super::propositions::odds;
use super::{Model, Proposition};
use crate::network::{Grouping, assemble_within};
use crate::records::{AnimalId, Candidate, ClutchId, Colony, Origin, Parent};

/// An answer moves with an assumption when its odds change by more than this factor.
const MATTERS: f64 = 1.5;

/// A mate counts as proven when one of its genotypes has at least this chance.
pub(super) const PROVEN: f64 = 0.99;

/// Something that an answer rests on.
#[derive(Clone, Debug, PartialEq)]
pub enum Because {
    /// A seller's statement about this animal is taken to be right.
    Statement {
        /// Whose statement.
        animal: AnimalId,
        /// As written.
        text: String,
        /// Chance that it is right.
        trust: f64,
    },
    /// The mate of a clutch is not proven to carry what the test needs.
    UnprovenMate {
        /// The clutch.
        clutch: ClutchId,
        /// The mate; `None` when it is not recorded.
        mate: Option<AnimalId>,
        /// Chance that the mate has a copy of the allele in question.
        carries: f64,
    },
    /// The answer moves with an assumption.
    Assumption {
        /// Its key in `[assume]`.
        key: &'static str,
        /// Its value.
        value: f64,
        /// Another value it may have.
        instead: f64,
        /// The chance under that other value.
        chance: f64,
    },
}

/// The chance below which more normal young of one clutch's pairing cannot bring a proposition.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Floor {
    /// The clutch whose pairing is meant.
    pub clutch: ClutchId,
    /// The other parent.
    pub mate: Option<AnimalId>,
    /// The chance that is left in the end.
    pub chance: f64,
}

/// The clutches an animal is a parent of, with the other parent.
pub(super) fn clutches_of(
    colony: &Colony,
    animal: AnimalId,
) -> impl Iterator<Item = (ClutchId, Option<AnimalId>)> + '_ {
    colony.clutch_ids().filter_map(move |id| {
        let clutch = colony.clutch(id);
        let sire = match clutch.siring.candidates.as_slice() {
            [(Candidate::Known(sire), _)] => Some(*sire),
            _ => None,
        };
        let dam = match clutch.dam {
            Parent::Known(dam) => Some(dam),
            Parent::Unknown => None,
        };
        match () {
            () if dam == Some(animal) => Some((id, sire)),
            () if sire == Some(animal) => Some((id, dam)),
            () => None,
        }
    })
}

/// The statements and unproven mates that a proposition rests on.
pub(super) fn because(model: &Model<'_>, proposition: Proposition) -> Vec<Because> {
    let mut reasons = statements(model.colony, proposition);
    for (clutch, mate) in clutches_of(model.colony, proposition.animal) {
        if !judged(model, clutch, proposition) {
            continue;
        }
        let carries = mate.map(|mate| {
            let posterior = model.posterior(mate, proposition.gene);
            let of_mate = Proposition { animal: mate, ..proposition };
            let of_mate = Proposition { copies: super::Copies::Any, ..of_mate };
            let top = posterior.iter().copied().fold(0.0, f64::max);
            (top, of_mate.chance(model.net.locus(proposition.gene), &posterior))
        });
        match carries {
            Some((top, _)) if top >= PROVEN => {}
            Some((_, carries)) => {
                reasons.push(Because::UnprovenMate { clutch, mate, carries });
            }
            None => reasons.push(Because::UnprovenMate { clutch, mate: None, carries: 0.0 }),
        }
    }
    reasons
}

/// Whether anything was recorded about the gene among the young of a clutch.
fn judged(model: &Model<'_>, clutch: ClutchId, proposition: Proposition) -> bool {
    model.net.items.iter().any(|item| {
        item.clutch == Some(clutch) && item.gene.is_none_or(|gene| gene == proposition.gene)
    })
}

/// Statements about the animal itself, or about its founders when it hatched here.
pub(super) fn statements(colony: &Colony, proposition: Proposition) -> Vec<Because> {
    let mut founders = Vec::new();
    let mut waiting = vec![proposition.animal];
    let mut seen = std::collections::BTreeSet::new();
    while let Some(animal) = waiting.pop() {
        if !seen.insert(animal) {
            continue;
        }
        match colony.animal(animal).origin {
            Origin::Founder => founders.push(animal),
            Origin::Clutch(clutch) => {
                let clutch = colony.clutch(clutch);
                if let Parent::Known(dam) = clutch.dam {
                    waiting.push(dam);
                }
                for (candidate, _) in &clutch.siring.candidates {
                    if let Candidate::Known(sire) = candidate {
                        waiting.push(*sire);
                    }
                }
            }
        }
    }
    founders.sort_unstable();
    let of = |id: AnimalId| {
        let animal = colony.animal(id);
        let about = animal.statements.iter().filter(|s| s.gene == proposition.gene);
        about.map(move |statement| Because::Statement {
            animal: id,
            text: statement.text.clone(),
            trust: animal.trust.unwrap_or(colony.assumptions.trust),
        })
    };
    founders.into_iter().flat_map(of).collect()
}

/// The assumptions that move each proposition: background and misread, each at another value.
pub(super) fn assumptions(
    model: &Model<'_>,
    propositions: &[Proposition],
    chances: &[f64],
) -> Vec<Vec<Because>> {
    let mut reasons = vec![Vec::new(); propositions.len()];
    let now = model.colony.assumptions;
    let others = [
        ("background", if now.background > 0.0 { 0.0 } else { 0.005 }),
        ("misread", if now.misread > 0.0 { 0.0 } else { 0.01 }),
    ];
    for (key, instead) in others {
        let Some(value) = now.get(key) else { continue };
        let Some(moved) = under(model, key, instead, propositions) else { continue };
        for ((reasons, before), after) in reasons.iter_mut().zip(chances).zip(moved) {
            let factor = odds(after) / odds(*before);
            let matters = !(1.0 / MATTERS..=MATTERS).contains(&factor);
            if factor.is_finite() && factor > 0.0 && matters {
                reasons.push(Because::Assumption { key, value, instead, chance: after });
            }
        }
    }
    reasons
}

fn under(
    model: &Model<'_>,
    key: &str,
    value: f64,
    propositions: &[Proposition],
) -> Option<Vec<f64>> {
    let mut other = model.colony.clone();
    other.assumptions.set(key, value);
    // METHOD: at the edge of an assumption the records may be impossible; then it says nothing.
    let net = assemble_within(&other, Grouping::Siblings, model.memory);
    let evidence = net.all_evidence();
    let tree = crate::inference::JunctionTree::plan(&net.graph, &evidence, model.memory).ok()?;
    let mut work = tree.workspace();
    work.run(&tree, &evidence).ok()?;
    let chance = |proposition: &Proposition| {
        let marginal = work.marginal(&tree, net.variable(proposition.animal, proposition.gene));
        let weights = net.by_genotype(proposition.animal, proposition.gene, &marginal);
        proposition.chance(net.locus(proposition.gene), &weights)
    };
    Some(propositions.iter().map(chance).collect())
}

/// The floor of a proposition, where the pairing of some clutch has one.
///
/// What is left when ever more young of the pairing show nothing; the highest, if several
/// clutches have one.
pub(super) fn floor(model: &mut Model<'_>, proposition: Proposition) -> Option<Floor> {
    let clutches: Vec<_> = clutches_of(model.colony, proposition.animal).collect();
    let mut floors = Vec::new();
    for (clutch, mate) in clutches {
        let mut evidence = model.evidence.clone();
        if model.net.endless_normals(clutch, proposition.gene, &mut evidence).is_none() {
            continue;
        }
        let variable = model.net.variable(proposition.animal, proposition.gene);
        let Some(component) = model.tree.component_of(variable) else { continue };
        if model.work.weigh_component(&model.tree, component, &evidence).is_ok() {
            model.work.reach(&model.tree, variable);
            let posterior = model.posterior(proposition.animal, proposition.gene);
            let chance = proposition.chance(model.net.locus(proposition.gene), &posterior);
            floors.push(Floor { clutch, mate, chance });
        }
        // The last run must be that of the records again.
        let restored = model.work.run_component(&model.tree, component, &model.evidence);
        debug_assert!(restored.is_ok());
    }
    floors.into_iter().max_by(|a, b| a.chance.total_cmp(&b.chance))
}
