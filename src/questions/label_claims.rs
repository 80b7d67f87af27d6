//! What may be claimed on a label: proven, by descent, possible, test-bred or nothing.

use super::labels::{Draft, SUSPECTED};
use super::{Asked, Claim, Copies, Customary, Label, Step, StepRole, Subject};
use crate::records::{AnimalId, Colony, Origin, Status};

/// By so much a suspected chance must exceed that of unrelated stock that looks the same.
const MORE_THAN_STOCK: f64 = 1.5;
/// A clutch that multiplied the odds by less tried the animal; others say nothing.
const INFORMATIVE: f64 = 0.98;

/// Young that are there first, then other animals that are there, then those that are not.
pub(super) fn usefulness(colony: &Colony, id: AnimalId) -> u8 {
    let animal = colony.animal(id);
    match (animal.status, animal.origin) {
        (Status::Dead, _) => 3,
        (Status::Sold, _) | (Status::Elsewhere, Origin::Founder) => 2,
        (_, Origin::Founder) => 1,
        (_, Origin::Clutch(_)) => 0,
    }
}

/// Decides what may be claimed, and whether it is worth a line.
pub(super) fn decide(colony: &Colony, asked: &Asked, draft: Draft, level: f64) -> Label {
    let Draft { mut label, before, reading, stock, hidden } = draft;
    let gone = colony.animal(label.animal).status == Status::Dead && asked.animals.is_empty();
    let chance = label.probability.unwrap_or_default();
    if let Subject::Copies { copies, .. } = label.subject {
        let customary = match label.customary {
            Customary::Het { chance, .. } => chance,
            _ => 0.0,
        };
        // What the trade calls 100 %.
        let certain = customary > 1.0 - 1e-9;
        let founder = colony.animal(label.animal).origin == Origin::Founder;
        let by_young = young_alone(&label.steps);
        let enough = |factor: f64| factor.is_infinite() || factor / (1.0 + factor) >= level;
        label.claim = match chance {
            c if c >= level && enough(by_young * reading) => {
                Claim::Proven { young: enough(by_young), reading: enough(reading) }
            }
            c if c >= level && founder && certain && before >= level => Claim::AsTold,
            c if c >= level && !founder && certain => Claim::ByDescent,
            c if c > 1.0 - level => Claim::Possible,
            _ => match without_a_sign(&label) {
                0 => Claim::Nothing,
                _ if !hidden || copies == Copies::Two => Claim::Nothing,
                young => Claim::TestBred { young },
            },
        };
        let suspected = chance >= SUSPECTED && chance > MORE_THAN_STOCK * stock;
        label.told = customary > 0.0 || suspected;
        if !label.told && label.claim == Claim::Possible {
            label.claim = Claim::Nothing;
        }
    }
    if label.claim == Claim::MayShow {
        label.told = chance > 1.0 - level;
    }
    label.told &= !gone;
    label
}

/// By what the animal's own young multiplied the odds, all clutches together.
fn young_alone(steps: &[Step]) -> f64 {
    let own = steps.iter().filter(|step| matches!(step.role, StepRole::Parent(_)));
    own.map(|step| step.multiplier).product()
}

/// How many young of clutches that spoke against the animal did not show the gene; none where
/// some showed it.
fn without_a_sign(label: &Label) -> u32 {
    let own = label.steps.iter().filter(|step| matches!(step.role, StepRole::Parent(_)));
    let mut young = 0;
    for step in own {
        for kind in &step.young {
            match kind.class {
                Some(0) if step.multiplier < INFORMATIVE => young += kind.number,
                Some(0) | None => {}
                Some(_) => return 0,
            }
        }
    }
    young
}
