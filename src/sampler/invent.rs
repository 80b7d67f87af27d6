//! Genes of random kinds, with systematic names.

use super::{Dice, Params};
use crate::records::{
    Colony, Combination, CrossoverRates, Date, FirstSeen, Gene, GeneId, Genotype, Hidden,
    Inheritance, LinkageGroup, Look, Mask, Misread, Penetrance, Place, SexLinkage, SexSystem,
};

/// The year in which the first clutches are laid.
pub(super) const FIRST_YEAR: i32 = 2012;

/// Declares genes and what binds them; animals are still to come.
pub(super) fn declarations(params: &Params, dice: &mut Dice) -> Colony {
    let genes = (1..=params.genes.max(1)).map(|number| gene(params, number, dice)).collect();
    let mut colony = Colony {
        title: Some("Drawn at random".to_string()),
        sex_system: params.sex_system,
        assumptions: params.assumptions,
        genes,
        ..Colony::default()
    };
    if params.features.linkage {
        colony.linkage = linkage(params, &colony, dice);
    }
    if params.features.combinations && dice.coin(0.5) {
        colony.combinations = combination(&colony, dice).into_iter().collect();
    }
    if params.features.masks {
        colony.masks = masks(&colony, dice);
    }
    colony
}

fn gene(params: &Params, number: usize, dice: &mut Dice) -> Gene {
    let features = params.features;
    let mut kinds = vec![Inheritance::Recessive];
    if features.visible {
        kinds.extend([Inheritance::Dominant, Inheritance::IncompleteDominant]);
    }
    if features.series && params.alleles > 1 {
        kinds.push(Inheritance::Alleles);
    }
    let inheritance = dice.pick(&kinds).copied().unwrap_or(Inheritance::Recessive);
    let name = format!("g{number}");
    let mut gene = Gene {
        place: Place::default(),
        aka: Vec::new(),
        caution: None,
        inheritance,
        alleles: vec![name.clone()],
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
        name,
    };
    if features.sex_linked && params.sex_system != SexSystem::Environmental && dice.coin(0.5) {
        let crossover = dice.coin(0.4).then(|| dice.pick(&[0.0, 0.1, 0.25]).copied()).flatten();
        gene.sex_linked = Some(SexLinkage { crossover });
    }
    looks(&mut gene, params.alleles, dice);
    options(&mut gene, params, dice);
    gene
}

fn show(gene: &mut Gene, genotype: Genotype, look: &str) {
    let known = gene.looks.iter().position(|name| name == look);
    let class = known.unwrap_or_else(|| {
        gene.looks.push(look.to_string());
        gene.looks.len() - 1
    });
    gene.shows.push((genotype, class + 1));
}

/// What each genotype shows, by the kind of the gene.
fn looks(gene: &mut Gene, most: usize, dice: &mut Dice) {
    let name = gene.name.clone();
    let strong = format!("super {name}");
    let single = gene.sex_linked.is_some_and(|linked| linked.crossover.is_none());
    if gene.inheritance == Inheritance::Alleles {
        series(gene, most, single, dice);
        return;
    }
    if gene.inheritance != Inheritance::Recessive {
        show(gene, Genotype::Two(0, 1), &name);
    }
    let distinct = gene.inheritance == Inheritance::IncompleteDominant;
    show(gene, Genotype::Two(1, 1), if distinct { &strong } else { &name });
    if single {
        show(gene, Genotype::One(1), &name);
    }
}

/// Several alleles: each visible in one copy or not; a compound has a look of its own or that of
/// the allele named first.
fn series(gene: &mut Gene, most: usize, single: bool, dice: &mut Dice) {
    let count = 2 + dice.below(most.saturating_sub(1));
    gene.alleles = (1..=count).map(|allele| format!("{}a{allele}", gene.name)).collect();
    let names = gene.alleles.clone();
    for (index, name) in names.iter().enumerate() {
        let visible = dice.coin(0.5);
        if visible {
            show(gene, Genotype::Two(0, index + 1), name);
        }
        let distinct = visible && dice.coin(0.5);
        let strong = if distinct { format!("super {name}") } else { name.clone() };
        show(gene, Genotype::Two(index + 1, index + 1), &strong);
        if single {
            show(gene, Genotype::One(index + 1), name);
        }
        for (before, other) in names[..index].iter().enumerate() {
            let own = format!("{other} {name}");
            let look = if dice.coin(0.5) { own } else { other.clone() };
            show(gene, Genotype::Two(before + 1, index + 1), &look);
        }
    }
}

fn options(gene: &mut Gene, params: &Params, dice: &mut Dice) {
    let features = params.features;
    if features.lethal
        && gene.shows.iter().any(|(shown, _)| shown.mutant_copies() == 1)
        && dice.coin(0.4)
    {
        let worst = gene.alleles.len();
        gene.lethal = vec![Genotype::Two(worst, worst)];
    }
    if features.penetrance && dice.coin(0.4) {
        let some = dice.pick(&gene.shows).map(|(genotype, _)| vec![(*genotype, 0.7)]);
        gene.penetrance = match (dice.below(if features.unknown_rates { 3 } else { 2 }), some) {
            (0, Some(some)) => Some(Penetrance::Some(some)),
            (2, _) => Some(Penetrance::Unknown),
            _ => Some(Penetrance::All(0.8)),
        };
    }
    if features.misread && dice.coin(0.5) {
        let confused = if gene.looks.len() > 1 { 0.03 } else { 0.0 };
        let apart = Misread::Apart { missed: 0.05, imagined: 0.01, confused };
        gene.misread = Some(if dice.coin(0.7) { apart } else { Misread::Any(0.05) });
    }
    if dice.coin(0.3) {
        gene.background = Some((1..=gene.alleles.len()).map(|a| 0.05 * a as f64).collect());
    }
    if features.ages {
        gene.from_age_adult = dice.coin(0.2);
        let since = Date { year: FIRST_YEAR + 1, month: Some(1), day: Some(1) };
        gene.judged_since = dice.coin(0.2).then_some(since);
    }
}

/// One group of two or three genes that can lie on one chromosome.
fn linkage(params: &Params, colony: &Colony, dice: &mut Dice) -> Vec<LinkageGroup> {
    // A gene with a copy on both sex chromosomes has its place already.
    let on_x = |gene: &GeneId| colony.gene(*gene).sex_linked.is_some();
    let free = |gene: &GeneId| {
        colony.gene(*gene).sex_linked.is_none_or(|linked| linked.crossover.is_none())
    };
    let (linked, autosomal): (Vec<_>, Vec<_>) = colony.gene_ids().filter(free).partition(on_x);
    let grouped = [linked, autosomal].into_iter().filter(|genes| genes.len() > 1);
    let groups = grouped.map(|mut genes| {
        genes.truncate(2 + dice.below(2));
        let mut rates = || -> Vec<f64> {
            let rate = |_| dice.pick(&[0.0, 0.05, 0.2, 0.4]).copied().unwrap_or(0.5);
            (1..genes.len()).map(rate).collect()
        };
        let known = CrossoverRates::Known { female: rates(), male: rates() };
        let unknown = params.features.unknown_rates && dice.coin(0.3);
        let crossover = if unknown { CrossoverRates::Unknown } else { known };
        LinkageGroup { genes, crossover, place: Place::default() }
    });
    groups.collect()
}

/// A look of a gene, any of them.
fn any_look(colony: &Colony, gene: GeneId, dice: &mut Dice) -> Look {
    Look { gene, class: 1 + dice.below(colony.gene(gene).looks.len()) }
}

/// Two looks of neighbouring genes, where there are two genes.
fn combination(colony: &Colony, dice: &mut Dice) -> Option<Combination> {
    let pairs = colony.genes.len().checked_sub(1).filter(|pairs| *pairs > 0)?;
    let first = dice.below(pairs);
    let looks = [first, first + 1].map(|gene| any_look(colony, GeneId(gene), dice)).to_vec();
    Some(Combination { name: "c1".to_string(), looks, place: Place::default() })
}

/// Masks hide only genes declared further down: then each call can be drawn in turn.
fn masks(colony: &Colony, dice: &mut Dice) -> Vec<Mask> {
    let mut masks = Vec::new();
    for hiding in 0..colony.genes.len().saturating_sub(1) {
        if !dice.coin(0.4) {
            continue;
        }
        let hidden = hiding + 1 + dice.below(colony.genes.len() - hiding - 1);
        let hides = hidden_thing(colony, GeneId(hidden), dice);
        let mut looks = vec![any_look(colony, GeneId(hiding), dice)];
        for combined in &colony.combinations {
            if combined.looks.iter().all(|look| look.gene.0 < hidden) && dice.coin(0.3) {
                looks = combined.looks.clone();
            }
        }
        masks.push(Mask { looks, hides: vec![hides], place: Place::default() });
    }
    masks
}

/// A gene, or one of its looks where that can be said: it needs a name other than the gene's, and
/// a misread that takes the same share from every class.
fn hidden_thing(colony: &Colony, gene: GeneId, dice: &mut Dice) -> Hidden {
    let declared = colony.gene(gene);
    let even = !matches!(declared.misread, Some(Misread::Apart { .. }));
    let mut classes = 1..=declared.looks.len();
    let named = classes.find(|&class| declared.look_name(class) != declared.name);
    match named {
        Some(class) if even && dice.coin(0.5) => Hidden::Look(Look { gene, class }),
        _ => Hidden::Gene(gene),
    }
}
