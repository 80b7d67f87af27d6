//! Who is bred to whom in a random colony.

use super::super::Params;
use super::super::draw::Drawing;
use crate::records::{AnimalId, Candidate, Colony, Origin, Parent, Sex, Siring, SiringMode};

/// A dam, and who may have sired her clutch; parents are among the first `grown_up` animals.
pub(super) fn pair(drawing: &mut Drawing, params: &Params, grown_up: usize) -> (Parent, Siring) {
    let features = params.features;
    let of = |drawing: &Drawing, sex: Sex| -> Vec<AnimalId> {
        let bred = |id: &AnimalId| {
            let animal = drawing.colony.animal(*id);
            animal.id.is_some() && animal.sex == Some(sex) && drawing.genomes[id.0].is_some()
        };
        (0..grown_up).map(AnimalId).filter(bred).collect()
    };
    let (females, males) = (of(drawing, Sex::Female), of(drawing, Sex::Male));
    let nobody = features.unknown_parents;
    let dam = match drawing.dice.pick(&females) {
        Some(&dam) if !(nobody && drawing.dice.coin(0.1)) => Parent::Known(dam),
        _ => Parent::Unknown,
    };
    let sire = match dam {
        Parent::Known(dam) => mate(drawing, params, dam, &males),
        Parent::Unknown => drawing.dice.pick(&males).copied(),
    };
    let dice = &mut drawing.dice;
    let mut first = sire.map_or(Candidate::Unknown, Candidate::Known);
    if nobody && dice.coin(0.15) {
        first = Candidate::Unknown;
    }
    if features.no_father && dice.coin(0.1) {
        first = Candidate::NoFather;
    }
    let mut candidates = vec![(first, 1.0)];
    let mut mode = SiringMode::One;
    if features.several_sires && dice.coin(0.4) {
        let mut further: Vec<_> = males.iter().map(|&male| Candidate::Known(male)).collect();
        further.push(Candidate::Unknown);
        if features.no_father {
            further.push(Candidate::NoFather);
        }
        further.retain(|candidate| *candidate != first);
        if let Some(&second) = dice.pick(&further) {
            candidates = vec![(first, 0.75), (second, 0.25)];
            further.retain(|candidate| *candidate != second);
        }
        if let (Some(&third), true) = (dice.pick(&further), dice.coin(0.5)) {
            candidates[0].1 = 0.5;
            candidates.push((third, 0.25));
        }
        if dice.coin(0.5) {
            mode = SiringMode::Mixed;
        }
    }
    (dam, Siring { candidates, mode })
}

/// A mate for `dam`: related with the chance asked for, where somebody is; else not, if possible.
fn mate(
    drawing: &mut Drawing,
    params: &Params,
    dam: AnimalId,
    males: &[AnimalId],
) -> Option<AnimalId> {
    let (near, far): (Vec<_>, Vec<_>) =
        males.iter().copied().partition(|&male| related(&drawing.colony, dam, male));
    let inbred = drawing.dice.coin(params.inbreeding);
    let (first, second) = if inbred { (near, far) } else { (far, near) };
    drawing.dice.pick(&first).or(drawing.dice.pick(&second)).copied()
}

/// Parent and young, or two with a parent in common.
fn related(colony: &Colony, one: AnimalId, other: AnimalId) -> bool {
    let (mine, yours) = (parents(colony, one), parents(colony, other));
    mine.contains(&other) || yours.contains(&one) || mine.iter().any(|id| yours.contains(id))
}

fn parents(colony: &Colony, id: AnimalId) -> Vec<AnimalId> {
    let Origin::Clutch(clutch) = colony.animal(id).origin else { return Vec::new() };
    let clutch = colony.clutch(clutch);
    let dam = match clutch.dam {
        Parent::Known(dam) => Some(dam),
        Parent::Unknown => None,
    };
    let sires = clutch.siring.candidates.iter().filter_map(|(candidate, _)| match candidate {
        Candidate::Known(sire) => Some(*sire),
        _ => None,
    });
    dam.into_iter().chain(sires).collect()
}
