//! Gametes and eggs: how a parent passes on what it carries.

use super::laws::{Chain, Laws};
use super::{Dice, Genome, Strand};
use crate::records::{Gene, Sex};

impl Laws {
    /// One gamete of `parent`.
    ///
    /// The parent passes one of its two copies of each gene, either with chance one half. Along a
    /// linkage group the strand changes between neighbours with the rate for the parent's sex.
    /// In the heterogametic sex the strand of the sex-determining region decides for genes on X
    /// or Z only; a gene with a copy on both sex chromosomes changes strand with its crossover.
    pub fn gamete(&self, genes: &[Gene], parent: &Genome, dice: &mut Dice) -> Strand {
        let region = dice.below(2);
        let mut strand =
            Strand { alleles: vec![None; genes.len()], minor: parent.strands[region].minor };
        let unlike = parent.strands[0].minor != parent.strands[1].minor;
        for chain in &self.chains {
            let from = walk(
                chain,
                parent.sex,
                unlike.then_some(region),
                dice,
                |dice| dice.below(2),
                |&side, rate, dice| if dice.coin(rate) { 1 - side } else { side },
            );
            for (gene, side) in chain.genes.iter().zip(from) {
                let follows = unlike && self.x_or_z_only(&genes[gene.0]);
                let side = if follows { region } else { side };
                strand.alleles[gene.0] = parent.strands[side].alleles[gene.0];
            }
        }
        strand
    }

    /// One fertilised egg of two parents.
    ///
    /// Its sex follows its sex chromosomes; where sex is environmental either has chance one half.
    pub fn egg(&self, genes: &[Gene], dam: &Genome, sire: &Genome, dice: &mut Dice) -> Genome {
        let strands = [self.gamete(genes, dam, dice), self.gamete(genes, sire, dice)];
        self.born(strands, dice)
    }

    /// One young without a father: at each gene both of a differing dam's alleles with chance
    /// `both`, else two copies of one of them, either with chance one half.
    ///
    /// The sex-determining region keeps the same rule; an egg with two W is drawn again, which
    /// leaves sons (1 - both) / (1 + both) of the young in ZW.
    // METHOD: neighbours of a linkage group share the outcome unless a crossover falls between
    // them; with recombination r that is a fresh draw with chance 2r, so that r = 1/2 is free.
    pub fn virgin_egg(&self, genes: &[Gene], dam: &Genome, both: f64, dice: &mut Dice) -> Genome {
        let fresh = |dice: &mut Dice| {
            let one = dice.below(2);
            [one, if dice.coin(both) { 1 - one } else { one }]
        };
        let unlike = dam.strands[0].minor != dam.strands[1].minor;
        let region = loop {
            let region = fresh(dice);
            if !unlike || region.iter().any(|&side| !dam.strands[side].minor) {
                break region;
            }
        };
        let mut strands = region.map(|side| Strand {
            alleles: vec![None; genes.len()],
            minor: dam.strands[side].minor,
        });
        for chain in &self.chains {
            let along = |now: &[usize; 2], rate: f64, dice: &mut Dice| {
                if dice.coin(2.0 * rate) { fresh(dice) } else { *now }
            };
            let from = walk(chain, dam.sex, unlike.then_some(region), dice, fresh, along);
            for (gene, sides) in chain.genes.iter().zip(from) {
                let follows = unlike && self.x_or_z_only(&genes[gene.0]);
                let sides = if follows { region } else { sides };
                for (strand, side) in strands.iter_mut().zip(sides) {
                    strand.alleles[gene.0] = dam.strands[side].alleles[gene.0];
                }
            }
        }
        self.born(strands, dice)
    }

    /// The animal that grows from two strands.
    fn born(&self, strands: [Strand; 2], dice: &mut Dice) -> Genome {
        let unlike = strands[0].minor != strands[1].minor;
        let sex = match self.heterogametic() {
            Some(sex) if unlike => sex,
            Some(sex) => other(sex),
            None => either_sex(dice),
        };
        Genome { strands, sex }
    }
}

/// The state at each gene of a chain, from `fresh` and from neighbour to neighbour by `along`.
///
/// With `region`, the state at the sex-determining region, a chain that hangs on it starts there.
fn walk<S: Copy>(
    chain: &Chain,
    sex: Sex,
    region: Option<S>,
    dice: &mut Dice,
    fresh: impl Fn(&mut Dice) -> S,
    along: impl Fn(&S, f64, &mut Dice) -> S,
) -> Vec<S> {
    let (start, first) = match (chain.anchor, region) {
        (Some((position, rate)), Some(region)) => (position, along(&region, rate, dice)),
        _ => (0, fresh(dice)),
    };
    let rates = chain.rates(sex);
    // A rate that is not written would be an interval nobody measured: free.
    let rate = |interval: usize| rates.get(interval).copied().unwrap_or(0.5);
    let mut states = vec![first; chain.genes.len()];
    for position in start + 1..chain.genes.len() {
        states[position] = along(&states[position - 1], rate(position - 1), dice);
    }
    for position in (0..start).rev() {
        states[position] = along(&states[position + 1], rate(position), dice);
    }
    states
}

/// The other sex.
pub(super) fn other(sex: Sex) -> Sex {
    match sex {
        Sex::Female => Sex::Male,
        Sex::Male => Sex::Female,
    }
}

/// Either sex with chance one half.
pub(super) fn either_sex(dice: &mut Dice) -> Sex {
    if dice.below(2) == 0 { Sex::Female } else { Sex::Male }
}
