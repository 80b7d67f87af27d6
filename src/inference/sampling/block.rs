//! A network in which some variables are held at a state.

use rustc_hash::FxHashMap;

use super::NoEstimate;
use crate::inference::{Domains, JunctionTree, NoPlan, Workspace};
use crate::network::{Evidence, FactorGraph, FactorId, Source, TableId, VariableId};

/// The rest of a network when some variables are held, planned once for whatever states those have.
pub(super) struct Block {
    graph: FactorGraph,
    tree: JunctionTree,
    /// Likelihoods of the free variables; the slots are filled before each pass.
    evidence: Evidence,
    slices: Vec<Slice>,
    /// The free variables: in the whole network, and here.
    pub(super) free: Vec<(VariableId, VariableId)>,
    pub(super) held: Vec<VariableId>,
}

/// A factor of which some variables are held, as a slot over the others.
struct Slice {
    slot: FactorId,
    source: Source,
    /// The held variables with their steps in the whole table.
    held: Vec<(VariableId, usize)>,
    /// Where the combinations of the others stand from there.
    offsets: Vec<usize>,
}

/// What one chain needs to run a block.
#[derive(Clone)]
pub(super) struct Run {
    evidence: Evidence,
    work: Workspace,
    values: Vec<f64>,
}

impl Block {
    pub(super) fn new(
        whole: &FactorGraph,
        evidence: &Evidence,
        domains: &Domains,
        held: &[VariableId],
    ) -> Result<Self, NoEstimate> {
        let mut is_held = vec![false; whole.variables()];
        held.iter().for_each(|v| is_held[v.0] = true);
        let mut graph = FactorGraph::default();
        let mut place = vec![VariableId(usize::MAX); whole.variables()];
        let mut free = Vec::new();
        for variable in (0..whole.variables()).map(VariableId).filter(|v| !is_held[v.0]) {
            place[variable.0] =
                graph.copies_of_variable(whole.states(variable), whole.copies(variable));
            free.push((variable, place[variable.0]));
        }
        let mut slices = Vec::new();
        let mut tables: FxHashMap<TableId, TableId> = FxHashMap::default();
        for factor in whole.factors() {
            let scope = whole.scope(factor);
            let here: Vec<VariableId> =
                scope.iter().filter(|v| !is_held[v.0]).map(|v| place[v.0]).collect();
            if here.is_empty() {
                continue;
            }
            match whole.source(factor) {
                Source::Table(table) if here.len() == scope.len() => {
                    let table = *tables
                        .entry(table)
                        .or_insert_with(|| graph.table(whole.values(table).to_vec()));
                    graph.factor(&here, table);
                }
                source => slices.push(slice(whole, scope, &is_held, source, graph.slot(&here))),
            }
        }
        let mut own = Evidence::neutral(&graph);
        free.iter().for_each(|(out, here)| own.weigh(*here, evidence.likelihood(*out)));
        let allowed: Vec<Vec<u32>> =
            free.iter().map(|(out, _)| domains.allowed(*out).to_vec()).collect();
        let tree = JunctionTree::plan_for(&graph, &Domains::of(&allowed), u64::MAX);
        let tree = tree.map_err(|why| match why {
            NoPlan::Impossible(impossible) => NoEstimate::Impossible(impossible),
            NoPlan::TooLarge { needed } => NoEstimate::TooLarge { needed },
        })?;
        Ok(Block { graph, tree, evidence: own, slices, free, held: held.to_vec() })
    }

    pub(super) fn run(&self) -> Run {
        let values = Vec::new();
        Run { evidence: self.evidence.clone(), work: self.tree.workspace(), values }
    }

    /// Steps of arithmetic of one pass, about; around a variable there are some hundred, however
    /// small its table.
    pub(super) fn steps(&self) -> u64 {
        self.tree.cost().multiplications as u64 + 150 * self.free.len() as u64
    }

    /// Runs the block with the held variables at these states; whether that can be.
    pub(super) fn pass(
        &self,
        whole: &FactorGraph,
        evidence: &Evidence,
        states: &[usize],
        run: &mut Run,
    ) -> bool {
        for slice in &self.slices {
            let base: usize = slice.held.iter().map(|(v, step)| states[v.0] * step).sum();
            let values = match slice.source {
                Source::Table(table) => whole.values(table),
                Source::Slot(start) => &evidence.slots()[start..],
            };
            run.values.clear();
            run.values.extend(slice.offsets.iter().map(|at| values[base + at]));
            run.evidence.refill(&self.graph, slice.slot, &run.values);
        }
        run.work.run(&self.tree, &run.evidence).is_ok()
    }

    /// The chances of the states of a free variable after a pass.
    pub(super) fn marginal(&self, run: &Run, here: VariableId) -> Vec<f64> {
        run.work.marginal(&self.tree, here)
    }

    /// Draws all free variables together after a pass.
    pub(super) fn draw(&self, run: &Run, states: &mut [usize], uniform: &mut dyn FnMut() -> f64) {
        let drawn = run.work.draw(&self.tree, uniform);
        for (out, here) in &self.free {
            states[out.0] = drawn[here.0];
        }
    }
}

fn slice(
    whole: &FactorGraph,
    scope: &[VariableId],
    is_held: &[bool],
    source: Source,
    slot: FactorId,
) -> Slice {
    let mut step = 1;
    let mut steps = vec![0; scope.len()];
    for (at, variable) in scope.iter().enumerate().rev() {
        steps[at] = step;
        step *= whole.states(*variable);
    }
    let mut offsets = vec![0];
    let mut held = Vec::new();
    for (variable, step) in scope.iter().zip(steps) {
        if is_held[variable.0] {
            held.push((*variable, step));
        } else {
            let states = whole.states(*variable);
            let more = |at: &usize| (0..states).map(|s| *at + s * step).collect::<Vec<_>>();
            offsets = offsets.iter().flat_map(more).collect();
        }
    }
    Slice { slot, source, held, offsets }
}
