//! Genes, and what binds several of them.

use super::names;
use super::text::{Section, date, inline, list, name, number, quoted};
use crate::records::{
    Colony, Combination, CrossoverRates, Gene, Genotype, Hidden, Inheritance, LinkageGroup, Mask,
    Misread, Penetrance,
};

/// `[gene.…]`.
pub(super) fn gene(colony: &Colony, gene: &Gene) -> Section {
    let mut section = Section::new(format!("[gene.{}]", name(&gene.name)));
    let texts = |texts: &[String]| list(texts.iter().map(|text| quoted(text)));
    let word = match gene.inheritance {
        Inheritance::Recessive => Some("recessive"),
        Inheritance::Dominant => Some("dominant"),
        Inheritance::IncompleteDominant => Some("incomplete dominant"),
        Inheritance::Unknown => Some("unknown"),
        Inheritance::Alleles => None,
    };
    section.put("inheritance", word.map(quoted));
    section.put("alleles", word.is_none().then(|| texts(&gene.alleles)));
    section.put("names", look_names(gene));
    section.put("looks", looks(colony, gene));
    section.put("aka", (!gene.aka.is_empty()).then(|| texts(&gene.aka)));
    section.put("caution", gene.caution.as_deref().map(quoted));
    section.put("lethal", lethal(colony, gene));
    section.put("sex_linked", gene.sex_linked.map(|_| "true".to_string()));
    section.put("crossover", gene.sex_linked.and_then(|linked| linked.crossover).map(number));
    section.put("penetrance", gene.penetrance.as_ref().map(|p| penetrance(colony, gene, p)));
    section.put("misread", gene.misread.map(misread));
    section.put("background", gene.background.as_deref().map(|all| background(gene, all)));
    section.put("from_age", gene.from_age_adult.then(|| quoted("adult")));
    section.put("judged_since", gene.judged_since.map(date));
    let first: Vec<_> = gene
        .first_seen
        .animals
        .iter()
        .filter_map(|animal| colony.animal(*animal).id.as_deref().map(quoted))
        .collect();
    let told = !first.is_empty() && !gene.first_seen.assumed;
    section.put("first_seen", told.then(|| list(first)));
    section.put("look_alikes", gene.first_seen.look_alikes.map(number));
    section
}

/// The look of a genotype by its name, if it shows one.
fn shown(gene: &Gene, genotype: Genotype) -> Option<&str> {
    let class = gene.class_of(genotype);
    (class > 0).then(|| gene.look_name(class))
}

/// What one and two copies show where it is not called after the gene.
fn look_names(gene: &Gene) -> Option<String> {
    let mut names = Vec::new();
    let one = shown(gene, Genotype::Two(0, 1));
    let two = shown(gene, Genotype::Two(1, 1));
    let mut rename = |key, look: Option<&str>, default: &str| {
        names.extend(look.filter(|look| *look != default).map(|look| (key, quoted(look))));
    };
    match gene.inheritance {
        Inheritance::Recessive => rename("two_copies", two, &gene.name),
        Inheritance::Dominant => rename("one_copy", one, &gene.name),
        Inheritance::IncompleteDominant => {
            rename("one_copy", one, &gene.name);
            rename("two_copies", two, &format!("super {}", gene.name));
        }
        Inheritance::Alleles | Inheritance::Unknown => {}
    }
    (!names.is_empty()).then(|| inline(names))
}

fn looks(colony: &Colony, gene: &Gene) -> Option<String> {
    let listed = |genotypes: &[(Genotype, usize)]| {
        inline(genotypes.iter().map(|(genotype, class)| {
            let genotype = gene.genotype_name(*genotype, colony.sex_system);
            (genotype, quoted(gene.look_name(*class)))
        }))
    };
    match gene.inheritance {
        Inheritance::Alleles => Some(listed(&gene.shows)),
        Inheritance::Unknown => {
            let looks = list(gene.looks.iter().map(|look| quoted(look)));
            (gene.looks != [gene.name.clone()]).then_some(looks)
        }
        _ => {
            let only = gene.shows.iter().find(|(genotype, _)| *genotype == Genotype::One(1))?;
            let two_copies = [Genotype::Two(0, 1), Genotype::Two(1, 1)];
            let default = two_copies.iter().find_map(|genotype| shown(gene, *genotype));
            (default != Some(gene.look_name(only.1))).then(|| listed(&[*only]))
        }
    }
}

fn lethal(colony: &Colony, gene: &Gene) -> Option<String> {
    let two_copies: Vec<_> = (1..=gene.alleles.len()).map(|a| Genotype::Two(a, a)).collect();
    if gene.lethal.is_empty() {
        return None;
    }
    if gene.lethal == two_copies {
        return Some(quoted("two copies"));
    }
    let name = |genotype: &Genotype| quoted(&gene.genotype_name(*genotype, colony.sex_system));
    Some(list(gene.lethal.iter().map(name)))
}

fn penetrance(colony: &Colony, gene: &Gene, penetrance: &Penetrance) -> String {
    match penetrance {
        Penetrance::All(chance) => number(*chance),
        Penetrance::Unknown => quoted("unknown"),
        Penetrance::Some(listed) => inline(listed.iter().map(|(genotype, chance)| {
            (gene.genotype_name(*genotype, colony.sex_system), number(*chance))
        })),
    }
}

fn misread(misread: Misread) -> String {
    match misread {
        Misread::Any(chance) => number(chance),
        Misread::Apart { missed, imagined, confused } => {
            let parts = [("missed", missed), ("imagined", imagined), ("confused", confused)];
            let given = parts.into_iter().filter(|(_, chance)| *chance != 0.0);
            inline(given.map(|(part, chance)| (part, number(chance))))
        }
    }
}

fn background(gene: &Gene, all: &[f64]) -> String {
    match all {
        [first, rest @ ..] if rest.iter().all(|other| other == first) => number(*first),
        _ => inline(gene.alleles.iter().zip(all.iter().map(|chance| number(*chance)))),
    }
}

/// `[[linkage]]`.
pub(super) fn linkage(colony: &Colony, group: &LinkageGroup) -> Section {
    let mut section = Section::new("[[linkage]]");
    let genes = group.genes.iter().map(|gene| quoted(&colony.gene(*gene).name));
    section.put("genes", Some(list(genes)));
    let rates = |rates: &[f64]| match rates {
        [only] => number(*only),
        several => list(several.iter().map(|rate| number(*rate))),
    };
    let crossover = match &group.crossover {
        CrossoverRates::Unknown => quoted("unknown"),
        CrossoverRates::Known { female, male } if female == male => rates(female),
        CrossoverRates::Known { female, male } => {
            inline([("female", rates(female)), ("male", rates(male))])
        }
    };
    section.put("crossover", Some(crossover));
    section
}

/// `[[combination]]`.
pub(super) fn combination(colony: &Colony, combination: &Combination) -> Section {
    let mut section = Section::new("[[combination]]");
    section.put("name", Some(quoted(&combination.name)));
    section.put("looks", Some(names(colony, &combination.looks)));
    section
}

/// `[[mask]]`; several looks that hide together have the name of a combination.
pub(super) fn mask(colony: &Colony, mask: &Mask) -> Section {
    let mut section = Section::new("[[mask]]");
    let together = colony.combinations.iter().find(|one| one.looks == mask.looks);
    let look = match (&mask.looks[..], together) {
        ([look], _) => Some(colony.gene(look.gene).look_name(look.class)),
        (_, together) => together.map(|combination| combination.name.as_str()),
    };
    section.put("look", look.map(quoted));
    section.put("hides", Some(list(hidden(colony, &mask.hides).into_iter().map(quoted))));
    section
}

/// The names of what is hidden. A look called like a gene would be read as the gene: it can only
/// have come from a combination, and is written as that.
fn hidden<'c>(colony: &'c Colony, mut hides: &[Hidden]) -> Vec<&'c str> {
    let mut names = Vec::new();
    while let [first, rest @ ..] = hides {
        let ambiguous = |name: &str| colony.find_gene(name).is_some();
        let (name, taken) = match first {
            Hidden::Gene(gene) => (colony.gene(*gene).name.as_str(), 1),
            Hidden::Look(look) => {
                let name = colony.gene(look.gene).look_name(look.class);
                let group = ambiguous(name).then(|| from_combination(colony, hides)).flatten();
                group.unwrap_or((name, 1))
            }
        };
        names.push(name);
        hides = if taken > 1 { &hides[taken..] } else { rest };
    }
    names
}

/// A combination whose looks these begin with, and how many they are.
fn from_combination<'c>(colony: &'c Colony, hides: &[Hidden]) -> Option<(&'c str, usize)> {
    let begins = |looks: &[crate::records::Look]| {
        looks.len() <= hides.len()
            && looks.iter().zip(hides).all(|(look, hidden)| *hidden == Hidden::Look(*look))
    };
    let found = colony.combinations.iter().find(|one| !one.looks.is_empty() && begins(&one.looks));
    found.map(|one| (one.name.as_str(), one.looks.len()))
}
