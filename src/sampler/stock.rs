//! Unrelated stock: animals without recorded parents, gene by gene.

use super::gamete::either_sex;
use super::laws::Laws;
use super::{Dice, Genome, Strand};
use crate::records::{Colony, Gene, GeneId, Genotype, Misread, Says, Sex, Statement};

/// The two copies of one gene, strand by strand; `None` where the strand has none.
type Copies = [Option<usize>; 2];

/// What a drawn copy pair is asked for.
#[derive(Clone, Copy, Debug)]
enum Shows {
    /// Nothing.
    Anything,
    /// That it shows this class.
    Class(usize),
    /// That it does not show this class.
    Not(usize),
}

impl Laws {
    /// An animal of unrelated stock, alive, of the given sex or of either with chance one half.
    ///
    /// Founders: each copy of a gene is a mutant allele with its background frequency; genes are
    /// independent and either phase is equally likely; a lethal genotype is never found alive.
    /// `None` when no genotype of some gene is alive.
    pub fn unrelated(&self, colony: &Colony, sex: Option<Sex>, dice: &mut Dice) -> Option<Genome> {
        let mut genome = self.blank(colony, sex, dice);
        for gene in colony.gene_ids() {
            let copies = self.stock_that(colony, gene, genome.sex, Shows::Anything, dice)?;
            genome.put(gene, copies);
        }
        Some(genome)
    }

    /// An animal with its sex chromosomes and nothing at any gene yet.
    pub fn blank(&self, colony: &Colony, sex: Option<Sex>, dice: &mut Dice) -> Genome {
        let sex = sex.unwrap_or_else(|| either_sex(dice));
        let unlike = self.heterogametic() == Some(sex);
        let minor = unlike.then(|| dice.below(2));
        let strand =
            |side| Strand { alleles: vec![None; colony.genes.len()], minor: minor == Some(side) };
        Genome { strands: [strand(0), strand(1)], sex }
    }

    /// A founder's copies of a gene nobody made a statement about and whose look was not named.
    pub fn background(
        &self,
        colony: &Colony,
        gene: GeneId,
        sex: Sex,
        dice: &mut Dice,
    ) -> Option<Copies> {
        self.stock_that(colony, gene, sex, Shows::Anything, dice)
    }

    /// A founder's copies of a gene whose look `class` it was kept for.
    ///
    /// Founders: with the chance that such a call is wrong, stock that does not show the class;
    /// otherwise stock that shows it.
    pub fn kept_for(
        &self,
        colony: &Colony,
        gene: GeneId,
        class: usize,
        sex: Sex,
        dice: &mut Dice,
    ) -> Option<Copies> {
        let misread = colony.gene(gene).misread.unwrap_or(Misread::Any(colony.assumptions.misread));
        let wrong = match misread {
            Misread::Any(chance) => chance,
            Misread::Apart { imagined, confused, .. } => imagined + confused,
        };
        let ways = if dice.coin(wrong) {
            [Shows::Not(class), Shows::Class(class)]
        } else {
            [Shows::Class(class), Shows::Not(class)]
        };
        ways.into_iter().find_map(|shows| self.stock_that(colony, gene, sex, shows, dice))
    }

    /// A founder's copies of a gene a true statement was made about.
    ///
    /// Founders: `het x` is one copy of x with the stated chance, else none at all; `not het x` is
    /// stock without a copy of x; a look is stock that shows it. `None` when no living animal of
    /// this sex can be so.
    pub fn as_told(
        &self,
        colony: &Colony,
        statement: &Statement,
        sex: Sex,
        dice: &mut Dice,
    ) -> Option<Copies> {
        let gene = statement.gene;
        match statement.says {
            Says::Look(class) => self.stock_that(colony, gene, sex, Shows::Class(class), dice),
            Says::NotHet { allele } => {
                let without = |genotype: Genotype| f64::from(genotype.copies_of(allele) == 0);
                self.weighed(colony, gene, sex, without, dice)
            }
            Says::Het { .. } if self.one_copy(colony.gene(gene), sex) => None,
            Says::Het { allele, chance } => {
                let alive = |genotype| !colony.gene(gene).lethal.contains(&genotype);
                let pairs = [[Some(0), Some(allele)], [Some(allele), Some(0)], [Some(0), Some(0)]];
                let het = if alive(Genotype::two(0, allele)) { chance / 2.0 } else { 0.0 };
                let none = if alive(Genotype::two(0, 0)) { 1.0 - chance } else { 0.0 };
                dice.weighted(&[het, het, none]).map(|position| pairs[position])
            }
        }
    }

    /// Copies from unrelated stock given what is shown; where stock has no such animal, the limit
    /// of stock in which all mutant alleles are equally rare.
    fn stock_that(
        &self,
        colony: &Colony,
        gene: GeneId,
        sex: Sex,
        shows: Shows,
        dice: &mut Dice,
    ) -> Option<Copies> {
        let declared = colony.gene(gene);
        let chance = |genotype: Genotype| match shows {
            Shows::Anything => 1.0,
            Shows::Class(class) => self.chance_shown(gene, declared, genotype, class),
            Shows::Not(class) => 1.0 - self.chance_shown(gene, declared, genotype, class),
        };
        self.weighed(colony, gene, sex, chance, dice)
    }

    /// Copies drawn independently by their frequencies, each pair accepted with `chance`.
    fn weighed(
        &self,
        colony: &Colony,
        gene: GeneId,
        sex: Sex,
        chance: impl Fn(Genotype) -> f64,
        dice: &mut Dice,
    ) -> Option<Copies> {
        let declared = colony.gene(gene);
        let pairs = self.possible(declared, sex);
        let frequencies = frequencies(declared, colony.assumptions.background);
        let accepted = |copies: &Copies| {
            let genotype = genotype(copies);
            if declared.lethal.contains(&genotype) { 0.0 } else { chance(genotype) }
        };
        let weight = |copies: &Copies| {
            copies.iter().flatten().fold(accepted(copies), |w, &allele| w * frequencies[allele])
        };
        let weights: Vec<_> = pairs.iter().map(weight).collect();
        if let Some(position) = dice.weighted(&weights) {
            return Some(pairs[position]);
        }
        // METHOD: without mass, the limit as all mutant alleles become equally rare: of what can
        // be accepted, the pairs with the fewest mutant copies.
        let mutants = |copies: &Copies| genotype(copies).mutant_copies();
        let fewest = pairs.iter().filter(|copies| accepted(copies) > 0.0).map(mutants).min()?;
        let limit = |copies: &Copies| f64::from(mutants(copies) == fewest) * accepted(copies);
        let weights: Vec<_> = pairs.iter().map(limit).collect();
        dice.weighted(&weights).map(|position| pairs[position])
    }

    /// Every pair of copies an animal of this sex can have.
    fn possible(&self, gene: &Gene, sex: Sex) -> Vec<Copies> {
        let alleles = gene.alleles.len() + 1;
        if self.one_copy(gene, sex) {
            return (0..alleles).map(|a| [Some(a), None]).collect();
        }
        let pair = |one, other| [Some(one), Some(other)];
        (0..alleles).flat_map(|one| (0..alleles).map(move |other| pair(one, other))).collect()
    }
}

impl Genome {
    /// Puts the copies of one gene on the strands; a single copy goes on the X or Z.
    pub(super) fn put(&mut self, gene: GeneId, copies: Copies) {
        let turned = self.strands[0].minor && copies[1].is_none();
        let [first, second] = copies;
        let copies = if turned { [second, first] } else { [first, second] };
        for (strand, copy) in self.strands.iter_mut().zip(copies) {
            strand.alleles[gene.0] = copy;
        }
    }
}

fn genotype(copies: &Copies) -> Genotype {
    match *copies {
        [Some(one), Some(other)] => Genotype::two(one, other),
        [one, other] => Genotype::One(one.or(other).unwrap_or(0)),
    }
}

/// Frequency of each allele in unrelated stock, the wild type first.
fn frequencies(gene: &Gene, background: f64) -> Vec<f64> {
    let mutants = match &gene.background {
        Some(given) => given.clone(),
        None => vec![background; gene.alleles.len()],
    };
    let wild = (1.0 - mutants.iter().sum::<f64>()).max(0.0);
    let mut all = vec![wild];
    all.extend(mutants);
    all.resize(gene.alleles.len() + 1, 0.0);
    all
}
