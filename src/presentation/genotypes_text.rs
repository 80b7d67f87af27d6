//! `genotypes` in words.

use std::fmt::Write;

use super::names;
use super::wording::{chance, frequency, likelihood_word, multiplier, odds, percent, plain};
use crate::questions::{Because, Copies, Floor, GenotypesAnswer, Step, StepRole, Story, Young};
use crate::records::{AnimalId, Colony, GeneId, Genotype, Inheritance};

/// What each animal carries, as a breeder reads it.
pub fn genotypes_text(colony: &Colony, answer: &GenotypesAnswer) -> String {
    let mut text = String::from("What each animal carries\n");
    let _ = writeln!(text, "{}", super::check_text::in_short(colony));
    for warning in &answer.warnings {
        let _ = writeln!(text, "Warning: {warning}");
    }
    let mut last = None;
    for story in &answer.stories {
        if last != Some(story.proposition.animal) {
            last = Some(story.proposition.animal);
            let _ = writeln!(text, "\n{}", heading(colony, story.proposition.animal));
        }
        text.push_str(&tell(colony, story));
    }
    if answer.stories.is_empty() {
        text.push_str("\nNothing is in doubt: every animal asked about is what it looks like.\n");
    } else {
        text.push_str("\nAnimals that are not listed have nothing hidden to tell.\n");
    }
    text.push_str(&super::check_text::cautions(colony));
    text
}

fn heading(colony: &Colony, animal: AnimalId) -> String {
    let sex = names::sex(colony.animal(animal).sex);
    let from = match colony.animal(animal).origin {
        crate::records::Origin::Founder => String::new(),
        crate::records::Origin::Clutch(clutch) => {
            format!(", hatched in {}", colony.clutch(clutch).id)
        }
    };
    format!("{} ({sex}{from})", names::animal(colony, animal))
}

fn tell(colony: &Colony, story: &Story) -> String {
    let mut text = String::new();
    let what = names::proposition(colony, story.proposition);
    let _ = writeln!(
        text,
        "  {what}: {}, {}; odds {}",
        chance(story.after),
        settled_word(story.after),
        odds(story.after),
    );
    if (story.before - story.after).abs() > 1e-9 {
        let from = match colony.animal(story.proposition.animal).origin {
            crate::records::Origin::Founder => "before its young",
            crate::records::Origin::Clutch(_) => "from its parents' own records",
        };
        let _ = writeln!(text, "    {from}: {}, odds {}", chance(story.before), odds(story.before));
    }
    for step in &story.steps {
        let _ = writeln!(text, "    {}", step_line(colony, story, step));
    }
    for reason in &story.because {
        let _ = writeln!(text, "    rests on {}", because(colony, story, reason));
    }
    if let Some(floor) = &story.floor {
        text.push_str(&floor_lines(colony, story, floor));
    }
    text
}

fn settled_word(after: f64) -> &'static str {
    match after {
        _ if after == 1.0 => "proven",
        _ if after == 0.0 => "ruled out",
        _ => likelihood_word(after),
    }
}

/// `2024-A: 6 normal from a visual ash mate (Bram): odds ×1/64, to 3 in 100`.
fn step_line(colony: &Colony, story: &Story, step: &Step) -> String {
    let gene = story.proposition.gene;
    let clutch = &colony.clutch(step.clutch).id;
    let young = young(colony, gene, &step.young);
    let from = match step.role {
        StepRole::Parent(mate) => {
            format!("{young} from {}", mate_phrase(colony, gene, mate, step.mate))
        }
        StepRole::Hatchling => format!("its own clutch, {young}"),
        StepRole::Relative => format!("through relatives, {young}"),
    };
    let moved = match step.multiplier {
        m if m == 0.0 || m.is_infinite() => multiplier(m),
        m => format!("odds {}, to {}", multiplier(m), frequency(step.after)),
    };
    format!("{clutch}: {from}: {moved}")
}

fn young(colony: &Colony, gene: GeneId, kinds: &[Young]) -> String {
    let one = |kind: &Young| match kind.class {
        Some(class) => format!("{} {}", kind.number, colony.gene(gene).look_name(class)),
        None => format!("{} unread or uncertain", kind.number),
    };
    if kinds.is_empty() {
        return "no young written down".to_owned();
    }
    kinds.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn mate_phrase(
    colony: &Colony,
    gene: GeneId,
    mate: Option<AnimalId>,
    genotype: Option<Genotype>,
) -> String {
    let Some(mate) = mate else { return "an unrecorded mate".to_owned() };
    let name = names::animal(colony, mate);
    let declared = colony.gene(gene);
    let kind = match genotype {
        None => "an unproven mate".to_owned(),
        Some(g) if g.mutant_copies() == 0 => format!("a mate without {}", declared.name),
        Some(g) if declared.inheritance == Inheritance::Recessive => match g.mutant_copies() {
            1 => format!("a proven het {} mate", declared.name),
            _ => format!("a visual {} mate", declared.look_name(declared.class_of(g))),
        },
        Some(g) => format!("a {} mate", names::genotype(colony, gene, g)),
    };
    format!("{kind} ({name})")
}

fn because(colony: &Colony, story: &Story, reason: &Because) -> String {
    let allele = colony.gene(story.proposition.gene).allele_name(story.proposition.allele);
    match reason {
        Because::Statement { animal, text, trust } => {
            let name = names::animal(colony, *animal);
            let how = if *trust == 1.0 {
                "taken as certain".to_owned()
            } else {
                format!("trusted to {}", percent(*trust))
            };
            format!("what was said of {name}, \"{text}\", {how} (trust {})", plain(*trust))
        }
        Because::UnprovenMate { clutch, mate, carries } => {
            let clutch = &colony.clutch(*clutch).id;
            match mate {
                Some(mate) => format!(
                    "the mate in {clutch}: {} is not proven, {} to carry {allele}",
                    names::animal(colony, *mate),
                    chance(*carries),
                ),
                None => format!("the mate in {clutch}, which nobody recorded"),
            }
        }
        Because::Assumption { key, value, instead, chance: moved } => format!(
            "{key} {}: with {} it would be {}",
            plain(*value),
            plain(*instead),
            chance(*moved),
        ),
    }
}

fn floor_lines(colony: &Colony, story: &Story, floor: &Floor) -> String {
    let mate = floor.mate.map_or("the mate".to_owned(), |mate| names::animal(colony, mate));
    let clutch = &colony.clutch(floor.clutch).id;
    let what = match story.proposition.copies {
        Copies::Any => "the other of the two may be the one that carries it not",
        Copies::Two => "the mate may hide it",
    };
    format!(
        "    more eggs of this pairing ({clutch}, with {mate}) will not help: however many normals\n    \
         hatch, it stays at {} or more, since {what}.\n    \
         Another mate will: one that shows the look, or is proven to carry it.\n",
        chance(floor.chance),
    )
}
