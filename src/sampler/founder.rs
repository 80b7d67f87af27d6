//! Founders: what an animal carries that was bought for its looks, or on somebody's word.

use super::call::{Read, Viewing, called, read};
use super::laws::Laws;
use super::{Dice, Genome};
use crate::records::{Animal, Call, Colony, GeneId, Look, Sex};

/// Attempts before a founder counts as impossible; a call that contradicts a trusted statement
/// at a misread of one in a thousand is met a thousand times in this many.
const ATTEMPTS: usize = 1_000_000;

impl Laws {
    /// A founder of `sex` (`None` = either) given its looks and statements.
    ///
    /// Founders: where a look is named the animal was kept for it; where it was called normal its
    /// genotype is that of stock, and a genotype that would be called otherwise is drawn again; a
    /// statement is right with its trust, else it says nothing. An `either` list is one of its
    /// alternatives, by fit. `None` when nothing fits.
    pub fn founder(
        &self,
        colony: &Colony,
        animal: &Animal,
        sex: Option<Sex>,
        dice: &mut Dice,
    ) -> Option<Genome> {
        (0..ATTEMPTS).find_map(|_| self.try_founder(colony, animal, sex, dice))
    }

    fn try_founder(
        &self,
        colony: &Colony,
        animal: &Animal,
        sex: Option<Sex>,
        dice: &mut Dice,
    ) -> Option<Genome> {
        let mut genome = self.blank(colony, sex, dice);
        let looks = match &animal.seen.call {
            Call::NotRecorded => None,
            Call::Looks(looks) => Some(looks),
            Call::Either(alternatives) => {
                let fits: Vec<_> = alternatives.iter().map(|one| one.fit).collect();
                Some(&alternatives[dice.weighted(&fits)?].looks)
            }
        };
        for gene in colony.gene_ids() {
            self.settle(colony, animal, looks, gene, &mut genome, dice)?;
        }
        Some(genome)
    }

    /// Draws one gene of a founder; `None` when it does not fit its call.
    fn settle(
        &self,
        colony: &Colony,
        animal: &Animal,
        looks: Option<&Vec<Look>>,
        gene: GeneId,
        genome: &mut Genome,
        dice: &mut Dice,
    ) -> Option<()> {
        let viewing =
            Viewing { grown: animal.seen_grown, date: animal.hatched, unread: &animal.seen.unread };
        let reads = looks.map_or(Read::Unread, |looks| read(colony, viewing, looks, gene));
        let trust = animal.trust.unwrap_or(colony.assumptions.trust);
        let told = animal.statements.iter().find(|told| told.gene == gene);
        let told = told.filter(|_| dice.coin(trust));
        let copies = match (told, &reads) {
            (Some(told), _) => self.as_told(colony, told, genome.sex, dice)?,
            (None, Read::Named(class)) => self.kept_for(colony, gene, *class, genome.sex, dice)?,
            (None, _) => self.background(colony, gene, genome.sex, dice)?,
        };
        genome.put(gene, copies);
        let mut would_be_called = |hidden: &[usize]| {
            let shown = self.shown(colony, genome, gene, dice);
            called(colony, gene, shown, hidden, dice)
        };
        let fits = match (told, &reads) {
            (_, Read::Unread) | (None, Read::Named(_)) => true,
            (Some(_), Read::Named(class)) => would_be_called(&[]) == *class,
            (_, Read::Normal(hidden)) => would_be_called(hidden) == 0,
        };
        fits.then_some(())
    }
}
