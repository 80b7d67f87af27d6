//! What is known of each animal before anything was seen.

use crate::inference::{Estimates, JunctionTree, NoPlan, Sampling, Workspace, estimate};
use crate::network::{ColonyNetwork, Evidence, VariableId};
use crate::records::{AnimalId, GeneId};

/// The distribution of every animal before any look, call, reading or egg count.
///
/// For a founder its starting term; otherwise what parentage and statements alone give.
pub(super) struct Priors<'a> {
    net: &'a ColonyNetwork,
    runs: Runs,
}

enum Runs {
    /// All genes at once.
    Whole(Option<Box<Run>>),
    /// METHOD: before anything was seen a gene says nothing of the others, so where doubtful sires
    /// tie all genes into cliques that are too large, each unit is run without the others.
    ByUnit(Vec<Option<(Run, Vec<Option<VariableId>>)>>),
    /// Sampled, where not even that fits.
    Estimated(Box<Estimates>),
}

struct Run {
    tree: JunctionTree,
    work: Workspace,
}

impl Runs {
    fn by_unit(net: &ColonyNetwork, told: &Evidence, memory: u64) -> Self {
        let units = 0..net.units.len();
        Runs::ByUnit(units.map(|unit| of_unit(net, told, unit, memory)).collect())
    }
}

impl Run {
    fn marginal(&self, variable: VariableId) -> Vec<f64> {
        self.work.marginal(&self.tree, variable)
    }
}

impl<'a> Priors<'a> {
    pub(super) fn new(net: &'a ColonyNetwork, memory: u64) -> Self {
        let told = net.told_evidence();
        let runs = match JunctionTree::plan(&net.graph, &told, memory) {
            Ok(tree) => Runs::Whole(run(tree, &told).map(Box::new)),
            Err(NoPlan::Impossible(_)) => Runs::Whole(None),
            Err(NoPlan::TooLarge { .. }) => Runs::by_unit(net, &told, memory),
        };
        Priors { net, runs }
    }

    /// The same, sampled where the tables of a unit would be too large.
    pub(super) fn or_estimated(net: &'a ColonyNetwork, how: &Sampling) -> Self {
        let exact = Priors::new(net, how.memory);
        let missing = match &exact.runs {
            Runs::ByUnit(units) => units.iter().any(Option::is_none),
            _ => false,
        };
        if missing && let Ok(found) = estimate(&net.graph, &net.told_evidence(), how) {
            return Priors { net, runs: Runs::Estimated(Box::new(found)) };
        }
        exact
    }

    /// For each genotype of the locus; not a number where it cannot be worked out.
    pub(super) fn of(&self, animal: AnimalId, gene: GeneId) -> Vec<f64> {
        let unknown = || vec![f64::NAN; self.net.locus(gene).genotypes.len()];
        let weights = self.net.founder_term(animal, gene).or_else(|| {
            let variable = self.net.variable(animal, gene);
            let marginal = match &self.runs {
                Runs::Whole(run) => run.as_ref()?.marginal(variable),
                Runs::Estimated(estimates) => estimates.marginal(variable).to_vec(),
                Runs::ByUnit(units) => {
                    let (run, place) = units[self.net.unit(gene)].as_ref()?;
                    run.marginal(place[variable.0]?)
                }
            };
            Some(self.net.by_genotype(animal, gene, &marginal))
        });
        let weights = weights.unwrap_or_else(unknown);
        let total: f64 = weights.iter().sum();
        weights.iter().map(|weight| weight / total).collect()
    }
}

fn run(tree: JunctionTree, evidence: &Evidence) -> Option<Run> {
    let mut work = tree.workspace();
    work.run(&tree, evidence).ok()?;
    Some(Run { tree, work })
}

fn of_unit(
    net: &ColonyNetwork,
    told: &Evidence,
    unit: usize,
    memory: u64,
) -> Option<(Run, Vec<Option<VariableId>>)> {
    let (graph, place) = net.graph.part(net.belongs(unit));
    let mut evidence = Evidence::neutral(&graph);
    for (whole, part) in place.iter().enumerate() {
        if let Some(part) = part {
            evidence.weigh(*part, told.likelihood(VariableId(whole)));
        }
    }
    let tree = JunctionTree::plan(&graph, &evidence, memory).ok()?;
    Some((run(tree, &evidence)?, place))
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
            let whole = Priors::new(&net, 1 << 22);
            if !matches!(whole.runs, Runs::Whole(Some(_))) {
                continue;
            }
            let runs = Runs::by_unit(&net, &net.told_evidence(), 1 << 22);
            let apart = Priors { net: &net, runs };
            for animal in colony.animal_ids().filter(|id| colony.animal(*id).id.is_some()) {
                for gene in colony.gene_ids() {
                    let pairs = whole.of(animal, gene).into_iter().zip(apart.of(animal, gene));
                    compared += 1;
                    for (one, other) in pairs {
                        assert!((one - other).abs() < 1e-12, "seed {seed}: {one} {other}");
                    }
                }
            }
        }
        assert!(compared > 50, "{compared} compared");
    }
}
