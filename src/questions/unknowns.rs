//! Unknown penetrance and unknown crossover: integrated over.

use std::num::NonZeroUsize;

use super::Unanswerable;
use crate::numbers::{exp, log_sum_exp, uniform_nodes};
use crate::records::{Colony, CrossoverRates, Inheritance, Penetrance, RecordError};

/// Nodes of the first try, for each unknown; doubled until the log evidence stands.
const NODES: usize = 8;
/// The most nodes that all unknowns together may need.
const MOST: usize = 4096;
/// How far the log evidence may still move.
const STANDS: f64 = 1e-8;
/// More unknowns than these are refused.
const UNKNOWNS: usize = 3;

/// One colony in which every unknown has a value, and its share of the answer.
pub(super) struct Share<A> {
    pub(super) answer: A,
    /// Its share: the shares of all sum to one.
    pub(super) weight: f64,
}

/// Answers for each node, with their shares and the log evidence of all.
pub(super) struct Mixture<A> {
    pub(super) shares: Vec<Share<A>>,
    pub(super) log_evidence: f64,
    /// Natural log of the weight of each node before the records.
    pub(super) log_weights: Vec<f64>,
    /// What was integrated over, in words.
    pub(super) names: Vec<String>,
    /// The colony with the likeliest values of the unknowns.
    pub(super) likeliest: Colony,
}

/// A question of a colony without unknowns: its answer and log evidence.
pub(super) type Ask<'q, A> = dyn Fn(&Colony) -> Result<(A, f64), Unanswerable> + 'q;

/// Whether anything has to be integrated over.
pub(super) fn any(colony: &Colony) -> bool {
    !unknowns(colony).is_empty()
}

/// Asks a question at every node, with more and more nodes until the log evidence stands.
///
/// # Source
///
/// Unknowns: penetrance uniform on [0.5, 1], crossover uniform on [0, 0.5], by Gauss–Legendre nodes
/// doubled until the log evidence moves less than 1e-8; at most three.
///
/// # Errors
///
/// [`Unanswerable::Impossible`] when every node is impossible, or for more than three unknowns.
pub(super) fn integrate<A>(colony: &Colony, ask: &Ask<'_, A>) -> Result<Mixture<A>, Unanswerable> {
    let unknowns = unknowns(colony);
    if unknowns.is_empty() {
        let (answer, log_evidence) = ask(colony)?;
        let shares = vec![Share { answer, weight: 1.0 }];
        return Ok(Mixture {
            shares,
            log_evidence,
            log_weights: vec![0.0],
            names: Vec::new(),
            likeliest: colony.clone(),
        });
    }
    if let Some(one_more) = unknowns.get(UNKNOWNS) {
        return Err(Unanswerable::Impossible(vec![too_many(colony, one_more)]));
    }
    let mut nodes = NODES;
    let mut last = f64::NAN;
    loop {
        let (answers, logs, log_weights, likeliest) = at_nodes(colony, &unknowns, nodes, ask)?;
        let log_evidence = log_sum_exp(&logs);
        let enough = (2 * nodes).pow(unknowns.len() as u32) > MOST;
        let ruled_out = log_evidence == f64::NEG_INFINITY;
        if (log_evidence - last).abs() < STANDS || enough || ruled_out {
            let share = |(answer, log): (A, f64)| Share { answer, weight: exp(log - log_evidence) };
            return Ok(Mixture {
                shares: answers.into_iter().zip(logs).map(share).collect(),
                log_evidence,
                log_weights,
                names: unknowns.iter().map(|unknown| unknown.name(colony)).collect(),
                likeliest,
            });
        }
        last = log_evidence;
        nodes *= 2;
    }
}

type AtNodes<A> = (Vec<A>, Vec<f64>, Vec<f64>, Colony);

/// The answers at all nodes, with the log of weight and evidence, and the likeliest node.
fn at_nodes<A>(
    colony: &Colony,
    unknowns: &[Unknown],
    number: usize,
    ask: &Ask<'_, A>,
) -> Result<AtNodes<A>, Unanswerable> {
    let mut colonies = vec![(colony.clone(), 0.0)];
    for unknown in unknowns {
        let (lower, upper) = unknown.range();
        let nodes =
            uniform_nodes(lower, upper, NonZeroUsize::new(number).unwrap_or(NonZeroUsize::MIN));
        let with = |(before, log): &(Colony, f64)| -> Vec<(Colony, f64)> {
            let one = |(value, weight): &(f64, f64)| {
                (unknown.set(before, *value), log + crate::numbers::ln(*weight))
            };
            nodes.iter().map(one).collect()
        };
        colonies = colonies.iter().flat_map(with).collect();
    }
    let mut answers = Vec::new();
    let mut logs = Vec::new();
    let mut log_weights = Vec::new();
    let mut likeliest = (f64::NEG_INFINITY, colony);
    for (colony, weight) in &colonies {
        match ask(colony) {
            Ok((answer, log)) => {
                if log > likeliest.0 {
                    likeliest = (log, colony);
                }
                answers.push(answer);
                logs.push(weight + log);
                log_weights.push(*weight);
            }
            // METHOD: every node lies between the ends of its range, where the same things are
            // possible, so what cannot be at the first cannot be at any.
            Err(why) => return Err(why),
        }
    }
    Ok((answers, logs, log_weights, likeliest.1.clone()))
}

#[derive(Clone, Copy, Debug)]
enum Unknown {
    /// The penetrance of a gene.
    Penetrance(usize),
    /// The crossover between two neighbours of a linkage group.
    Crossover(usize, usize),
}

impl Unknown {
    fn range(self) -> (f64, f64) {
        match self {
            Unknown::Penetrance(_) => (0.5, 1.0),
            Unknown::Crossover(..) => (0.0, 0.5),
        }
    }

    fn set(self, colony: &Colony, value: f64) -> Colony {
        let mut set = colony.clone();
        match self {
            Unknown::Penetrance(gene) => {
                set.genes[gene].penetrance = Some(Penetrance::All(value));
            }
            Unknown::Crossover(group, place) => {
                let group = &mut set.linkage[group];
                if group.crossover == CrossoverRates::Unknown {
                    let free = vec![0.5; group.genes.len() - 1];
                    group.crossover = CrossoverRates::Known { female: free.clone(), male: free };
                }
                if let CrossoverRates::Known { female, male } = &mut group.crossover {
                    female[place] = value;
                    male[place] = value;
                }
            }
        }
        set
    }

    fn name(self, colony: &Colony) -> String {
        match self {
            Unknown::Penetrance(gene) => format!("the penetrance of {}", colony.genes[gene].name),
            Unknown::Crossover(group, place) => {
                let genes = &colony.linkage[group].genes;
                let [one, other] = [genes[place], genes[place + 1]].map(|g| &colony.gene(g).name);
                format!("the crossover between {one} and {other}")
            }
        }
    }
}

fn unknowns(colony: &Colony) -> Vec<Unknown> {
    let known = |gene: &crate::records::Gene| gene.inheritance != Inheritance::Unknown;
    let penetrance = (0..colony.genes.len()).filter(|at| {
        let gene = &colony.genes[*at];
        known(gene) && gene.penetrance == Some(Penetrance::Unknown)
    });
    let crossover = colony.linkage.iter().enumerate().flat_map(|(at, group)| {
        let places =
            if group.crossover == CrossoverRates::Unknown { group.genes.len() - 1 } else { 0 };
        (0..places).map(move |place| Unknown::Crossover(at, place))
    });
    penetrance.map(Unknown::Penetrance).chain(crossover).collect()
}

/// The colony with every unknown at the middle of its range.
pub(super) fn at_their_middle(colony: &Colony) -> Colony {
    unknowns(colony).into_iter().fold(colony.clone(), |colony, unknown| {
        let (lower, upper) = unknown.range();
        unknown.set(&colony, f64::midpoint(lower, upper))
    })
}

/// What has no known value, in words.
pub(super) fn names(colony: &Colony) -> Vec<String> {
    unknowns(colony).iter().map(|unknown| unknown.name(colony)).collect()
}

fn too_many(colony: &Colony, unknown: &Unknown) -> RecordError {
    let place = match unknown {
        Unknown::Penetrance(gene) => colony.genes[*gene].place,
        Unknown::Crossover(group, _) => colony.linkage[*group].place,
    };
    RecordError {
        place,
        message: format!("{} is one unknown too many", unknown.name(colony)),
        help: Some(format!(
            "at most {UNKNOWNS} unknowns can be worked out together; give this one a value"
        )),
        related: None,
    }
}
