//! Which genes must be looked at together. The others are independent, and their evidence
//! multiplies.

use std::collections::BTreeSet;

use proveout::records::{Candidate, Clutch, Colony, Origin, SexSystem, SiringMode};

use super::calls::Calls;
use super::exact::{Exact, exact, normalised, one};

/// Genes that some record, or their place on the chromosomes, ties together.
#[derive(Clone, Debug)]
pub struct GeneSet {
    /// The genes, by number.
    pub genes: Vec<usize>,
    /// Whether the sex chromosomes belong to it.
    pub sex: bool,
    /// Whether the eggs are counted here: the set of the genes with a lethal genotype.
    pub eggs: bool,
}

/// The candidate sires of a clutch with their weights, `other_sire` included.
pub fn candidates(colony: &Colony, clutch: &Clutch) -> Vec<(Candidate, Exact)> {
    let other = exact(colony.assumptions.other_sire);
    if let [(Candidate::Known(sire), _)] = clutch.siring.candidates[..]
        && other != exact(0.0)
    {
        return vec![(Candidate::Known(sire), one() - &other), (Candidate::Unknown, other)];
    }
    let written: Vec<Exact> = clutch.siring.candidates.iter().map(|(_, w)| exact(*w)).collect();
    let names = clutch.siring.candidates.iter().map(|(candidate, _)| *candidate);
    names.zip(normalised(&written)).collect()
}

/// Whether a clutch has one sire for all its eggs, but not known which.
pub fn has_sire_in_doubt(colony: &Colony, clutch: &Clutch) -> bool {
    clutch.siring.mode == SiringMode::One && candidates(colony, clutch).len() > 1
}

/// The sets, given every call of the file.
pub fn gene_sets(colony: &Colony, calls: &[Calls]) -> Vec<GeneSet> {
    let genes = colony.genes.len();
    let sexed = colony.sex_system != SexSystem::Environmental;
    // The sex chromosomes stand behind the genes.
    let items = genes + usize::from(sexed);
    let mut sets: Vec<BTreeSet<usize>> = (0..items).map(|item| BTreeSet::from([item])).collect();
    let mut tie = |tied: BTreeSet<usize>| {
        let (touched, mut rest): (Vec<_>, Vec<_>) =
            sets.drain(..).partition(|set| !set.is_disjoint(&tied));
        rest.push(touched.into_iter().flatten().collect());
        rest.retain(|set: &BTreeSet<usize>| !set.is_empty());
        sets = rest;
    };
    let doubt = |clutch: &Clutch| candidates(colony, clutch).len() > 1;
    let selected = |clutch: &Clutch| !clutch.recorded_only.is_empty() || !clutch.kept_if.is_empty();
    let could_be_mixed_up = colony.assumptions.mix_up > 0.0
        && colony.animals.iter().any(|a| a.id.is_some() && a.origin != Origin::Founder);
    if could_be_mixed_up || colony.clutches.iter().any(|clutch| doubt(clutch) || selected(clutch)) {
        tie((0..items).collect());
    }
    for linkage in &colony.linkage {
        tie(linkage.genes.iter().map(|gene| gene.0).collect());
    }
    let on_sex = (0..genes).filter(|&gene| colony.genes[gene].sex_linked.is_some());
    if sexed {
        tie(on_sex.chain([genes]).collect());
    }
    let lethal = |gene: &usize| !colony.genes[*gene].lethal.is_empty();
    tie((0..genes).filter(lethal).collect());
    for alternatives in calls.iter().flatten() {
        let differs = |gene: &usize| {
            alternatives.iter().any(|(_, calls)| calls[*gene] != alternatives[0].1[*gene])
        };
        tie((0..genes).filter(differs).collect());
    }
    sets.sort();
    sets.into_iter()
        .map(|set| GeneSet {
            sex: sexed && set.contains(&genes),
            eggs: set.iter().any(|gene| *gene < genes && lethal(gene)),
            genes: set.into_iter().filter(|&gene| gene < genes).collect(),
        })
        .collect()
}

/// All genes in one set, whether anything ties them together or not.
pub fn all_together(colony: &Colony) -> GeneSet {
    GeneSet {
        genes: (0..colony.genes.len()).collect(),
        sex: colony.sex_system != SexSystem::Environmental,
        eggs: colony.genes.iter().any(|gene| !gene.lethal.is_empty()),
    }
}
