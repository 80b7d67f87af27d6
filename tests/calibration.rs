//! Does what is said to have a chance of seven in ten come true seven times in ten?
//!
//! Colonies are drawn from the definition of the model, so the truth behind the records is known.
//! Every chance that is answered is put into its tenth; over many colonies the mean chance in each
//! tenth must be the share of cases in which it came true.
//!
//! # Source
//!
//! Cook, Gelman & Rubin 2006, Journal of Computational and Graphical Statistics 15:675–692: with
//! parameters drawn from the prior and data drawn given them, posteriors are calibrated.

use std::collections::BTreeMap;
use std::ops::Range;

use proveout::questions::{Asked, Unanswerable, genotypes, identify};
use proveout::records::{Assumptions, Candidate, Colony, Look, Origin, SexSystem};
use proveout::sampler::{Features, Params, Truth, sample_colony};

/// Where the seeds of the colonies begin.
const SEED: u64 = 52_000_000;
/// A tenth is judged when so many cases in it should come true, and so many not.
const ENOUGH: f64 = 20.0;
/// Standard errors: with eighty tests a correct engine passes 4.5 once in two thousand runs.
const ERRORS: f64 = 4.5;

/// A kind of question, and the tenth of the chance that was answered.
type Bin = (&'static str, usize);

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

#[derive(Default)]
struct Calibration {
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
            Err(Unanswerable::Impossible(_)) => {
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
        for (kind, chance, came_true) in answered {
            let bin = (kind, ((chance * 10.0) as usize).min(9));
            let residual = f64::from(came_true) - chance;
            *residuals.entry(bin).or_default() += residual;
            let sum = self.bins.entry(bin).or_default();
            sum.expected[0] += chance;
            sum.expected[1] += 1.0 - chance;
            sum.residual += residual;
            sum.binomial += chance * (1.0 - chance);
        }
        for (bin, residual) in residuals {
            self.bins.entry(bin).or_default().between += residual * residual;
        }
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

    fn worst(&self) -> f64 {
        self.errors().values().fold(0.0, |worst, error| worst.max(error.abs()))
    }
}

/// Every chance that is answered of a colony, and whether it came true.
fn answered(
    colony: &Colony,
    truth: &Truth,
) -> Result<Vec<(&'static str, f64, bool)>, Unanswerable> {
    let asked = Asked::default();
    let answer = genotypes(colony, &asked)?;
    let mut all = Vec::new();
    for one in &answer.genotypes {
        let held = truth.genotype(one.animal, one.gene);
        let chances = one.genotypes.iter().zip(&one.posterior);
        let kind = match colony.animal(one.animal).origin {
            Origin::Founder => "founder",
            Origin::Clutch(_) => "young",
        };
        all.extend(chances.map(|(genotype, p)| (kind, *p, *genotype == held)));
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
        let candidates = one.candidates.iter();
        all.extend(candidates.map(|(who, _, p)| ("sire", *p, Some(*who) == held)));
    }
    for one in &identify(colony, &asked)?.hatchlings {
        let held: Vec<Look> = colony
            .gene_ids()
            .zip(truth.identity(colony, one.animal))
            .filter(|(_, class)| *class > 0)
            .map(|(gene, class)| Look { gene, class })
            .collect();
        let listed = one.identities.iter();
        all.extend(listed.map(|id| ("identity", id.probability, id.looks == held)));
    }
    Ok(all)
}

/// Draws colonies and asks about them as a keeper who may assume something else.
fn calibrate(
    params: impl Fn(u64) -> Params,
    seeds: Range<u64>,
    mistaken: fn(&mut Colony),
) -> Calibration {
    let mut calibration = Calibration::default();
    for seed in seeds {
        let Ok((mut colony, truth)) = sample_colony(&params(seed), SEED + seed) else { continue };
        mistaken(&mut colony);
        calibration.add(&colony, &truth);
    }
    calibration
}

fn colonies() -> u64 {
    if std::env::var_os("PROVEOUT_FULL").is_some() { 5_000 } else { 300 }
}

/// Small colonies in which everything but unknown rates may occur.
fn anything(seed: u64) -> Params {
    let system = [SexSystem::Environmental, SexSystem::Xy, SexSystem::Zw];
    let features = Features { unknown_rates: false, ..Features::all() };
    Params {
        founders: 4,
        seasons: 2,
        genes: 3,
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
        "{name}: {} colonies ({} too large), {} tenths, worst {:.2} standard errors",
        calibration.colonies,
        calibration.too_large,
        errors.len(),
        calibration.worst()
    );
    assert_eq!(calibration.impossible, 0, "{name}: what was drawn is possible");
    for kind in ["founder", "young", "identity", "sire"] {
        assert!(errors.keys().filter(|bin| bin.0 == kind).count() >= 5, "{name}: {kind} untried");
    }
    assert!(calibration.too_large * 10 < calibration.colonies, "{name}");
    assert!(calibration.worst() < ERRORS, "{name}: {errors:#?}");
}

#[test]
fn chances_come_true_as_often_as_they_say() {
    assert_calibrated("plain", &calibrate(plain, 0..colonies(), |_| ()));
}

#[test]
fn chances_come_true_whatever_occurs() {
    assert_calibrated("anything", &calibrate(anything, 0..colonies(), |_| ()));
}

#[test]
fn a_wrong_assumption_is_caught() {
    type Mistake = (&'static str, fn(&mut Colony));
    let mistakes: [Mistake; 5] = [
        ("misread 0.05 taken for 0.005", |colony| colony.assumptions.misread = 0.005),
        ("misread 0.05 taken for 0.2", |colony| colony.assumptions.misread = 0.2),
        ("background 0.1 taken for 0.02", |colony| colony.assumptions.background = 0.02),
        ("trust 0.6 taken for 1", |colony| {
            colony.assumptions.trust = 1.0;
            colony.animals.iter_mut().for_each(|animal| animal.trust = None);
        }),
        ("other sires, 1 in 5, left out", |colony| colony.assumptions.other_sire = 0.0),
    ];
    for (name, mistaken) in mistakes {
        let calibration = calibrate(plain, 0..colonies(), mistaken);
        println!("{name}: worst {:.1} standard errors", calibration.worst());
        assert!(calibration.worst() > ERRORS, "{name} is not caught: {:?}", calibration.errors());
    }
}
