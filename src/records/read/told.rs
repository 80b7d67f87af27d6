//! What was told or measured: sellers' statements and readings.

use super::Format;
use super::fields::{Fields, READING};
use super::genotype::{genotype, one_copy_sex, possible};
use super::reader::{Reader, short};
use super::tree::{Entry, Node, Span, Table};
use super::vocabulary::Vocabulary;
use crate::records::{
    Gene, GeneId, Genotype, Reading, ReadingKind, Says, Sex, Statement, normalise,
};

/// Reads `sold_as`: statements, one a gene.
pub(super) fn statements(
    reader: &mut Reader,
    words: &Vocabulary,
    sex: Option<Sex>,
    node: &Node,
) -> Vec<Statement> {
    let mut statements: Vec<Statement> = Vec::new();
    for (text, span) in reader.texts("sold_as", node).unwrap_or_default() {
        for (gene, says) in statement(reader, words, sex, text, span) {
            let place = reader.place(span);
            if let Some(first) = statements.iter().find(|other| other.gene == gene) {
                let message = format!(
                    "a second statement on the gene `{}`",
                    short(&words.genes[gene.0].name)
                );
                let first = first.place;
                reader
                    .error(span, message)
                    .help("keep the one that says more")
                    .related(first, "the first one");
            } else {
                statements.push(Statement { gene, says, text: normalise(text), place });
            }
        }
    }
    statements
}

fn statement(
    reader: &mut Reader,
    words: &Vocabulary,
    sex: Option<Sex>,
    text: &str,
    span: Span,
) -> Vec<(GeneId, Says)> {
    for vague in ["possible het ", "possible ", "poss het ", "poss. het ", "pos het ", "pos. het "]
    {
        if let Some(name) = text.strip_prefix(vague) {
            let name = short(name.strip_prefix("het ").unwrap_or(name));
            reader
                .error(span, format!("`{}` does not say how probable it is", short(text)))
                .help(format!("give the percentage: `66% het {name}` or `50% het {name}`"));
            return Vec::new();
        }
    }
    if let Some(name) = text.strip_prefix("not het ") {
        let found = allele(reader, words, name, span);
        return found.map(|(gene, allele)| (gene, Says::NotHet { allele })).into_iter().collect();
    }
    let (chance, name) = match (text.strip_prefix("het "), text.split_once('%')) {
        (Some(name), _) => (1.0, name),
        (None, Some((percentage, rest))) => {
            let Some(parts) = percent(reader, text, percentage, rest, span) else {
                return Vec::new();
            };
            parts
        }
        (None, None) => return visual(reader, words, text, span),
    };
    let Some((gene, allele)) = allele(reader, words, name, span) else { return Vec::new() };
    check_het(reader, words, &words.genes[gene.0], allele, sex, span);
    vec![(gene, Says::Het { allele, chance })]
}

/// `66% het NAME`, split at its percent sign.
fn percent<'s>(
    reader: &mut Reader,
    text: &str,
    percentage: &str,
    rest: &'s str,
    span: Span,
) -> Option<(f64, &'s str)> {
    let number: Option<f64> = percentage.trim().parse().ok();
    let Some(name) = rest.trim_start().strip_prefix("het ") else {
        reader
            .error(span, format!("`{}` is not a statement", short(text)))
            .help("a percentage is followed by `het` and a name, as in `66% het NAME`");
        return None;
    };
    let Some(number) = number.filter(|number| (0.0..=100.0).contains(number)) else {
        reader
            .error(span, format!("`{}` is not a percentage from 0 to 100", short(percentage)))
            .help("write, for example, `66% het NAME`");
        return None;
    };
    // SOURCE: the trade rounds the 2 : 1 of two carriers' normal young to 66 % or 67 %.
    let chance = match number {
        66.0 | 67.0 => 2.0 / 3.0,
        33.0 => 1.0 / 3.0,
        other => other / 100.0,
    };
    Some((chance, name))
}

fn visual(reader: &mut Reader, words: &Vocabulary, text: &str, span: Span) -> Vec<(GeneId, Says)> {
    if text == "normal" {
        reader
            .error(span, "`normal` says nothing of one gene")
            .help("what was seen belongs to `looks`; that it carries none is `not het NAME`");
        return Vec::new();
    }
    let Some(looks) = words.find_look(text) else {
        let help = match words.find_allele(text) {
            Some(_) => format!("write `het {}`, or the name of the look", short(text)),
            None => reader.suggest(text, "look", words.look_names()),
        };
        reader
            .error(span, format!("`{}` is neither a look nor a het statement", short(text)))
            .help(help);
        return Vec::new();
    };
    looks.iter().map(|look| (look.gene, Says::Look(look.class))).collect()
}

fn allele(
    reader: &mut Reader,
    words: &Vocabulary,
    name: &str,
    span: Span,
) -> Option<(GeneId, usize)> {
    let found = words.find_allele(name);
    if found.is_none() {
        let help = match words.find_gene(name) {
            Some(gene) => {
                let alleles = words.genes[gene.0].alleles.iter().map(String::as_str);
                format!("that gene has several alleles: {}", super::reader::one_of(alleles))
            }
            None => reader.suggest(name, "allele", words.allele_names()),
        };
        reader.error(span, format!("no allele is called `{}`", short(name))).help(help);
    }
    found
}

fn check_het(
    reader: &mut Reader,
    words: &Vocabulary,
    gene: &Gene,
    allele: usize,
    sex: Option<Sex>,
    span: Span,
) {
    if sex.is_some() && one_copy_sex(gene, words.sex_system) == sex {
        let sex = if sex == Some(Sex::Male) { "male" } else { "female" };
        reader
            .error(
                span,
                format!("a {sex} has one copy of `{}` and cannot be het", short(&gene.name)),
            )
            .help("what it has, it shows: record its look");
    } else if gene.class_of(Genotype::two(0, allele)) > 0 {
        let name = short(gene.allele_name(allele));
        reader.notice(
            span,
            format!("one copy of `{name}` is visible, so its looks say more than a het statement"),
        );
    }
}

/// Reads `readings`: evidence on the genotype itself.
pub(super) fn readings(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    sex: Option<Sex>,
    node: &Node,
) -> Vec<Reading> {
    let list = reader.list("readings", node).unwrap_or_default();
    list.iter().filter_map(|node| reading(reader, words, format, sex, node)).collect()
}

fn reading(
    reader: &mut Reader,
    words: &Vocabulary,
    format: Format,
    sex: Option<Sex>,
    node: &Node,
) -> Option<Reading> {
    let table = reader.table("readings", node)?;
    let fields = Fields::new(reader, format, &READING, table);
    let gene = match fields.get("gene") {
        Some(node) => {
            reader.text("gene", node).and_then(|text| words.gene(reader, text, node.span))
        }
        None => {
            reader.error(node.span, "a reading needs a `gene`");
            None
        }
    };
    let gene_id = gene?;
    let gene = &words.genes[gene_id.0];
    let subject = Subject { words, gene, possible: possible(gene, words.sex_system, sex), sex };
    let kind = match (fields.entry("result"), fields.entry("likelihood")) {
        (Some(result), None) => stated(reader, &subject, fields, result),
        (None, Some(entry)) => {
            if let Some(extra) = fields.entry("reliability") {
                reader
                    .error(extra.key_span, "`reliability` goes with `result`")
                    .help("a `likelihood` already says how far each genotype is supported");
            }
            let table = reader.table("likelihood", &entry.node)?;
            likelihood(reader, &subject, table, entry)
        }
        _ => {
            reader.error(node.span, "a reading has either a `result` or a `likelihood`").help(
                "write `result = \"+/+\", reliability = 0.99`, or a likelihood for each genotype",
            );
            None
        }
    };
    Some(Reading { gene: gene_id, kind: kind?, place: reader.place(node.span) })
}

/// Which genotypes a reading can be about.
struct Subject<'w> {
    words: &'w Vocabulary,
    gene: &'w Gene,
    /// Those that an animal of this sex can have.
    possible: Vec<Genotype>,
    sex: Option<Sex>,
}

impl Subject<'_> {
    fn name(&self, genotype: Genotype) -> String {
        self.gene.genotype_name(genotype, self.words.sex_system)
    }

    /// A genotype that an animal of this sex can have.
    fn genotype(&self, reader: &mut Reader, text: &str, span: Span) -> Option<Genotype> {
        let found = genotype(reader, self.gene, self.words.sex_system, text, span)?;
        if self.possible.contains(&found) {
            return Some(found);
        }
        let sex = if self.sex == Some(Sex::Male) { "male" } else { "female" };
        reader.error(span, format!("a {sex} cannot be `{}` at this gene", self.name(found)));
        None
    }
}

fn stated(
    reader: &mut Reader,
    subject: &Subject,
    fields: Fields,
    entry: &Entry,
) -> Option<ReadingKind> {
    let text = reader.text("result", &entry.node)?;
    let genotype = subject.genotype(reader, text, entry.node.span);
    let reliability = match fields.get("reliability") {
        Some(node) => reader.chance("reliability", node),
        None => {
            reader
                .error(entry.key_span, "a `result` needs its `reliability`")
                .help("the chance that the test is right, as in `reliability = 0.99`");
            None
        }
    };
    Some(ReadingKind::Result { genotype: genotype?, reliability: reliability? })
}

fn likelihood(
    reader: &mut Reader,
    subject: &Subject,
    table: &Table,
    entry: &Entry,
) -> Option<ReadingKind> {
    let before = reader.errors.len();
    let mut listed: Vec<(Genotype, f64)> = Vec::with_capacity(table.entries.len());
    for entry in &table.entries {
        let found = subject.genotype(reader, &entry.key, entry.key_span);
        let value = reader.amount(&entry.key, &entry.node);
        let (Some(genotype), Some(value)) = (found, value) else { continue };
        if listed.iter().any(|(seen, _)| *seen == genotype) {
            let name = subject.name(genotype);
            reader.error(entry.key_span, format!("the genotype `{name}` is listed twice"));
        }
        listed.push((genotype, value));
    }
    if reader.errors.len() > before {
        return None;
    }
    let absent = |genotype: &&Genotype| !listed.iter().any(|(seen, _)| seen == *genotype);
    let missing: Vec<String> = subject
        .possible
        .iter()
        .filter(absent)
        .map(|genotype| format!("`{}`", subject.name(*genotype)))
        .collect();
    if !missing.is_empty() {
        let shown = missing.len().min(8);
        reader
            .error(
                entry.key_span,
                format!("the likelihood leaves out {}", missing[..shown].join(", ")),
            )
            .help("list every genotype the animal can have; 0 says it is ruled out");
        return None;
    }
    if !listed.iter().map(|(_, value)| *value).sum::<f64>().is_finite() {
        reader
            .error(entry.key_span, "the likelihoods are too large")
            .help("only their ratios matter");
        return None;
    }
    if listed.iter().all(|(_, value)| *value <= 0.0) {
        reader
            .error(entry.key_span, "every likelihood is zero")
            .help("at least one must be above 0");
        return None;
    }
    Some(ReadingKind::Likelihood(listed))
}
