//! `[gene.…]`: how a gene is inherited, and the names of its alleles and looks.

use rustc_hash::FxHashMap;

use super::Format;
use super::fields::{Fields, GENE, LOOK_NAMES};
use super::gene_options as options;
use super::genotype::genotype;
use super::reader::{Reader, one_of, short};
use super::tree::{Entry, Node, Span, Value};
use super::vocabulary::{Vocabulary, read_name, super_name};
use crate::records::{FirstSeen, Gene, Genotype, Inheritance, SexLinkage, SexSystem};

/// More alleles than any series has; genotypes grow with the square of it.
const MOST_ALLELES: usize = 60;

/// What can only be resolved once the animals are known.
pub(super) struct Pending<'n, 't> {
    /// The value of `first_seen`.
    pub first_seen: Option<&'n Node<'t>>,
    /// The name of the gene.
    pub span: Span,
}

/// One gene while it is read.
pub(super) struct Draft<'n, 't> {
    pub fields: Fields<'n, 't>,
    pub gene: Gene,
    pub span: Span,
    pub system: SexSystem,
    /// Where each of its names is written.
    spans: FxHashMap<String, Span>,
}

const INHERITANCE: [(&str, Inheritance); 4] = [
    ("recessive", Inheritance::Recessive),
    ("dominant", Inheritance::Dominant),
    ("incomplete dominant", Inheritance::IncompleteDominant),
    ("unknown", Inheritance::Unknown),
];

/// Reads every gene into the vocabulary; the answer has one entry for each.
pub(super) fn genes<'n, 't>(
    reader: &mut Reader,
    words: &mut Vocabulary,
    format: Format,
    node: &'n Node<'t>,
) -> Vec<Pending<'n, 't>> {
    if let Value::List(_) = node.value {
        reader
            .error(node.span, "a gene's name is missing")
            .help("begin a gene with its name in single brackets: `[gene.NAME]`");
        return Vec::new();
    }
    let Some(table) = reader.table("gene", node) else { return Vec::new() };
    let mut pending = Vec::new();
    for entry in &table.entries {
        if let Some(draft) = one_gene(reader, words.sex_system, format, entry) {
            let first_seen = draft.fields.get("first_seen");
            pending.push(Pending { first_seen, span: draft.span });
            words.add_gene(reader, draft.gene, &draft.spans);
        }
    }
    pending
}

fn one_gene<'n, 't>(
    reader: &mut Reader,
    system: SexSystem,
    format: Format,
    entry: &'n Entry<'t>,
) -> Option<Draft<'n, 't>> {
    let Value::Table(table) = &entry.node.value else {
        reader
            .error(entry.key_span, format!("the gene `{}` must be a table", short(&entry.key)))
            .help(format!("write `[gene.{}]` and its keys below", short(&entry.key)));
        return None;
    };
    let fields = Fields::new(reader, format, &GENE, table);
    let name = read_name(reader, "a gene", &entry.key, entry.key_span);
    let spans = FxHashMap::from_iter([(name.clone(), entry.key_span)]);
    let gene = empty(name, reader, entry.key_span);
    let mut draft = Draft { fields, gene, span: entry.key_span, system, spans };
    draft.other_names(reader);
    draft.sex_linkage(reader);
    draft.inheritance(reader, format);
    options::read(reader, format, &mut draft);
    Some(draft)
}

fn empty(name: String, reader: &Reader, span: Span) -> Gene {
    Gene {
        name,
        place: reader.place(span),
        aka: Vec::new(),
        caution: None,
        inheritance: Inheritance::IncompleteDominant,
        alleles: Vec::new(),
        looks: Vec::new(),
        shows: Vec::new(),
        lethal: Vec::new(),
        penetrance: None,
        misread: None,
        background: None,
        sex_linked: None,
        from_age_adult: false,
        judged_since: None,
        first_seen: FirstSeen::default(),
    }
}

impl<'n, 't> Draft<'n, 't> {
    fn other_names(&mut self, reader: &mut Reader) {
        let Some(node) = self.fields.get("aka") else { return };
        for (text, span) in reader.texts("aka", node).unwrap_or_default() {
            let name = read_name(reader, "a gene", text, span);
            if self.gene.aka.contains(&name) || self.gene.name == name {
                reader.error(span, format!("the gene is called `{}` twice", short(&name)));
                continue;
            }
            self.spans.insert(name.clone(), span);
            self.gene.aka.push(name);
        }
    }

    fn sex_linkage(&mut self, reader: &mut Reader) {
        let linked = self.fields.entry("sex_linked");
        let crossover = self.fields.entry("crossover");
        let on = linked.and_then(|entry| reader.flag("sex_linked", &entry.node)).unwrap_or(false);
        let rate = crossover.and_then(|entry| reader.chance_up_to(0.5, "crossover", &entry.node));
        if let (Some(entry), false) = (crossover, on) {
            reader
                .error(entry.key_span, "`crossover` needs `sex_linked = true`")
                .help("two genes that travel together are written as a `[[linkage]]`");
        }
        if !on {
            return;
        }
        if self.system == SexSystem::Environmental {
            let span = linked.map_or(self.span, |entry| entry.key_span);
            reader.error(span, "a sex-linked gene needs sex chromosomes").help(
                "write `sex_system = \"XY\"` or `sex_system = \"ZW\"` at the top of the file",
            );
        }
        self.gene.sex_linked = Some(SexLinkage { crossover: rate });
    }

    fn inheritance(&mut self, reader: &mut Reader, format: Format) {
        let inheritance = self.fields.entry("inheritance");
        let alleles = self.fields.entry("alleles");
        match (inheritance, alleles) {
            (Some(entry), Some(_)) => {
                reader
                    .error(entry.key_span, "a gene has either `inheritance` or `alleles`")
                    .help("with `alleles`, the table `looks` says what each genotype shows");
                self.series(reader, alleles);
            }
            (None, Some(_)) => self.series(reader, alleles),
            (Some(entry), None) => {
                let kind = reader.choice("inheritance", &entry.node, &INHERITANCE);
                self.gene.inheritance = kind.unwrap_or(self.gene.inheritance);
                self.one_allele(reader, format);
            }
            (None, None) => {
                let message = format!(
                    "the gene `{}` does not say how it is inherited",
                    short(&self.gene.name)
                );
                reader.error(self.span, message).help(format!(
                    "write `inheritance = …`: {}; or list its `alleles`",
                    one_of(INHERITANCE.iter().map(|(word, _)| *word))
                ));
                self.one_allele(reader, format);
            }
        }
    }

    /// A gene with one mutant allele, called like the gene.
    fn one_allele(&mut self, reader: &mut Reader, format: Format) {
        self.gene.alleles = vec![self.gene.name.clone()];
        let names = self.fields.entry("names");
        if self.gene.inheritance == Inheritance::Unknown {
            if let Some(entry) = names {
                reader
                    .error(entry.key_span, "a gene of unknown inheritance has no `names`")
                    .help("list what has been seen: `looks = [\"…\"]`, weakest first");
            }
            self.unknown_looks(reader);
            return;
        }
        let [one, two] = self.look_names(reader, format);
        self.default_looks(reader, one, two);
        if let Some(entry) = self.fields.entry("looks") {
            self.one_copy_looks(reader, entry);
        }
    }

    /// The names given to what one and two copies show.
    fn look_names(&mut self, reader: &mut Reader, format: Format) -> [Option<String>; 2] {
        let Some(table) = self.fields.get("names").and_then(|node| reader.table("names", node))
        else {
            return [None, None];
        };
        let fields = Fields::new(reader, format, &LOOK_NAMES, table);
        ["one_copy", "two_copies"].map(|key| {
            let node = fields.get(key)?;
            let text = reader.text(key, node)?;
            let name = read_name(reader, "a look", text, node.span);
            self.spans.insert(name.clone(), node.span);
            Some(name)
        })
    }

    fn default_looks(&mut self, reader: &mut Reader, one: Option<String>, two: Option<String>) {
        let name = self.gene.name.clone();
        let span = self.fields.entry("names").map_or(self.span, |entry| entry.key_span);
        let (one, two) = match self.gene.inheritance {
            Inheritance::Recessive => {
                if one.is_some() {
                    reader
                        .error(span, "one copy of a recessive gene shows nothing")
                        .help("name what two copies show: `names = { two_copies = \"…\" }`");
                }
                (None, two.unwrap_or(name))
            }
            Inheritance::Dominant => {
                if one.is_some() && two.is_some() && one != two {
                    reader
                        .error(span, "a dominant gene has one look")
                        .help("two looks make it `inheritance = \"incomplete dominant\"`");
                }
                let look = one.or(two).unwrap_or(name);
                (Some(look.clone()), look)
            }
            _ => {
                let (one, two) =
                    (one.unwrap_or_else(|| name.clone()), two.unwrap_or_else(|| super_name(&name)));
                if one == two {
                    reader
                        .error(
                            span,
                            format!("one and two copies are both called `{}`", short(&one)),
                        )
                        .help("a gene with one look is `inheritance = \"dominant\"`");
                }
                (Some(one), two)
            }
        };
        let on_one_chromosome = self.gene.sex_linked.is_some_and(|link| link.crossover.is_none());
        let single = one.clone().unwrap_or_else(|| two.clone());
        if let Some(one) = one {
            self.show(Genotype::Two(0, 1), one);
        }
        self.show(Genotype::Two(1, 1), two);
        if on_one_chromosome {
            self.show(Genotype::One(1), single);
        }
    }

    /// Notes what a genotype shows.
    fn show(&mut self, genotype: Genotype, look: String) {
        let known = self.gene.looks.iter().position(|name| *name == look);
        let class = known.unwrap_or_else(|| {
            self.gene.looks.push(look);
            self.gene.looks.len() - 1
        });
        self.gene.shows.retain(|(shown, _)| *shown != genotype);
        self.gene.shows.push((genotype, class + 1));
    }

    /// `looks` of a one-allele gene may only say what the one-copy sex shows.
    fn one_copy_looks(&mut self, reader: &mut Reader, entry: &'n Entry<'t>) {
        let Value::Table(_) = entry.node.value else {
            reader
                .error(entry.key_span, "`looks` is for genes with `alleles` or unknown inheritance")
                .help("rename the looks of this gene with `names = { one_copy = \"…\", two_copies = \"…\" }`");
            return;
        };
        for (genotype, look, span) in self.listed_looks(reader, &entry.node) {
            if matches!(genotype, Genotype::One(_)) {
                self.show(genotype, look);
            } else {
                reader
                    .error(span, "what two copies show follows from `inheritance`")
                    .help("rename it with `names`; `looks` may add what the one-copy sex shows");
            }
        }
    }

    /// `looks = { "+/fern" = "fern" }`: each genotype with its look.
    fn listed_looks(
        &mut self,
        reader: &mut Reader,
        node: &'n Node<'t>,
    ) -> Vec<(Genotype, String, Span)> {
        let Some(table) = reader.table("looks", node) else { return Vec::new() };
        let mut listed: Vec<(Genotype, String, Span)> = Vec::new();
        for entry in &table.entries {
            let found = genotype(reader, &self.gene, self.system, &entry.key, entry.key_span);
            let text = reader.text("looks", &entry.node);
            let (Some(genotype), Some(text)) = (found, text) else { continue };
            if text == "normal" {
                continue;
            }
            let look = read_name(reader, "a look", text, entry.node.span);
            self.spans.entry(look.clone()).or_insert(entry.node.span);
            if genotype.mutant_copies() == 0 {
                reader
                    .error(
                        entry.key_span,
                        format!("`{}` is the wild type and shows nothing", entry.key),
                    )
                    .help("list only genotypes with a mutant allele");
            } else if listed.iter().any(|(seen, ..)| *seen == genotype) {
                let name = self.gene.genotype_name(genotype, self.system);
                reader.error(entry.key_span, format!("the genotype `{name}` is listed twice"));
            } else {
                listed.push((genotype, look, entry.key_span));
            }
        }
        listed
    }

    /// A gene with several mutant alleles.
    fn series(&mut self, reader: &mut Reader, entry: Option<&'n Entry<'t>>) {
        self.gene.inheritance = Inheritance::Alleles;
        let Some(entry) = entry else { return };
        let texts = reader.texts("alleles", &entry.node).unwrap_or_default();
        if texts.len() > MOST_ALLELES {
            reader
                .error(entry.key_span, format!("a gene has at most {MOST_ALLELES} mutant alleles"));
        }
        for (text, span) in texts.into_iter().take(MOST_ALLELES) {
            let name = read_name(reader, "an allele", text, span);
            if self.gene.alleles.contains(&name) {
                reader.error(span, format!("the allele `{}` is named twice", short(&name)));
                continue;
            }
            self.spans.entry(name.clone()).or_insert(span);
            self.gene.alleles.push(name);
        }
        if self.gene.alleles.is_empty() {
            reader
                .error(entry.key_span, "`alleles` names no allele")
                .help("list the mutant alleles; the wild type `+` is always there");
        }
        if let Some(names) = self.fields.entry("names") {
            reader
                .error(names.key_span, "a gene with `alleles` has no `names`")
                .help("the table `looks` says what each genotype shows");
        }
        match self.fields.entry("looks") {
            Some(looks) => {
                for (genotype, look, _) in self.listed_looks(reader, &looks.node) {
                    self.show(genotype, look);
                }
            }
            None => {
                reader.error(entry.key_span, "a gene with `alleles` needs `looks`").help(
                    "say what each genotype shows, as in `looks = { \"+/NAME\" = \"…\" }`; what is not listed is normal",
                );
            }
        }
    }

    /// `looks = ["…", "…"]` of a suspected gene, weakest first.
    fn unknown_looks(&mut self, reader: &mut Reader) {
        let Some(entry) = self.fields.entry("looks") else {
            self.gene.looks = vec![self.gene.name.clone()];
            return;
        };
        for (text, span) in reader.texts("looks", &entry.node).unwrap_or_default() {
            let name = read_name(reader, "a look", text, span);
            if self.gene.looks.contains(&name) {
                reader.error(span, format!("the look `{}` is named twice", short(&name)));
                continue;
            }
            self.spans.entry(name.clone()).or_insert(span);
            self.gene.looks.push(name);
        }
        let wrong = match (&entry.node.value, self.gene.looks.len()) {
            (Value::List(_), 0) => "`looks` names no look",
            (Value::List(_), 3..) => "a gene of unknown inheritance has one or two looks",
            _ => return,
        };
        reader.error(entry.key_span, wrong).help("list what has been seen, weakest first");
    }
}
