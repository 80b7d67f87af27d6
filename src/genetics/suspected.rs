//! How a gene of unknown inheritance may be passed on: each way as loci and units.

use super::locus::{penetrance, shown};
use super::{Locus, Unit, units};
use crate::records::{Colony, Gene, GeneId, Genotype, Inheritance, Misread, Sex, SexLinkage};

/// One way in which a suspected gene may be inherited, or not be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mode {
    /// Two copies show the look; on X or Z, the only copy too.
    Recessive {
        /// Whether it lies on X or Z.
        sex_linked: bool,
    },
    /// One or two copies show it.
    Dominant {
        /// Whether it lies on X or Z.
        sex_linked: bool,
    },
    /// One copy shows it, two copies show something else.
    IncompleteDominant {
        /// Whether it lies on X or Z.
        sex_linked: bool,
    },
    /// One copy shows it, eggs with two copies never hatch.
    LethalIncompleteDominant,
    /// An allele of a declared locus.
    Allele {
        /// The locus.
        of: GeneId,
        /// Whether one copy is seen.
        visible: bool,
    },
    /// Two unlinked genes, two copies of both needed.
    TwoRecessive,
    /// Two unlinked genes, a copy of both needed.
    TwoDominant,
    /// Not inherited: any animal may show it.
    Chance,
    /// Not inherited: some clutches show it more than others.
    ClutchEffect,
}

impl Mode {
    /// Whether it is inherited at all.
    pub fn is_inherited(self) -> bool {
        !matches!(self, Mode::Chance | Mode::ClutchEffect)
    }

    /// Whether one locus alone decides.
    pub fn is_one_locus(self) -> bool {
        self.is_inherited() && !matches!(self, Mode::TwoRecessive | Mode::TwoDominant)
    }

    /// Whether it lies on X or Z for this hypothesis alone.
    fn on_sex_chromosome(self) -> bool {
        matches!(
            self,
            Mode::Recessive { sex_linked: true }
                | Mode::Dominant { sex_linked: true }
                | Mode::IncompleteDominant { sex_linked: true }
        )
    }

    /// Whether a young with two copies of both a known recessive and the suspected allele of its
    /// locus comes up, whose look is not known beforehand.
    pub fn has_compounds(self, colony: &Colony) -> bool {
        let Mode::Allele { of, visible: false } = self else { return false };
        let gene = colony.gene(of);
        let recessive = |allele: usize| gene.class_of(Genotype::two(0, allele)) == 0;
        (1..=gene.alleles.len()).any(recessive)
    }

    /// Whether affected animals show either of two declared looks by chance alone.
    pub fn has_variation(self, gene: &Gene) -> bool {
        let by_copies =
            matches!(self, Mode::IncompleteDominant { .. } | Mode::LethalIncompleteDominant);
        gene.looks.len() > 1 && !by_copies && self.is_inherited()
    }

    /// The look class of one and of two copies; 3 stands for a look without a name.
    fn shows_by_copies(self, names: usize) -> [usize; 2] {
        match self {
            Mode::Recessive { .. } | Mode::TwoRecessive => [0, 1],
            Mode::Allele { visible: false, .. } => [0, 1],
            Mode::IncompleteDominant { .. } => [1, 2.min(names)],
            _ => [1, 1],
        }
    }
}

/// What one look shows in an animal with a known recessive and the suspected allele of its locus.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Compound {
    /// The look of the known gene.
    #[default]
    Older,
    /// The look of the suspected gene.
    Newer,
    /// Both.
    Both,
}

impl Compound {
    /// Each with chance one third.
    pub const ALL: [Compound; 3] = [Compound::Older, Compound::Newer, Compound::Both];
}

/// What a mode leaves open, with one value each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Particulars {
    /// Of affected animals, how many show the first of two declared looks by mere variation.
    pub first_share: f64,
    /// What a compound of two recessive alleles shows.
    pub compound: Compound,
}

impl Default for Particulars {
    fn default() -> Self {
        Particulars { first_share: 1.0, compound: Compound::Older }
    }
}

/// Stands for a background of zero where two mutant alleles have to meet.
const ALMOST_NONE: f64 = 1e-14;

/// The colony with a suspected gene declared as one mode has it, its calls read like any other;
/// unchanged where it is not inherited.
///
/// A share of look-alikes is the chance that nothing is called the look, unless the gene's own
/// `misread` says otherwise.
pub fn as_if(colony: &Colony, gene: GeneId, mode: Mode) -> Colony {
    let mut made = colony.clone();
    if !mode.is_inherited() {
        return made;
    }
    let misread = made.assumptions.misread;
    let background = made.assumptions.background;
    let suspected = &mut made.genes[gene.0];
    suspected.inheritance = Inheritance::Recessive;
    let [one, two] = mode.shows_by_copies(suspected.looks.len());
    let all = [(Genotype::Two(0, 1), one), (Genotype::Two(1, 1), two), (Genotype::One(1), 1)];
    suspected.shows = all.into_iter().filter(|(_, class)| *class > 0).collect();
    if mode.on_sex_chromosome() && suspected.sex_linked.is_none() {
        suspected.sex_linked = Some(SexLinkage { crossover: None });
    }
    if mode == Mode::LethalIncompleteDominant && !suspected.lethal.contains(&Genotype::Two(1, 1)) {
        suspected.lethal.push(Genotype::Two(1, 1));
    }
    if let (None, Some(share)) = (suspected.misread, suspected.first_seen.look_alikes) {
        let missed = misread / suspected.looks.len().max(1) as f64;
        suspected.misread =
            Some(Misread::Apart { missed, imagined: share, confused: misread - missed });
    }
    // METHOD: a gamete with two mutant alleles is rarer than one with one, also in the limit of a
    // background of zero, which this is close enough to for any double.
    let none = suspected.background.as_ref().map_or(background, |list| list[0]) < ALMOST_NONE;
    if matches!(mode, Mode::TwoRecessive | Mode::TwoDominant) && none {
        suspected.background = Some(vec![ALMOST_NONE]);
    }
    if !matches!(mode, Mode::Recessive { .. } | Mode::Dominant { .. })
        && !matches!(mode, Mode::IncompleteDominant { .. } | Mode::LethalIncompleteDominant)
    {
        // Two genes, or a place beside another gene: where its own place was declared is left out.
        made.linkage.iter_mut().for_each(|group| group.genes.retain(|of| *of != gene));
        made.linkage.retain(|group| group.genes.len() > 1);
    }
    made
}

/// The units of a colony under one mode of a suspected gene; `colony` is what [`as_if`] made.
///
/// # Source
///
/// Mode of inheritance: what can be called is normal and the declared looks. A distinct look of
/// two copies without a name gets each call with m/K. Two declared looks tell one copy from two
/// only in incomplete dominance; elsewhere they are mere variation.
pub fn suspected_units(
    colony: &Colony,
    gene: GeneId,
    mode: Mode,
    particulars: Particulars,
) -> Vec<Unit> {
    let mut made = match mode {
        Mode::Allele { of, .. } => one_locus_units(colony, [of, gene], particulars.compound),
        Mode::TwoRecessive | Mode::TwoDominant => {
            let mut others = without(colony, gene);
            others.push(Unit::of_two_genes(two_genes(colony, gene, mode)));
            others
        }
        _ => units(colony),
    };
    let locus = made.iter_mut().flat_map(|unit| &mut unit.loci).find(|locus| locus.gene == gene);
    let Some(locus) = locus else { return made };
    let declared = colony.gene(gene);
    let affected: Vec<f64> = locus.shows.iter().map(|shows| 1.0 - shows[0]).collect();
    if mode.has_variation(declared) {
        let [first, second] = [particulars.first_share, 1.0 - particulars.first_share];
        for (shows, affected) in locus.shows.iter_mut().zip(affected) {
            *shows = vec![1.0 - affected, affected * first, affected * second];
        }
    } else if matches!(mode, Mode::IncompleteDominant { .. }) && declared.looks.len() == 1 {
        locus.classes = locus.names + 1;
        for (at, shows) in locus.shows.iter_mut().enumerate() {
            shows.push(0.0);
            if locus.genotypes[at] == Genotype::Two(1, 1) {
                locus.class[at] = locus.names;
                *shows = vec![1.0 - affected[at], 0.0, affected[at]];
            }
        }
    }
    made
}

fn without(colony: &Colony, gene: GeneId) -> Vec<Unit> {
    let mut made = units(colony);
    made.retain(|unit| unit.locus_of(gene).is_none());
    made
}

/// The units of a colony in which two of its genes are alleles of one locus.
///
/// # Source
///
/// `+` is dominant over a recessive allele. A compound of two recessive alleles never looks normal
/// and shows the older look, the newer or both (one of these for the whole locus); visible with
/// recessive: the visible one's one-copy look; both visible: both names together.
pub fn one_locus_units(
    colony: &Colony,
    [older, newer]: [GeneId; 2],
    compound: Compound,
) -> Vec<Unit> {
    let pair = alleles_of_one(colony, older, newer, compound);
    let mut made = without(colony, newer);
    if let Some(unit) = made.iter_mut().find(|unit| unit.locus_of(older).is_some()) {
        let group = colony.linkage.iter().find(|group| group.genes.contains(&older));
        let genes = group.map_or_else(|| vec![older], |group| group.genes.clone());
        *unit = Unit::of_alleles(colony, &genes, group.map(|group| &group.crossover), pair);
    }
    made
}

/// Whether the look of an animal with an allele of each of two genes of one locus is not known
/// beforehand: both are recessive.
pub fn have_compounds(colony: &Colony, genes: [GeneId; 2]) -> bool {
    genes.iter().all(|gene| {
        let gene = colony.gene(*gene);
        (1..=gene.alleles.len()).any(|allele| is_recessive(gene, allele))
    })
}

fn is_recessive(gene: &Gene, allele: usize) -> bool {
    gene.class_of(Genotype::two(0, allele)) == 0
}

/// Two genes of the records as one locus: each sees the other's alleles as `+`, but for the look
/// of a compound.
fn alleles_of_one(
    colony: &Colony,
    older_gene: GeneId,
    newer_gene: GeneId,
    compound: Compound,
) -> [Locus; 2] {
    let genes = [older_gene, newer_gene].map(|id| colony.gene(id));
    let locus =
        |id: GeneId| Locus::new(id, colony.gene(id), &colony.assumptions, colony.sex_system);
    let mut loci = [locus(older_gene), locus(newer_gene)];
    let first_new = genes[0].alleles.len() + 1;
    let alleles = first_new + genes[1].alleles.len();
    let mut genotypes: Vec<Genotype> =
        (0..alleles).flat_map(|a| (a..alleles).map(move |b| Genotype::Two(a, b))).collect();
    if loci[0].one_copy_sex.is_some() {
        genotypes.extend((0..alleles).map(Genotype::One));
    }
    let mut frequencies = loci[0].frequencies.clone();
    frequencies.extend(&loci[1].frequencies[1..]);
    frequencies[0] = (1.0 - frequencies[1..].iter().sum::<f64>()).max(0.0);
    let as_older = |allele: usize| if allele < first_new { allele } else { 0 };
    let as_newer = |allele: usize| if allele < first_new { 0 } else { allele + 1 - first_new };
    let one_copy_sex = loci[0].one_copy_sex;
    for (which, locus) in loci.iter_mut().enumerate() {
        let own = |g: &Genotype| match which {
            0 => map(*g, &as_older),
            _ => map(*g, &as_newer),
        };
        locus.own = genotypes.iter().map(own).collect();
        locus.class.clear();
        locus.shows.clear();
        for (genotype, own) in genotypes.iter().zip(&locus.own) {
            let shown_as = match *genotype {
                Genotype::Two(a, b) if a > 0 && a < first_new && b >= first_new => {
                    compound_as(genes, [as_older(a), as_newer(b)], compound)[which]
                }
                _ => *own,
            };
            let class = genes[which].class_of(shown_as);
            let chance = penetrance(genes[which], shown_as, class);
            locus.class.push(class);
            locus.shows.push(shown(locus.classes, class, chance));
        }
        locus.lethal = locus.own.iter().map(|own| genes[which].lethal.contains(own)).collect();
        locus.one_copy_sex = one_copy_sex;
        locus.genotypes.clone_from(&genotypes);
        locus.frequencies.clone_from(&frequencies);
    }
    loci
}

/// The genotypes of two genes whose looks a compound shows: one copy of each, or where both are
/// recessive two copies of those that show.
fn compound_as(genes: [&Gene; 2], alleles: [usize; 2], compound: Compound) -> [Genotype; 2] {
    let one = alleles.map(|allele| Genotype::two(0, allele));
    let two = alleles.map(|allele| Genotype::Two(allele, allele));
    if !genes.iter().zip(alleles).all(|(gene, allele)| is_recessive(gene, allele)) {
        return one;
    }
    // It never looks normal: where one of the two looks is none, the other shows.
    let silent = [0, 1].map(|at| genes[at].class_of(two[at]) == 0);
    match (compound, silent) {
        (_, [true, _]) | (Compound::Newer, [_, false]) => [one[0], two[1]],
        (Compound::Newer, _) | (Compound::Older, _) | (_, [_, true]) => [two[0], one[1]],
        (Compound::Both, _) => two,
    }
}

fn map(genotype: Genotype, of: &dyn Fn(usize) -> usize) -> Genotype {
    match genotype {
        Genotype::Two(a, b) => Genotype::two(of(a), of(b)),
        Genotype::One(a) => Genotype::One(of(a)),
    }
}

/// A locus whose alleles are the four gametes of two genes: `++`, `+b`, `a+`, `ab`.
fn two_genes(colony: &Colony, gene: GeneId, mode: Mode) -> Locus {
    let declared = colony.gene(gene);
    let mut locus = Locus::new(gene, declared, &colony.assumptions, colony.sex_system);
    let p = locus.frequencies[1];
    locus.frequencies = [(1.0 - p) * (1.0 - p), (1.0 - p) * p, p * (1.0 - p), p * p].into();
    locus.genotypes = (0..4).flat_map(|a| (a..4).map(move |b| Genotype::Two(a, b))).collect();
    let needed = if mode == Mode::TwoRecessive { 2 } else { 1 };
    locus.own.clear();
    locus.class.clear();
    locus.shows.clear();
    for genotype in &locus.genotypes {
        let Genotype::Two(a, b) = *genotype else { continue };
        let copies = (a / 2 + b / 2).min(a % 2 + b % 2);
        locus.own.push(Genotype::Two(usize::from(copies == 2), usize::from(copies > 0)));
        let class = usize::from(copies >= needed);
        locus.class.push(class);
        let chance = penetrance(declared, Genotype::Two(1, 1), class);
        locus.shows.push(shown(locus.classes, class, chance));
    }
    locus.lethal = vec![false; locus.genotypes.len()];
    locus.one_copy_sex = None::<Sex>;
    locus
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Format, read};

    fn colony(genes: &str) -> Colony {
        let text = format!(
            "{genes}[gene.quill]\ninheritance = \"unknown\"\nlooks = [\"quill\"]\n\
             [[animal]]\nid = \"x\"\n"
        );
        read(text.as_bytes(), Format::Toml).expect("sound").colony
    }

    #[test]
    fn two_recessive_genes_show_in_one_of_sixteen_and_two_dominant_ones_in_nine() {
        let colony = colony("");
        let gene = GeneId(0);
        for (mode, share) in [(Mode::TwoRecessive, 1.0 / 16.0), (Mode::TwoDominant, 9.0 / 16.0)] {
            let made = as_if(&colony, gene, mode);
            let units = suspected_units(&made, gene, mode, Particulars::default());
            let unit = &units[0];
            let both = unit.states.iter().position(|pair| *pair == [0, 3]).expect("cis");
            let young = unit.brood(None).hatched(None);
            let shows = unit.loci[0].class_chance(1);
            let sum: f64 = (0..unit.states.len())
                .map(|child| young[[child, both, both]] * shows[unit.genotype[0][child]])
                .sum();
            assert!((sum - share).abs() < 1e-12, "{mode:?}: {sum}");
        }
    }

    #[test]
    fn a_compound_of_two_recessive_alleles_never_looks_normal() {
        let colony = colony("[gene.ash]\ninheritance = \"recessive\"\n");
        let (ash, quill) = (GeneId(0), GeneId(1));
        let mode = Mode::Allele { of: ash, visible: false };
        assert!(mode.has_compounds(&colony));
        let made = as_if(&colony, quill, mode);
        for (compound, looks) in Compound::ALL.into_iter().zip([[1, 0], [0, 1], [1, 1]]) {
            let particulars = Particulars { compound, ..Particulars::default() };
            let units = suspected_units(&made, quill, mode, particulars);
            let [older, newer] = units[0].loci.as_slice() else { panic!("one unit of both") };
            let at = older.position(Genotype::Two(1, 2)).expect("a compound");
            assert_eq!([older.class[at], newer.class[at]], looks, "{compound:?}");
            assert_eq!([older.own[at], newer.own[at]], [Genotype::Two(0, 1); 2]);
        }
    }

    #[test]
    fn founders_of_one_locus_start_from_all_its_alleles_once() {
        let colony = colony("[gene.ash]\ninheritance = \"recessive\"\nbackground = 0.1\n");
        let mode = Mode::Allele { of: GeneId(0), visible: false };
        let made = as_if(&colony, GeneId(1), mode);
        let units = suspected_units(&made, GeneId(1), mode, Particulars::default());
        let start = units[0].founder(None, &[]);
        let at = units[0].loci[0].position(Genotype::Two(1, 2)).expect("a compound");
        assert!((start.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!((start[at] - 2.0 * 0.1 * 0.005).abs() < 1e-12, "{start:?}");
    }
}
