//! Section 4 of the model: which calls were made, and how probable each is.

use std::collections::BTreeSet;

use proveout::records::{
    Animal, Call, Colony, Date, Gene, GeneId, Genotype, Hidden, Look, Mask, Misread, Observation,
    Origin, Penetrance, Reading, ReadingKind, Sex,
};

use super::exact::{Exact, exact, normalised, one, over, whole, zero};
use super::founders::possible_genotypes;

/// What one gene was called on one animal.
#[derive(Clone, Debug, PartialEq)]
pub struct Called {
    /// The class that was called; 0 is normal.
    pub class: usize,
    /// Classes that a mask makes indistinguishable from normal here.
    pub like_normal: BTreeSet<usize>,
}

/// One of the identities a call names: its weight, and for each gene the call (`None` = unread).
pub type Alternative = (Exact, Vec<Option<Called>>);

/// All calls on one animal. Observations are independent given the genotype; within one, exactly
/// one alternative holds.
pub type Calls = Vec<Vec<Alternative>>;

/// Every call on an animal of the file. `fits` replaces the weights of its `either`.
pub fn calls_on(colony: &Colony, animal: &Animal, fits: Option<&[Exact]>) -> Calls {
    let date = match animal.origin {
        Origin::Founder => animal.hatched,
        Origin::Clutch(clutch) => colony.clutch(clutch).date(),
    };
    let mut seen = alternatives(colony, &animal.seen, animal.seen_grown, date, fits);
    let Some(grown) = &animal.grown else { return vec![seen] };
    let grown = alternatives(colony, grown, true, date, fits);
    // A later call replaces the earlier one, except for genes that are only judged on adults.
    for (gene, declared) in colony.genes.iter().enumerate() {
        let read_again = grown.iter().any(|(_, calls)| calls[gene].is_some());
        if read_again && !declared.from_age_adult {
            seen.iter_mut().for_each(|(_, calls)| calls[gene] = None);
        }
    }
    vec![seen, grown]
}

/// The calls on young that were only counted.
pub fn calls_on_counted(colony: &Colony, seen: &Observation, date: Option<Date>) -> Calls {
    vec![alternatives(colony, seen, false, date, None)]
}

fn alternatives(
    colony: &Colony,
    seen: &Observation,
    grown: bool,
    date: Option<Date>,
    fits: Option<&[Exact]>,
) -> Vec<Alternative> {
    let calls = |looks: &[Look]| -> Vec<Option<Called>> {
        let called = |gene| called(colony, looks, gene, &seen.unread, grown, date);
        colony.gene_ids().map(called).collect()
    };
    match &seen.call {
        Call::NotRecorded => vec![(one(), vec![None; colony.genes.len()])],
        Call::Looks(looks) => vec![(one(), calls(looks))],
        Call::Either(list) => {
            let written: Vec<Exact> = list.iter().map(|choice| exact(choice.fit)).collect();
            let weights = normalised(fits.unwrap_or(&written));
            weights.into_iter().zip(list.iter().map(|choice| calls(&choice.looks))).collect()
        }
    }
}

fn called(
    colony: &Colony,
    looks: &[Look],
    gene: GeneId,
    unread: &[GeneId],
    grown: bool,
    date: Option<Date>,
) -> Option<Called> {
    if let Some(look) = looks.iter().find(|look| look.gene == gene) {
        return Some(Called { class: look.class, like_normal: BTreeSet::new() });
    }
    let declared = colony.gene(gene);
    let too_young = declared.from_age_adult && !grown;
    let too_early = match (date, declared.judged_since) {
        (Some(date), Some(since)) => date.surely_before(since),
        _ => false,
    };
    let hidden = hidden_by(colony, looks);
    if unread.contains(&gene) || too_young || too_early || hidden.contains(&Hidden::Gene(gene)) {
        return None;
    }
    Some(Called { class: 0, like_normal: hidden_looks(&hidden, gene) })
}

/// What the masks hide where exactly these looks are recorded.
fn hidden_by(colony: &Colony, looks: &[Look]) -> Vec<Hidden> {
    let acts = |mask: &&Mask| mask.looks.iter().all(|look| looks.contains(look));
    colony.masks.iter().filter(acts).flat_map(|mask| mask.hides.clone()).collect()
}

fn hidden_looks(hidden: &[Hidden], gene: GeneId) -> BTreeSet<usize> {
    let class = |hidden: &Hidden| match hidden {
        Hidden::Look(look) if look.gene == gene => Some(look.class),
        _ => None,
    };
    hidden.iter().filter_map(class).collect()
}

/// P(call | genotype): the genotype shows its class with the chance of its penetrance, else
/// nothing; what it shows is called right or wrong.
pub fn chance_of_call(colony: &Colony, gene: usize, genotype: Genotype, call: &Called) -> Exact {
    let chance = |shown: usize| {
        let hidden = call.class == 0 && call.like_normal.contains(&shown);
        misread(colony, &colony.genes[gene], if hidden { 0 } else { shown }, call.class)
    };
    let declared = &colony.genes[gene];
    let penetrance = penetrance(declared, genotype);
    &penetrance * chance(declared.class_of(genotype)) + (one() - &penetrance) * chance(0)
}

/// Chance that a genotype shows its look.
pub fn penetrance(gene: &Gene, genotype: Genotype) -> Exact {
    match &gene.penetrance {
        None => one(),
        Some(Penetrance::All(chance)) => exact(*chance),
        Some(Penetrance::Some(list)) => {
            let given = list.iter().find(|(given, _)| *given == genotype);
            given.map_or_else(one, |(_, chance)| exact(*chance))
        }
        Some(Penetrance::Unknown) => panic!("judge: not covered: an unknown penetrance"),
    }
}

/// Chance that what shows class `shown` is called class `called`.
fn misread(colony: &Colony, gene: &Gene, shown: usize, called: usize) -> Exact {
    let classes = gene.looks.len() + 1;
    if classes == 1 {
        return one();
    }
    match gene.misread.unwrap_or(Misread::Any(colony.assumptions.misread)) {
        Misread::Any(wrong) if shown == called => one() - exact(wrong),
        Misread::Any(wrong) => exact(wrong) / whole(classes - 1),
        Misread::Apart { missed, imagined, confused } => {
            let confused = if classes > 2 { exact(confused) } else { zero() };
            match (shown, called) {
                (0, 0) => one() - exact(imagined),
                (0, _) => exact(imagined) / whole(classes - 1),
                (_, 0) => exact(missed),
                _ if shown == called => one() - exact(missed) - confused,
                _ => confused / whole(classes - 2),
            }
        }
    }
}

/// Chance that a call which names a look is wrong.
pub fn chance_named_wrongly(colony: &Colony, gene: &Gene) -> Exact {
    match gene.misread.unwrap_or(Misread::Any(colony.assumptions.misread)) {
        Misread::Any(wrong) => exact(wrong),
        Misread::Apart { imagined, .. } if gene.looks.len() == 1 => exact(imagined),
        Misread::Apart { imagined, confused, .. } => exact(imagined) + exact(confused),
    }
}

/// Likelihood of a reading.
pub fn chance_of_reading(
    colony: &Colony,
    reading: &Reading,
    genotype: Genotype,
    sex: Option<Sex>,
) -> Exact {
    match &reading.kind {
        ReadingKind::Likelihood(list) => {
            let given = list.iter().find(|(given, _)| *given == genotype);
            given.map_or_else(zero, |(_, likelihood)| exact(*likelihood))
        }
        ReadingKind::Result { genotype: stated, reliability } if *stated == genotype => {
            exact(*reliability)
        }
        ReadingKind::Result { reliability, .. } => {
            let sexes = sex.map_or_else(|| vec![Sex::Female, Sex::Male], |sex| vec![sex]);
            let possible: BTreeSet<Genotype> = sexes
                .into_iter()
                .flat_map(|sex| possible_genotypes(colony, reading.gene.0, Some(sex)))
                .collect();
            over(&(one() - exact(*reliability)), &whole(possible.len() - 1))
        }
    }
}

/// P(the call names one of these looks | genotypes), for a young as it hatches: penetrance,
/// misread and masks included. Genes are called one after another, those that mask others first.
pub fn chance_of_naming(
    colony: &Colony,
    wanted: &[Look],
    genotype: &dyn Fn(usize) -> Genotype,
) -> Exact {
    let mut genes: BTreeSet<usize> = wanted.iter().map(|look| look.gene.0).collect();
    let maskers = colony.masks.iter().flat_map(|mask| &mask.looks).map(|look| look.gene.0);
    genes.extend(maskers.filter(|&gene| !colony.genes[gene].from_age_adult));
    let order = maskers_first(colony, genes);
    name_on(colony, wanted, genotype, &order, &[])
}

fn name_on(
    colony: &Colony,
    wanted: &[Look],
    genotype: &dyn Fn(usize) -> Genotype,
    order: &[usize],
    looks: &[Look],
) -> Exact {
    if looks.iter().any(|look| wanted.contains(look)) {
        return one();
    }
    let Some((&gene, rest)) = order.split_first() else { return zero() };
    let declared = &colony.genes[gene];
    let hidden = hidden_by(colony, looks);
    if hidden.contains(&Hidden::Gene(GeneId(gene))) {
        return name_on(colony, wanted, genotype, rest, looks);
    }
    let like_normal = hidden_looks(&hidden, GeneId(gene));
    let truth = declared.class_of(genotype(gene));
    let penetrance = penetrance(declared, genotype(gene));
    let row = |shown: usize, class: usize| {
        misread(colony, declared, if like_normal.contains(&shown) { 0 } else { shown }, class)
    };
    (0..=declared.looks.len())
        .map(|class| {
            let chance = &penetrance * row(truth, class) + (one() - &penetrance) * row(0, class);
            let mut looks = looks.to_vec();
            if class > 0 {
                looks.push(Look { gene: GeneId(gene), class });
            }
            chance * name_on(colony, wanted, genotype, rest, &looks)
        })
        .sum()
}

fn maskers_first(colony: &Colony, mut left: BTreeSet<usize>) -> Vec<usize> {
    let hides = |masker: usize, gene: usize| {
        colony.masks.iter().any(|mask| {
            let hidden = |hidden: &Hidden| match hidden {
                Hidden::Gene(hidden) => hidden.0 == gene,
                Hidden::Look(look) => look.gene.0 == gene,
            };
            mask.looks.iter().any(|look| look.gene.0 == masker) && mask.hides.iter().any(hidden)
        })
    };
    let mut order = Vec::new();
    while !left.is_empty() {
        let free = |gene: &&usize| !left.iter().any(|&masker| hides(masker, **gene));
        let next = *left.iter().find(free).expect("judge: not covered: masks in a circle");
        left.remove(&next);
        order.push(next);
    }
    order
}
