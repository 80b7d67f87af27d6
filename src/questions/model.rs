//! The model of one colony, run: what every question starts from.

use crate::inference::{JunctionTree, NoPlan, Workspace};
use crate::network::{ColonyNetwork, Evidence, Grouping, assemble};
use crate::numbers::LogWeight;
use crate::records::{AnimalId, Colony, GeneId, RecordError};

/// How an answer was computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// By exact summation.
    Exact,
}

/// Why a question has no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Unanswerable {
    /// The records cannot all be true: leaving out any one of these makes the rest possible.
    Impossible(Vec<RecordError>),
    /// The tables of an exact answer would take more memory than allowed.
    TooLarge {
        /// Bytes needed, about.
        needed: u64,
        /// Bytes allowed.
        allowed: u64,
    },
}

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
        let net = assemble(colony, grouping);
        let evidence = net.all_evidence();
        let impossible = || Unanswerable::Impossible(super::impossible::irreducible(colony));
        let tree = match JunctionTree::plan(&net.graph, &evidence, memory) {
            Ok(tree) => tree,
            Err(NoPlan::Impossible(_)) => return Err(impossible()),
            Err(NoPlan::TooLarge { needed }) => {
                return Err(Unanswerable::TooLarge { needed, allowed: memory });
            }
        };
        let mut work = tree.workspace();
        work.run(&tree, &evidence).map_err(|_| impossible())?;
        Ok(Model { colony, net, tree, evidence, work, memory })
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

/// The distribution of every animal before any look, call, reading or egg count.
///
/// For a founder its starting term; otherwise what parentage and statements alone give.
pub(super) struct Priors<'a> {
    net: &'a ColonyNetwork,
    run: Option<(JunctionTree, Workspace)>,
}

impl<'a> Priors<'a> {
    pub(super) fn new(net: &'a ColonyNetwork, memory: u64) -> Self {
        let told = net.told_evidence();
        let run = JunctionTree::plan(&net.graph, &told, memory).ok().and_then(|tree| {
            let mut work = tree.workspace();
            work.run(&tree, &told).ok()?;
            Some((tree, work))
        });
        Priors { net, run }
    }

    /// For each genotype of the locus; not a number when statements alone are impossible.
    pub(super) fn of(&self, animal: AnimalId, gene: GeneId) -> Vec<f64> {
        let weights = self.net.founder_term(animal, gene).unwrap_or_else(|| match &self.run {
            Some((tree, work)) => {
                let marginal = work.marginal(tree, self.net.variable(animal, gene));
                self.net.by_genotype(animal, gene, &marginal)
            }
            None => self.net.locus(gene).genotypes.iter().map(|_| 0.0).collect(),
        });
        let total: f64 = weights.iter().sum();
        if total > 0.0 { weights.iter().map(|w| w / total).collect() } else { weights }
    }
}
