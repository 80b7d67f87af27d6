//! Section 1 and 3 of the model for a set of genes: states, gametes, young.
//!
//! A state is a pair of haplotypes for each group of loci that travel together; a locus of its own
//! is a group of one. In a genetic sex system the sex-determining region is a locus like any other:
//! allele 0 is X or Z, allele 1 is Y or W. A gene on X or Z only has no allele on Y or W.

use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use proveout::records::{Colony, CrossoverRates, GeneId, Genotype, Sex, SexSystem};

use super::exact::{Exact, add, exact, fraction, one, power, zero};

/// Alleles of a haplotype, locus by locus.
type Haplotype = Vec<usize>;
/// Stands where Y or W has no copy of a gene.
const ABSENT: usize = usize::MAX;

/// A locus.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Locus {
    /// The sex-determining region.
    Sex,
    /// A gene of the colony.
    Gene(usize),
}

/// Which earlier locus a locus is tied to, and the recombination between them.
#[derive(Clone, Debug)]
struct Tie {
    to: usize,
    crossover: Exact,
}

/// Loci that travel together. Locus `i + 1` is tied by `ties[i]`.
struct Group {
    loci: Vec<Locus>,
    ties_female: Vec<Tie>,
    ties_male: Vec<Tie>,
    /// Every unordered pair of haplotypes.
    pairs: Vec<(Haplotype, Haplotype)>,
}

/// A distribution over states.
pub type Chances = Vec<(usize, Exact)>;

/// The father of a young: a state, or nobody.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Father {
    /// With this state.
    State(usize),
    /// A birth without a father.
    Nobody,
}

/// The states an animal can have at a set of genes.
pub struct Genome {
    /// The genes, by number.
    pub genes: Vec<usize>,
    /// For each state, the genotype at each gene of `genes`.
    pub genotypes: Vec<Vec<Genotype>>,
    /// For each state the sex; `None` when sex is no part of it.
    pub sexes: Vec<Option<Sex>>,
    /// For each state, the share it has among the states that differ from it in phase only.
    pub phase_share: Vec<Exact>,
    groups: Vec<Group>,
    sex_system: SexSystem,
    virgin_heterozygosity: Exact,
    young: RefCell<HashMap<(usize, Father), Rc<Chances>>>,
}

impl Genome {
    /// The states at `genes`; `sex` says whether the sex-determining region is one of the loci.
    pub fn new(colony: &Colony, genes: &[usize], sex: bool) -> Self {
        let groups = groups(colony, genes, sex);
        let mut genome = Genome {
            genes: genes.to_vec(),
            genotypes: vec![],
            sexes: vec![],
            phase_share: vec![],
            groups,
            sex_system: colony.sex_system,
            virgin_heterozygosity: exact(colony.assumptions.virgin_heterozygosity),
            young: RefCell::default(),
        };
        for state in 0..genome.groups.iter().map(|group| group.pairs.len()).product() {
            let (genotypes, sex, share) = genome.describe(state);
            genome.genotypes.push(genotypes);
            genome.sexes.push(sex);
            genome.phase_share.push(share);
        }
        genome
    }

    /// How many states there are.
    pub fn states(&self) -> usize {
        self.genotypes.len()
    }

    /// The pair of haplotypes of each group in a state.
    fn pairs_of(&self, mut state: usize) -> Vec<usize> {
        self.groups
            .iter()
            .map(|group| {
                let pair = state % group.pairs.len();
                state /= group.pairs.len();
                pair
            })
            .collect()
    }

    fn describe(&self, state: usize) -> (Vec<Genotype>, Option<Sex>, Exact) {
        let mut genotypes = BTreeMap::new();
        let (mut sex, mut share) = (None, one());
        for (group, pair) in self.groups.iter().zip(self.pairs_of(state)) {
            let (first, second) = &group.pairs[pair];
            let mut differing = 0;
            for (i, locus) in group.loci.iter().enumerate() {
                let (a, b) = (first[i], second[i]);
                differing += usize::from(a != b && b != ABSENT);
                match locus {
                    Locus::Sex => sex = Some(self.sex_of(a, b)),
                    Locus::Gene(gene) => {
                        let genotype =
                            if b == ABSENT { Genotype::One(a) } else { Genotype::two(a, b) };
                        genotypes.insert(*gene, genotype);
                    }
                }
            }
            // n loci that differ can lie on the two haplotypes in 2^(n - 1) ways.
            share *= power(&fraction(1, 2), differing.max(1) - 1);
        }
        (self.genes.iter().map(|gene| genotypes[gene]).collect(), sex, share)
    }

    fn sex_of(&self, a: usize, b: usize) -> Sex {
        match (self.sex_system, a == b) {
            (SexSystem::Xy, true) | (SexSystem::Zw, false) => Sex::Female,
            (SexSystem::Xy, false) | (SexSystem::Zw, true) => Sex::Male,
            (SexSystem::Environmental, _) => unreachable!("no chromosomes tell the sex"),
        }
    }

    /// What the young of two states can be.
    pub fn young(&self, dam: usize, father: Father) -> Rc<Chances> {
        if let Some(known) = self.young.borrow().get(&(dam, father)) {
            return known.clone();
        }
        let dam_pairs = self.pairs_of(dam);
        let mut chances = vec![(0, one())];
        let mut stride = 1;
        for (g, group) in self.groups.iter().enumerate() {
            let here = match father {
                Father::State(sire) => group.with_father(dam_pairs[g], self.pairs_of(sire)[g]),
                Father::Nobody => group.without_father(dam_pairs[g], &self.virgin_heterozygosity),
            };
            chances = chances
                .iter()
                .flat_map(|(state, chance)| {
                    here.iter().map(move |(pair, factor)| (state + stride * pair, chance * factor))
                })
                .collect();
            stride *= group.pairs.len();
        }
        let chances = Rc::new(chances);
        self.young.borrow_mut().insert((dam, father), chances.clone());
        chances
    }
}

impl Group {
    fn new(colony: &Colony, loci: Vec<Locus>, ties_female: Vec<Tie>, ties_male: Vec<Tie>) -> Self {
        let sexed = loci.contains(&Locus::Sex);
        let haplotypes = |on_y: bool| -> Vec<Haplotype> {
            loci.iter().fold(vec![vec![]], |shorter: Vec<Haplotype>, locus| {
                let alleles = match locus {
                    Locus::Sex => vec![usize::from(on_y)],
                    Locus::Gene(gene) if on_y && on_x_only(colony, *gene) => vec![ABSENT],
                    Locus::Gene(gene) => (0..=colony.genes[*gene].alleles.len()).collect(),
                };
                let longer = |haplotype: &Haplotype, allele: usize| {
                    haplotype.iter().copied().chain([allele]).collect()
                };
                let each = |h: Haplotype| alleles.iter().map(move |&a| longer(&h, a)).collect();
                shorter.into_iter().flat_map::<Vec<Haplotype>, _>(each).collect()
            })
        };
        let first = haplotypes(false);
        let mut pairs = Vec::new();
        for (i, one) in first.iter().enumerate() {
            pairs.extend(first[i..].iter().map(|other| (one.clone(), other.clone())));
            if sexed {
                pairs.extend(haplotypes(true).into_iter().map(|other| (one.clone(), other)));
            }
        }
        Group { loci, ties_female, ties_male, pairs }
    }

    fn pair_of(&self, one: Haplotype, other: Haplotype) -> Option<usize> {
        let (first, second) = if one <= other { (one, other) } else { (other, one) };
        self.pairs.iter().position(|(a, b)| *a == first && *b == second)
    }

    /// Every way to choose a strand at each locus with its chance: ½ at the first, then across
    /// with the chance of a crossover.
    fn gametes(&self, pair: usize, ties: &[Tie]) -> BTreeMap<Haplotype, Exact> {
        let strands = [&self.pairs[pair].0, &self.pairs[pair].1];
        let mut gametes = BTreeMap::new();
        for choice in 0..1usize << self.loci.len() {
            let strand = |locus: usize| (choice >> locus) & 1;
            let mut chance = fraction(1, 2);
            for (i, tie) in ties.iter().enumerate() {
                let across = strand(i + 1) != strand(tie.to);
                chance *= if across { tie.crossover.clone() } else { one() - &tie.crossover };
            }
            let gamete = (0..self.loci.len()).map(|locus| strands[strand(locus)][locus]).collect();
            add(&mut gametes, gamete, chance);
        }
        gametes.retain(|_, chance| *chance != zero());
        gametes
    }

    fn with_father(&self, dam: usize, sire: usize) -> Chances {
        let mut chances = BTreeMap::new();
        for (egg, chance) in self.gametes(dam, &self.ties_female) {
            for (sperm, factor) in self.gametes(sire, &self.ties_male) {
                let Some(pair) = self.pair_of(egg.clone(), sperm) else {
                    unreachable!("a sire with W or a dam with Y")
                };
                add(&mut chances, pair, &chance * factor);
            }
        }
        chances.into_iter().collect()
    }

    /// At each locus both strands of the dam with chance h, else one of them twice; a tied locus
    /// has the same draw unless a crossover fell between. `METHOD:` two loci with recombination r
    /// have no crossover between them with chance 1 − 2r (no interference); after one, the draw
    /// is made anew.
    fn without_father(&self, dam: usize, h: &Exact) -> Chances {
        let strands = [&self.pairs[dam].0, &self.pairs[dam].1];
        let draws = [(0, 1), (1, 0), (0, 0), (1, 1)];
        let fresh = |draw: usize| (if draw < 2 { h.clone() } else { one() - h }) * fraction(1, 2);
        let mut chances = BTreeMap::new();
        for choice in 0..4usize.pow(u32::try_from(self.loci.len()).expect("few loci")) {
            let draw = |locus: usize| (choice >> (2 * locus)) & 3;
            let mut chance = fresh(draw(0));
            for (i, tie) in self.ties_female.iter().enumerate() {
                let anew = fraction(2, 1) * &tie.crossover;
                let same = if draw(i + 1) == draw(tie.to) { one() - &anew } else { zero() };
                chance *= same + anew * fresh(draw(i + 1));
            }
            let side = |second: bool| -> Haplotype {
                let pick = |locus: usize| {
                    let (a, b) = draws[draw(locus)];
                    strands[if second { b } else { a }][locus]
                };
                (0..self.loci.len()).map(pick).collect()
            };
            // There is no state with W on both sides: such an egg does not hatch.
            if let Some(pair) = self.pair_of(side(false), side(true)) {
                add(&mut chances, pair, chance);
            }
        }
        let total: Exact = chances.values().sum();
        chances.retain(|_, chance| *chance != zero());
        chances.into_iter().map(|(pair, chance)| (pair, chance / &total)).collect()
    }
}

fn on_x_only(colony: &Colony, gene: usize) -> bool {
    colony.genes[gene].sex_linked.is_some_and(|linkage| linkage.crossover.is_none())
}

/// The groups among these genes.
fn groups(colony: &Colony, genes: &[usize], sex: bool) -> Vec<Group> {
    let mut groups = Vec::new();
    let (on_sex, elsewhere): (Vec<usize>, Vec<usize>) =
        genes.iter().partition(|&&gene| colony.genes[gene].sex_linked.is_some());
    if sex {
        groups.push(sex_group(colony, &on_sex));
    } else {
        assert!(on_sex.is_empty(), "judge: not covered: a sex-linked gene without sex chromosomes");
    }
    let grouped = |gene: &usize| colony.linkage.iter().any(|g| g.genes.contains(&GeneId(*gene)));
    for &gene in elsewhere.iter().filter(|gene| !grouped(gene)) {
        groups.push(Group::new(colony, vec![Locus::Gene(gene)], vec![], vec![]));
    }
    for linkage in &colony.linkage {
        if !elsewhere.contains(&linkage.genes[0].0) {
            continue;
        }
        let loci = linkage.genes.iter().map(|gene| Locus::Gene(gene.0)).collect();
        let chain = |rates: &[f64]| -> Vec<Tie> {
            let tie = |(to, rate): (usize, &f64)| Tie { to, crossover: exact(*rate) };
            rates.iter().enumerate().map(tie).collect()
        };
        let (female, male) = rates(&linkage.crossover);
        groups.push(Group::new(colony, loci, chain(female), chain(male)));
    }
    groups
}

fn rates(crossover: &CrossoverRates) -> (&[f64], &[f64]) {
    match crossover {
        CrossoverRates::Known { female, male } => (female, male),
        CrossoverRates::Unknown => panic!("judge: not covered: an unknown crossover"),
    }
}

/// The sex-determining region and the genes on the sex chromosomes. In the sex with two unlike
/// chromosomes each gene is tied to the region; in the other to its neighbour on the map, if any.
fn sex_group(colony: &Colony, genes: &[usize]) -> Group {
    let mut ordered = Vec::new();
    let mut neighbours = Vec::new();
    for linkage in &colony.linkage {
        if !genes.contains(&linkage.genes[0].0) {
            continue;
        }
        let partial = |gene: &GeneId| !on_x_only(colony, gene.0);
        assert!(
            !linkage.genes.iter().any(partial),
            "judge: not covered: a linkage group with a gene on both sex chromosomes"
        );
        let (female, male) = rates(&linkage.crossover);
        let rates = if colony.sex_system == SexSystem::Xy { female } else { male };
        for (i, gene) in linkage.genes.iter().enumerate() {
            ordered.push(gene.0);
            let to_previous = i > 0;
            let crossover = if to_previous { exact(rates[i - 1]) } else { fraction(1, 2) };
            let to = if to_previous { ordered.len() - 1 } else { 0 };
            neighbours.push(Tie { to, crossover });
        }
    }
    for &gene in genes {
        if !ordered.contains(&gene) {
            ordered.push(gene);
            neighbours.push(Tie { to: 0, crossover: fraction(1, 2) });
        }
    }
    let to_region = |gene: &usize| {
        let rate = colony.genes[*gene].sex_linked.and_then(|linkage| linkage.crossover);
        Tie { to: 0, crossover: exact(rate.unwrap_or(0.0)) }
    };
    let unlike: Vec<Tie> = ordered.iter().map(to_region).collect();
    let loci = [Locus::Sex].into_iter().chain(ordered.into_iter().map(Locus::Gene)).collect();
    match colony.sex_system {
        SexSystem::Xy => Group::new(colony, loci, neighbours, unlike),
        SexSystem::Zw => Group::new(colony, loci, unlike, neighbours),
        SexSystem::Environmental => panic!("judge: not covered: sex linkage without chromosomes"),
    }
}
