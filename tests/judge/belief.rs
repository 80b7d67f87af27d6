//! Section 4 of the model: a belief that has the pairing in it already.

use proveout::records::{Alternative, AnimalId, Call, Colony, Origin};

use super::exact::{Exact, exact, normalised, zero};
use super::verdict::{evidence_with, unseen};

/// For each animal the weights that stand for `fit` in its `either`: for believed hatchlings
/// f_k = b_k / π_k with π_k = P(calls of alternative k | all records except those of believed
/// hatchlings); `None` for the others.
pub fn fits_of_beliefs(colony: &Colony) -> Vec<Option<Vec<Exact>>> {
    let mut fits = vec![None; colony.animals.len()];
    let believed: Vec<AnimalId> =
        colony.animal_ids().filter(|&id| colony.animal(id).believed).collect();
    if believed.is_empty() {
        return fits;
    }
    let mut others = colony.clone();
    for &animal in &believed {
        unseen(&mut others, animal);
        others.animals[animal.0].believed = false;
    }
    let none = vec![None; colony.animals.len()];
    let without = evidence_with(&others, &none);
    for &id in &believed {
        let (list, grown) = uncertain_call(colony, id);
        let written: Vec<Exact> = list.iter().map(|choice| exact(choice.fit)).collect();
        let divided = normalised(&written).into_iter().zip(&list).map(|(belief, choice)| {
            if belief == zero() {
                return zero();
            }
            let mut with = others.clone();
            let animal = &mut with.animals[id.0];
            animal.seen.call = Call::Looks(choice.looks.clone());
            if grown {
                let seen = colony.animal(id).grown.clone().expect("it was seen grown");
                animal.grown = Some(seen);
                animal.grown.as_mut().expect("just set").call = animal.seen.call.clone();
                animal.seen.call = Call::NotRecorded;
            }
            let chance = evidence_with(&with, &none) / &without;
            assert!(chance != zero(), "judge: a belief in what this pairing cannot give");
            belief / chance
        });
        fits[id.0] = Some(divided.collect());
    }
    fits
}

/// The alternatives of a believed hatchling, and whether they were called when it was grown.
fn uncertain_call(colony: &Colony, id: AnimalId) -> (Vec<Alternative>, bool) {
    let animal = colony.animal(id);
    assert!(animal.origin != Origin::Founder, "judge: not covered: a believed founder");
    match (&animal.seen.call, animal.grown.as_ref().map(|grown| &grown.call)) {
        (Call::Either(list), None) => (list.clone(), false),
        (Call::NotRecorded, Some(Call::Either(list))) => (list.clone(), true),
        _ => panic!("judge: not covered: a believed hatchling with other calls"),
    }
}
