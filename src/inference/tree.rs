//! A planned network: what to multiply and sum, in which order, and where the numbers go.

use super::index_maps::{IndexMaps, MapId};
use super::{Calibrated, Domains, Workspace};
use crate::network::{Evidence, FactorGraph, VariableId};

/// The evidence cannot be: every configuration has weight zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Impossible {
    /// A variable where it showed; one of the coupled variables that cannot all be explained.
    pub at: VariableId,
}

/// Why there is no plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPlan {
    /// The evidence cannot be.
    Impossible(Impossible),
    /// The tables would take this many bytes, about; `u64::MAX` when that cannot be counted.
    TooLarge {
        /// Bytes of all tables together.
        needed: u64,
    },
}

/// What a plan will need, known before any table is made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cost {
    /// Entries of all clique tables and index maps together.
    pub entries: usize,
    /// Entries of the largest clique table.
    pub largest_table: usize,
    /// Variables in the largest clique.
    pub largest_clique: usize,
    /// Multiplications of one pass over all cliques, about.
    pub multiplications: usize,
}

/// One clique of the tree: a variable with the neighbours it had when it was eliminated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clique<'t> {
    /// The variable that is summed out here.
    pub variable: VariableId,
    /// All its variables in the order of its table, the one that is summed out last.
    pub scope: &'t [VariableId],
}

impl<'t> Clique<'t> {
    /// The others, which it hands on.
    pub fn separator(&self) -> &'t [VariableId] {
        &self.scope[..self.scope.len() - 1]
    }
}

/// A clique tree for one structure of network: planned once, run many times.
///
/// It depends on the graph and on the states that are left of each variable, not on the numbers
/// of the evidence, which may change between runs as long as it gives weight to no other states.
#[derive(Clone, Debug)]
pub struct JunctionTree {
    /// The states that are left of each variable.
    pub(super) domains: Domains,
    /// How many states each variable has in the graph, and its clique; `None` when only one state is
    /// left.
    pub(super) variables: Vec<Planned>,
    pub(super) buckets: Vec<Bucket>,
    pub(super) groups: Vec<Group>,
    pub(super) inputs: Vec<Input>,
    pub(super) members: Vec<u32>,
    pub(super) loads: Vec<Load>,
    pub(super) constants: Vec<Constant>,
    pub(super) components: Vec<Component>,
    pub(super) maps: IndexMaps,
    pub(super) pool: Vec<f64>,
    pub(super) arena_len: usize,
    pub(super) raw_len: usize,
    pub(super) cost: Cost,
    /// The variables of all cliques, in the order of their tables, one clique after the other.
    pub(super) scopes: Vec<VariableId>,
}

/// What became of a variable in the plan.
#[derive(Clone, Copy, Debug)]
pub(super) struct Planned {
    /// How many states it has in the graph.
    pub(super) states: u32,
    /// Its clique; `None` when only one state is left.
    pub(super) bucket: Option<u32>,
}

/// A clique: `rows` combinations of its separator times `card` states of its own variable.
#[derive(Clone, Debug)]
pub(super) struct Bucket {
    pub(super) card: usize,
    pub(super) rows: usize,
    /// Where its product begins in the arena.
    pub(super) table: usize,
    /// Where its belief begins in the arena.
    pub(super) belief: usize,
    /// Where its message to the separator above begins in the arena.
    pub(super) message: usize,
    /// Where the likelihood of its variable begins in the arena.
    pub(super) likelihood: usize,
    /// Where its marginal begins in the arena.
    pub(super) marginal: usize,
    /// Its variables, in `scopes`; the one that is summed out here is the last.
    pub(super) scope: (usize, usize),
    pub(super) inputs: (usize, usize),
    /// The separators that hang below it.
    pub(super) below: (usize, usize),
    /// The separator it sends to; `None` for a root.
    pub(super) above: Option<u32>,
    pub(super) copies: u32,
    pub(super) component: u32,
    /// Lower bound for the exponents of the shared tables it multiplies.
    pub(super) pool_exponent: i32,
    pub(super) variable: VariableId,
}

impl Bucket {
    /// Multiplications of one pass: once for each input and for the sums up and down, and once for
    /// each separator that hangs below.
    pub(super) fn multiplications(&self) -> usize {
        let inputs = self.inputs.1 - self.inputs.0 + self.below.1 - self.below.0;
        self.rows * self.card * (inputs + 2)
    }
}

/// A separator: cliques with the same separator and the same clique above share it.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) size: usize,
    /// The clique above it.
    pub(super) parent: u32,
    /// The cliques below it that send to it, in `members`.
    pub(super) members: (usize, usize),
    /// Where the product of the messages from below begins in the arena.
    pub(super) up: usize,
    /// Where its belief begins in the arena.
    pub(super) down: usize,
    /// From the entries of the clique above to those of the separator.
    pub(super) map: Option<MapId>,
}

/// A table that a clique multiplies in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Input {
    pub(super) from: From,
    pub(super) map: Option<MapId>,
    pub(super) len: usize,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum From {
    /// A shared table, from this position of the pool.
    Pool(usize),
    /// Numbers of the evidence, from this position of the arena.
    Arena(usize),
    /// The messages that came through this separator.
    Group(u32),
}

/// Numbers of the evidence to be copied into the arena before a run.
#[derive(Clone, Debug)]
pub(super) struct Load {
    pub(super) bucket: u32,
    pub(super) what: LoadFrom,
    pub(super) to: usize,
    /// Where the numbers as they were last loaded are kept.
    pub(super) raw: usize,
    /// Which of them; all in order when empty.
    pub(super) index: Vec<u32>,
    pub(super) len: usize,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum LoadFrom {
    Likelihood(VariableId),
    Slot(usize),
}

/// A factor or likelihood all of whose variables have one state left.
#[derive(Clone, Copy, Debug)]
pub(super) struct Constant {
    pub(super) value: ConstantFrom,
    pub(super) at: VariableId,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum ConstantFrom {
    Number(f64),
    Likelihood(VariableId, u32),
    Slot(usize),
}

/// Cliques that hang together, next to each other in `buckets`, and their loads.
#[derive(Clone, Copy, Debug)]
pub(super) struct Component {
    pub(super) buckets: (usize, usize),
    pub(super) loads: (usize, usize),
    /// Multiplications of one pass, about.
    pub(super) multiplications: usize,
}

impl JunctionTree {
    /// Plans for the states that this evidence leaves, within this many bytes of tables.
    ///
    /// # Errors
    ///
    /// [`NoPlan::Impossible`] when some variable has no state left; [`NoPlan::TooLarge`] when the
    /// tables would not fit, which is known before any is made.
    pub fn plan(graph: &FactorGraph, evidence: &Evidence, bytes: u64) -> Result<Self, NoPlan> {
        if let Some(needed) = graph.left_out() {
            return Err(NoPlan::TooLarge { needed });
        }
        Self::plan_for(graph, &Domains::shrink(graph, evidence), bytes)
    }

    /// Plans for given domains.
    ///
    /// # Errors
    ///
    /// As [`JunctionTree::plan`].
    pub fn plan_for(graph: &FactorGraph, domains: &Domains, bytes: u64) -> Result<Self, NoPlan> {
        if let Some(needed) = graph.left_out() {
            return Err(NoPlan::TooLarge { needed });
        }
        if let Some(at) = domains.empty() {
            return Err(NoPlan::Impossible(Impossible { at }));
        }
        super::plan::plan(graph, domains, bytes)
    }

    /// Room for one run; it can be used again and again.
    pub fn workspace(&self) -> Workspace {
        Workspace::new(self)
    }

    /// Runs both passes on new evidence.
    ///
    /// # Errors
    ///
    /// [`Impossible`] when the evidence has weight zero.
    pub fn calibrate(&self, evidence: &Evidence) -> Result<Calibrated<'_>, Impossible> {
        let mut workspace = self.workspace();
        workspace.run(self, evidence)?;
        Ok(Calibrated::new(self, workspace))
    }

    /// What a run needs.
    pub fn cost(&self) -> Cost {
        self.cost
    }

    /// Multiplications of one pass over one part, about.
    pub fn multiplications_of(&self, component: usize) -> usize {
        self.components[component].multiplications
    }

    /// Its cliques, in the order of elimination within each component.
    pub fn cliques(&self) -> impl Iterator<Item = Clique<'_>> {
        self.buckets.iter().map(|bucket| self.clique(bucket))
    }

    pub(super) fn clique(&self, bucket: &Bucket) -> Clique<'_> {
        let scope = &self.scopes[bucket.scope.0..bucket.scope.1];
        Clique { scope, variable: bucket.variable }
    }

    /// How many independent parts it has.
    pub fn components(&self) -> usize {
        self.components.len()
    }

    /// The part a variable belongs to; `None` when only one state of it is left.
    pub fn component_of(&self, variable: VariableId) -> Option<usize> {
        let bucket = self.variables[variable.0].bucket?;
        Some(self.buckets[bucket as usize].component as usize)
    }
}
