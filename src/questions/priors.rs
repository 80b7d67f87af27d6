//! What is known of each animal before anything was seen.

use rustc_hash::FxHashMap;

use crate::inference::{Domains, Estimates, JunctionTree, NoPlan, Sampling, estimate};
use crate::network::{ColonyNetwork, Evidence, FactorGraph, Part, VariableId};
use crate::records::{AnimalId, GeneId};

/// The distribution of every animal before any look, call, reading or egg count.
///
/// For a founder its starting term; otherwise what parentage and statements alone give.
///
/// METHOD: before anything was seen a gene says nothing of the others, unless eggs die of their
/// genotype and something that concerns all units is in doubt. So each unit is run by itself, and units
/// of the same structure share a plan.
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
        let parts =
            if net.units_are_tied() { vec![net.whole_part()] } else { net.unit_parts(&told) };
        for Part { graph, place } in parts {
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

    /// What to say where some could not be worked out.
    pub(super) fn missing(&self) -> Option<&'static str> {
        (self.missing && self.estimated.is_none()).then_some(
            "what descent alone says of some genes is left out: it would need more memory than allowed \
             (`--memory`)",
        )
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
    use crate::records::{Format, Origin, SexSystem, read};
    use crate::sampler::{Features, Params, sample_colony};

    #[test]
    fn units_by_themselves_give_what_all_together_give() {
        let mut compared = 0;
        for seed in 0..60 {
            let few = |params| Params {
                founders: 4,
                seasons: 2,
                clutches: 2,
                young: (1, 3),
                genes: 2,
                ..params
            };
            let params = match seed % 3 {
                0 => few(Params { features: Features::all(), ..Params::default() }),
                1 => few(Params::everything()),
                _ => few(Params { sex_system: SexSystem::Xy, ..Params::everything() }),
            };
            let Ok((colony, _)) = sample_colony(&params, seed) else { continue };
            let net = assemble(&colony, Grouping::Siblings);
            let told = net.told_evidence();
            let Ok(tree) = JunctionTree::plan(&net.graph, &told, 1 << 22) else { continue };
            let Ok(whole) = tree.calibrate(&told) else { continue };
            let priors = Priors::new(&net, 1 << 22);
            let hatched = |id: &AnimalId| {
                let animal = colony.animal(*id);
                animal.id.is_some() && animal.origin != Origin::Founder
            };
            for animal in colony.animal_ids().filter(hatched) {
                for gene in colony.gene_ids() {
                    let marginal = whole.marginal(net.variable(animal, gene));
                    let weights = net.by_genotype(animal, gene, &marginal);
                    compared += 1;
                    for (one, other) in weights.iter().zip(priors.of(&net, animal, gene)) {
                        assert!((one - other).abs() < 1e-12, "seed {seed}: {one} {other}");
                    }
                }
            }
        }
        assert!(compared > 200, "{compared} compared");
    }

    /// The prior of the hatchling `h` at the gene `ash` or `fern`.
    fn prior(text: &str, gene: &str) -> Vec<f64> {
        let colony = read(text.as_bytes(), Format::Toml).expect("sound").colony;
        let net = assemble(&colony, Grouping::Siblings);
        let (Some(animal), Some(gene)) = (colony.find_animal("h"), colony.find_gene(gene)) else {
            panic!("named")
        };
        Priors::new(&net, 1 << 22).of(&net, animal, gene)
    }

    /// A cross of which no egg hatches, with a sire of another kind.
    fn deadly(assume: &str, sires: &str) -> String {
        format!(
            "[assume]\nbackground = 0.2\n{assume}\n[gene.shade]\nalleles = [\"fern\", \"moss\"]\n\
             lethal = [\"fern/moss\"]\n[gene.shade.looks]\n\"fern/fern\" = \"super fern\"\n\
             \"moss/moss\" = \"super moss\"\n[gene.ash]\ninheritance = \"recessive\"\n\
             [[animal]]\nid = \"Dam\"\nsold_as = [\"super fern\", \"ash\"]\n\
             [[animal]]\nid = \"A\"\nsold_as = [\"super moss\", \"ash\"]\n\
             [[animal]]\nid = \"B\"\nsold_as = [\"super fern\", \"not het ash\"]\n\
             [[clutch]]\nid = \"c\"\ndam = \"Dam\"\n{sires}\n[[clutch.hatchling]]\nid = \"h\"\n"
        )
    }

    #[test]
    fn that_it_hatched_tells_who_its_sire_is() {
        // Only B can be the sire, and has no ash to give.
        let prior = prior(&deadly("", "sires = { A = 0.5, B = 0.5 }"), "ash");
        assert!((prior[1] - 1.0).abs() < 1e-12, "{prior:?}");
    }

    #[test]
    fn that_it_hatched_tells_that_it_is_from_elsewhere() {
        let prior = prior(&deadly("mix_up = 0.01", "sire = \"A\""), "ash");
        for (found, want) in prior.iter().zip([0.64, 0.32, 0.04]) {
            assert!((found - want).abs() < 1e-12, "{prior:?}");
        }
    }

    #[test]
    fn that_it_hatched_tells_its_sex() {
        // Half of the daughters of a carrier die, so two of three young are sons.
        let text = "sex_system = \"ZW\"\n[gene.ash]\ninheritance = \"recessive\"\nsex_linked = true\n\
             lethal = [\"ash/ash\", \"ash/W\"]\n[gene.fern]\ninheritance = \"recessive\"\n\
             sex_linked = true\n[[animal]]\nid = \"Dam\"\n\
             [[animal]]\nid = \"Sire\"\nsold_as = [\"het ash\"]\n\
             [[clutch]]\nid = \"c\"\ndam = \"Dam\"\nsire = \"Sire\"\n[[clutch.hatchling]]\nid = \"h\"\n";
        let prior = prior(text, "fern");
        let daughters: f64 = prior[3..].iter().sum();
        assert!((daughters - 1.0 / 3.0).abs() < 1e-12, "{prior:?}");
    }
}
