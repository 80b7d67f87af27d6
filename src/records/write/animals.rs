//! Founders and hatchlings.

use super::observation;
use super::text::{Section, date, inline, list, number, quoted};
use crate::records::{
    Animal, AnimalId, Candidate, Colony, Origin, Parent, Reading, ReadingKind, Sex, Status,
};

/// `[[animal]]`: every founder.
pub(super) fn founders(colony: &Colony) -> impl Iterator<Item = Section> + '_ {
    let all = colony.animal_ids();
    let founders = all.filter(|id| colony.animal(*id).origin == Origin::Founder);
    founders.map(|id| founder(colony, id))
}

/// `[[animal]]`.
pub(in crate::records) fn founder(colony: &Colony, id: AnimalId) -> Section {
    let founder = colony.animal(id);
    let mut section = begin("[[animal]]", founder);
    section.put("hatched", founder.hatched.map(date));
    seen(&mut section, colony, founder);
    section.put("grown", (!founder.seen_grown).then(|| "false".to_string()));
    let mut told: Vec<&str> = founder.statements.iter().map(|one| one.text.as_str()).collect();
    // A combination is one statement about several genes.
    told.dedup();
    section.put("sold_as", (!told.is_empty()).then(|| list(told.into_iter().map(quoted))));
    section.put("trust", founder.trust.map(number));
    end(&mut section, founder, Status::Kept);
    section
}

/// `[[clutch.hatchling]]`.
pub(in crate::records) fn hatchling(colony: &Colony, id: AnimalId, is_parent: bool) -> Section {
    let hatchling = colony.animal(id);
    let mut section = begin("[[clutch.hatchling]]", hatchling);
    seen(&mut section, colony, hatchling);
    section.put("believed", hatchling.believed.then(|| "true".to_string()));
    section.put("grown", hatchling.grown.as_ref().map(|later| inline(observation(colony, later))));
    end(&mut section, hatchling, if is_parent { Status::Kept } else { Status::Elsewhere });
    section
}

/// Whether each animal is a dam, or may be a sire.
pub(in crate::records) fn parents(colony: &Colony) -> Vec<bool> {
    let mut is_parent = vec![false; colony.animals.len()];
    let mut note = |animal: AnimalId| {
        if let Some(slot) = is_parent.get_mut(animal.0) {
            *slot = true;
        }
    };
    for clutch in &colony.clutches {
        if let Parent::Known(dam) = clutch.dam {
            note(dam);
        }
        for (candidate, _) in &clutch.siring.candidates {
            if let Candidate::Known(sire) = candidate {
                note(*sire);
            }
        }
    }
    is_parent
}

fn begin(heading: &str, animal: &Animal) -> Section {
    let mut section = Section::new(heading);
    section.put("id", animal.id.as_deref().map(quoted));
    let sex = animal.sex.map(|sex| quoted(if sex == Sex::Female { "female" } else { "male" }));
    section.put("sex", sex);
    section
}

fn seen(section: &mut Section, colony: &Colony, animal: &Animal) {
    for (key, value) in observation(colony, &animal.seen) {
        section.put(key, Some(value));
    }
    let readings = animal.readings.iter().map(|one| reading(colony, one));
    section.put("readings", (!animal.readings.is_empty()).then(|| list(readings)));
}

fn end(section: &mut Section, animal: &Animal, default: Status) {
    section.put("status", (animal.status != default).then(|| quoted(animal.status.word())));
    section.put("note", animal.note.as_deref().map(quoted));
}

fn reading(colony: &Colony, reading: &Reading) -> String {
    let gene = colony.gene(reading.gene);
    let name = |genotype| gene.genotype_name(genotype, colony.sex_system);
    let about = ("gene", quoted(&gene.name));
    match &reading.kind {
        ReadingKind::Result { genotype, reliability } => inline([
            about,
            ("result", quoted(&name(*genotype))),
            ("reliability", number(*reliability)),
        ]),
        ReadingKind::Likelihood(listed) => {
            let listed = listed.iter().map(|(genotype, weight)| (name(*genotype), number(*weight)));
            inline([about, ("likelihood", inline(listed))])
        }
    }
}
