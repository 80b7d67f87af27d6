//! The names of genes, alleles, looks and combinations, and what they stand for.

use rustc_hash::FxHashMap;

use super::reader::{Reader, short};
use super::tree::Span;
use crate::records::{
    Combination, Gene, GeneId, Inheritance, Look, Mask, Place, SexSystem, normalise,
};

/// Names with a meaning of their own.
const RESERVED: [&str; 5] = ["normal", "unknown", "none", "Y", "W"];

/// Who uses a name.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Owner {
    Gene(usize),
    Combination(usize),
}

/// Everything that calls can be about.
#[derive(Default)]
pub(super) struct Vocabulary {
    pub sex_system: SexSystem,
    pub genes: Vec<Gene>,
    pub combinations: Vec<Combination>,
    pub masks: Vec<Mask>,
    gene_names: FxHashMap<String, GeneId>,
    alleles: FxHashMap<String, (GeneId, usize)>,
    looks: FxHashMap<String, Vec<Look>>,
    owners: FxHashMap<String, (Owner, Place)>,
}

/// A name as it is compared; one that may not be a name is reported and kept, so that what refers
/// to it is not reported too.
pub(super) fn read_name(reader: &mut Reader, kind: &str, text: &str, span: Span) -> String {
    let name = normalise(text);
    let forbidden = |c: &char| matches!(c, '/' | '+' | ':' | '%' | '"') || c.is_control();
    if name.is_empty() {
        reader.error(span, format!("the name of {kind} is empty"));
    } else if RESERVED.contains(&name.as_str()) {
        reader
            .error(span, format!("`{name}` cannot be the name of {kind}"))
            .help("`normal`, `unknown`, `none`, `Y` and `W` have a meaning of their own");
    } else if let Some(bad) = name.chars().find(forbidden) {
        let sign =
            if bad.is_control() { "a control character".to_string() } else { format!("`{bad}`") };
        reader
            .error(span, format!("the name `{}` contains {sign}", short(&name)))
            .help("a name may not contain / + : % \" or control characters");
    }
    name
}

impl Vocabulary {
    /// Nothing declared yet.
    pub fn new(sex_system: SexSystem) -> Self {
        Vocabulary { sex_system, ..Vocabulary::default() }
    }

    /// Notes who uses a name; reports it when somebody else does already.
    pub fn claim(&mut self, reader: &mut Reader, name: &str, owner: Owner, span: Span) -> bool {
        if let Some((first, place)) = self.owners.get(name) {
            if *first == owner {
                return true;
            }
            reader
                .error(span, format!("the name `{}` is used twice", short(name)))
                .help("genes, alleles, looks and combinations each need a name of their own")
                .related(*place, "first used here");
            return false;
        }
        self.owners.insert(name.to_string(), (owner, reader.place(span)));
        true
    }

    /// Adds a gene under its names; those of another owner are reported and left to him.
    pub fn add_gene(&mut self, reader: &mut Reader, gene: Gene, spans: &FxHashMap<String, Span>) {
        let id = GeneId(self.genes.len());
        let owner = Owner::Gene(id.0);
        let at = |name: &str| spans.get(name).copied().unwrap_or_default();
        if self.claim(reader, &gene.name, owner, at(&gene.name)) {
            self.gene_names.insert(gene.name.clone(), id);
        }
        for (index, allele) in gene.alleles.iter().enumerate() {
            if self.claim(reader, allele, owner, at(allele)) {
                self.alleles.insert(allele.clone(), (id, index + 1));
            }
        }
        for (index, look) in gene.looks.iter().enumerate() {
            if self.claim(reader, look, owner, at(look)) {
                self.looks.insert(look.clone(), vec![Look { gene: id, class: index + 1 }]);
            }
        }
        for aka in &gene.aka {
            if self.claim(reader, aka, owner, at(aka)) {
                self.add_other_name(&gene, id, aka);
            }
        }
        self.genes.push(gene);
    }

    /// Another name stands for the gene, for its allele when it has one, and for the looks that
    /// are called after the gene.
    fn add_other_name(&mut self, gene: &Gene, id: GeneId, aka: &str) {
        self.gene_names.entry(aka.to_string()).or_insert(id);
        if gene.alleles.len() == 1 && gene.inheritance != Inheritance::Alleles {
            self.alleles.entry(aka.to_string()).or_insert((id, 1));
        }
        for (look, named) in
            [(gene.name.clone(), aka.to_string()), (super_name(&gene.name), super_name(aka))]
        {
            if let Some(class) = gene.looks.iter().position(|name| *name == look) {
                let looks = vec![Look { gene: id, class: class + 1 }];
                self.looks.entry(named).or_insert(looks);
            }
        }
    }

    /// Adds a combination.
    pub fn add_combination(&mut self, combination: Combination) {
        self.looks.insert(combination.name.clone(), combination.looks.clone());
        self.combinations.push(combination);
    }

    /// The gene of this name; the name of an allele stands for its gene.
    pub fn find_gene(&self, name: &str) -> Option<GeneId> {
        let name = normalise(name);
        let allele = || self.alleles.get(&name).map(|(gene, _)| *gene);
        self.gene_names.get(&name).copied().or_else(allele)
    }

    /// Whether this is the name of a gene itself, and not only of one of its alleles.
    pub fn is_gene_name(&self, name: &str) -> bool {
        self.gene_names.contains_key(&normalise(name))
    }

    /// The gene of this name, or nothing and an error.
    pub fn gene(&self, reader: &mut Reader, name: &str, span: Span) -> Option<GeneId> {
        let found = self.find_gene(name);
        if found.is_none() {
            let names = self.genes.iter().map(|gene| gene.name.as_str());
            let help = reader.suggest(name, "gene", names);
            reader.error(span, format!("no gene is called `{}`", short(name))).help(help);
        }
        found
    }

    /// The looks that a name stands for: one, or those of a combination.
    pub fn find_look(&self, name: &str) -> Option<&[Look]> {
        if let Some(looks) = self.looks.get(name) {
            return Some(looks);
        }
        self.looks.get(&normalise(name)).map(Vec::as_slice)
    }

    /// The looks that a name stands for, or nothing and an error.
    pub fn look(&self, reader: &mut Reader, name: &str, span: Span) -> Option<&[Look]> {
        let found = self.find_look(name);
        if found.is_none() {
            let help = self.look_help(reader, name);
            reader.error(span, format!("no look is called `{}`", short(name))).help(help);
        }
        found
    }

    fn look_help(&self, reader: &mut Reader, name: &str) -> String {
        if matches!(name, "unknown" | "none") {
            return "leave `looks` away when nothing was recorded; an animal that shows nothing is \
                    `[\"normal\"]`"
                .to_string();
        }
        if let Some(gene) = self.find_gene(name) {
            let gene = &self.genes[gene.0];
            let looks = gene.looks.iter().map(String::as_str);
            return format!("that is a gene; its looks: {}", super::reader::one_of(looks));
        }
        if ["het ", "possible ", "pos "].iter().any(|word| name.starts_with(word)) {
            return "a look is what one can see; what a seller said belongs to `sold_as`"
                .to_string();
        }
        reader.suggest(name, "look", self.look_names())
    }

    /// The allele of this name; the name of a one-allele gene stands for its allele.
    pub fn find_allele(&self, name: &str) -> Option<(GeneId, usize)> {
        let name = normalise(name);
        let of_gene = || {
            let gene = *self.gene_names.get(&name)?;
            (self.genes[gene.0].alleles.len() == 1).then_some((gene, 1))
        };
        self.alleles.get(&name).copied().or_else(of_gene)
    }

    /// The names of every allele, in order of declaration.
    pub fn allele_names(&self) -> impl Iterator<Item = &str> + Clone {
        self.genes.iter().flat_map(|gene| gene.alleles.iter().map(String::as_str))
    }

    /// The names of every look and combination, in order of declaration.
    pub fn look_names(&self) -> impl Iterator<Item = &str> + Clone {
        let single = self.genes.iter().flat_map(|gene| gene.looks.iter().map(String::as_str));
        single.chain(self.combinations.iter().map(|combination| combination.name.as_str()))
    }

    /// The name of a look.
    pub fn look_name(&self, look: Look) -> &str {
        self.genes[look.gene.0].look_name(look.class)
    }
}

/// The default name of what two copies show.
pub(super) fn super_name(name: &str) -> String {
    format!("super {name}")
}
