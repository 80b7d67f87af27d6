//! `identify` in words.

use std::fmt::Write;

use super::names;
use super::wording::{chance, likelihood_word};
use crate::questions::{HatchlingAnswer, IdentifyAnswer, Identity, TellApart};
use crate::records::{Colony, GeneId, Genotype, Origin};

/// Identities below this chance are summed up in one line.
const SHOWN: f64 = 0.005;

/// Which hatchling is what, as a breeder reads it.
pub fn identify_text(colony: &Colony, answer: &IdentifyAnswer) -> String {
    let mut text = String::from("What each hatchling is\n");
    let _ = writeln!(text, "{}", super::check_text::in_short(colony));
    for warning in &answer.warnings {
        let _ = writeln!(text, "Warning: {warning}");
    }
    let mut clutch = None;
    for hatchling in &answer.hatchlings {
        let origin = colony.animal(hatchling.animal).origin;
        if let Origin::Clutch(of) = origin
            && clutch != Some(of)
        {
            clutch = Some(of);
            let _ = writeln!(text, "\nClutch {}", colony.clutch(of).id);
        }
        text.push_str(&tell(colony, hatchling));
    }
    if answer.hatchlings.is_empty() {
        text.push_str("\nNo hatchling with an id was asked about.\n");
    }
    text.push_str(&super::check_text::cautions(colony));
    text
}

fn tell(colony: &Colony, hatchling: &HatchlingAnswer) -> String {
    let mut text = String::new();
    let name = names::animal(colony, hatchling.animal);
    let mark = if hatchling.uncertain_call { " (uncertain call)" } else { "" };
    let _ = writeln!(text, "  {name}{mark}");
    let mut rest = hatchling.rest;
    for (at, identity) in hatchling.identities.iter().enumerate() {
        if at > 0 && identity.probability < SHOWN {
            rest += identity.probability;
            continue;
        }
        let word = likelihood_word(identity.probability);
        let _ = writeln!(
            text,
            "    {}: {}, {word}",
            names::looks_phrase(colony, &identity.looks),
            chance(identity.probability),
        );
        if at == 0 {
            text.push_str(&hidden(colony, identity));
        }
    }
    if rest > 1e-9 {
        let _ = writeln!(text, "    anything else: {}", chance(rest));
    }
    if in_doubt(hatchling) {
        for difference in &hatchling.tell_apart {
            text.push_str(&how_to_tell(colony, hatchling, difference));
        }
    }
    text
}

fn in_doubt(hatchling: &HatchlingAnswer) -> bool {
    hatchling.uncertain_call
        || hatchling.identities.get(1).is_some_and(|second| second.probability >= 0.02)
}

/// What the most probable identity may carry unseen.
fn hidden(colony: &Colony, identity: &Identity) -> String {
    let mut text = String::new();
    for (gene, chances) in &identity.genotype {
        let unsure: Vec<&(Genotype, f64)> =
            chances.iter().filter(|(_, chance)| (0.02..0.98).contains(chance)).collect();
        let list: Vec<String> = unsure
            .iter()
            .map(|(genotype, share)| {
                format!("{} {}", names::genotype(colony, *gene, *genotype), chance(*share))
            })
            .collect();
        if !list.is_empty() {
            let _ =
                writeln!(text, "      if so, at {}: {}", colony.gene(*gene).name, list.join(", "));
        }
    }
    text
}

fn how_to_tell(colony: &Colony, hatchling: &HatchlingAnswer, difference: &TellApart) -> String {
    let gene = colony.gene(difference.gene);
    let [one, other] = difference.classes.map(|class| gene.look_name(class));
    let mut text = format!("    to tell {one} from {other} at {}: ", gene.name);
    if gene.from_age_adult {
        text.push_str("judge it again when it is grown; or ");
    } else {
        text.push_str("a second pair of eyes after the next shed; or ");
    }
    text.push_str("a reading of the gene");
    if let Some(cross) = difference.cross {
        let mate = mate(colony, difference.gene, cross.mate);
        let which = difference.classes[cross.shows];
        let _ = write!(
            text,
            "; or, when grown, {} young from {mate}: one {} proves {}, none leaves {} at most\n      \
             5 in 100 of its chance",
            cross.young,
            gene.look_name(cross.class),
            gene.look_name(which),
            gene.look_name(which),
        );
    }
    let _ = hatchling;
    text.push('\n');
    text
}

fn mate(colony: &Colony, gene: GeneId, genotype: Genotype) -> String {
    if genotype.mutant_copies() == 0 {
        format!("a mate without {}", colony.gene(gene).name)
    } else {
        format!("a {} mate", names::genotype(colony, gene, genotype))
    }
}
