//! Clutches with their hatchlings and counts.

use super::animals::{hatchling, parents};
use super::text::{Section, date, inline, number, quoted};
use super::{names, observation};
use crate::records::{
    AnimalId, Candidate, Clutch, Colony, Count, Look, Parent, Siring, SiringMode,
};

/// `[[clutch]]` with everything that hatched in it, for each clutch.
pub(super) fn clutches(colony: &Colony) -> Vec<Section> {
    let is_parent = parents(colony);
    let mut sections = Vec::new();
    for clutch in &colony.clutches {
        sections.push(one(colony, clutch));
        sections.extend(
            clutch
                .hatchlings
                .iter()
                .map(|&id| hatchling(colony, id, is_parent.get(id.0).copied().unwrap_or(false))),
        );
        sections.extend(clutch.counts.iter().map(|count| counted(colony, count)));
    }
    sections
}

/// `[[clutch]]` alone.
pub(in crate::records) fn one(colony: &Colony, clutch: &Clutch) -> Section {
    let mut section = Section::new("[[clutch]]");
    section.put("id", Some(quoted(&clutch.id)));
    let dam = match clutch.dam {
        Parent::Known(dam) => called(colony, dam),
        Parent::Unknown => "unknown",
    };
    section.put("dam", Some(quoted(dam)));
    siring(&mut section, colony, &clutch.siring);
    section.put("laid", clutch.laid.map(date));
    section.put("hatched", clutch.hatched.map(date));
    section.put("eggs", clutch.eggs.map(|count| count.to_string()));
    section.put("slugs", clutch.slugs.map(|count| count.to_string()));
    section.put("died", clutch.died.map(|count| count.to_string()));
    section.put("complete", (!clutch.complete).then(|| "false".to_string()));
    let select = |looks: &[Look]| (!looks.is_empty()).then(|| names(colony, looks));
    section.put("recorded_only", select(&clutch.recorded_only));
    section.put("kept_if", select(&clutch.kept_if));
    section.put("note", clutch.note.as_deref().map(quoted));
    section
}

/// A parent has an id: nothing could name it otherwise.
fn called(colony: &Colony, animal: AnimalId) -> &str {
    colony.animal(animal).id.as_deref().unwrap_or("unknown")
}

fn siring(section: &mut Section, colony: &Colony, siring: &Siring) {
    let word = |candidate: &Candidate| match candidate {
        Candidate::Known(sire) => called(colony, *sire),
        Candidate::Unknown => "unknown",
        Candidate::NoFather => "none",
    };
    match &siring.candidates[..] {
        [] | [(Candidate::Unknown, _)] => {}
        [(only, _)] => section.put("sire", Some(quoted(word(only)))),
        several => {
            let weights = several.iter().map(|(one, weight)| (word(one), number(*weight)));
            section.put("sires", Some(inline(weights)));
        }
    }
    section.put("siring", (siring.mode == SiringMode::Mixed).then(|| quoted("mixed")));
}

/// `[[clutch.count]]`.
pub(in crate::records) fn counted(colony: &Colony, count: &Count) -> Section {
    let mut section = Section::new("[[clutch.count]]");
    for (key, value) in observation(colony, &count.seen) {
        section.put(key, Some(value));
    }
    let [males, females, unsexed] = count.number;
    let number = match (males, females) {
        (0, 0) => unsexed.to_string(),
        _ => quoted(&format!("{males}.{females}.{unsexed}")),
    };
    section.put("number", Some(number));
    section
}
