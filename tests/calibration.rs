//! Does what is said to have a chance of seven in ten come true seven times in ten?
//!
//! Colonies are drawn from the definition of the model, so the truth behind the records is known.
//! Every chance that is answered is put into its tenth; over many colonies the mean chance in each
//! tenth must be the share of cases in which it came true. And the rank of the truth among the
//! chances of all states, drawn evenly within its own, must fall into every tenth equally often.
//!
//! With `PROVEOUT_FULL=1` ten thousand colonies are drawn; see `reports/calibration.md`.
//!
//! # Source
//!
//! Cook, Gelman & Rubin 2006, Journal of Computational and Graphical Statistics 15:675–692: with
//! parameters drawn from the prior and data drawn given them, posteriors are calibrated.

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that finds nothing has to fail")]
#![allow(clippy::print_stdout, reason = "what was found is shown beside the verdict")]

use std::collections::BTreeMap;
use std::ops::Range;

use proveout::questions::{Asked, Unanswerable, genotypes, identify};
use proveout::records::{Assumptions, Candidate, Colony, Look, Origin, SexSystem};
use proveout::sampler::{Dice, Features, Params, Truth, sample_colony};
use statrs::distribution::{ContinuousCDF, Normal};

/// Where the seeds of the colonies begin.
const SEED: u64 = 52_000_000;
/// A tenth is judged when so many cases in it should come true, and so many not.
const ENOUGH: f64 = 20.0;
/// The chance that a correct engine fails one of the tests by luck.
const BY_LUCK: f64 = 0.001;
/// Bytes that a colony may take: which ones are left out the records decide, not the truth.
const MEMORY: u64 = 1 << 24;

/// What is put into tenths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Measure {
    /// The chance of each state.
    Chance,
    /// The rank of the truth.
    Rank,
}

/// A kind of question, what was measured, and the tenth it falls into.
type Bin = (&'static str, Measure, usize);

/// The chances of all states of something, and which of them is true; `None` when it is not listed.
struct Question {
    kind: &'static str,
    chances: Vec<f64>,
    truth: Option<usize>,
}

/// What was expected and what came of the cases in one tenth.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    /// Cases that should come true, and that should not.
    expected: [f64; 2],
    /// How many more came true.
    residual: f64,
    /// Its variance if cases were independent.
    binomial: f64,
    /// Its variance as it shows from colony to colony.
    between: f64,
}

struct Calibration {
    dice: Dice,
    bins: BTreeMap<Bin, Sum>,
    colonies: usize,
    /// Records that the assumptions of the inference do not allow.
    impossible: usize,
    /// Colonies that are too large for an exact answer: the records alone decide that.
    too_large: usize,
}

impl Calibration {
    fn add(&mut self, colony: &Colony, truth: &Truth) {
        let answered = match answered(colony, truth) {
            Ok(answered) => answered,
            Err(Unanswerable::Impossible(_) | Unanswerable::Question(_)) => {
                self.impossible += 1;
                return;
            }
            Err(Unanswerable::TooLarge { .. }) => {
                self.too_large += 1;
                return;
            }
        };
        self.colonies += 1;
        let mut residuals: BTreeMap<Bin, f64> = BTreeMap::new();
        for question in answered {
            for (bin, chance, came_true) in self.judged(&question) {
                let residual = f64::from(came_true) - chance;
                *residuals.entry(bin).or_default() += residual;
                let sum = self.bins.entry(bin).or_default();
                sum.expected[0] += chance;
                sum.expected[1] += 1.0 - chance;
                sum.residual += residual;
                sum.binomial += chance * (1.0 - chance);
            }
        }
        for (bin, residual) in residuals {
            self.bins.entry(bin).or_default().between += residual * residual;
        }
    }

    /// Where the chances and the rank of the truth fall.
    fn judged(&mut self, question: &Question) -> Vec<(Bin, f64, bool)> {
        let &Question { kind, ref chances, truth } = question;
        let tenth = |value: f64| ((value * 10.0) as usize).min(9);
        let of = |(at, chance): (usize, &f64)| {
            ((kind, Measure::Chance, tenth(*chance)), *chance, truth == Some(at))
        };
        let mut judged: Vec<_> = chances.iter().enumerate().map(of).collect();
        let below: f64 = chances[..truth.unwrap_or(chances.len())].iter().sum();
        let own = truth.map_or(1.0 - below, |at| chances[at]);
        let rank = tenth(below + self.dice.uniform() * own);
        // What is all but certain tells nothing but what the dice were.
        if chances.iter().all(|chance| *chance < 0.999) {
            judged.extend((0..10).map(|at| ((kind, Measure::Rank, at), 0.1, at == rank)));
        }
        judged
    }

    /// How many standard errors each tenth is off, where there is enough to tell.
    ///
    /// Animals of one colony are not independent, colonies are: of the two variances the larger.
    fn errors(&self) -> BTreeMap<Bin, f64> {
        let enough = |sum: &Sum| sum.expected.iter().all(|cases| *cases >= ENOUGH);
        let judged = self.bins.iter().filter(|(_, sum)| enough(sum));
        judged
            .map(|(bin, sum)| (*bin, sum.residual / sum.binomial.max(sum.between).sqrt()))
            .collect()
    }

    /// Standard errors that a correct engine exceeds only [by luck](BY_LUCK), in any of the tests.
    fn allowed(&self) -> f64 {
        let tests = self.errors().len().max(1) as f64;
        Normal::standard().inverse_cdf(1.0 - BY_LUCK / tests / 2.0)
    }

    fn worst(&self) -> f64 {
        self.errors().values().fold(0.0, |worst, error| worst.max(error.abs()))
    }
}

/// Everything that is answered of a colony.
fn answered(colony: &Colony, truth: &Truth) -> Result<Vec<Question>, Unanswerable> {
    let asked = Asked { memory: MEMORY, ..Asked::default() };
    let answer = genotypes(colony, &asked)?;
    let mut all = Vec::new();
    for one in &answer.genotypes {
        let held = truth.genotype(one.animal, one.gene);
        let animal = colony.animal(one.animal);
        let told = animal.statements.iter().any(|told| told.gene == one.gene);
        let kind = match animal.origin {
            Origin::Founder if told => "founder told of",
            Origin::Founder => "founder",
            Origin::Clutch(_) => "young",
        };
        let truth = one.genotypes.iter().position(|genotype| *genotype == held);
        all.push(Question { kind, chances: one.posterior.clone(), truth });
    }
    for one in &answer.sires {
        let clutch = &truth.clutches[one.clutch.0];
        let held: Option<Candidate> = match one.hatchling {
            None => clutch.sire,
            Some(animal) => {
                let hatchlings = &colony.clutch(one.clutch).hatchlings;
                let at = hatchlings.iter().position(|id| *id == animal);
                at.map(|at| clutch.sires[at])
            }
        };
        let truth = one.candidates.iter().position(|(who, ..)| Some(*who) == held);
        let chances = one.candidates.iter().map(|(_, _, after)| *after).collect();
        all.push(Question { kind: "sire", chances, truth });
    }
    for one in &identify(colony, &asked)?.hatchlings {
        let held: Vec<Look> = colony
            .gene_ids()
            .zip(truth.identity(colony, one.animal))
            .filter(|(_, class)| *class > 0)
            .map(|(gene, class)| Look { gene, class })
            .collect();
        let truth = one.identities.iter().position(|id| id.looks == held);
        let chances = one.identities.iter().map(|id| id.probability).collect();
        all.push(Question { kind: "identity", chances, truth });
    }
    Ok(all)
}

/// Draws colonies and asks about them as a keeper who may assume something else.
fn calibrate(
    params: impl Fn(u64) -> Params,
    seeds: Range<u64>,
    mistaken: fn(&mut Colony),
) -> Calibration {
    let mut calibration = Calibration {
        dice: Dice::new(SEED),
        bins: BTreeMap::new(),
        colonies: 0,
        impossible: 0,
        too_large: 0,
    };
    for seed in seeds {
        let Ok((mut colony, truth)) = sample_colony(&params(seed), SEED + seed) else { continue };
        mistaken(&mut colony);
        calibration.add(&colony, &truth);
    }
    calibration
}

/// How many colonies are drawn; five thousand with `PROVEOUT_FULL=1`.
fn colonies(otherwise: u64) -> u64 {
    if std::env::var_os("PROVEOUT_FULL").is_some() { 5_000 } else { otherwise }
}

/// Small colonies in which everything but unknown rates may occur.
fn anything(seed: u64) -> Params {
    let system = [SexSystem::Environmental, SexSystem::Xy, SexSystem::Zw];
    let features = Features { unknown_rates: false, ..Features::all() };
    Params {
        founders: 3,
        seasons: 2,
        clutches: 1,
        genes: 2,
        sex_system: system[(seed % 3) as usize],
        features,
        ..Params::everything()
    }
}

/// Small colonies of plain records, where a wrong assumption cannot hide.
fn plain(_: u64) -> Params {
    let assumptions = Assumptions {
        background: 0.1,
        misread: 0.05,
        trust: 0.6,
        other_sire: 0.2,
        ..Assumptions::default()
    };
    let features = Features { visible: true, series: true, statements: true, ..Features::none() };
    Params { founders: 4, seasons: 2, genes: 2, assumptions, features, ..Params::default() }
}

#[track_caller]
fn assert_calibrated(name: &str, calibration: &Calibration) {
    let errors = calibration.errors();
    println!(
        "{name}: {} colonies ({} too large), {} tests, worst {:.2} standard errors of {:.2} allowed",
        calibration.colonies,
        calibration.too_large,
        errors.len(),
        calibration.worst(),
        calibration.allowed()
    );
    for ((kind, measure, tenth), sum) in &calibration.bins {
        if let Some(error) = errors.get(&(*kind, *measure, *tenth)) {
            let [true_, false_] = sum.expected;
            let came = true_ + sum.residual;
            println!(
                "| {name} | {kind} | {measure:?} | {tenth} | {:.0} | {true_:.1} | {came:.0} | {error:+.2} |",
                true_ + false_
            );
        }
    }
    assert_eq!(calibration.impossible, 0, "{name}: what was drawn is possible");
    for kind in ["founder", "young", "identity", "sire"] {
        for measure in [Measure::Chance, Measure::Rank] {
            let tried = errors.keys().filter(|bin| (bin.0, bin.1) == (kind, measure)).count();
            assert!(tried >= 2, "{name}: {measure:?} of {kind} untried");
        }
    }
    assert!(calibration.too_large * 2 < calibration.colonies, "{name}");
    assert!(calibration.worst() < calibration.allowed(), "{name}: {errors:#?}");
}

#[test]
fn chances_come_true_as_often_as_they_say() {
    assert_calibrated("plain", &calibrate(plain, 0..colonies(300), |_| ()));
}

#[test]
fn chances_come_true_whatever_occurs() {
    assert_calibrated("anything", &calibrate(anything, 0..colonies(300), |_| ()));
}

#[test]
fn a_wrong_assumption_is_caught() {
    // What is seldom of weight takes more colonies to show; thousands are for the full run.
    type Mistake = (&'static str, u64, fn(&mut Colony));
    let mistakes: [Mistake; 5] = [
        ("misread 0.05 taken for 0.005", 300, |colony| colony.assumptions.misread = 0.005),
        ("misread 0.05 taken for 0.2", 200, |colony| colony.assumptions.misread = 0.2),
        ("background 0.1 taken for 0.02", 300, |colony| colony.assumptions.background = 0.02),
        ("trust 0.6 taken for 1", 3_000, |colony| {
            colony.assumptions.trust = 1.0;
            colony.animals.iter_mut().for_each(|animal| animal.trust = None);
        }),
        ("other sires, 1 in 5, left out", 800, |colony| colony.assumptions.other_sire = 0.0),
    ];
    let full = std::env::var_os("PROVEOUT_FULL").is_some();
    for (name, number, mistaken) in mistakes.into_iter().filter(|one| full || one.1 < 1_000) {
        let calibration = calibrate(plain, 0..number, mistaken);
        println!("{name}: worst {:.1} standard errors", calibration.worst());
        let caught = calibration.worst() > calibration.allowed();
        assert!(caught, "{name} is not caught: {:?}", calibration.errors());
    }
}
