//! `[[combination]]`, `[[mask]]` and `[[linkage]]`: what binds several genes.

use rustc_hash::FxHashMap;

use super::Format;
use super::fields::{BY_SEX, COMBINATION, Fields, LINKAGE, MASK};
use super::reader::{Reader, short};
use super::tree::{Entry, Node, Span, Table, Value};
use super::vocabulary::{Owner, Vocabulary, read_name};
use crate::records::{
    Combination, CrossoverRates, GeneId, Hidden, LinkageGroup, Look, Mask, Place, normalise,
};

/// The tables under a `[[key]]`; anything else is reported.
pub(super) fn tables<'n, 't>(
    reader: &mut Reader,
    key: &str,
    heading: &str,
    node: Option<&'n Node<'t>>,
) -> Vec<(&'n Table<'t>, Span)> {
    let Some(node) = node else { return Vec::new() };
    let Value::List(list) = &node.value else {
        reader
            .error(node.span, format!("`{key}` must be a list of tables, not {}", node.kind()))
            .help(format!("begin each one with `[[{heading}]]`, in double brackets"));
        return Vec::new();
    };
    let table = |item: &'n Node<'t>| match &item.value {
        Value::Table(table) => Some((table, item.span)),
        _ => reader.wrong_kind(key, item, "a list of tables"),
    };
    list.iter().filter_map(table).collect()
}

/// Reads the combinations into the vocabulary.
pub(super) fn combinations(
    reader: &mut Reader,
    words: &mut Vocabulary,
    format: Format,
    node: Option<&Node>,
) {
    let all = tables(reader, "combination", "combination", node);
    for (index, (table, span)) in all.iter().enumerate() {
        let fields = Fields::new(reader, format, &COMBINATION, table);
        let Some(node) = fields.get("name") else {
            reader.error(*span, "a combination needs a `name`");
            continue;
        };
        let Some(text) = reader.text("name", node) else { continue };
        let name = read_name(reader, "a combination", text, node.span);
        if !words.claim(reader, &name, Owner::Combination(index), node.span) {
            continue;
        }
        let looks = match fields.entry("looks") {
            Some(entry) => combined(reader, words, entry, &all[index + 1..]),
            None => {
                reader
                    .error(node.span, format!("the combination `{}` needs `looks`", short(&name)));
                Vec::new()
            }
        };
        let place = reader.place(node.span);
        words.add_combination(Combination { name, looks, place });
    }
}

/// The looks of a combination; `later` are the ones that stand below it.
fn combined(
    reader: &mut Reader,
    words: &Vocabulary,
    entry: &Entry,
    later: &[(&Table, Span)],
) -> Vec<Look> {
    let Some(texts) = reader.texts("looks", &entry.node) else { return Vec::new() };
    let mut looks: Vec<Look> = Vec::new();
    let mut sound = true;
    for (text, span) in texts {
        if words.find_look(text).is_none() && is_below(later, text) {
            sound = false;
            reader
                .error(span, format!("the combination `{}` is declared further down", short(text)))
                .help("move it above the combination that uses it");
            continue;
        }
        let Some(found) = words.look(reader, text, span) else {
            sound = false;
            continue;
        };
        for look in found {
            sound &= super::observation::add_look(reader, words, &mut looks, *look, span);
        }
    }
    if sound && looks.len() < 2 {
        reader.error(entry.node.span, "a combination needs two or more looks");
    }
    looks
}

fn is_below(later: &[(&Table, Span)], name: &str) -> bool {
    let name = normalise(name);
    later.iter().any(|(table, _)| {
        table.entries.iter().any(|entry| {
            entry.key == "name"
                && matches!(&entry.node.value, Value::Text(text) if normalise(text) == name)
        })
    })
}

/// Reads the masks into the vocabulary.
pub(super) fn masks(
    reader: &mut Reader,
    words: &mut Vocabulary,
    format: Format,
    node: Option<&Node>,
) {
    for (table, span) in tables(reader, "mask", "mask", node) {
        let fields = Fields::new(reader, format, &MASK, table);
        let looks = match fields.get("look") {
            Some(node) => reader
                .text("look", node)
                .and_then(|text| words.look(reader, text, node.span))
                .map(<[Look]>::to_vec),
            None => {
                reader.error(span, "a mask needs a `look`").help("the look that hides something");
                None
            }
        };
        let Some(entry) = fields.entry("hides") else {
            reader.error(span, "a mask needs `hides`").help("list the genes or looks it hides");
            continue;
        };
        let looks = looks.unwrap_or_default();
        let hides = hidden(reader, words, &looks, &entry.node);
        if !looks.is_empty() {
            words.masks.push(Mask { looks, hides, place: reader.place(span) });
        }
    }
}

fn hidden(reader: &mut Reader, words: &Vocabulary, looks: &[Look], node: &Node) -> Vec<Hidden> {
    let mut hides = Vec::new();
    let Some(texts) = reader.texts("hides", node) else { return hides };
    if texts.is_empty() {
        reader
            .error(node.span, "a mask that hides nothing")
            .help("list the genes or looks it hides");
    }
    for (text, span) in texts {
        for found in genes_or_looks(reader, words, text, span) {
            let itself = match found {
                Hidden::Gene(gene) => looks.iter().any(|look| look.gene == gene),
                Hidden::Look(hidden) => looks.contains(&hidden),
            };
            if itself {
                reader
                    .error(span, format!("the mask hides itself: `{}`", short(text)))
                    .help("a look can only hide other genes and their looks");
            } else if hides.contains(&found) {
                reader.error(span, format!("`{}` is hidden twice", short(text)));
            } else {
                hides.push(found);
            }
        }
    }
    hides
}

/// A name in `hides`: a gene before a look, as hiding a gene of one look is the same.
fn genes_or_looks(reader: &mut Reader, words: &Vocabulary, text: &str, span: Span) -> Vec<Hidden> {
    match words.find_gene(text) {
        Some(gene) if words.is_gene_name(text) => vec![Hidden::Gene(gene)],
        _ => match words.find_look(text) {
            Some(looks) => looks.iter().map(|look| Hidden::Look(*look)).collect(),
            None => {
                let genes = words.genes.iter().map(|gene| gene.name.as_str());
                let help = reader.suggest(text, "gene or look", genes.chain(words.look_names()));
                reader
                    .error(span, format!("no gene or look is called `{}`", short(text)))
                    .help(help);
                Vec::new()
            }
        },
    }
}

/// Reads the linkage groups.
pub(super) fn linkage(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    node: Option<&Node>,
) -> Vec<LinkageGroup> {
    let mut groups = Vec::new();
    let mut grouped: FxHashMap<GeneId, Place> = FxHashMap::default();
    for (table, span) in tables(reader, "linkage", "linkage", node) {
        let fields = Fields::new(reader, format, &LINKAGE, table);
        let Some(entry) = fields.entry("genes") else {
            reader.error(span, "a linkage group needs `genes`").help("list them in map order");
            continue;
        };
        let Some(genes) = group_genes(reader, words, &mut grouped, &entry.node) else { continue };
        let Some(entry) = fields.entry("crossover") else {
            reader
                .error(span, "a linkage group needs `crossover`")
                .help("write a rate from 0 to 0.5, or \"unknown\"");
            continue;
        };
        if let Some(crossover) = crossover(reader, format, genes.len() - 1, &entry.node) {
            groups.push(LinkageGroup { genes, crossover, place: reader.place(span) });
        }
    }
    groups
}

fn group_genes(
    reader: &mut Reader,
    words: &Vocabulary,
    grouped: &mut FxHashMap<GeneId, Place>,
    node: &Node,
) -> Option<Vec<GeneId>> {
    let texts = reader.texts("genes", node)?;
    let named = texts.len();
    let mut genes: Vec<GeneId> = Vec::new();
    for (text, span) in texts {
        let Some(gene) = words.gene(reader, text, span) else { continue };
        if genes.contains(&gene) {
            reader.error(span, format!("the gene `{}` is named twice", short(text)));
        } else if let Some(place) = grouped.get(&gene) {
            reader
                .error(span, format!("the gene `{}` is in two linkage groups", short(text)))
                .help("a gene has one place; put all that travel together into one group")
                .related(*place, "first grouped here");
        } else {
            grouped.insert(gene, reader.place(span));
        }
        genes.push(gene);
    }
    if named < 2 {
        reader.error(node.span, "a linkage group needs two or more genes");
        return None;
    }
    let linked = |gene: &GeneId| words.genes[gene.0].sex_linked.is_some();
    if genes.iter().any(linked) && !genes.iter().all(linked) {
        reader
            .error(node.span, "a sex-linked gene and another cannot travel together")
            .help("genes of one group lie on one chromosome");
    }
    (genes.len() == named).then_some(genes)
}

fn crossover(
    reader: &mut Reader,
    format: Format,
    expected: usize,
    node: &Node,
) -> Option<CrossoverRates> {
    match &node.value {
        Value::Text(text) if text.trim() == "unknown" => Some(CrossoverRates::Unknown),
        Value::Table(table) => {
            let fields = Fields::new(reader, format, &BY_SEX, table);
            let mut of = |sex: &str| match fields.get(sex) {
                Some(node) => rates(reader, expected, node),
                None => {
                    reader
                        .error(node.span, format!("`crossover` does not give the rate in a {sex}"));
                    None
                }
            };
            let (female, male) = (of("female"), of("male"));
            Some(CrossoverRates::Known { female: female?, male: male? })
        }
        _ => {
            let rates = rates(reader, expected, node)?;
            Some(CrossoverRates::Known { female: rates.clone(), male: rates })
        }
    }
}

fn rates(reader: &mut Reader, expected: usize, node: &Node) -> Option<Vec<f64>> {
    let items = match &node.value {
        Value::List(list) => list.as_slice(),
        Value::Number(..) => std::slice::from_ref(node),
        _ => {
            return reader.wrong_kind("crossover", node, "a rate, a list of rates, or \"unknown\"");
        }
    };
    if items.len() != expected {
        let genes = expected + 1;
        reader
            .error(
                node.span,
                format!("{genes} genes take {expected} crossover rates, not {}", items.len()),
            )
            .help("give one rate for each pair of neighbours");
        return None;
    }
    let rates: Vec<_> =
        items.iter().map(|item| reader.chance_up_to(0.5, "crossover", item)).collect();
    rates.into_iter().collect()
}
