//! `check` in words, and what every answer says of its colony.

use std::fmt::Write;

use super::wording::plain;
use crate::records::{Assumptions, Colony, Gene, Misread, Origin, Penetrance};

/// What was read, and the assumptions in force.
pub fn check_text(colony: &Colony) -> String {
    let mut text = String::from("The records are sound.\n");
    let _ = writeln!(text, "{}", in_short(colony));
    text.push_str(
        "\nAssumptions in force (yours to set under [assume]; none has a published value)\n",
    );
    for key in Assumptions::KEYS {
        let value = colony.assumptions.get(key).unwrap_or_default();
        let _ = writeln!(text, "  {key:<22} {:<8} {}", plain(value), meaning(key));
    }
    if !colony.genes.is_empty() {
        text.push_str("\nGenes\n");
    }
    for gene in &colony.genes {
        let _ = writeln!(text, "  {}", gene_line(gene));
    }
    text.push_str(&cautions(colony));
    text
}

/// One line that says which colony this is and how large.
pub(super) fn in_short(colony: &Colony) -> String {
    let founders = colony.animals.iter().filter(|a| a.origin == Origin::Founder).count();
    let counted: u32 =
        colony.clutches.iter().flat_map(|c| &c.counts).map(crate::records::Count::total).sum();
    let title = colony.title.as_deref().unwrap_or("Untitled colony");
    format!(
        "{title}: {}, {}, {}, {} and {} only counted.",
        plural(colony.genes.len(), "gene", "genes"),
        plural(founders, "animal without recorded parents", "animals without recorded parents"),
        plural(colony.clutches.len(), "clutch", "clutches"),
        plural(colony.animals.len() - founders, "hatchling", "hatchlings"),
        counted,
    )
}

/// What may harm an animal, and whom to ask.
pub(super) fn cautions(colony: &Colony) -> String {
    let mut text = String::new();
    for gene in &colony.genes {
        if let Some(caution) = &gene.caution {
            let _ = writeln!(text, "  {}: {caution}", gene.name);
        }
        if !gene.lethal.is_empty() {
            let _ = writeln!(
                text,
                "  {}: some genotypes are declared lethal; a pairing that can give them loses eggs",
                gene.name
            );
        }
    }
    if text.is_empty() {
        return text;
    }
    format!("\nCautions (ask a veterinarian, and mind the law where you live)\n{text}")
}

fn gene_line(gene: &Gene) -> String {
    let mut line = gene.name.clone();
    if !gene.looks.is_empty() {
        let _ = write!(line, ": looks {}", gene.looks.join(", "));
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
    if let Some(since) = gene.judged_since {
        let _ = write!(line, "; judged since {since}");
    }
    line
}

fn meaning(key: &str) -> &'static str {
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

fn plural(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}
