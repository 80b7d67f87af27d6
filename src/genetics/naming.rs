//! The chance that the call of a hatchling names one of some looks.

use super::{GeneCall, Locus, Unit};
use crate::records::{Colony, GeneId, Hidden, Look, Mask};

/// One combination of shown classes: the class of each gene, and its position within each unit.
type Combination = (Vec<(GeneId, usize)>, Vec<usize>);

/// How a hatchling would be called, as far as some looks are concerned.
///
/// Genes are called one after another, those that mask others first.
///
/// # Source
///
/// Selection: P(its call names a look of R | parents' genotypes), misread, masks and penetrance
/// included.
pub struct Naming<'a> {
    colony: &'a Colony,
    wanted: &'a [Look],
    /// The genes that matter, those that mask others first.
    order: Vec<GeneId>,
    loci: Vec<Locus>,
}

impl<'a> Naming<'a> {
    /// For the looks of a selection.
    pub fn new(colony: &'a Colony, units: &[Unit], wanted: &'a [Look]) -> Self {
        let mut order = maskers_first(colony, genes_that_matter(colony, wanted));
        let all = || units.iter().flat_map(|unit| &unit.loci);
        order.retain(|gene| all().any(|locus| locus.gene == *gene));
        let locus = |gene: &GeneId| all().find(|locus| locus.gene == *gene).cloned();
        Naming { colony, wanted, loci: order.iter().filter_map(locus).collect(), order }
    }

    /// The genes that matter.
    pub fn genes(&self) -> impl Iterator<Item = GeneId> + '_ {
        self.order.iter().copied()
    }

    /// Chances of the classes shown at the genes of one unit that matter, for each pair of parents.
    ///
    /// `young` is row-major over the states of the child and then anything; the result has, for
    /// each of those things, one chance for each combination of classes in the order of the genes
    /// that matter and lie in the unit.
    pub fn classes(&self, unit: &Unit, states: &[usize], young: &[f64]) -> Vec<Vec<f64>> {
        let inside = self.inside(unit);
        let things = young.len() / states.len().max(1);
        let combinations: usize = inside.iter().map(|(_, locus)| locus.classes).product();
        let mut sums = vec![vec![0.0; combinations]; things];
        for (at, state) in states.iter().enumerate() {
            let mut shares = vec![1.0];
            for (place, locus) in &inside {
                let genotype = unit.genotype[*place][*state];
                let own = |class: usize| locus.class_chance(class)[genotype];
                shares = shares
                    .iter()
                    .flat_map(|share| (0..locus.classes).map(move |class| share * own(class)))
                    .collect();
            }
            // Few young can be of this state, and they show few of all looks.
            let shares: Vec<(usize, f64)> =
                shares.into_iter().enumerate().filter(|(_, share)| *share > 0.0).collect();
            let chances = &young[at * things..][..things];
            for (sums, chance) in sums.iter_mut().zip(chances).filter(|(_, c)| **c > 0.0) {
                shares.iter().for_each(|(look, share)| sums[*look] += chance * share);
            }
        }
        sums
    }

    /// The genes that matter and lie in a unit: their place there, in the order of calling.
    fn inside<'u>(&self, unit: &'u Unit) -> Vec<(usize, &'u Locus)> {
        let place = |gene: &GeneId| unit.locus_of(*gene).map(|at| (at, &unit.loci[at]));
        self.order.iter().filter_map(place).collect()
    }

    /// The chance of a wanted call for each combination of parents at several units, the first
    /// unit slowest, from what [`Naming::classes`] gave for each unit.
    pub fn over_parents(&self, units: &[Vec<Vec<f64>>], genes: &[Vec<GeneId>]) -> Vec<f64> {
        let combined: Vec<Combination> = self.combinations(genes);
        let named: Vec<f64> = combined
            .iter()
            .map(|(classes, _)| {
                let shown = |gene: GeneId| {
                    classes.iter().find(|(of, _)| *of == gene).map_or(0, |(_, class)| *class)
                };
                self.named(&shown, 0, &mut Vec::new())
            })
            .collect();
        let places: usize = units.iter().map(Vec::len).product();
        let mut place = vec![0; units.len()];
        let mut chances = Vec::with_capacity(places);
        for _ in 0..places {
            let of = |((_, at), named): (&Combination, &f64)| {
                let shares = units.iter().zip(&place).zip(at);
                named * shares.map(|((unit, thing), at)| unit[*thing][*at]).product::<f64>()
            };
            chances.push(combined.iter().zip(&named).map(of).sum());
            for (thing, unit) in place.iter_mut().zip(units).rev() {
                *thing = (*thing + 1) % unit.len();
                if *thing > 0 {
                    break;
                }
            }
        }
        chances
    }

    /// How many combinations of looks the genes that matter can show.
    pub fn looks(&self) -> u64 {
        self.loci.iter().fold(1, |all, locus| all.saturating_mul(locus.classes as u64))
    }

    /// Every combination of classes: gene by gene, and as a position within each unit.
    fn combinations(&self, genes: &[Vec<GeneId>]) -> Vec<Combination> {
        let mut all = vec![(Vec::new(), Vec::new())];
        for unit in genes {
            let mut own: Vec<Vec<(GeneId, usize)>> = vec![Vec::new()];
            for gene in self.order.iter().filter(|gene| unit.contains(gene)) {
                let classes = self.locus(*gene).map_or(1, |locus| locus.classes);
                let longer = |before: &Vec<(GeneId, usize)>| -> Vec<Vec<(GeneId, usize)>> {
                    (0..classes).map(|class| [&before[..], &[(*gene, class)]].concat()).collect()
                };
                own = own.iter().flat_map(longer).collect();
            }
            let longer = |(classes, at): &Combination| {
                let with = |(place, own): (usize, &Vec<(GeneId, usize)>)| {
                    ([&classes[..], own].concat(), [&at[..], &[place]].concat())
                };
                own.iter().enumerate().map(with).collect::<Vec<_>>()
            };
            all = all.iter().flat_map(longer).collect();
        }
        all
    }

    fn locus(&self, gene: GeneId) -> Option<&Locus> {
        self.loci.iter().find(|locus| locus.gene == gene)
    }

    /// The chance that a wanted look is named, given the classes shown and the looks called so far.
    fn named(&self, shown: &dyn Fn(GeneId) -> usize, at: usize, called: &mut Vec<Look>) -> f64 {
        if called.iter().any(|look| self.wanted.contains(look)) {
            return 1.0;
        }
        let Some(gene) = self.order.get(at).copied() else { return 0.0 };
        let locus = &self.loci[at];
        let hides = self.hidden_by(called);
        if hides.contains(&Hidden::Gene(gene)) {
            return self.named(shown, at + 1, called);
        }
        let hidden: Vec<usize> = hides
            .iter()
            .filter_map(|hides| match hides {
                Hidden::Look(look) if look.gene == gene => Some(look.class),
                _ => None,
            })
            .collect();
        let mut sum = 0.0;
        for class in 0..locus.names {
            let call = GeneCall::Class { class, hidden: hidden.clone() };
            let chance = call.chance(locus, shown(gene));
            if chance == 0.0 {
                continue;
            }
            if class > 0 {
                called.push(Look { gene, class });
            }
            sum += chance * self.named(shown, at + 1, called);
            if class > 0 {
                called.pop();
            }
        }
        sum
    }

    fn hidden_by(&self, called: &[Look]) -> Vec<Hidden> {
        let acts = |mask: &&Mask| mask.looks.iter().all(|look| called.contains(look));
        self.colony.masks.iter().filter(acts).flat_map(|mask| mask.hides.clone()).collect()
    }
}

/// The genes of the wanted looks, and those whose looks can hide them or hide what hides them.
fn genes_that_matter(colony: &Colony, wanted: &[Look]) -> Vec<GeneId> {
    let mut genes: Vec<GeneId> = wanted.iter().map(|look| look.gene).collect();
    genes.sort_unstable();
    genes.dedup();
    loop {
        let hides = |mask: &&Mask| mask.hides.iter().any(|hidden| genes.contains(&gene_of(hidden)));
        let masks = colony.masks.iter().filter(hides);
        let maskers = masks.flat_map(|mask| &mask.looks).map(|look| look.gene);
        let new = |gene: &GeneId| !genes.contains(gene) && !colony.gene(*gene).from_age_adult;
        let mut more: Vec<GeneId> = maskers.filter(new).collect();
        if more.is_empty() {
            return genes;
        }
        genes.append(&mut more);
        genes.sort_unstable();
        genes.dedup();
    }
}

fn gene_of(hidden: &Hidden) -> GeneId {
    match hidden {
        Hidden::Gene(gene) => *gene,
        Hidden::Look(look) => look.gene,
    }
}

/// Genes in an order in which each stands behind those that mask it; masks in a circle stay in
/// order of declaration.
fn maskers_first(colony: &Colony, mut left: Vec<GeneId>) -> Vec<GeneId> {
    let hides = |masker: GeneId, gene: GeneId| {
        let hidden = |hidden: &Hidden| gene_of(hidden) == gene;
        colony.masks.iter().any(|mask| {
            mask.looks.iter().any(|look| look.gene == masker) && mask.hides.iter().any(hidden)
        })
    };
    let mut order = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let free = |gene: &GeneId| !left.iter().any(|m| m != gene && hides(*m, *gene));
        let next = left.iter().position(free).unwrap_or(0);
        order.push(left.remove(next));
    }
    order
}
