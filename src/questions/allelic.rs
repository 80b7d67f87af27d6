//! Are two looks alleles of one locus, linked, or free?

use std::num::NonZeroUsize;

use super::belief::resolve_units;
use super::fit::own_call;
use super::model::log_of;
use super::unknowns::integrate;
use super::{Method, Unanswerable};
use crate::genetics::{Compound, Unit, have_compounds, one_locus_units, units};
use crate::inference::JunctionTree;
use crate::network::{Grouping, assemble_units};
use crate::numbers::{exp, ln, log_sum_exp, uniform_nodes};
use crate::records::{
    AnimalId, Assumptions, ClutchId, Colony, CrossoverRates, GeneId, LinkageGroup,
};

/// How far the log evidence may still move when the nodes are doubled.
const STANDS: f64 = 1e-8;
/// The most nodes.
const MOST: usize = 512;
/// The share of the posterior that the stretch of the crossover rate holds.
const MASS: f64 = 0.95;
/// A parent is taken to carry both when its chance is at least this.
const CARRIES_BOTH: f64 = 0.99;

/// What is asked of two genes.
#[derive(Clone, Debug, PartialEq)]
pub struct AllelicAsked {
    /// The two genes.
    pub genes: [GeneId; 2],
    /// Prior chances of one locus, linked and free; they sum to one.
    pub priors: [f64; 3],
    /// Bytes that the tables of one model may take.
    pub memory: u64,
}

/// One of the three possibilities.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AllelicResult {
    /// Its chance before the records.
    pub prior: f64,
    /// Natural log of the probability of all records; minus infinity when they rule it out.
    pub log_evidence: f64,
    /// Its chance given all records.
    pub posterior: f64,
}

impl AllelicResult {
    /// By how many times the records are likelier under it than under another.
    pub fn times_as_probable_as(&self, other: &AllelicResult) -> f64 {
        exp(self.log_evidence - other.log_evidence)
    }
}

/// What is known of the crossover rate if the two are linked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrossoverRange {
    /// Its mean.
    pub mean: f64,
    /// The shortest stretch that holds `mass` of its distribution begins here …
    pub lower: f64,
    /// … and ends here.
    pub upper: f64,
    /// The share of the distribution in it.
    pub mass: f64,
}

/// What young without a recombinant say of the crossover rate, at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrossoverBound {
    /// Scored young of parents that carry both.
    pub young: u32,
    /// The crossover rate is below this with 95 % confidence.
    pub below: f64,
}

/// Whether two genes are one locus.
#[derive(Clone, Debug, PartialEq)]
pub struct AllelicAnswer {
    /// How it was computed.
    pub method: Method,
    /// The two genes.
    pub genes: [GeneId; 2],
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// Alleles of one locus.
    pub same_locus: AllelicResult,
    /// Two loci, linked at an unknown rate.
    pub linked: AllelicResult,
    /// Two loci, unlinked.
    pub free: AllelicResult,
    /// The crossover rate if they are linked; `None` when the records rule that out.
    pub crossover: Option<CrossoverRange>,
    /// The bound, where no recombinant is seen.
    pub bound: Option<CrossoverBound>,
    /// Clutches of a parent that carries both, with the young called both, one each, and neither.
    pub tests: Vec<BothClutch>,
}

/// A clutch of a parent that carries both genes.
#[derive(Clone, Debug, PartialEq)]
pub struct BothClutch {
    /// The clutch.
    pub clutch: ClutchId,
    /// The parent that carries both.
    pub parent: AnimalId,
    /// Young with both looks, with the first only, with the second only, with neither.
    pub counts: [u32; 4],
}

/// Answers whether two genes are alleles of one locus, linked, or free.
///
/// # Source
///
/// Same locus or not: one locus / linked at r, uniform on [0, ½] / free; a founder with both is in
/// coupling or repulsion, ½ each. n young without a recombinant bound r at 1 − 0.05^(1/n).
///
/// # Errors
///
/// [`Unanswerable`]; `Question` when the two cannot be compared.
pub fn allelic(colony: &Colony, asked: &AllelicAsked) -> Result<AllelicAnswer, Unanswerable> {
    let genes = asked.genes;
    let weighed = Weighed::of(colony, asked)?;
    let Weighed { apart, linked, warnings, .. } = &weighed;
    let (logs, weights, all) = weighed.weights(asked.priors);
    if all == f64::NEG_INFINITY {
        return Err(super::impossible::impossible(colony, asked.memory));
    }
    let result = |at: usize| AllelicResult {
        prior: asked.priors[at],
        log_evidence: logs[at],
        posterior: exp(weights[at] - all),
    };
    let tests = tests(apart, genes, asked.memory)?;
    Ok(AllelicAnswer {
        method: Method::Exact,
        genes,
        assumptions: colony.assumptions,
        warnings: warnings.clone(),
        same_locus: result(0),
        linked: result(1),
        free: result(2),
        bound: linked.falls_from_zero().then(|| bound(&tests)).flatten(),
        crossover: linked.range(),
        tests,
    })
}

/// The evidence under each possibility.
struct Weighed {
    /// The colony without what was declared of the places of the two genes.
    apart: Colony,
    /// One locus, for each look that a compound may have.
    same: Vec<(Compound, f64)>,
    linked: Linked,
    free: f64,
    warnings: Vec<String>,
}

impl Weighed {
    fn of(colony: &Colony, asked: &AllelicAsked) -> Result<Self, Unanswerable> {
        let (genes, memory) = (asked.genes, asked.memory);
        comparable(colony, genes)?;
        let least = crate::network::least_bytes(colony);
        if least > memory {
            return Err(Unanswerable::TooLarge { needed: least, allowed: memory });
        }
        let mut warnings = Vec::new();
        let apart = unlinked(colony, genes, &mut warnings);
        let sexes = genes.map(|gene| apart.gene(gene).sex_linked);
        let same = if sexes[0] == sexes[1] {
            same_locus(&apart, genes, memory)?
        } else {
            warnings.push(
                "they lie on different kinds of chromosome, so they are not one locus".into(),
            );
            Vec::new()
        };
        let free = weigh(&apart, &units, memory)?;
        let linked = linked(&apart, genes, memory)?;
        Ok(Weighed { apart, same, linked, free, warnings })
    }

    /// Log evidence of one locus, linked and free; the same with the priors; and their sum.
    fn weights(&self, priors: [f64; 3]) -> ([f64; 3], [f64; 3], f64) {
        let same: Vec<f64> = self.same.iter().map(|(_, log)| *log).collect();
        let logs = [log_sum_exp(&same), self.linked.log_evidence, self.free];
        let weights = [0, 1, 2].map(|at| ln(priors[at]) + logs[at]);
        (logs, weights, log_sum_exp(&weights))
    }
}

/// One way in which the two genes may lie, for a plan.
pub(super) struct Arrangement {
    /// One locus, linked, free.
    pub(super) which: usize,
    /// Its share of the posterior.
    pub(super) share: f64,
    /// How genes are passed on then.
    pub(super) units: Vec<Unit>,
}

/// Every way in which the two genes may lie that still has a share worth the name, on a colony
/// whose unknown rates and beliefs are settled; the two genes are in one unit in each.
///
/// METHOD: free is linked with a crossover of one half, which is the same by definition.
///
/// # Errors
///
/// [`Unanswerable`] as for [`allelic`].
pub(super) fn arrangements(
    colony: &Colony,
    settled: &Colony,
    asked: &AllelicAsked,
) -> Result<Vec<Arrangement>, Unanswerable> {
    const WORTH: f64 = 1e-7;
    let genes = asked.genes;
    let weighed = Weighed::of(colony, asked)?;
    let (_, _, all) = weighed.weights(asked.priors);
    if all == f64::NEG_INFINITY {
        return Err(super::impossible::impossible(colony, asked.memory));
    }
    let settled = unlinked(settled, genes, &mut Vec::new());
    let at_rate = |rate: f64| units(&with_crossover(&settled, genes, rate));
    let share = |prior: f64, log: f64| exp(ln(prior) + log - all);
    let [same, linked, free] = asked.priors;
    let mut ways = Vec::new();
    for (compound, log) in &weighed.same {
        let units = one_locus_units(&settled, genes, *compound);
        ways.push(Arrangement { which: 0, share: share(same, *log), units });
    }
    for (rate, weight, log) in &weighed.linked.nodes {
        ways.push(Arrangement {
            which: 1,
            share: share(linked, weight + log),
            units: at_rate(*rate),
        });
    }
    ways.push(Arrangement { which: 2, share: share(free, weighed.free), units: at_rate(0.5) });
    ways.retain(|way| way.share >= WORTH);
    let total: f64 = ways.iter().map(|way| way.share).sum();
    ways.iter_mut().for_each(|way| way.share /= total);
    Ok(ways)
}

fn comparable(colony: &Colony, genes: [GeneId; 2]) -> Result<(), Unanswerable> {
    let named = genes.map(|gene| colony.gene(gene).name.as_str());
    if genes[0] == genes[1] {
        let message = format!("`{}` was named twice: name two genes", named[0]);
        return Err(Unanswerable::Question(message));
    }
    let unknown = super::genotypes::unknown_inheritance(colony).find(|id| genes.contains(id));
    match unknown {
        Some(id) => Err(Unanswerable::Question(format!(
            "how {0} is inherited is not known: ask `mode` first, which also says whether it is an \
             allele of a declared locus",
            colony.gene(id).name
        ))),
        None => Ok(()),
    }
}

/// The colony without what was declared of the places of the two genes.
fn unlinked(colony: &Colony, genes: [GeneId; 2], warnings: &mut Vec<String>) -> Colony {
    let mut made = colony.clone();
    for group in &mut made.linkage {
        let before = group.genes.len();
        group.genes.retain(|gene| !genes.contains(gene));
        if group.genes.len() < before {
            warnings
                .push("what was declared of their linkage is left out: it is what is asked".into());
            if group.genes.len() > 1 {
                group.crossover = CrossoverRates::Unknown;
            }
        }
    }
    made.linkage.retain(|group| group.genes.len() > 1);
    warnings.dedup();
    made
}

/// Natural log evidence, every unknown penetrance and crossover integrated over.
fn weigh(
    colony: &Colony,
    units: &dyn Fn(&Colony) -> Vec<Unit>,
    memory: u64,
) -> Result<f64, Unanswerable> {
    let ask = |colony: &Colony| Ok(((), one_weight(colony, units(colony), memory)?));
    Ok(integrate(colony, &ask)?.log_evidence)
}

fn one_weight(colony: &Colony, units: Vec<Unit>, memory: u64) -> Result<f64, Unanswerable> {
    let resolved = match resolve_units(colony, Some(&units), memory) {
        Ok(resolved) => resolved,
        Err(Unanswerable::Impossible(_)) => return Ok(f64::NEG_INFINITY),
        Err(other) => return Err(other),
    };
    let net = assemble_units(resolved.colony.as_ref(), units, Grouping::Siblings, memory);
    log_of(&net, &net.all_evidence(), memory)
}

fn same_locus(
    colony: &Colony,
    genes: [GeneId; 2],
    memory: u64,
) -> Result<Vec<(Compound, f64)>, Unanswerable> {
    let compounds: &[Compound] =
        if have_compounds(colony, genes) { &Compound::ALL } else { &[Compound::Older] };
    let mut logs = Vec::new();
    for compound in compounds {
        let units = |colony: &Colony| one_locus_units(colony, genes, *compound);
        logs.push((*compound, weigh(colony, &units, memory)? - ln(compounds.len() as f64)));
    }
    Ok(logs)
}

/// The colony with the two genes linked at a rate.
fn with_crossover(colony: &Colony, genes: [GeneId; 2], rate: f64) -> Colony {
    let mut made = colony.clone();
    let rates = vec![rate];
    made.linkage.push(LinkageGroup {
        genes: genes.to_vec(),
        crossover: CrossoverRates::Known { female: rates.clone(), male: rates },
        place: colony.gene(genes[1]).place,
    });
    made
}

/// The evidence at each crossover rate.
struct Linked {
    /// Rates and the natural logs of their weights and evidence.
    nodes: Vec<(f64, f64, f64)>,
    log_evidence: f64,
    /// Natural log evidence without any crossover.
    at_zero: f64,
}

fn linked(colony: &Colony, genes: [GeneId; 2], memory: u64) -> Result<Linked, Unanswerable> {
    let at_rate = |rate: f64| weigh(&with_crossover(colony, genes, rate), &units, memory);
    let mut number = 8;
    let mut last = f64::NAN;
    loop {
        let count = NonZeroUsize::new(number).unwrap_or(NonZeroUsize::MIN);
        let mut nodes = Vec::with_capacity(number);
        for (rate, weight) in uniform_nodes(0.0, 0.5, count) {
            nodes.push((rate, ln(weight), at_rate(rate)?));
        }
        let logs: Vec<f64> = nodes.iter().map(|(_, weight, log)| weight + log).collect();
        let log_evidence = log_sum_exp(&logs);
        let ruled_out = log_evidence == f64::NEG_INFINITY;
        if (log_evidence - last).abs() < STANDS || ruled_out || number >= MOST {
            return Ok(Linked { nodes, log_evidence, at_zero: at_rate(0.0)? });
        }
        last = log_evidence;
        number *= 2;
    }
}

impl Linked {
    /// Whether no rate explains the records better than none at all.
    fn falls_from_zero(&self) -> bool {
        self.at_zero > f64::NEG_INFINITY
            && self.nodes.iter().all(|(_, _, log)| *log <= self.at_zero + 1e-9)
    }

    /// Mean and shortest stretch of the posterior.
    ///
    /// METHOD: the evidence is a polynomial in the rate, which its values at the nodes give
    /// between them (barycentric Lagrange form).
    fn range(&self) -> Option<CrossoverRange> {
        const STEPS: usize = 4000;
        if self.log_evidence == f64::NEG_INFINITY {
            return None;
        }
        let top = self.nodes.iter().map(|(_, _, log)| *log).fold(self.at_zero, f64::max);
        let values: Vec<f64> = self.nodes.iter().map(|(_, _, log)| exp(log - top)).collect();
        let share = |at: usize| exp(self.nodes[at].1 + self.nodes[at].2 - self.log_evidence);
        let mean = (0..values.len()).map(|at| share(at) * self.nodes[at].0).sum();
        let weights: Vec<f64> = (0..values.len()).map(|at| self.barycentric(at)).collect();
        let width = 0.5 / STEPS as f64;
        let density: Vec<f64> = (0..STEPS)
            .map(|step| self.between((step as f64 + 0.5) * width, &values, &weights).max(0.0))
            .collect();
        let total: f64 = density.iter().sum();
        let (mut best, mut end, mut held) = ((0, STEPS), 0, 0.0);
        for start in 0..STEPS {
            while end < STEPS && held < MASS * total {
                held += density[end];
                end += 1;
            }
            if held >= MASS * total && end - start < best.1 - best.0 {
                best = (start, end);
            }
            held -= density[start];
        }
        let at = |step: usize| step as f64 * width;
        Some(CrossoverRange { mean, lower: at(best.0), upper: at(best.1), mass: MASS })
    }

    /// The weight of a Gauss–Legendre node in the barycentric form, up to a common factor.
    fn barycentric(&self, at: usize) -> f64 {
        let (rate, log_weight, _) = self.nodes[at];
        let x = 4.0 * rate - 1.0;
        let sign = if at.is_multiple_of(2) { 1.0 } else { -1.0 };
        sign * ((1.0 - x * x) * exp(log_weight)).max(0.0).sqrt()
    }

    fn between(&self, rate: f64, values: &[f64], weights: &[f64]) -> f64 {
        let (mut above, mut below) = (0.0, 0.0);
        for (((node, _, _), value), weight) in self.nodes.iter().zip(values).zip(weights) {
            let distance = rate - node;
            if distance.abs() < 1e-15 {
                return *value;
            }
            above += weight / distance * value;
            below += weight / distance;
        }
        above / below
    }
}

/// The clutches of parents that carry both, and how their young were called.
fn tests(
    colony: &Colony,
    genes: [GeneId; 2],
    memory: u64,
) -> Result<Vec<BothClutch>, Unanswerable> {
    let middle = super::unknowns::at_their_middle(colony);
    let net = assemble_units(&middle, units(&middle), Grouping::Siblings, memory);
    let evidence = net.all_evidence();
    let Ok(tree) = JunctionTree::plan(&net.graph, &evidence, memory) else { return Ok(Vec::new()) };
    let mut work = tree.workspace();
    if work.run(&tree, &evidence).is_err() {
        // Ruled out where they are free; then nothing is known of who carries both.
        return Ok(Vec::new());
    }
    let carries = |animal: AnimalId| {
        genes.iter().all(|gene| {
            let marginal = work.marginal(&tree, net.variable(animal, *gene));
            let weights = net.by_genotype(animal, *gene, &marginal);
            let own = &net.locus(*gene).own;
            let yes = own.iter().zip(weights).filter(|(g, _)| g.mutant_copies() > 0);
            yes.map(|(_, weight)| weight).sum::<f64>() >= CARRIES_BOTH
        })
    };
    let mut tests = Vec::new();
    for animal in colony.animal_ids() {
        let clutches: Vec<ClutchId> =
            super::because::clutches_of(colony, animal).map(|(clutch, _)| clutch).collect();
        if clutches.is_empty() || !carries(animal) {
            continue;
        }
        for clutch in clutches {
            let counts = looks(colony, genes, clutch);
            if counts.iter().sum::<u32>() > 0 {
                tests.push(BothClutch { clutch, parent: animal, counts });
            }
        }
    }
    Ok(tests)
}

/// Young called both looks, the first only, the second only, neither.
fn looks(colony: &Colony, genes: [GeneId; 2], clutch: ClutchId) -> [u32; 4] {
    let of = colony.clutch(clutch);
    let mut counts = [0; 4];
    let mut add = |classes: [Option<usize>; 2], number: u32| {
        if let [Some(one), Some(other)] = classes {
            let at = match (one > 0, other > 0) {
                (true, true) => 0,
                (true, false) => 1,
                (false, true) => 2,
                (false, false) => 3,
            };
            counts[at] += number;
        }
    };
    for hatchling in &of.hatchlings {
        add(genes.map(|gene| own_call(colony, *hatchling, gene)), 1);
    }
    for count in &of.counts {
        let sheet = crate::genetics::count_sheet(colony, of, count);
        add(genes.map(|gene| super::fit::class_called(&sheet, gene)), count.total());
    }
    counts
}

fn bound(tests: &[BothClutch]) -> Option<CrossoverBound> {
    let young: u32 = tests.iter().map(|test| test.counts.iter().sum::<u32>()).sum();
    (young > 0)
        .then(|| CrossoverBound { young, below: 1.0 - exp(ln(1.0 - MASS) / f64::from(young)) })
}
