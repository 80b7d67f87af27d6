//! How the builder reads names.

use proveout::records::{Colony, Date, Gene, GeneId, Genotype, Hidden, Look, Says};

/// The items of a list written with commas; "" is an empty list.
pub fn list(text: &str) -> impl Iterator<Item = &str> {
    text.split(',').map(str::trim).filter(|item| !item.is_empty())
}

/// A date: "2024-05-30", "2024-05" or "2024".
pub fn date(text: &str) -> Date {
    let mut parts = text.split('-');
    let year = parts.next().and_then(|year| year.parse().ok()).expect("a year");
    let mut part = || parts.next().map(|part| part.parse().expect("a month or a day"));
    Date { year, month: part(), day: part() }
}

/// The names of a colony.
pub struct Names<'a>(pub &'a Colony);

impl Names<'_> {
    /// A genotype: `+/ash`, `fern/moss`, `ash/Y`, `+/W`.
    pub fn genotype(gene: &Gene, text: &str) -> Genotype {
        let allele = |name: &str| {
            let known = gene.alleles.iter().position(|allele| allele == name);
            match name {
                "+" => 0,
                _ => 1 + known.unwrap_or_else(|| panic!("no allele of {} is {name}", gene.name)),
            }
        };
        match text.split_once('/').expect("two alleles") {
            (one, "Y" | "W") => Genotype::One(allele(one)),
            (one, other) => Genotype::two(allele(one), allele(other)),
        }
    }

    /// Looks, or combinations of them.
    pub fn looks(&self, text: &str) -> Vec<Look> {
        list(text).filter(|name| *name != "normal").flat_map(|name| self.look(name)).collect()
    }

    fn look(&self, name: &str) -> Vec<Look> {
        if let Some(found) = self.0.combinations.iter().find(|known| known.name == name) {
            return found.looks.clone();
        }
        for (gene, declared) in self.0.genes.iter().enumerate() {
            if let Some(place) = declared.looks.iter().position(|look| look == name) {
                return vec![Look { gene: GeneId(gene), class: place + 1 }];
            }
        }
        panic!("no look is called {name}")
    }

    /// A look, or `gene` and the name of a gene.
    pub fn hidden(&self, name: &str) -> Hidden {
        match name.strip_prefix("gene ") {
            Some(gene) => Hidden::Gene(self.0.find_gene(gene).expect("a gene")),
            None => Hidden::Look(self.look(name)[0]),
        }
    }

    /// A statement: `ash`, `het ash`, `66% het ash`, `not het ash`.
    pub fn statement(&self, text: &str) -> (GeneId, Says) {
        if let Some(name) = text.strip_prefix("not het ") {
            let (gene, allele) = self.allele(name);
            return (gene, Says::NotHet { allele });
        }
        if let Some((chance, name)) = text.split_once("het ") {
            let (gene, allele) = self.allele(name);
            let chance = match chance.trim() {
                "" => 1.0,
                "66%" | "67%" => 2.0 / 3.0,
                "33%" => 1.0 / 3.0,
                percent => {
                    percent.trim_end_matches('%').parse::<f64>().expect("a percentage") / 100.0
                }
            };
            return (gene, Says::Het { allele, chance });
        }
        let look = self.look(text)[0];
        (look.gene, Says::Look(look.class))
    }

    fn allele(&self, name: &str) -> (GeneId, usize) {
        for (gene, declared) in self.0.genes.iter().enumerate() {
            if let Some(place) = declared.alleles.iter().position(|allele| allele == name) {
                return (GeneId(gene), place + 1);
            }
        }
        panic!("no allele is called {name}")
    }
}
