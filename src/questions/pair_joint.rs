//! The joint posterior of two animals that may never have been mated.

use crate::inference::{JunctionTree, Workspace};
use crate::network::{Evidence, VariableId};

/// The joint posterior of two variables after a run: row-major over all their states.
///
/// METHOD: where no clique holds both, one of them is fixed state by state and the other read.
/// The workspace holds the run on `evidence` again afterwards.
pub(super) fn joint(
    tree: &JunctionTree,
    work: &mut Workspace,
    evidence: &Evidence,
    pair: [VariableId; 2],
) -> Vec<f64> {
    let [one, other] = pair;
    let [a, b] = pair.map(|variable| work.marginal(tree, variable));
    let product = |a: &[f64], b: &[f64]| -> Vec<f64> {
        a.iter().flat_map(|a| b.iter().map(move |b| a * b)).collect()
    };
    let together = [tree.component_of(one), tree.component_of(other)];
    let [Some(component), Some(second)] = together else { return product(&a, &b) };
    if component != second {
        return product(&a, &b);
    }
    let mut joint = vec![0.0; a.len() * b.len()];
    let mut fixed = evidence.clone();
    for (state, chance) in a.iter().enumerate().filter(|(_, chance)| **chance > 1e-12) {
        let weight = evidence.likelihood(one)[state];
        fixed.likelihood_mut(one).fill(0.0);
        fixed.likelihood_mut(one)[state] = weight;
        if work.weigh_component(tree, component, &fixed).is_err() {
            continue;
        }
        work.reach(tree, other);
        let given = work.marginal(tree, other);
        for (entry, given) in joint[state * b.len()..].iter_mut().zip(given) {
            *entry = chance * given;
        }
    }
    let restored = work.run_component(tree, component, evidence);
    debug_assert!(restored.is_ok(), "it was run before");
    joint
}
