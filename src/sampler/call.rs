//! Looks and calls: what an animal shows, and what the keeper writes down.

use super::laws::Laws;
use super::{Dice, Genome};
use crate::records::{Colony, Date, Gene, GeneId, Genotype, Hidden, Look, Misread, Penetrance};

/// When and with what left out an animal is looked at.
#[derive(Clone, Copy, Debug)]
pub(super) struct Viewing<'a> {
    /// Whether it counts as grown.
    pub grown: bool,
    /// When it was recorded, as far as known.
    pub date: Option<Date>,
    /// Genes nobody judges.
    pub unread: &'a [GeneId],
}

impl Viewing<'_> {
    /// Whether a keeper who names nothing of the gene has judged it all the same.
    pub fn judges(&self, colony: &Colony, gene: GeneId) -> bool {
        let declared = colony.gene(gene);
        let too_young = declared.from_age_adult && !self.grown;
        let too_early = match (declared.judged_since, self.date) {
            (Some(since), Some(date)) => date.surely_before(since),
            _ => false,
        };
        !self.unread.contains(&gene) && !too_young && !too_early
    }
}

/// How a recorded list of looks reads at one gene.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Read {
    /// A look is named.
    Named(usize),
    /// Judged and called normal; these classes cannot be told from normal.
    Normal(Vec<usize>),
    /// Not judged, or hidden.
    Unread,
}

/// How `looks` read at `gene`: a named look counts as read, whatever would hide it.
pub(super) fn read(colony: &Colony, viewing: Viewing<'_>, looks: &[Look], gene: GeneId) -> Read {
    if let Some(look) = looks.iter().find(|look| look.gene == gene) {
        return Read::Named(look.class);
    }
    let hidden = hidden(colony, looks);
    if !viewing.judges(colony, gene) || hidden.contains(&Hidden::Gene(gene)) {
        return Read::Unread;
    }
    Read::Normal(hidden_classes(&hidden, gene))
}

/// What the masks of these recorded looks hide.
fn hidden(colony: &Colony, looks: &[Look]) -> Vec<Hidden> {
    let acts = |masking: &[Look]| masking.iter().all(|look| looks.contains(look));
    let acting = colony.masks.iter().filter(|mask| acts(&mask.looks));
    acting.flat_map(|mask| mask.hides.iter().copied()).collect()
}

fn hidden_classes(hidden: &[Hidden], gene: GeneId) -> Vec<usize> {
    let class = |hidden: &Hidden| match hidden {
        Hidden::Look(look) if look.gene == gene => Some(look.class),
        _ => None,
    };
    hidden.iter().filter_map(class).collect()
}

/// The gene something hidden belongs to.
pub(super) fn hidden_gene(hidden: Hidden) -> GeneId {
    match hidden {
        Hidden::Gene(gene) => gene,
        Hidden::Look(look) => look.gene,
    }
}

impl Laws {
    /// Chance that a genotype shows its look when it has one.
    fn penetrance(&self, gene: GeneId, declared: &Gene, genotype: Genotype) -> f64 {
        match &declared.penetrance {
            None => 1.0,
            Some(Penetrance::All(chance)) => *chance,
            Some(Penetrance::Some(listed)) => {
                listed.iter().find(|(of, _)| *of == genotype).map_or(1.0, |(_, chance)| *chance)
            }
            Some(Penetrance::Unknown) => self.penetrance[gene.0].unwrap_or(1.0),
        }
    }

    /// Chance that a genotype shows `class`: its own class by penetrance, else nothing.
    pub fn chance_shown(
        &self,
        gene: GeneId,
        declared: &Gene,
        genotype: Genotype,
        class: usize,
    ) -> f64 {
        let own = declared.class_of(genotype);
        let shown = self.penetrance(gene, declared, genotype);
        match (own == class, class == 0) {
            (true, true) => 1.0,
            (true, false) => shown,
            (false, true) => 1.0 - shown,
            (false, false) => 0.0,
        }
    }

    /// The class an animal shows at a gene.
    pub fn shown(&self, colony: &Colony, genome: &Genome, gene: GeneId, dice: &mut Dice) -> usize {
        let declared = colony.gene(gene);
        let genotype = genome.genotype(gene);
        let shows = dice.coin(self.penetrance(gene, declared, genotype));
        if shows { declared.class_of(genotype) } else { 0 }
    }

    /// The looks a keeper writes down for an animal.
    ///
    /// Gene by gene, first those whose looks can hide others: what is shown is drawn, then what it
    /// is called. A gene hidden by a look already written is not judged; a hidden look is called
    /// as normal is, and its name is never written.
    pub fn looks(
        &self,
        colony: &Colony,
        genome: &Genome,
        viewing: Viewing<'_>,
        dice: &mut Dice,
    ) -> Vec<Look> {
        let mut looks = Vec::new();
        for &gene in &self.calling_order {
            let shown = self.shown(colony, genome, gene, dice);
            if let Read::Normal(hidden) = read(colony, viewing, &looks, gene) {
                let class = called(colony, gene, shown, &hidden, dice);
                if class > 0 {
                    looks.push(Look { gene, class });
                }
            }
        }
        looks.sort();
        looks
    }
}

/// What a shown class is called: with misread, another class of the gene.
pub(super) fn called(
    colony: &Colony,
    gene: GeneId,
    shown: usize,
    hidden: &[usize],
    dice: &mut Dice,
) -> usize {
    let declared = colony.gene(gene);
    let misread = declared.misread.unwrap_or(Misread::Any(colony.assumptions.misread));
    let shown = if hidden.contains(&shown) { 0 } else { shown };
    // Drawn again where a hidden look would be named: with one chance for every wrong call that
    // takes the same share from each class, so that the odds between genotypes stay as they are.
    (0..1000)
        .map(|_| once(declared.looks.len(), misread, shown, dice))
        .find(|class| !hidden.contains(class))
        .unwrap_or(0)
}

fn once(looks: usize, misread: Misread, shown: usize, dice: &mut Dice) -> usize {
    let any_but = |but: usize, from: usize, dice: &mut Dice| {
        let others: Vec<_> = (from..=looks).filter(|&class| class != but).collect();
        dice.pick(&others).copied().unwrap_or(but)
    };
    match misread {
        Misread::Any(chance) if dice.coin(chance) => any_but(shown, 0, dice),
        Misread::Any(_) => shown,
        Misread::Apart { imagined, .. } if shown == 0 => {
            if dice.coin(imagined) {
                any_but(0, 1, dice)
            } else {
                0
            }
        }
        Misread::Apart { missed, confused, .. } => {
            let confused = if looks > 1 { confused } else { 0.0 };
            match dice.weighted(&[missed, confused, 1.0 - missed - confused]) {
                Some(0) => 0,
                Some(1) => any_but(shown, 1, dice),
                _ => shown,
            }
        }
    }
}
