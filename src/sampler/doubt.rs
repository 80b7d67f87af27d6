//! Uncertain calls: which identities a keeper cannot tell apart.

use super::Dice;
use super::call::{Read, Viewing, read};
use crate::records::{Alternative, Call, Colony, GeneId, Look};

/// A doubt between identities: which calls the keeper cannot tell apart, and how sure he is.
///
/// # Why its records mean what the model says
///
/// The keeper first makes a plain call T, with chance p(T | genotype) as for any other animal.
/// The doubt is a circle of n calls over some genes; turning it by one step turns every list of
/// looks into another, and n turns lead back. He draws a step j with chance w_j, turns T back by
/// j steps to X, and writes the list in which the i-th turn of X has fit w_i. T is then the j-th
/// entry of the list. The same list is written for each of its entries in turn, so its chance is
/// the sum over i of w_i · p(i-th turn of X | genotype): the likelihood of an `either` list. A
/// call off the circle stays put under turning and is written plainly, with chance p(T | genotype).
/// Whether there is a doubt is settled before the call. Where some entry of a circle would change
/// what else can be read (masks, unread genes), every call of that circle is written plainly.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Doubt {
    /// The genes it is about.
    pub genes: Vec<GeneId>,
    /// The circle: the class at each of `genes`, all entries different.
    pub circle: Vec<Vec<usize>>,
    /// Chance that the call made is this entry; sums to one.
    pub weights: Vec<f64>,
}

impl Doubt {
    /// The doubt of which `alternatives` could have come; `None` when they differ in nothing.
    pub fn between(alternatives: &[Alternative]) -> Option<Doubt> {
        let class = |alternative: &Alternative, gene| {
            alternative.looks.iter().find(|look| look.gene == gene).map_or(0, |look| look.class)
        };
        let mut genes: Vec<GeneId> =
            alternatives.iter().flat_map(|a| a.looks.iter().map(|look| look.gene)).collect();
        genes.sort();
        genes.dedup();
        genes.retain(|&gene| {
            alternatives.iter().any(|a| class(a, gene) != class(&alternatives[0], gene))
        });
        let mut circle: Vec<Vec<usize>> = Vec::new();
        let mut weights = Vec::new();
        for alternative in alternatives {
            let entry: Vec<_> = genes.iter().map(|&gene| class(alternative, gene)).collect();
            let fit = if alternative.fit.is_finite() { alternative.fit.max(0.0) } else { 0.0 };
            match circle.iter().position(|known| *known == entry) {
                Some(known) => weights[known] += fit,
                None => {
                    circle.push(entry);
                    weights.push(fit);
                }
            }
        }
        let total: f64 = weights.iter().sum();
        let told_apart = circle.len() > 1 && total > 0.0;
        weights.iter_mut().for_each(|weight| *weight /= total);
        told_apart.then_some(Doubt { genes, circle, weights })
    }

    /// What is written for a keeper's plain call.
    pub fn record(
        &self,
        colony: &Colony,
        viewing: Viewing<'_>,
        made: Vec<Look>,
        dice: &mut Dice,
    ) -> Call {
        let entry: Vec<_> = self
            .genes
            .iter()
            .map(|&gene| made.iter().find(|look| look.gene == gene).map_or(0, |look| look.class))
            .collect();
        let Some(at) = self.circle.iter().position(|known| *known == entry) else {
            return Call::Looks(made);
        };
        let turns: Vec<_> = (0..self.circle.len()).map(|turn| self.with(&made, turn)).collect();
        let legible = |looks: &Vec<Look>| self.reads_alike(colony, viewing, &made, looks);
        let Some(step) = turns.iter().all(legible).then(|| dice.weighted(&self.weights)).flatten()
        else {
            return Call::Looks(made);
        };
        let size = self.circle.len();
        let alternatives = self.weights.iter().enumerate().map(|(turn, &fit)| Alternative {
            looks: turns[(at + size - step + turn) % size].clone(),
            fit,
        });
        Call::Either(alternatives.collect())
    }

    /// The call with the doubtful genes set to one entry of the circle.
    fn with(&self, made: &[Look], entry: usize) -> Vec<Look> {
        let others = made.iter().filter(|look| !self.genes.contains(&look.gene)).copied();
        let set = self.genes.iter().zip(&self.circle[entry]);
        let named = set.filter(|(_, class)| **class > 0);
        let mut looks: Vec<_> =
            others.chain(named.map(|(&gene, &class)| Look { gene, class })).collect();
        looks.sort();
        looks
    }

    /// Whether `looks` could have been written for the same animal with all else read as in `made`.
    fn reads_alike(
        &self,
        colony: &Colony,
        viewing: Viewing<'_>,
        made: &[Look],
        looks: &[Look],
    ) -> bool {
        let plain = |looks: &[Look], gene| {
            let unnamed: Vec<_> = looks.iter().filter(|look| look.gene != gene).copied().collect();
            read(colony, viewing, &unnamed, gene)
        };
        let nameable = |gene: &GeneId| match plain(looks, *gene) {
            Read::Normal(hidden) => {
                !looks.iter().any(|look| look.gene == *gene && hidden.contains(&look.class))
            }
            _ => false,
        };
        self.genes.iter().all(nameable)
            && colony.gene_ids().all(|gene| plain(looks, gene) == plain(made, gene))
    }
}
