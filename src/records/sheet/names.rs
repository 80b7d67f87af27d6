//! What the words of a sheet can mean: the looks and alleles of a colony, whatever their capitals.

use rustc_hash::FxHashMap;

use super::words::fold;
use crate::records::{Colony, GeneId, Inheritance, Look, nearest};

/// The names of a colony's genes as a sheet may write them.
#[derive(Clone, Debug, Default)]
pub struct Names {
    looks: FxHashMap<String, (String, Vec<Look>)>,
    alleles: FxHashMap<String, (String, GeneId, usize)>,
    /// How many words the longest name has.
    longest: usize,
    /// The name of each look, by gene and class from 1.
    printed: Vec<Vec<String>>,
    /// Every animal and clutch of the file, for hints.
    gene_names: Vec<String>,
}

impl Names {
    /// The names of a colony. Two that differ in capitals only are both left out of the folded
    /// ones, and must then be written as they are.
    pub fn of(colony: &Colony) -> Names {
        let mut names = Names::default();
        for (index, gene) in colony.genes.iter().enumerate() {
            let id = GeneId(index);
            names.printed.push(gene.looks.clone());
            names.gene_names.push(gene.name.clone());
            for (class, look) in gene.looks.iter().enumerate() {
                names.add_look(look, vec![Look { gene: id, class: class + 1 }]);
            }
            for (allele, name) in gene.alleles.iter().enumerate() {
                names.add_allele(name, name, id, allele + 1);
            }
            let single = gene.alleles.len() == 1;
            for also in std::iter::once(&gene.name).chain(&gene.aka).filter(|_| single) {
                names.add_allele(also, &gene.alleles[0], id, 1);
            }
            if gene.inheritance != Inheritance::Alleles {
                names.add_other_names(colony, id);
            }
        }
        for combination in &colony.combinations {
            names.add_look(&combination.name, combination.looks.clone());
        }
        names
    }

    fn add_other_names(&mut self, colony: &Colony, id: GeneId) {
        let gene = colony.gene(id);
        for aka in &gene.aka {
            for (look, named) in [
                (gene.name.clone(), aka.clone()),
                (format!("super {}", gene.name), format!("super {aka}")),
            ] {
                if let Some(at) = gene.looks.iter().position(|name| *name == look) {
                    self.add_look(&named, vec![Look { gene: id, class: at + 1 }]);
                }
            }
        }
    }

    fn add_look(&mut self, name: &str, looks: Vec<Look>) {
        self.longest = self.longest.max(name.split_whitespace().count());
        self.looks.entry(name.to_string()).or_insert_with(|| (name.to_string(), looks.clone()));
        self.looks.entry(fold(name)).or_insert_with(|| (name.to_string(), looks));
    }

    fn add_allele(&mut self, name: &str, allele: &str, gene: GeneId, number: usize) {
        self.longest = self.longest.max(name.split_whitespace().count());
        let value = (allele.to_string(), gene, number);
        self.alleles.entry(name.to_string()).or_insert_with(|| value.clone());
        self.alleles.entry(fold(name)).or_insert(value);
    }

    /// The looks that a name stands for.
    pub fn look(&self, name: &str) -> Option<&[Look]> {
        let found = self.looks.get(name).or_else(|| self.looks.get(&fold(name)));
        found.map(|(_, looks)| looks.as_slice())
    }

    /// The name of a look as the file has it, when this is one.
    pub fn look_name(&self, name: &str) -> Option<&str> {
        let found = self.looks.get(name).or_else(|| self.looks.get(&fold(name)));
        found.map(|(name, _)| name.as_str())
    }

    /// The allele of this name: as the file has it, its gene and its number.
    pub fn allele(&self, name: &str) -> Option<(&str, GeneId, usize)> {
        let found = self.alleles.get(name).or_else(|| self.alleles.get(&fold(name)));
        found.map(|(name, gene, allele)| (name.as_str(), *gene, *allele))
    }

    /// The name of one look.
    pub fn printed(&self, look: Look) -> &str {
        let looks = self.printed.get(look.gene.0);
        looks
            .and_then(|looks| looks.get(look.class.wrapping_sub(1)))
            .map_or("normal", String::as_str)
    }

    /// How many of the first `tokens` make the longest name of a look or an allele.
    pub fn longest_name(&self, tokens: &[&str]) -> usize {
        let most = self.longest.min(tokens.len());
        let known = |length: &usize| {
            let name = tokens[..*length].join(" ");
            self.look(&name).is_some() || self.allele(&name).is_some()
        };
        (1..=most).rev().find(known).unwrap_or(0)
    }

    /// What to say of a name that is none.
    pub fn help(&self, name: &str) -> Option<String> {
        let mut known: Vec<&str> = self.looks.values().map(|(name, _)| name.as_str()).collect();
        known.extend(self.alleles.values().map(|(name, ..)| name.as_str()));
        known.push("normal");
        known.sort_unstable();
        known.dedup();
        if let Some(near) = nearest(name, known.iter().copied()) {
            return Some(format!("did you mean `{near}`?"));
        }
        known.retain(|name| *name != "normal");
        (1..=12).contains(&known.len()).then(|| {
            let list: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
            format!("the names are {}", list.join(", "))
        })
    }

    /// The genes, in order of declaration.
    pub fn genes(&self) -> &[String] {
        &self.gene_names
    }
}
