//! The words of the cells about looks, for a first mapping, and the genes they speak of.

use std::fmt::Write;

use super::names::Names;
use super::understand::{Form, Item, Meaning, items, meaning, pieces};
use super::words::fold;
use crate::records::nearest;
use crate::records::write::text::{name, quoted};

/// One word of the sheet.
struct Found {
    item: Item,
    count: usize,
    first: usize,
}

/// Writes `[words]`, and the genes when no file declares them.
pub(super) fn write(text: &mut String, cells: &[(usize, &str)], names: Option<&Names>) {
    let none = Names::default();
    let found = words_of(cells, names.unwrap_or(&none));
    if found.is_empty() {
        return;
    }
    text.push_str(
        "[words]\n\
         # Every word of the cells about looks, and what it means: names of looks, `normal`, `het NAME`,\n\
         # `66% het NAME`, `not het NAME`, several with a comma between them; `nothing`; or `report`:\n\
         # leave the row out and say so.\n",
    );
    let genes = if names.is_none() { candidates(&found) } else { Vec::new() };
    for one in &found {
        let (means, remark) = match names {
            Some(names) => with_names(names, &one.item),
            None => without_names(&genes, one),
        };
        let word = quoted(&fold(&one.item.text));
        let rows = format!("{}×, first in row {}", one.count, one.first);
        let remark = remark.map_or(String::new(), |remark| format!("; {remark}"));
        let open = means.contains('?');
        let remark =
            if open || !remark.is_empty() { format!("   # {rows}{remark}") } else { String::new() };
        let _ = writeln!(text, "{word} = {}{}", quoted(&means), one_line(&remark));
    }
    if names.is_none() {
        declare(text, &genes);
    }
}

fn one_line(remark: &str) -> String {
    remark.replace(|sign: char| sign.is_control(), " ")
}

fn words_of(cells: &[(usize, &str)], names: &Names) -> Vec<Found> {
    let mut found: Vec<Found> = Vec::new();
    let mut index = rustc_hash::FxHashMap::default();
    for (row, cell) in cells {
        for item in pieces(cell).iter().flat_map(|piece| items(names, piece)) {
            let at = *index.entry(fold(&item.text)).or_insert_with(|| {
                found.push(Found { item, count: 0, first: *row });
                found.len() - 1
            });
            found[at].count += 1;
        }
    }
    found.sort_by_key(|one| fold(&one.item.text));
    found
}

fn with_names(names: &Names, item: &Item) -> (String, Option<String>) {
    match meaning(names, item) {
        Ok(Meaning::Normal) => ("normal".to_string(), None),
        Ok(Meaning::Looks(_, text) | Meaning::Told(_, _, text)) => (text, None),
        Err(trouble) => {
            let open = open(names.allele(&item.name).map(|(allele, ..)| allele), item);
            (open, trouble.help)
        }
    }
}

/// The question that a word leaves, with as much as is known.
fn open(allele: Option<&str>, item: &Item) -> String {
    match (&item.form, allele) {
        (Form::Possible, Some(allele)) => format!("?% het {allele}"),
        _ => "?".to_string(),
    }
}

/// A gene that the sheet seems to speak of.
struct Candidate {
    name: String,
    count: usize,
    het: bool,
    doubled: bool,
}

/// The names that stand alone or behind a word of the trade; a rare one that is like a frequent
/// one is taken for a misspelling.
fn candidates(found: &[Found]) -> Vec<Candidate> {
    let mut genes: Vec<Candidate> = Vec::new();
    for one in found.iter().filter(|one| one.item.form != Form::Normal) {
        let full = fold(&one.item.name);
        let base = full.strip_prefix("super ").unwrap_or(&full).to_string();
        if base.is_empty() || base.contains(['/', '+', ':', '%', '"', '?']) {
            continue;
        }
        let at = genes.iter().position(|gene| gene.name == base).unwrap_or_else(|| {
            genes.push(Candidate { name: base.clone(), count: 0, het: false, doubled: false });
            genes.len() - 1
        });
        let gene = &mut genes[at];
        gene.count += one.count;
        gene.het |= matches!(one.item.form, Form::Het(_) | Form::Possible | Form::NotHet);
        gene.doubled |= full != base;
    }
    let misspelt: Vec<String> = genes
        .iter()
        .filter(|gene| like_a_frequent_one(&genes, &gene.name).is_some())
        .map(|gene| gene.name.clone())
        .collect();
    genes.retain(|gene| !misspelt.contains(&gene.name));
    genes
}

/// The name that a rare one may be a misspelling of.
fn like_a_frequent_one<'g>(genes: &'g [Candidate], name: &str) -> Option<&'g str> {
    let count = genes.iter().find(|gene| gene.name == name).map_or(0, |gene| gene.count);
    let others = genes.iter().filter(|gene| gene.name != name && gene.count >= 5 * count.max(1));
    nearest(name, others.map(|gene| gene.name.as_str()))
}

fn without_names(genes: &[Candidate], one: &Found) -> (String, Option<String>) {
    let item = &one.item;
    let full = fold(&item.name);
    let base = full.strip_prefix("super ").unwrap_or(&full);
    if item.form == Form::Normal {
        return ("normal".to_string(), None);
    }
    if !genes.iter().any(|gene| gene.name == base) {
        let near = nearest(base, genes.iter().map(|gene| gene.name.as_str()));
        return ("?".to_string(), near.map(|near| format!("like `{near}`")));
    }
    let means = match &item.form {
        Form::Named | Form::Visual => full.clone(),
        Form::Het(None) => format!("het {full}"),
        Form::Het(Some(percent)) => format!("{}% het {full}", percent.replace(',', ".")),
        Form::NotHet => format!("not het {full}"),
        Form::Possible => format!("?% het {full}"),
        Form::PercentOnly(_) | Form::Normal => "?".to_string(),
    };
    (means, None)
}

fn declare(text: &mut String, genes: &[Candidate]) {
    if genes.is_empty() {
        return;
    }
    text.push_str(
        "\n# The genes that the words above speak of, for the new records file. How each is inherited:\n\
         # recessive, dominant, incomplete dominant, or unknown. Take out what is no gene; a name for\n\
         # several looks at once is written [[combination]] with `name` and `looks`.\n",
    );
    for gene in genes {
        let hint = match (gene.doubled, gene.het) {
            (true, _) => "   # \"super\" in the sheet speaks for incomplete dominant",
            (false, true) => "   # \"het\" in the sheet speaks for recessive",
            (false, false) => "",
        };
        let _ = writeln!(text, "[gene.{}]\ninheritance = \"?\"{hint}", name(&gene.name));
    }
}
