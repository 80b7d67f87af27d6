//! `identify` in words.

use std::fmt::Write;

use super::check_text::wrapped;
use super::names;
use super::wording::{chance, frequency, likelihood_word};
use crate::questions::{HatchlingAnswer, IdentifyAnswer, Identity, TellApart, Visible};
use crate::records::{
    Alternative, Call, Candidate, ClutchId, Colony, GeneId, Genotype, Hidden, Look, Origin, Parent,
};

/// Identities below this chance are summed up in one line.
const SHOWN: f64 = 0.01;
/// A call below this chance is said to be ruled out by the pairing.
const RULED_OUT: f64 = 0.01;
/// What the list of identities leaves out may hide this much of an identity.
const UNLISTED: f64 = 0.001;
/// What the likeliest identity may be besides is not told below this chance.
const NOT_TOLD: f64 = 0.02;

/// Which hatchling is what, as a breeder reads it.
pub fn identify_text(colony: &Colony, answer: &IdentifyAnswer) -> String {
    let mut text = String::from("What each hatchling is\n");
    text.push_str(&super::check_text::in_short(colony));
    text.push_str(&super::doubts::warning_lines(
        colony,
        &answer.warnings,
        answer.surprise.as_ref(),
        &answer.divided,
    ));
    let mut clutch = None;
    for hatchling in &answer.hatchlings {
        let origin = colony.animal(hatchling.animal).origin;
        if let Origin::Clutch(of) = origin
            && clutch != Some(of)
        {
            clutch = Some(of);
            let _ = writeln!(text, "\nClutch {} ({})", colony.clutch(of).id, pair(colony, of));
        }
        text.push_str(&tell(colony, hatchling));
    }
    if answer.hatchlings.is_empty() {
        text.push_str("\nNo hatchling with an id was asked about.\n");
    }
    text.push_str(&super::check_text::cautions(colony));
    text
}

/// The dam and the sire of a clutch.
fn pair(colony: &Colony, clutch: ClutchId) -> String {
    let clutch = colony.clutch(clutch);
    let dam = match clutch.dam {
        Parent::Known(dam) => names::animal(colony, dam),
        Parent::Unknown => "unknown dam".to_owned(),
    };
    let sire = |(candidate, _): &(Candidate, f64)| match candidate {
        Candidate::Known(sire) => names::animal(colony, *sire),
        Candidate::Unknown => "unknown sire".to_owned(),
        Candidate::NoFather => "no father".to_owned(),
    };
    let sires: Vec<String> = clutch.siring.candidates.iter().map(sire).collect();
    format!("{dam} × {}", sires.join(" or "))
}

fn tell(colony: &Colony, hatchling: &HatchlingAnswer) -> String {
    let name = names::animal(colony, hatchling.animal);
    let sex = names::sex(colony.animal(hatchling.animal).sex);
    let mark = if hatchling.uncertain_call { ", uncertain call" } else { "" };
    let mut text = format!("  {name} ({sex}{mark})\n");
    let mut rest = hatchling.rest;
    for (at, visible) in hatchling.visible.iter().enumerate() {
        let identity = &visible.identity;
        if at > 0 && identity.probability < SHOWN {
            rest += identity.probability;
            continue;
        }
        let looks = names::looks_phrase(colony, &identity.looks);
        let word = match identity.probability {
            1.0 => "certain",
            probability => likelihood_word(probability),
        };
        let line = format!("{looks}: {}, {word}", chance(identity.probability));
        text.push_str(&wrapped(4, 8, &line));
        if at == 0 {
            for line in unseen(colony, visible) {
                text.push_str(&wrapped(6, 10, &line));
            }
            text.push_str(&hidden(colony, visible));
        }
    }
    if rest > 1e-9 {
        let _ = writeln!(text, "    anything else: {}", chance(rest));
    }
    text.push_str(&ruled_out(colony, hatchling));
    for difference in &hatchling.tell_apart {
        text.push_str(&wrapped(4, 8, &how_to_tell(colony, hatchling, difference)));
    }
    text
}

/// What an identity may be at genes of which nothing was seen, in a few words for each look.
pub(super) fn unseen(colony: &Colony, visible: &Visible) -> Vec<String> {
    let line = |(look, share): &(Look, f64)| {
        let gene = colony.gene(look.gene);
        let when = if gene.from_age_adult { " when grown" } else { ", which nobody judged" };
        format!("if so, {}{when}: {}", gene.look_name(look.class), chance(*share))
    };
    visible.unseen.iter().filter(|(_, share)| *share >= NOT_TOLD).map(line).collect()
}

/// What the most probable identity may carry unseen.
fn hidden(colony: &Colony, visible: &Visible) -> String {
    let mut text = String::new();
    for (gene, chances) in &visible.identity.genotype {
        let unsure: Vec<&(Genotype, f64)> = chances
            .iter()
            .filter(|(_, chance)| (NOT_TOLD..1.0 - NOT_TOLD).contains(chance))
            .collect();
        // Where its look tells it, the look has been told.
        let normal =
            |(genotype, _): &&&(Genotype, f64)| colony.gene(*gene).class_of(*genotype) == 0;
        let looks = visible.unseen.iter().any(|(look, _)| look.gene == *gene);
        if looks && unsure.iter().filter(normal).count() < 2 {
            continue;
        }
        let list: Vec<String> = unsure
            .iter()
            .map(|(genotype, share)| {
                format!("{} {}", names::genotype(colony, *gene, *genotype), chance(*share))
            })
            .collect();
        let line = match unsure.as_slice() {
            [] => continue,
            [(Genotype::Two(0, 0), _), (Genotype::Two(0, allele), share)] => {
                let allele = colony.gene(*gene).allele_name(*allele);
                format!("if so, het {allele}: {}", chance(*share))
            }
            _ => format!("if so, {} is {}", colony.gene(*gene).name, list.join(" or ")),
        };
        text.push_str(&wrapped(6, 10, &line));
    }
    text
}

/// The identities the keeper named that the pairing leaves no room for.
fn ruled_out(colony: &Colony, hatchling: &HatchlingAnswer) -> String {
    let animal = colony.animal(hatchling.animal);
    let later = animal.grown.as_ref().map(|grown| &grown.call);
    let (Some(Call::Either(named)), Origin::Clutch(clutch)) = (
        [later, Some(&animal.seen.call)]
            .into_iter()
            .flatten()
            .find(|c| matches!(c, Call::Either(_))),
        animal.origin,
    ) else {
        return String::new();
    };
    let genes: Vec<GeneId> = told_apart(colony, named);
    let mut text = String::new();
    for alternative in named.iter().filter(|alternative| alternative.fit > 0.0) {
        let same = |identity: &&Identity| {
            genes.iter().all(|g| class(&identity.looks, *g) == class(&alternative.looks, *g))
        };
        let listed: f64 =
            hatchling.identities.iter().filter(same).map(|identity| identity.probability).sum();
        if listed >= RULED_OUT {
            continue;
        }
        let looks = names::looks_phrase(colony, &alternative.looks);
        let pair = pair(colony, clutch);
        let line = if listed == 0.0 && hatchling.rest == 0.0 {
            format!("named as {looks} too, but {pair} cannot give that")
        } else {
            let most = frequency((listed + hatchling.rest).max(UNLISTED));
            format!("named as {looks} too, but {pair} hardly gives that: {most} at most")
        };
        text.push_str(&wrapped(4, 8, &line));
    }
    text
}

/// The genes that the named identities differ in.
fn told_apart(colony: &Colony, named: &[Alternative]) -> Vec<GeneId> {
    let differs = |gene: &GeneId| {
        let first = named.first().map(|one| class(&one.looks, *gene));
        named.iter().any(|one| Some(class(&one.looks, *gene)) != first)
    };
    colony.gene_ids().filter(differs).collect()
}

fn class(looks: &[Look], gene: GeneId) -> usize {
    looks.iter().find(|look| look.gene == gene).map_or(0, |look| look.class)
}

/// How to tell the two most probable identities apart, at the first gene in which they differ.
pub(super) fn how_to_tell_first(colony: &Colony, hatchling: &HatchlingAnswer) -> Option<String> {
    let mut difference = hatchling.tell_apart.first()?.clone();
    // The same for all hatchlings between which the same two looks are open.
    if difference.classes[0] < difference.classes[1] {
        difference.classes.swap(0, 1);
        difference.cross.iter_mut().for_each(|cross| cross.shows = 1 - cross.shows);
    }
    Some(how_to_tell(colony, hatchling, &difference))
}

/// `to tell ash from not ash: …`.
fn how_to_tell(colony: &Colony, hatchling: &HatchlingAnswer, difference: &TellApart) -> String {
    let gene = colony.gene(difference.gene);
    let name = |class: usize| match (class, gene.looks.as_slice()) {
        (0, [only]) => format!("not {only}"),
        (0, _) => format!("no look of {}", gene.name),
        (class, _) => gene.look_name(class).to_owned(),
    };
    let [one, other] = difference.classes.map(name);
    let look = match covered_by(colony, hatchling, difference.gene) {
        Some(over) => format!("{over} hides it for good, so have {} read by a test", gene.name),
        None if gene.from_age_adult => {
            format!("look again when it is grown, or have {} read by a test", gene.name)
        }
        None => format!("look again after the next shed, or have {} read by a test", gene.name),
    };
    format!("to tell {one} from {other}: {look}{}", by_cross(colony, difference))
}

/// The looks of the most probable identity that hide a gene.
fn covered_by(colony: &Colony, hatchling: &HatchlingAnswer, gene: GeneId) -> Option<String> {
    let looks = &hatchling.identities.first()?.looks;
    let hides = |hidden: &Hidden| match hidden {
        Hidden::Gene(hidden) => *hidden == gene,
        Hidden::Look(look) => look.gene == gene,
    };
    let mask = colony.masks.iter().find(|mask| {
        mask.hides.iter().any(hides) && mask.looks.iter().all(|look| looks.contains(look))
    })?;
    Some(names::looks(colony, &mask.looks).join(" + "))
}

/// A cross that tells: one young of a kind that only one of the two can give.
fn by_cross(colony: &Colony, difference: &TellApart) -> String {
    let Some(cross) = difference.cross else { return String::new() };
    let gene = colony.gene(difference.gene);
    let mate = mate(colony, difference.gene, cross.mate);
    let young = match (cross.class, gene.looks.as_slice()) {
        (0, [only]) => format!("young not showing {only}"),
        (0, _) => format!("young normal at {}", gene.name),
        (class, _) => format!("{} young", gene.look_name(class)),
    };
    let proven = match (difference.classes[cross.shows], gene.looks.as_slice()) {
        (0, [only]) => format!("not {only}"),
        (0, _) => format!("without a look of {}", gene.name),
        (class, _) => gene.look_name(class).to_owned(),
    };
    format!(
        "; or, when grown, breed it to {mate}: one {young} proves that it is {proven}, and if it \
         is, only 5 times in 100 or fewer is there none among {}",
        cross.young,
    )
}

fn mate(colony: &Colony, gene: GeneId, genotype: Genotype) -> String {
    let declared = colony.gene(gene);
    match genotype {
        _ if genotype.mutant_copies() == 0 => format!("a mate without {}", declared.name),
        _ if genotype.mutant_copies() == 2 && declared.class_of(genotype) > 0 => {
            let look = declared.look_name(declared.class_of(genotype));
            format!("a {look} mate ({})", names::genotype(colony, gene, genotype))
        }
        _ => format!("a {} mate", names::genotype(colony, gene, genotype)),
    }
}
