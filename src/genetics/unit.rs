//! What is passed on together: one gene, or the genes of one linkage group.

use ndarray::Array2;
use rustc_hash::FxHashMap;

use super::founders::{FounderEvidence, founder_support, founder_term_of};
use super::{Locus, gametes};
use crate::records::{Colony, CrossoverRates, GeneId, Genotype, Sex, SexSystem};

/// Which sex chromosome a haplotype lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SexChromosome {
    /// X or Z: both sexes have it.
    Shared,
    /// Y or W: only the heterogametic sex has it.
    Limited,
}

/// One strand of a unit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Haplotype {
    /// The allele at each gene of the unit; `None` where the strand has no copy (Y or W).
    pub alleles: Vec<Option<usize>>,
    /// The sex chromosome it lies on, for a unit that lies on one.
    pub chromosome: Option<SexChromosome>,
}

/// One gene, or the genes of one linkage group, passed on together.
///
/// A state is an unordered pair of haplotypes. For one autosomal gene the states are its
/// genotypes in the order of [`Locus::genotypes`].
#[derive(Clone, Debug)]
pub struct Unit {
    /// Its genes in map order.
    pub loci: Vec<Locus>,
    /// Every strand it can have.
    pub haplotypes: Vec<Haplotype>,
    /// Every state: two positions in `haplotypes`, the lower first.
    pub states: Vec<[usize; 2]>,
    /// `genotype[locus][state]`: position in that locus's genotypes.
    pub genotype: Vec<Vec<usize>>,
    /// The sex an animal in this state must have, for a unit on a sex chromosome.
    pub sex: Vec<Option<Sex>>,
    pub(super) heterogametic: Option<Sex>,
    pub(super) rates: Rates,
    /// The place of the map that the last of `loci` shares with an earlier one: two genes of the
    /// records taken for alleles of one locus.
    pub(super) shared: Option<usize>,
    /// How many states have the same genotypes and sex as each, itself included.
    phases: Vec<usize>,
}

/// Crossover rates between neighbouring places of the map, for dams and sires.
#[derive(Clone, Debug)]
pub(super) struct Rates {
    /// The sex-determining region is a place of its own: before the first gene, or behind the
    /// last.
    sex_region: Option<End>,
    female: Vec<f64>,
    male: Vec<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    Front,
    Back,
}

/// The units of a colony: its linkage groups and its other genes, in order of declaration.
pub fn units(colony: &Colony) -> Vec<Unit> {
    let mut done = vec![false; colony.genes.len()];
    let mut made = Vec::new();
    for gene in colony.gene_ids() {
        if done[gene.0] {
            continue;
        }
        let group = colony.linkage.iter().find(|group| group.genes.contains(&gene));
        let genes = group.map_or_else(|| vec![gene], |group| group.genes.clone());
        genes.iter().for_each(|gene| done[gene.0] = true);
        made.push(Unit::new(colony, &genes, group.map(|group| &group.crossover)));
    }
    made
}

impl Unit {
    /// The unit of these genes, in map order, with the crossover rates between neighbours.
    pub fn new(colony: &Colony, genes: &[GeneId], crossover: Option<&CrossoverRates>) -> Self {
        Unit::of_species(colony, genes, crossover, colony.sex_system)
    }

    /// The same for sex-linked genes whose sex with unlike chromosomes is this one, whichever it
    /// is in the colony: genes without a copy on Y or W have one copy there.
    pub fn with_one_copy_sex(
        colony: &Colony,
        genes: &[GeneId],
        crossover: Option<&CrossoverRates>,
        one_copy: Sex,
    ) -> Self {
        let sex_system = match one_copy {
            Sex::Male => SexSystem::Xy,
            Sex::Female => SexSystem::Zw,
        };
        Unit::of_species(colony, genes, crossover, sex_system)
    }

    fn of_species(
        colony: &Colony,
        genes: &[GeneId],
        crossover: Option<&CrossoverRates>,
        sex_system: SexSystem,
    ) -> Self {
        let locus =
            |id: &GeneId| Locus::new(*id, colony.gene(*id), &colony.assumptions, sex_system);
        let heterogametic = heterogametic(colony, genes, sex_system);
        let rates = Rates::new(colony, genes, crossover, heterogametic);
        Unit::of(genes.iter().map(locus).collect(), heterogametic, rates)
    }

    /// Two genes of the records as alleles of one locus, which lies at `place` among `genes`.
    ///
    /// `known` and `suspected` have the same genotypes: those of all their alleles together.
    pub(super) fn of_alleles(
        colony: &Colony,
        genes: &[GeneId],
        crossover: Option<&CrossoverRates>,
        [known, suspected]: [Locus; 2],
    ) -> Self {
        let place = genes.iter().position(|gene| *gene == known.gene).unwrap_or(0);
        let mut unit = Unit::new(colony, genes, crossover);
        unit.loci[place] = known;
        let mut unit = Unit::of(unit.loci, unit.heterogametic, unit.rates);
        unit.loci.push(suspected);
        unit.genotype.push(unit.genotype[place].clone());
        unit.shared = Some(place);
        unit
    }

    /// One look that depends on two genes of the same shape, unlinked: a genotype of `locus` is a
    /// pair of the four gametes `++`, `+b`, `a+`, `ab`.
    pub(super) fn of_two_genes(locus: Locus) -> Self {
        let haplotypes = haplotypes(&[2, 2], false, false);
        let (states, sex) = pairs(&haplotypes, None);
        let at = |[a, b]: &[usize; 2]| locus.position(Genotype::two(*a, *b)).unwrap_or(0);
        let genotype = vec![states.iter().map(at).collect()];
        let rates = Rates { sex_region: None, female: vec![0.5], male: vec![0.5] };
        let phases = vec![1; states.len()];
        let (heterogametic, shared) = (None, None);
        let loci = vec![locus];
        Unit { loci, haplotypes, states, genotype, sex, heterogametic, rates, shared, phases }
    }

    fn of(loci: Vec<Locus>, heterogametic: Option<Sex>, rates: Rates) -> Self {
        let alleles: Vec<usize> = loci.iter().map(|locus| locus.frequencies.len()).collect();
        let haplotypes = haplotypes(&alleles, heterogametic.is_some(), rates.sex_region.is_some());
        let (states, sex) = pairs(&haplotypes, heterogametic);
        let genotype = loci.iter().enumerate().map(|(at, locus)| {
            let position = |[a, b]: &[usize; 2]| {
                let genotype = match (haplotypes[*a].alleles[at], haplotypes[*b].alleles[at]) {
                    (Some(one), Some(other)) => Genotype::two(one, other),
                    (Some(only), None) | (None, Some(only)) => Genotype::One(only),
                    (None, None) => return 0,
                };
                locus.position(genotype).unwrap_or(0)
            };
            states.iter().map(position).collect()
        });
        let genotype: Vec<Vec<usize>> = genotype.collect();
        let phases = phases(&genotype, &sex);
        Unit { loci, genotype, haplotypes, states, sex, heterogametic, rates, shared: None, phases }
    }

    /// Position of a gene among [`Unit::loci`].
    pub fn locus_of(&self, gene: GeneId) -> Option<usize> {
        self.loci.iter().position(|locus| locus.gene == gene)
    }

    /// Whether it lies on a sex chromosome.
    pub fn is_sex_linked(&self) -> bool {
        self.heterogametic.is_some()
    }

    /// The states an animal of this sex can be in; unknown sex: all.
    pub fn states_of(&self, sex: Option<Sex>) -> Vec<usize> {
        let possible = |state: &usize| match (self.sex[*state], sex) {
            (Some(needs), Some(sex)) => needs == sex,
            _ => true,
        };
        (0..self.states.len()).filter(possible).collect()
    }

    /// Spreads a weight for each genotype of one locus over the given states.
    pub fn spread(&self, locus: usize, weights: &[f64], states: &[usize]) -> Vec<f64> {
        states.iter().map(|state| weights[self.genotype[locus][*state]]).collect()
    }

    /// Whether an egg in this state can hatch.
    pub fn viable(&self, state: usize) -> bool {
        self.loci.iter().zip(&self.genotype).all(|(locus, at)| !locus.lethal[at[state]])
    }

    /// Whether any of its genotypes never hatches.
    pub fn can_be_lethal(&self) -> bool {
        self.loci.iter().any(Locus::can_be_lethal)
    }

    /// Chance of each state of a founder, from its genotype weights at each locus.
    ///
    /// `evidence` has one entry for each of [`Unit::loci`]; none at all: unrelated stock. Unknown
    /// sex: half each.
    ///
    /// # Source
    ///
    /// Founders are in linkage equilibrium, genes independent, every phase equally likely.
    pub fn founder(&self, sex: Option<Sex>, evidence: &[FounderEvidence<'_>]) -> Vec<f64> {
        let nothing = FounderEvidence::default();
        let of = |at: usize| evidence.get(at).unwrap_or(&nothing);
        let terms = |at: usize, sex: Option<Sex>| {
            let mut genes = vec![(&self.loci[at], of(at))];
            if self.shared == Some(at) {
                genes.push((&self.loci[self.loci.len() - 1], of(self.loci.len() - 1)));
            }
            founder_term_of(&genes, sex)
        };
        self.spread_founder(sex, &terms)
    }

    /// Which states a founder may be in, where only the genes marked `whole` have told everything
    /// they will: nothing that more records leave open is ruled out.
    pub fn founder_support(
        &self,
        sex: Option<Sex>,
        evidence: &[FounderEvidence<'_>],
        whole: &[bool],
    ) -> Vec<f64> {
        let terms = |at: usize, sex: Option<Sex>| match whole[at] {
            true => founder_term_of(&[(&self.loci[at], &evidence[at])], sex),
            false => founder_support(&self.loci[at], sex, &evidence[at]),
        };
        self.spread_founder(sex, &terms)
    }

    fn spread_founder(
        &self,
        sex: Option<Sex>,
        terms: &dyn Fn(usize, Option<Sex>) -> Vec<f64>,
    ) -> Vec<f64> {
        let states = self.states_of(sex);
        let sexes: Vec<Option<Sex>> = match sex {
            None if self.is_sex_linked() => vec![Some(Sex::Female), Some(Sex::Male)],
            sex => vec![sex],
        };
        let places = self.loci.len() - usize::from(self.shared.is_some());
        let mut weights = vec![0.0; states.len()];
        for of in &sexes {
            let by_locus: Vec<Vec<f64>> = (0..places).map(|at| terms(at, *of)).collect();
            for (weight, state) in weights.iter_mut().zip(&states) {
                if self.sex[*state].is_some() && self.sex[*state] != *of {
                    continue;
                }
                let product: f64 =
                    by_locus.iter().zip(&self.genotype).map(|(w, at)| w[at[*state]]).product();
                *weight = product / (self.phases[*state] * sexes.len()) as f64;
            }
        }
        weights
    }

    /// Chance of each gamete of a parent of this sex: `table[[state, haplotype]]` over all states.
    pub fn gametes(&self, parent: Sex) -> Array2<f64> {
        let rates = self.rates.of(parent);
        let position: FxHashMap<&Haplotype, usize> =
            self.haplotypes.iter().enumerate().map(|(at, haplotype)| (haplotype, at)).collect();
        let whole = gametes(&vec![0.0; rates.len()]);
        let crossed = gametes(rates);
        let mut table = Array2::zeros((self.states.len(), self.haplotypes.len()));
        for (state, [a, b]) in self.states.iter().enumerate() {
            let strands = [&self.haplotypes[*a], &self.haplotypes[*b]];
            // X or Z and a strand without copies: nothing to cross over with.
            let alone = strands.iter().any(|strand| strand.alleles.contains(&None));
            for (choice, chance) in if alone { &whole } else { &crossed } {
                let made = self.rates.recombine(strands, choice);
                if let Some(at) = position.get(&made) {
                    table[[state, *at]] += chance;
                }
            }
        }
        table
    }
}

impl Rates {
    fn new(
        colony: &Colony,
        genes: &[GeneId],
        crossover: Option<&CrossoverRates>,
        heterogametic: Option<Sex>,
    ) -> Self {
        let free = vec![0.5; genes.len() - 1];
        let (mut female, mut male) = match crossover {
            Some(CrossoverRates::Known { female, male }) => (female.clone(), male.clone()),
            _ => (free.clone(), free),
        };
        let with_region = |gene: &GeneId| colony.gene(*gene).sex_linked.and_then(|l| l.crossover);
        let ends = [genes.first().and_then(with_region), genes.last().and_then(with_region)];
        let nearest = match ends {
            [Some(front), Some(back)] if back < front => Some((End::Back, back)),
            [Some(front), _] => Some((End::Front, front)),
            [None, Some(back)] => Some((End::Back, back)),
            [None, None] => None,
        };
        if let (Some((end, rate)), Some(sex)) = (nearest, heterogametic) {
            // Both sex regions of the homogametic sex are alike: any rate gives the same young.
            let rate_in = |parent: Sex| if parent == sex { rate } else { 0.0 };
            for (rates, parent) in [(&mut female, Sex::Female), (&mut male, Sex::Male)] {
                match end {
                    End::Front => rates.insert(0, rate_in(parent)),
                    End::Back => rates.push(rate_in(parent)),
                }
            }
        }
        let sex_region = nearest.filter(|_| heterogametic.is_some()).map(|(end, _)| end);
        Rates { sex_region, female, male }
    }

    pub(super) fn of(&self, parent: Sex) -> &[f64] {
        match parent {
            Sex::Female => &self.female,
            Sex::Male => &self.male,
        }
    }

    /// The gamete that takes the chosen strand at each place of the map.
    pub(super) fn recombine(&self, strands: [&Haplotype; 2], choice: &[usize]) -> Haplotype {
        let (region, genes) = match (self.sex_region, choice) {
            (Some(End::Front), [region, genes @ ..]) => (*region, genes),
            (Some(End::Back), [genes @ .., region]) => (*region, genes),
            _ => (choice[0], choice),
        };
        Haplotype {
            alleles: genes.iter().enumerate().map(|(at, c)| strands[*c].alleles[at]).collect(),
            chromosome: strands[region].chromosome,
        }
    }
}

/// How many states have the same genotypes and sex as each.
fn phases(genotype: &[Vec<usize>], sex: &[Option<Sex>]) -> Vec<usize> {
    let alike = |state: usize| {
        let genotypes: Vec<usize> = genotype.iter().map(|at| at[state]).collect();
        (sex[state], genotypes)
    };
    let mut count: FxHashMap<_, usize> = FxHashMap::default();
    for state in 0..sex.len() {
        *count.entry(alike(state)).or_default() += 1;
    }
    (0..sex.len()).map(|state| count.get(&alike(state)).copied().unwrap_or(1)).collect()
}

/// The sex with unlike chromosomes, where these genes lie on them.
fn heterogametic(colony: &Colony, genes: &[GeneId], sex_system: SexSystem) -> Option<Sex> {
    let sex = match sex_system {
        SexSystem::Xy => Sex::Male,
        SexSystem::Zw => Sex::Female,
        SexSystem::Environmental => return None,
    };
    genes.iter().any(|gene| colony.gene(*gene).sex_linked.is_some()).then_some(sex)
}

/// Every strand of places with so many alleles each.
fn haplotypes(alleles: &[usize], sex_linked: bool, on_both: bool) -> Vec<Haplotype> {
    let places = alleles.len();
    let mut strands: Vec<Vec<Option<usize>>> = vec![Vec::new()];
    for alleles in alleles {
        let longer = |strand: &Vec<Option<usize>>| -> Vec<Vec<Option<usize>>> {
            let with = |allele| strand.iter().copied().chain([Some(allele)]).collect();
            (0..*alleles).map(with).collect()
        };
        strands = strands.iter().flat_map(longer).collect();
    }
    let on = |chromosome| move |alleles: Vec<Option<usize>>| Haplotype { alleles, chromosome };
    if !sex_linked {
        return strands.into_iter().map(on(None)).collect();
    }
    let limited = if on_both { strands.clone() } else { vec![vec![None; places]] };
    let shared = strands.into_iter().map(on(Some(SexChromosome::Shared)));
    shared.chain(limited.into_iter().map(on(Some(SexChromosome::Limited)))).collect()
}

type States = (Vec<[usize; 2]>, Vec<Option<Sex>>);

/// Every possible pair of haplotypes, and the sex it makes: the homogametic sex first.
fn pairs(haplotypes: &[Haplotype], heterogametic: Option<Sex>) -> States {
    let all = (0..haplotypes.len()).flat_map(|a| (a..haplotypes.len()).map(move |b| [a, b]));
    let limited = |[a, b]: &[usize; 2]| {
        let on_limited = |at: usize| haplotypes[at].chromosome == Some(SexChromosome::Limited);
        usize::from(on_limited(*a)) + usize::from(on_limited(*b))
    };
    let Some(heterogametic) = heterogametic else {
        let states: Vec<[usize; 2]> = all.collect();
        let sex = vec![None; states.len()];
        return (states, sex);
    };
    let homogametic = if heterogametic == Sex::Male { Sex::Female } else { Sex::Male };
    let (two, one): (Vec<_>, Vec<_>) =
        all.filter(|pair| limited(pair) < 2).partition(|pair| limited(pair) == 0);
    let sex = two.iter().map(|_| Some(homogametic)).chain(one.iter().map(|_| Some(heterogametic)));
    let sex = sex.collect();
    (two.into_iter().chain(one).collect(), sex)
}
