//! Names of genotypes, looks and animals as they are written in the records.

use crate::genetics::Mode;
use crate::questions::{AllelicPairings, Copies, Family, Proposition};
use crate::records::{AnimalId, Candidate, Colony, GeneId, Genotype, Look, Sex};

/// A genotype as it is written: `+/ash`, `fern/moss`, `ash/Y`, `+/W`.
pub fn genotype(colony: &Colony, gene: GeneId, genotype: Genotype) -> String {
    colony.gene(gene).genotype_name(genotype, colony.sex_system)
}

/// An animal by its id; a hatchling without one by its clutch.
pub fn animal(colony: &Colony, id: AnimalId) -> String {
    let animal = colony.animal(id);
    match (&animal.id, animal.origin) {
        (Some(id), _) => id.clone(),
        (None, crate::records::Origin::Clutch(clutch)) => {
            format!("a hatchling of {}", colony.clutch(clutch).id)
        }
        (None, crate::records::Origin::Founder) => "an animal".to_owned(),
    }
}

/// A candidate for the sire, as it is written in the records.
pub fn candidate(colony: &Colony, candidate: Candidate) -> String {
    match candidate {
        Candidate::Known(id) => animal(colony, id),
        Candidate::Unknown => "unknown".to_owned(),
        Candidate::NoFather => "none".to_owned(),
    }
}

/// A candidate for the sire, in a sentence.
pub fn sire(colony: &Colony, candidate: Candidate) -> String {
    match candidate {
        Candidate::Known(id) => animal(colony, id),
        Candidate::Unknown => "an unrecorded male".to_owned(),
        Candidate::NoFather => "no father".to_owned(),
    }
}

/// The name of a look.
pub fn look(colony: &Colony, look: Look) -> &str {
    colony.gene(look.gene).look_name(look.class)
}

/// Several looks of one animal: `tallow ash`, or `normal`; combinations by their own name.
pub fn looks(colony: &Colony, looks: &[Look]) -> Vec<String> {
    looks.iter().map(|one| look(colony, *one).to_owned()).collect()
}

/// Several looks in one phrase.
pub fn looks_phrase(colony: &Colony, looks: &[Look]) -> String {
    if looks.is_empty() {
        return "normal".to_owned();
    }
    let whole = |combination: &&crate::records::Combination| {
        combination.looks.len() == looks.len()
            && combination.looks.iter().all(|look| looks.contains(look))
    };
    let joined = self::looks(colony, looks).join(" + ");
    match colony.combinations.iter().find(whole) {
        Some(combination) => format!("{} ({joined})", combination.name),
        None => joined,
    }
}

/// A sex in words; empty when not known.
pub fn sex(sex: Option<Sex>) -> &'static str {
    match sex {
        Some(Sex::Female) => "female",
        Some(Sex::Male) => "male",
        None => "sex not recorded",
    }
}

/// What a proposition says: `carries ash`, `has two copies of ripple`.
pub fn proposition(colony: &Colony, proposition: Proposition) -> String {
    let name = colony.gene(proposition.gene).allele_name(proposition.allele);
    match proposition.copies {
        Copies::Any => format!("carries {name}"),
        Copies::Two => format!("has two copies of {name}"),
    }
}

/// A mode of inheritance, as it is written in JSON and on the command line.
pub fn mode(colony: &Colony, mode: Mode) -> String {
    let linked = |sex_linked: bool, name: &str| {
        if sex_linked { format!("sex-linked {name}") } else { name.to_owned() }
    };
    match mode {
        Mode::Recessive { sex_linked } => linked(sex_linked, "recessive"),
        Mode::Dominant { sex_linked } => linked(sex_linked, "dominant"),
        Mode::IncompleteDominant { sex_linked } => linked(sex_linked, "incomplete dominant"),
        Mode::LethalIncompleteDominant => "incomplete dominant, lethal".into(),
        Mode::Allele { of, visible } => {
            let seen = if visible { "visible" } else { "recessive" };
            format!("allele of {}, {seen}", colony.gene(of).name)
        }
        Mode::TwoRecessive => "two recessive genes".into(),
        Mode::TwoDominant => "two dominant genes".into(),
        Mode::Chance => "chance".into(),
        Mode::ClutchEffect => "clutch effect".into(),
    }
}

/// A family of modes, as it is written in JSON and on the command line.
pub fn family(family: Family) -> &'static str {
    match family {
        Family::Recessive => "recessive",
        Family::Dominant => "dominant",
        Family::IncompleteDominant => "incomplete dominant",
        Family::SexLinked => "sex-linked",
        Family::Allele => "allele",
        Family::TwoGenes => "two genes",
        Family::Chance => "chance",
        Family::ClutchEffect => "clutch effect",
    }
}

/// The looks of a young at two genes, by the place of their classes in an outcome.
pub fn two_looks(colony: &Colony, about: &AllelicPairings, at: usize) -> String {
    let classes = [at / about.classes[1], at % about.classes[1]];
    let looks: Vec<&str> = (0..2)
        .filter(|which| classes[*which] > 0)
        .map(|which| {
            let gene = colony.gene(about.genes[which]);
            let together = about.classes[which] == 2 && gene.looks.len() > 1;
            if together { gene.name.as_str() } else { gene.look_name(classes[which]) }
        })
        .collect();
    if looks.is_empty() { "normal".to_owned() } else { looks.join(" and ") }
}
