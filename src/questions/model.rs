//! The model of one colony, run: what every question starts from.

use crate::genetics::Unit;
use crate::inference::{JunctionTree, NoPlan, Workspace};
use crate::network::{ColonyNetwork, Evidence, Grouping, assemble_units, assemble_within};
use crate::numbers::LogWeight;
use crate::records::{AnimalId, Colony, GeneId, RecordError};

/// How an answer was computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// By exact summation.
    Exact,
    /// By sampling, since the tables of an exact answer would be too large.
    Estimated,
}

/// Why a question has no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Unanswerable {
    /// The records cannot all be true: leaving out any one of these makes the rest possible.
    Impossible(Vec<RecordError>),
    /// What was asked makes no sense for these records: says why.
    Question(String),
    /// The tables of an exact answer would take more memory than allowed.
    TooLarge {
        /// Bytes needed, about.
        needed: u64,
        /// Bytes allowed.
        allowed: u64,
    },
}

/// A colony, and how its genes are passed on.
#[derive(Clone, Debug)]
pub(super) struct Case<'a> {
    pub(super) colony: &'a Colony,
    /// `None`: as they are declared.
    pub(super) units: Option<Vec<Unit>>,
    /// Hatchlings that certainly show a look class.
    pub(super) certain: Vec<(AnimalId, GeneId, usize)>,
}

impl<'a> Case<'a> {
    /// The genes as they are declared.
    pub(super) fn of(colony: &'a Colony) -> Self {
        Case { colony, units: None, certain: Vec::new() }
    }
}

/// Networks of fewer variables are worked out on one thread: starting another takes longer.
pub(super) const WORTH_A_THREAD: usize = 4_000;

/// The network of a colony, planned and run on all its records.
#[derive(Clone, Debug)]
pub struct Model<'a> {
    /// The colony.
    pub colony: &'a Colony,
    /// Its network.
    pub net: ColonyNetwork,
    /// The plan for its records.
    pub tree: JunctionTree,
    /// All records.
    pub evidence: Evidence,
    /// The last run.
    pub work: Workspace,
    /// Bytes that the tables of a plan may take.
    pub memory: u64,
}

impl<'a> Model<'a> {
    /// Builds, plans and runs.
    ///
    /// # Errors
    ///
    /// [`Unanswerable::Impossible`] names a smallest set of records that cannot all be true;
    /// [`Unanswerable::TooLarge`] is known before any table is made.
    pub fn solve(
        colony: &'a Colony,
        grouping: Grouping,
        memory: u64,
    ) -> Result<Self, Unanswerable> {
        Self::solve_case(Case::of(colony), grouping, memory)
    }

    /// The same for a colony whose genes are passed on as the case says.
    ///
    /// # Errors
    ///
    /// As [`Model::solve`].
    pub(super) fn solve_case(
        case: Case<'a>,
        grouping: Grouping,
        memory: u64,
    ) -> Result<Self, Unanswerable> {
        let colony = case.colony;
        let (net, evidence) = network(case, grouping, memory);
        let tree = plan(colony, &net, &evidence, memory)?;
        let work = run(colony, &tree, &evidence, memory)?;
        Ok(Model { colony, net, tree, evidence, work, memory })
    }

    /// The same, and something else that can be worked out from the network at the same time.
    ///
    /// # Errors
    ///
    /// As [`Model::solve`].
    pub(super) fn solve_beside<T: Send>(
        case: Case<'a>,
        grouping: Grouping,
        memory: u64,
        beside: impl FnOnce(&ColonyNetwork) -> T + Send,
    ) -> Result<(Self, T), Unanswerable> {
        let colony = case.colony;
        let (net, evidence) = network(case, grouping, memory);
        let tree = plan(colony, &net, &evidence, memory)?;
        let solved = || run(colony, &tree, &evidence, memory);
        let (work, other) = if net.graph.variables() < WORTH_A_THREAD {
            (solved()?, beside(&net))
        } else {
            let (work, other) = rayon::join(solved, || beside(&net));
            (work?, other)
        };
        Ok((Model { colony, net, tree, evidence, work, memory }, other))
    }

    /// Log of the probability of all records.
    pub fn log_evidence(&self) -> LogWeight {
        self.work.log_evidence()
    }

    /// The posterior of an animal at a gene, for each genotype of the locus.
    pub fn posterior(&self, animal: AnimalId, gene: GeneId) -> Vec<f64> {
        let marginal = self.work.marginal(&self.tree, self.net.variable(animal, gene));
        self.net.by_genotype(animal, gene, &marginal)
    }
}

/// The network of a case, and all that is known.
fn network(case: Case<'_>, grouping: Grouping, memory: u64) -> (ColonyNetwork, Evidence) {
    let net = match case.units {
        None => assemble_within(case.colony, grouping, memory),
        Some(units) => assemble_units(case.colony, units, grouping, memory),
    };
    let mut evidence = net.all_evidence();
    for (animal, gene, class) in &case.certain {
        net.certainly_shows(*animal, *gene, *class, &mut evidence);
    }
    (net, evidence)
}

fn plan(
    colony: &Colony,
    net: &ColonyNetwork,
    evidence: &Evidence,
    memory: u64,
) -> Result<JunctionTree, Unanswerable> {
    JunctionTree::plan(&net.graph, evidence, memory).map_err(|why| match why {
        NoPlan::Impossible(_) => super::impossible::impossible(colony, memory),
        NoPlan::TooLarge { needed } => Unanswerable::TooLarge { needed, allowed: memory },
    })
}

fn run(
    colony: &Colony,
    tree: &JunctionTree,
    evidence: &Evidence,
    memory: u64,
) -> Result<Workspace, Unanswerable> {
    let mut work = tree.workspace();
    let ran = work.run(tree, evidence);
    ran.map_err(|_| super::impossible::impossible(colony, memory))?;
    Ok(work)
}

/// Natural log of the weight of evidence; minus infinity when it cannot be.
///
/// # Errors
///
/// [`Unanswerable::TooLarge`] only.
pub(super) fn log_of(
    net: &ColonyNetwork,
    evidence: &Evidence,
    memory: u64,
) -> Result<f64, Unanswerable> {
    let tree = match JunctionTree::plan(&net.graph, evidence, memory) {
        Ok(tree) => tree,
        Err(NoPlan::Impossible(_)) => return Ok(f64::NEG_INFINITY),
        Err(NoPlan::TooLarge { needed }) => {
            return Err(Unanswerable::TooLarge { needed, allowed: memory });
        }
    };
    let mut work = tree.workspace();
    Ok(match work.weigh(&tree, evidence) {
        Ok(()) => work.log_evidence().ln(),
        Err(_) => f64::NEG_INFINITY,
    })
}
