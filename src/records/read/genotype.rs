//! Genotypes as text: `+/ash`, `fern/moss`, and in the one-copy sex `ash/Y` or `+/W`.

use super::reader::{Reader, short};
use super::tree::Span;
use crate::records::{Gene, Genotype, Sex, SexSystem, normalise};

/// The sex with one copy of a gene that lies on X or Z only.
pub(super) fn one_copy_sex(gene: &Gene, system: SexSystem) -> Option<Sex> {
    let on_one_chromosome = gene.sex_linked.is_some_and(|linked| linked.crossover.is_none());
    match system {
        SexSystem::Xy if on_one_chromosome => Some(Sex::Male),
        SexSystem::Zw if on_one_chromosome => Some(Sex::Female),
        _ => None,
    }
}

/// Every genotype an animal of this sex can have; for an unknown sex those of both.
pub(super) fn possible(gene: &Gene, system: SexSystem, sex: Option<Sex>) -> Vec<Genotype> {
    let one = (0..=gene.alleles.len()).map(Genotype::One);
    match (one_copy_sex(gene, system), sex) {
        (None, _) => gene.two_copy_genotypes(),
        (Some(single), Some(sex)) if single == sex => one.collect(),
        (Some(_), Some(_)) => gene.two_copy_genotypes(),
        (Some(_), None) => gene.two_copy_genotypes().into_iter().chain(one).collect(),
    }
}

/// Reads a genotype of `gene`, or reports what is wrong with it.
pub(super) fn genotype(
    reader: &mut Reader,
    gene: &Gene,
    system: SexSystem,
    text: &str,
    span: Span,
) -> Option<Genotype> {
    let parts = text.split_once('/').filter(|(_, second)| !second.contains('/'));
    let Some([first, second]) = parts.map(|(first, second)| [first.trim(), second.trim()]) else {
        reader
            .error(span, format!("`{}` is not a genotype", short(text)))
            .help("a genotype is two alleles with a stroke between them, as in `+/+`");
        return None;
    };
    let other_chromosome = |part: &str| part == "Y" || part == "W";
    match (other_chromosome(first), other_chromosome(second)) {
        (false, false) => {
            let first = allele(reader, gene, first, span)?;
            Some(Genotype::two(first, allele(reader, gene, second, span)?))
        }
        (true, true) => {
            reader.error(span, format!("`{text}` names no allele")).help("write `+/Y` or `+/W`");
            None
        }
        (false, true) => one_copy(reader, gene, system, [first, second], span),
        (true, false) => one_copy(reader, gene, system, [second, first], span),
    }
}

fn one_copy(
    reader: &mut Reader,
    gene: &Gene,
    system: SexSystem,
    [name, chromosome]: [&str; 2],
    span: Span,
) -> Option<Genotype> {
    let Some(single) = one_copy_sex(gene, system) else {
        reader
            .error(span, format!("the gene `{}` has two copies in both sexes", short(&gene.name)))
            .help("`/Y` and `/W` are for genes with `sex_linked = true` and no `crossover`");
        return None;
    };
    let expected = if single == Sex::Male { "Y" } else { "W" };
    if chromosome != expected {
        reader
            .error(span, format!("there is no `{chromosome}` in this file's sex system"))
            .help(format!("write `{name}/{expected}`"));
        return None;
    }
    allele(reader, gene, name, span).map(Genotype::One)
}

fn allele(reader: &mut Reader, gene: &Gene, name: &str, span: Span) -> Option<usize> {
    if name == "+" {
        return Some(0);
    }
    if let Some(exact) = gene.alleles.iter().position(|allele| allele == name) {
        return Some(exact + 1);
    }
    let name = normalise(name);
    let other_name = gene.alleles.len() == 1 && (gene.aka.contains(&name) || gene.name == name);
    let found = gene.alleles.iter().position(|allele| *allele == name).map(|index| index + 1);
    if found.is_some() || other_name {
        return found.or(Some(1));
    }
    let help = reader.suggest(&name, "allele", gene.alleles.iter().map(String::as_str));
    let message =
        format!("`{}` is not an allele of the gene `{}`", short(&name), short(&gene.name));
    reader.error(span, message).help(help);
    None
}
