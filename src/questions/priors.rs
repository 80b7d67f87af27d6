//! What is known of each animal before anything was seen.

use rustc_hash::FxHashMap;

use crate::inference::{Domains, Estimates, JunctionTree, NoPlan, Sampling, estimate};
use crate::network::{ColonyNetwork, Evidence, FactorGraph, Part, VariableId};
use crate::records::{AnimalId, GeneId};

/// The distribution of every animal before any look, call, reading or egg count.
///
/// For a founder its starting term; otherwise what parentage and statements alone give.
///
/// METHOD: before anything was seen a gene says nothing of the others, so each unit is run by itself;
/// units of the same structure share a plan.
pub(super) struct Priors {
    /// Where the chances of each variable begin in `chances`.
    starts: Vec<Option<u32>>,
    chances: Vec<f64>,
    /// Sampled, where the tables of a unit would be too large.
    estimated: Option<Box<Estimates>>,
    /// Whether some unit was too large.
    missing: bool,
}

impl Priors {
    pub(super) fn new(net: &ColonyNetwork, memory: u64) -> Self {
        let told = net.told_evidence();
        let starts = vec![None; net.graph.variables()];
        let mut priors = Priors { starts, chances: Vec::new(), estimated: None, missing: false };
        let mut plans: Vec<(FactorGraph, Domains, JunctionTree)> = Vec::new();
        for Part { graph, place } in net.unit_parts(&told) {
            let mut evidence = Evidence::neutral(&graph);
            for (whole, own) in &place {
                evidence.likelihood_mut(*own).copy_from_slice(told.likelihood(*whole));
            }
            let domains = Domains::shrink(&graph, &evidence);
            let known = plans.iter().position(|(g, d, _)| *d == domains && *g == graph);
            let at = known.or_else(|| {
                let tree = JunctionTree::plan_for(&graph, &domains, memory);
                priors.missing |= matches!(tree, Err(NoPlan::TooLarge { .. }));
                plans.push((graph, domains, tree.ok()?));
                Some(plans.len() - 1)
            });
            if let Some(at) = at {
                priors.take(&plans[at].2, &evidence, &place);
            }
        }
        priors
    }

    /// Runs one unit and keeps the chances of its variables.
    fn take(
        &mut self,
        tree: &JunctionTree,
        evidence: &Evidence,
        place: &[(VariableId, VariableId)],
    ) {
        let mut work = tree.workspace();
        if work.run(tree, evidence).is_err() {
            return;
        }
        let mut started: FxHashMap<VariableId, u32> = FxHashMap::default();
        for (whole, own) in place {
            let start = *started.entry(*own).or_insert_with(|| {
                let start = self.chances.len() as u32;
                self.chances.extend(work.marginal(tree, *own));
                start
            });
            self.starts[whole.0] = Some(start);
        }
    }

    /// The same, sampled where the tables of a unit would be too large.
    pub(super) fn or_estimated(net: &ColonyNetwork, how: &Sampling) -> Self {
        let mut priors = Priors::new(net, how.memory);
        if priors.missing {
            let found = estimate(&net.graph, &net.told_evidence(), how);
            priors.estimated = found.ok().map(Box::new);
        }
        priors
    }

    /// For each genotype of the locus; not a number where it cannot be worked out.
    pub(super) fn of(&self, net: &ColonyNetwork, animal: AnimalId, gene: GeneId) -> Vec<f64> {
        let mut weights = net.founder_term(animal, gene).unwrap_or_else(|| {
            let variable = net.variable(animal, gene);
            match (&self.estimated, self.starts[variable.0]) {
                (Some(found), _) => net.by_genotype(animal, gene, found.marginal(variable)),
                (None, Some(start)) => {
                    let len = net.graph.states(variable);
                    let chances = &self.chances[start as usize..start as usize + len];
                    net.by_genotype(animal, gene, chances)
                }
                (None, None) => vec![f64::NAN; net.locus(gene).genotypes.len()],
            }
        });
        let total: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|weight| *weight /= total);
        weights
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{Grouping, assemble};
    use crate::sampler::{Features, Params, sample_colony};

    #[test]
    fn gene_by_gene_gives_what_all_genes_together_give() {
        let mut compared = 0;
        for seed in 0..20 {
            let params = Params {
                founders: 4,
                seasons: 2,
                clutches: 2,
                young: (1, 3),
                genes: 2,
                features: Features::all(),
                ..Params::default()
            };
            let Ok((colony, _)) = sample_colony(&params, seed) else { continue };
            let net = assemble(&colony, Grouping::Siblings);
            let priors = Priors::new(&net, 1 << 22);
            let told = net.told_evidence();
            let Ok(tree) = JunctionTree::plan(&net.graph, &told, 1 << 22) else { continue };
            let Ok(whole) = tree.calibrate(&told) else { continue };
            for animal in colony.animal_ids().filter(|id| colony.animal(*id).id.is_some()) {
                for gene in colony.gene_ids() {
                    let marginal = whole.marginal(net.variable(animal, gene));
                    let weights = net.by_genotype(animal, gene, &marginal);
                    if net.founder_term(animal, gene).is_some() {
                        continue;
                    }
                    compared += 1;
                    for (one, other) in weights.iter().zip(priors.of(&net, animal, gene)) {
                        assert!((one - other).abs() < 1e-12, "seed {seed}: {one} {other}");
                    }
                }
            }
        }
        assert!(compared > 50, "{compared} compared");
    }
}
