//! The definition: every combination of states, in exact fractions.

use num_rational::BigRational;
use num_traits::Zero;

use crate::network::{Evidence, FactorGraph, FactorId, Source, VariableId};

/// Exact results of [`enumerate()`].
#[derive(Clone, Debug, PartialEq)]
pub struct Exact {
    /// Probability of all evidence; zero when it is impossible.
    pub evidence: BigRational,
    /// Weight of each state of each variable together with all evidence: the posterior times
    /// `evidence`.
    pub joint: Vec<Vec<BigRational>>,
}

impl Exact {
    /// The posterior of a variable; `None` when the evidence is impossible.
    pub fn marginal(&self, variable: VariableId) -> Option<Vec<BigRational>> {
        if self.evidence.is_zero() {
            return None;
        }
        Some(self.joint[variable.0].iter().map(|weight| weight / &self.evidence).collect())
    }
}

/// Sums the weight of every combination of states, in exact fractions of the doubles given.
///
/// Every copy of a variable is a variable of its own here. The time is the product of all
/// domains that evidence leaves: for a dozen variables.
pub fn enumerate(graph: &FactorGraph, evidence: &Evidence) -> Exact {
    let mut search = Search::new(graph, evidence);
    search.descend(0, exact(1.0));
    let mut joint: Vec<Vec<BigRational>> =
        (0..graph.variables()).map(|v| vec![exact(0.0); graph.states(VariableId(v))]).collect();
    for (single, weights) in search.singles.iter().zip(search.joint) {
        // All copies of a variable have the same posterior: the first stands for them.
        if single.copy == 0 {
            joint[single.variable.0] = weights;
        }
    }
    Exact { evidence: search.total, joint }
}

fn exact(value: f64) -> BigRational {
    BigRational::from_float(value).unwrap_or_else(BigRational::zero)
}

/// One copy of a variable.
struct Single {
    variable: VariableId,
    copy: u32,
}

struct Search<'a> {
    graph: &'a FactorGraph,
    evidence: &'a Evidence,
    singles: Vec<Single>,
    /// For each single, the factors whose variables are all set once it is: with the singles
    /// that stand for their scope.
    ready: Vec<Vec<(FactorId, Vec<usize>)>>,
    states: Vec<usize>,
    joint: Vec<Vec<BigRational>>,
    total: BigRational,
}

impl<'a> Search<'a> {
    fn new(graph: &'a FactorGraph, evidence: &'a Evidence) -> Self {
        let mut singles = Vec::new();
        let mut place = vec![Vec::new(); graph.variables()];
        for (v, places) in place.iter_mut().enumerate() {
            for copy in 0..graph.copies(VariableId(v)) {
                places.push(singles.len());
                singles.push(Single { variable: VariableId(v), copy });
            }
        }
        let mut ready: Vec<Vec<(FactorId, Vec<usize>)>> =
            singles.iter().map(|_| Vec::new()).collect();
        for factor in graph.factors() {
            let scope = graph.scope(factor);
            let copies = scope.iter().map(|v| graph.copies(*v)).max().unwrap_or(1);
            for copy in 0..copies as usize {
                let of: Vec<usize> =
                    scope.iter().map(|v| place[v.0][copy.min(place[v.0].len() - 1)]).collect();
                if let Some(last) = of.iter().max() {
                    ready[*last].push((factor, of.clone()));
                }
            }
        }
        let joint = singles.iter().map(|s| vec![exact(0.0); graph.states(s.variable)]).collect();
        let states = vec![0; singles.len()];
        Search { graph, evidence, singles, ready, states, joint, total: exact(0.0) }
    }

    fn descend(&mut self, at: usize, weight: BigRational) {
        if at == self.singles.len() {
            for (joint, state) in self.joint.iter_mut().zip(&self.states) {
                joint[*state] += &weight;
            }
            self.total += weight;
            return;
        }
        for state in 0..self.graph.states(self.singles[at].variable) {
            self.states[at] = state;
            let own = exact(self.evidence.likelihood(self.singles[at].variable)[state]);
            let weight = self.ready[at]
                .iter()
                .fold(&weight * own, |weight, (factor, of)| weight * self.value(*factor, of));
            if !weight.is_zero() {
                self.descend(at + 1, weight);
            }
        }
    }

    fn value(&self, factor: FactorId, of: &[usize]) -> BigRational {
        let scope = self.graph.scope(factor);
        let index = scope
            .iter()
            .zip(of)
            .fold(0, |index, (v, single)| index * self.graph.states(*v) + self.states[*single]);
        exact(match self.graph.source(factor) {
            Source::Table(table) => self.graph.values(table)[index],
            Source::Slot(start) => self.evidence.slots()[start + index],
        })
    }
}
