//! `check` in words, what every answer says of its colony, and how long lines are broken.

use std::fmt::Write;

use super::names;
use super::wording::plain;
use crate::records::{Assumptions, Colony, Gene, Hidden, Inheritance, Misread, Origin, Penetrance};

/// No line of an answer is longer, unless a name alone is.
const WIDTH: usize = 96;

/// The heading over what may harm an animal.
pub(super) const CAUTIONS: &str = "Cautions (ask a veterinarian, and mind the law where you live)";

/// What was read, and the assumptions in force.
pub fn check_text(colony: &Colony) -> String {
    let mut text = String::from("The records are sound.\n");
    text.push_str(&in_short(colony));
    text.push_str(
        "\nAssumptions in force (set your own under [assume]; none is a published value)\n",
    );
    for key in Assumptions::KEYS {
        let value = colony.assumptions.get(key).unwrap_or_default();
        let _ = writeln!(text, "  {key:<22} {:<8} {}", plain(value), meaning(key));
    }
    if !colony.genes.is_empty() {
        text.push_str("\nGenes\n");
    }
    for gene in &colony.genes {
        text.push_str(&wrapped(2, 6, &gene_line(gene)));
    }
    text.push_str(&bound(colony));
    text.push_str(&cautions(colony));
    text
}

/// A sentence broken into lines; the first is indented by `first`, the others by `hanging`.
pub(super) fn wrapped(first: usize, hanging: usize, sentence: &str) -> String {
    let mut text = " ".repeat(first);
    let mut column = first;
    // A sign of per cent stays with its number.
    let sentence = sentence.replace(" %", "\u{a0}%");
    for (at, word) in sentence.split(' ').enumerate() {
        let length = word.chars().count();
        if at > 0 && column + 1 + length > WIDTH {
            text.push('\n');
            text.push_str(&" ".repeat(hanging));
            column = hanging;
        } else if at > 0 {
            text.push(' ');
            column += 1;
        }
        text.push_str(word);
        column += length;
    }
    text.push('\n');
    text.replace('\u{a0}', " ")
}

/// Two parts of a sentence on one line where they fit, else the second on a line of its own.
pub(super) fn in_two(first: usize, hanging: usize, [one, other]: [&str; 2]) -> String {
    let length = |part: &str| part.chars().count();
    if first + length(one) + 1 + length(other) <= WIDTH {
        return wrapped(first, hanging, &format!("{one} {other}"));
    }
    wrapped(first, hanging, one) + &wrapped(hanging, hanging, other)
}

/// Names in a sentence: `a`, `a and b`, `a, b and c`.
pub(super) fn list(names: &[&str], last: &str) -> String {
    match names {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [most @ .., end] => format!("{} {last} {end}", most.join(", ")),
    }
}

/// The masks and combinations, which bind several genes.
fn bound(colony: &Colony) -> String {
    let mut text = String::new();
    for mask in &colony.masks {
        let hidden = |hidden: &Hidden| match hidden {
            Hidden::Gene(gene) => colony.gene(*gene).name.clone(),
            Hidden::Look(look) => format!("the look {}", names::look(colony, *look)),
        };
        let hides: Vec<String> = mask.hides.iter().map(hidden).collect();
        let looks = names::looks(colony, &mask.looks).join(" + ");
        text.push_str(&wrapped(2, 6, &format!("{looks} hides {}", hides.join(", "))));
    }
    for combination in &colony.combinations {
        let looks = names::looks(colony, &combination.looks).join(" + ");
        text.push_str(&wrapped(2, 6, &format!("{} is {looks}", combination.name)));
    }
    if text.is_empty() { text } else { format!("\nSeveral looks on one animal\n{text}") }
}

/// Which colony this is and how large.
pub(super) fn in_short(colony: &Colony) -> String {
    let founders = colony.animals.iter().filter(|a| a.origin == Origin::Founder).count();
    let counted: u32 =
        colony.clutches.iter().flat_map(|c| &c.counts).map(crate::records::Count::total).sum();
    let title = colony.title.as_deref().unwrap_or("Untitled colony");
    let line = format!(
        "{title}: {}; {}; {} with {} told apart and {} only counted.",
        plural(colony.genes.len(), "gene", "genes"),
        plural(founders, "animal that came in", "animals that came in"),
        plural(colony.clutches.len(), "clutch", "clutches"),
        plural(colony.animals.len() - founders, "hatchling", "hatchlings"),
        counted,
    );
    wrapped(0, 2, &line)
}

/// What may harm an animal, gene by gene.
pub(super) fn caution_lines(colony: &Colony) -> Vec<String> {
    let line = |gene: &Gene| match &gene.caution {
        Some(caution) => Some(format!("{}: {caution}", gene.name)),
        None if !gene.lethal.is_empty() => Some(format!(
            "{}: some genotypes never hatch; a pairing that can give them loses eggs",
            gene.name
        )),
        None => None,
    };
    colony.genes.iter().filter_map(line).collect()
}

/// What may harm an animal, and whom to ask.
pub(super) fn cautions(colony: &Colony) -> String {
    let text: String = caution_lines(colony).iter().map(|line| wrapped(2, 6, line)).collect();
    if text.is_empty() {
        return text;
    }
    format!("\n{CAUTIONS}\n{text}")
}

pub(super) fn gene_line(gene: &Gene) -> String {
    let kind = match gene.inheritance {
        Inheritance::Recessive => "recessive".to_owned(),
        Inheritance::Dominant => "dominant".to_owned(),
        Inheritance::IncompleteDominant => "incomplete dominant".to_owned(),
        Inheritance::Alleles => format!("alleles {}", gene.alleles.join(", ")),
        Inheritance::Unknown => "inheritance unknown".to_owned(),
    };
    let mut line = format!("{}: {kind}", gene.name);
    if !gene.looks.is_empty() {
        let _ = write!(line, "; looks {}", gene.looks.join(", "));
    }
    match gene.misread {
        Some(Misread::Any(m)) => {
            let _ = write!(line, "; misread {}", plain(m));
        }
        Some(Misread::Apart { missed, imagined, confused }) => {
            let _ = write!(
                line,
                "; misread: missed {}, imagined {}, confused {}",
                plain(missed),
                plain(imagined),
                plain(confused)
            );
        }
        None => {}
    }
    if let Some(background) = &gene.background {
        let list: Vec<String> = background.iter().map(|f| plain(*f)).collect();
        let _ = write!(line, "; background {}", list.join(", "));
    }
    match &gene.penetrance {
        Some(Penetrance::All(chance)) => {
            let _ = write!(line, "; penetrance {}", plain(*chance));
        }
        Some(Penetrance::Some(_)) => line.push_str("; penetrance differs by genotype"),
        Some(Penetrance::Unknown) => line.push_str("; penetrance unknown"),
        None => {}
    }
    if gene.from_age_adult {
        line.push_str("; judged on adults");
    }
    if let Some(share) = gene.first_seen.look_alikes {
        let _ = write!(line, "; look-alikes {}", plain(share));
    }
    if let Some(since) = gene.judged_since {
        let _ = write!(line, "; judged since {since}");
    }
    line
}

pub(super) fn meaning(key: &str) -> &'static str {
    match key {
        "background" => "frequency of each mutant allele in unrelated stock",
        "misread" => "chance that one call on one gene names the wrong look",
        "other_sire" => "chance that a whole clutch has another, unrecorded sire",
        "mix_up" => "chance that a hatchling with an id is not from its clutch",
        "egg_loss" => "chance that a fertile egg of viable genotype dies",
        "trust" => "chance that a seller's statement is right",
        _ => "chance that a fatherless young has both alleles of its dam",
    }
}

pub(super) fn plural(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}
