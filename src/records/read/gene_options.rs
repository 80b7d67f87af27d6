//! The optional keys of a gene: eggs that never hatch, chances, ages and dates.

use super::Format;
use super::fields::{Fields, MISREAD};
use super::gene::Draft;
use super::genotype::genotype;
use super::reader::{Reader, short};
use super::tree::{Entry, Value};
use crate::records::{Genotype, Inheritance, Misread, Penetrance, normalise};

/// Reads the optional keys into the draft.
pub(super) fn read(reader: &mut Reader, format: Format, draft: &mut Draft) {
    let fields = draft.fields;
    let caution = fields.get("caution").and_then(|node| reader.text("caution", node));
    draft.gene.caution = caution.map(str::to_string);
    if let Some(entry) = fields.entry("lethal") {
        draft.gene.lethal = lethal(reader, draft, entry);
    }
    if let Some(entry) = fields.entry("penetrance") {
        draft.gene.penetrance = penetrance(reader, draft, entry);
    }
    if let Some(entry) = fields.entry("misread") {
        draft.gene.misread = misread(reader, format, draft, entry);
    }
    if let Some(entry) = fields.entry("background") {
        draft.gene.background = background(reader, draft, entry);
    }
    if let Some(node) = fields.get("from_age") {
        let adult = reader.choice("from_age", node, &[("adult", true)]);
        draft.gene.from_age_adult = adult.unwrap_or(false);
    }
    if let Some(node) = fields.get("judged_since") {
        draft.gene.judged_since = reader.date("judged_since", node);
    }
    if let Some(node) = fields.get("look_alikes") {
        draft.gene.first_seen.look_alikes = reader.chance("look_alikes", node);
    }
    only_for_unknown(reader, draft);
}

fn only_for_unknown(reader: &mut Reader, draft: &Draft) {
    let unknown = draft.gene.inheritance == Inheritance::Unknown;
    for key in ["first_seen", "look_alikes"] {
        if let (Some(entry), false) = (draft.fields.entry(key), unknown) {
            reader
                .error(entry.key_span, format!("`{key}` is for a gene of unknown inheritance"))
                .help("leave it away, or write `inheritance = \"unknown\"`");
        }
    }
    for key in ["lethal", "sex_linked"] {
        if let (Some(entry), true) = (draft.fields.entry(key), unknown) {
            reader
                .error(
                    entry.key_span,
                    format!("`{key}` cannot be declared while the inheritance is unknown"),
                )
                .help("leave it away: it is among the possibilities that are compared");
        }
    }
}

fn lethal(reader: &mut Reader, draft: &Draft, entry: &Entry) -> Vec<Genotype> {
    if let Value::Text(text) = &entry.node.value {
        if text.trim() == "two copies" {
            return (1..=draft.gene.alleles.len()).map(|a| Genotype::Two(a, a)).collect();
        }
        reader
            .error(entry.node.span, format!("`lethal` cannot be `{}`", short(text)))
            .help("write `lethal = \"two copies\"`, or a list of genotypes");
        return Vec::new();
    }
    if !matches!(entry.node.value, Value::List(_)) {
        let found = entry.node.kind();
        reader
            .error(
                entry.node.span,
                format!("`lethal` must say which genotypes never hatch, not {found}"),
            )
            .help("write `lethal = \"two copies\"`, or a list of genotypes");
        return Vec::new();
    }
    let mut found = Vec::new();
    for (text, span) in reader.texts("lethal", &entry.node).unwrap_or_default() {
        let Some(genotype) = genotype(reader, &draft.gene, draft.system, text, span) else {
            continue;
        };
        if genotype.mutant_copies() == 0 {
            reader
                .error(span, format!("`{text}` is the wild type and cannot be lethal"))
                .help("list only genotypes with a mutant allele");
        } else if found.contains(&genotype) {
            reader.error(span, format!("the genotype `{text}` is listed twice"));
        } else {
            found.push(genotype);
        }
    }
    found
}

fn penetrance(reader: &mut Reader, draft: &Draft, entry: &Entry) -> Option<Penetrance> {
    match &entry.node.value {
        Value::Text(text) if text.trim() == "unknown" => Some(Penetrance::Unknown),
        Value::Table(table) => {
            let mut some: Vec<(Genotype, f64)> = Vec::new();
            for entry in &table.entries {
                let (text, span) = (entry.key.as_ref(), entry.key_span);
                let genotype = genotype(reader, &draft.gene, draft.system, text, span);
                let chance = reader.chance(text, &entry.node);
                let (Some(genotype), Some(chance)) = (genotype, chance) else { continue };
                let unknown = draft.gene.inheritance == Inheritance::Unknown;
                if !unknown && draft.gene.class_of(genotype) == 0 {
                    reader
                        .error(span, format!("the genotype `{text}` shows no look"))
                        .help("penetrance is the chance that a genotype shows its look");
                } else if some.iter().any(|(seen, _)| *seen == genotype) {
                    reader.error(span, format!("the genotype `{text}` is listed twice"));
                } else {
                    some.push((genotype, chance));
                }
            }
            Some(Penetrance::Some(some))
        }
        Value::Number(..) => reader.chance("penetrance", &entry.node).map(Penetrance::All),
        _ => reader.wrong_kind(
            "penetrance",
            &entry.node,
            "a chance, a table of genotypes, or \"unknown\"",
        ),
    }
}

fn misread(reader: &mut Reader, format: Format, draft: &Draft, entry: &Entry) -> Option<Misread> {
    let Value::Table(table) = &entry.node.value else {
        return reader.chance("misread", &entry.node).map(Misread::Any);
    };
    let fields = Fields::new(reader, format, &MISREAD, table);
    let mut part =
        |key: &str| fields.get(key).and_then(|node| reader.chance(key, node)).unwrap_or(0.0);
    let (missed, imagined, confused) = (part("missed"), part("imagined"), part("confused"));
    if let (Some(entry), ..=1) = (fields.entry("confused"), draft.gene.looks.len()) {
        reader
            .error(entry.key_span, "a gene with one look has no `confused`")
            .help("`confused` is the chance that one look of the gene is called another");
    }
    if missed + confused > 1.0 {
        reader.error(entry.node.span, "`missed` and `confused` are together more than 1");
    }
    Some(Misread::Apart { missed, imagined, confused })
}

/// One frequency for each mutant allele, from a number or a table by allele.
fn background(reader: &mut Reader, draft: &Draft, entry: &Entry) -> Option<Vec<f64>> {
    let alleles = &draft.gene.alleles;
    let frequencies = match &entry.node.value {
        Value::Table(table) => {
            let mut given = vec![None; alleles.len()];
            for entry in &table.entries {
                let name = normalise(&entry.key);
                match alleles.iter().position(|allele| *allele == name) {
                    Some(index) => given[index] = reader.chance(&name, &entry.node),
                    None => {
                        let names = alleles.iter().map(String::as_str);
                        let help = reader.suggest(&name, "allele", names);
                        let message = format!("`{}` is not an allele of this gene", short(&name));
                        reader.error(entry.key_span, message).help(help);
                        return None;
                    }
                }
            }
            if given.iter().any(Option::is_none) && table.entries.len() < alleles.len() {
                reader
                    .error(entry.key_span, "`background` leaves an allele out")
                    .help("give one number for all alleles, or one for each");
            }
            given.into_iter().collect::<Option<Vec<f64>>>()?
        }
        Value::List(list) if list.len() == alleles.len() => {
            let each = list.iter().map(|node| reader.chance("background", node));
            each.collect::<Vec<_>>().into_iter().collect::<Option<Vec<f64>>>()?
        }
        Value::List(_) => {
            reader.error(entry.node.span, format!("`background` needs {} numbers", alleles.len()));
            return None;
        }
        _ => vec![reader.chance("background", &entry.node)?; alleles.len()],
    };
    if frequencies.iter().sum::<f64>() >= 1.0 {
        reader
            .error(entry.node.span, "the background frequencies leave nothing for the wild type")
            .help("together they must stay below 1");
    }
    Some(frequencies)
}
