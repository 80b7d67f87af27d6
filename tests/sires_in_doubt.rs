//! Many males, few of them open: who sired what, and what more eggs cannot tell.

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that finds nothing has to fail")]
#![allow(clippy::print_stdout, reason = "how long it took is shown, and not judged")]

mod judge;

use std::time::Instant;

use allocation_counter::measure;
use judge::Build;
use proveout::questions::{Asked, Method, Unanswerable, genotypes};
use proveout::records::{Candidate, Colony, Genotype, Sex};
use rand::RngExt;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

const TOLERANCE: f64 = 1e-9;

/// The chance that a 66% male carries, after clutches of so many normals from a visual female,
/// where one clutch in twenty has another sire.
fn after(clutches: &[u32]) -> f64 {
    let mut build = Build::exact()
        .assume(|assume| assume.other_sire = 0.05)
        .recessive("ash")
        .founder("Dam", Sex::Female)
        .looks("ash")
        .founder("Sire", Sex::Male)
        .sold_as("66% het ash");
    for (at, normals) in clutches.iter().enumerate() {
        build = build.clutch(&format!("K{at}"), "Dam", "Sire").count("normal", *normals);
    }
    let colony = build.colony();
    let answer = genotypes(&colony, &Asked::default()).unwrap();
    let sire = colony.find_animal("Sire").unwrap();
    let of_sire = answer.genotypes.iter().find(|one| one.animal == sire).unwrap();
    let at = of_sire.genotypes.iter().position(|one| *one == Genotype::Two(0, 1)).unwrap();
    of_sire.posterior[at]
}

/// The closed form: a carrier gives each clutch (1−ε)/2ⁿ + ε, others give 1; odds 2 : 1 before.
fn closed_form(clutches: &[u32]) -> f64 {
    let of = |normals: &u32| 0.95 * 0.5f64.powi(normals.cast_signed()) + 0.05;
    let odds = 2.0 * clutches.iter().map(of).product::<f64>();
    odds / (1.0 + odds)
}

#[test]
fn more_eggs_of_one_clutch_do_not_undercut_the_chance_of_another_sire() {
    for clutches in [&[8][..], &[80], &[800], &[8, 8], &[8, 8, 8]] {
        let (got, want) = (after(clutches), closed_form(clutches));
        assert!((got - want).abs() <= TOLERANCE, "{clutches:?}: {got} but {want}");
    }
    assert_eq!(format!("{:.2} %", 100.0 * after(&[8])), "9.70 %");
    assert!((after(&[800]) - 1.0 / 11.0).abs() <= TOLERANCE, "the limit is one in eleven");
    assert!(after(&[8, 8]) < 0.01, "another season does");
}

const GENES: [&str; 3] = ["ash", "ember", "slate"];
const MALES: usize = 12;
const CANDIDATES: usize = 8;
const CLUTCHES: usize = 20;
const BACKGROUND: f64 = 0.0625;
const MISREAD: f64 = 0.001;

/// Twenty clutches of visual dams.
struct Season {
    colony: Colony,
    /// `carries[male][gene]`; `None` where nobody knows.
    carries: Vec<[Option<bool>; 3]>,
    candidates: Vec<Vec<usize>>,
    /// The looks of the young of each clutch.
    young: Vec<Vec<[bool; 3]>>,
}

fn looks(young: &[bool; 3]) -> String {
    let shown = GENES.iter().zip(young).filter(|(_, shows)| **shows).map(|(gene, _)| *gene);
    shown.collect::<Vec<_>>().join(", ")
}

fn season(open: impl Fn(usize, usize) -> bool) -> Season {
    let mut dice = ChaCha8Rng::seed_from_u64(7);
    let mut build = Build::new().assume(|assume| assume.misread = MISREAD);
    for gene in GENES {
        build = build.recessive(gene).background(&[BACKGROUND]);
    }
    build = build.founder("Dam", Sex::Female);
    for gene in GENES {
        build = build.reading(gene, &format!("{gene}/{gene}"), 1.0);
    }
    let (mut truth, mut carries) = (Vec::new(), Vec::new());
    for male in 0..MALES {
        build = build.founder(&format!("M{male}"), Sex::Male);
        let own = [0, 1, 2].map(|_| dice.random::<bool>());
        for (at, gene) in GENES.iter().enumerate() {
            build = match (open(male, at), own[at]) {
                (true, _) => build.sold_as(&format!("50% het {gene}")),
                (false, true) => build.reading(gene, &format!("+/{gene}"), 1.0),
                (false, false) => build.reading(gene, "+/+", 1.0),
            };
        }
        carries.push([0, 1, 2].map(|at| (!open(male, at)).then_some(own[at])));
        truth.push(own);
    }
    let (mut candidates, mut young) = (Vec::new(), Vec::new());
    for clutch in 0..CLUTCHES {
        let mut pool: Vec<usize> = (0..MALES).collect();
        pool.shuffle(&mut dice);
        pool.truncate(CANDIDATES);
        let names: Vec<String> = pool.iter().map(|male| format!("M{male}")).collect();
        let weights: Vec<(&str, f64)> = names.iter().map(|name| (name.as_str(), 1.0)).collect();
        build = build.clutch(&format!("K{clutch}"), "Dam", "M0").sires(&weights);
        let brood: Vec<[bool; 3]> =
            (0..6).map(|_| truth[pool[0]].map(|has| has && dice.random::<bool>())).collect();
        for (at, one) in brood.iter().enumerate() {
            build = build.young(&format!("K{clutch}-{at}")).looks(&looks(one));
        }
        candidates.push(pool);
        young.push(brood);
    }
    Season { colony: build.colony(), carries, candidates, young }
}

impl Season {
    /// For each clutch the weight of each candidate, given what each male carries.
    fn weights(&self, carries: &dyn Fn(usize, usize) -> bool) -> Vec<Vec<f64>> {
        let called =
            |shows: bool, named: bool| if shows == named { 1.0 - MISREAD } else { MISREAD };
        let of_young = |male: usize, one: &[bool; 3]| -> f64 {
            let at_gene = |(at, named): (usize, &bool)| match carries(male, at) {
                true => 0.5 * (called(true, *named) + called(false, *named)),
                false => called(false, *named),
            };
            one.iter().enumerate().map(at_gene).product()
        };
        let of_clutch = |(pool, brood): (&Vec<usize>, &Vec<[bool; 3]>)| {
            let of = |male: &usize| brood.iter().map(|one| of_young(*male, one)).product::<f64>();
            pool.iter().map(|male| of(male) / CANDIDATES as f64).collect()
        };
        self.candidates.iter().zip(&self.young).map(of_clutch).collect()
    }

    /// The log evidence and the chance of each candidate, summed over all that is open.
    fn closed_form(&self) -> (f64, Vec<Vec<f64>>) {
        let all = (0..MALES).flat_map(|male| (0..3).map(move |at| (male, at)));
        let open: Vec<(usize, usize)> =
            all.filter(|(male, at)| self.carries[*male][*at].is_none()).collect();
        let mut total = 0.0;
        let mut sums = vec![vec![0.0; CANDIDATES]; CLUTCHES];
        for configuration in 0..1_u32 << open.len() {
            let carries = |male: usize, at: usize| match self.carries[male][at] {
                Some(known) => known,
                None => {
                    let place = open.iter().position(|one| *one == (male, at)).unwrap();
                    configuration >> place & 1 == 1
                }
            };
            let weights = self.weights(&carries);
            let clutches: Vec<f64> = weights.iter().map(|of| of.iter().sum()).collect();
            // Scaled, since twenty clutches are rare indeed.
            let here: f64 = clutches.iter().map(|weight| weight * 64.0).product();
            total += here;
            for ((sums, weights), clutch) in sums.iter_mut().zip(&weights).zip(&clutches) {
                sums.iter_mut().zip(weights).for_each(|(sum, w)| *sum += here * w / clutch);
            }
        }
        sums.iter_mut().flatten().for_each(|sum| *sum /= total);
        let (carrier, clear) = (2.0 * BACKGROUND * (1.0 - BACKGROUND), (1.0 - BACKGROUND).powi(2));
        let known = self.carries.iter().flatten().flatten();
        let known: f64 = known.map(|has| if *has { carrier.ln() } else { clear.ln() }).sum();
        let dam = 6.0 * BACKGROUND.ln();
        let open = open.len() as f64 * 0.5f64.ln();
        (total.ln() - CLUTCHES as f64 * 64f64.ln() + known + dam + open, sums)
    }
}

#[test]
fn eight_of_twelve_males_for_each_of_twenty_clutches() {
    let season = season(|male, gene| male / 4 == gene && male % 4 < 3);
    let started = Instant::now();
    let answer = genotypes(&season.colony, &Asked::default()).unwrap();
    println!("twenty clutches, eight sires each: {:?}", started.elapsed());
    assert_eq!(answer.method, Method::Exact);
    let (log, chances) = season.closed_form();
    let got = answer.log_evidence;
    assert!((got - log).abs() <= TOLERANCE * log.abs(), "log evidence {got} but {log}");
    assert_eq!(answer.sires.len(), CLUTCHES);
    for (sires, (pool, want)) in answer.sires.iter().zip(season.candidates.iter().zip(chances)) {
        for ((candidate, before, after), (male, want)) in
            sires.candidates.iter().zip(pool.iter().zip(want))
        {
            let id = season.colony.find_animal(&format!("M{male}")).unwrap();
            assert_eq!((*candidate, *before), (Candidate::Known(id), 1.0 / CANDIDATES as f64));
            assert!((after - want).abs() <= TOLERANCE, "M{male}: {after} but {want}");
        }
    }
}

#[test]
fn twelve_open_males_are_too_many_and_that_is_known_before_any_table() {
    let season = season(|_, _| true);
    let mut answer = None;
    let used = measure(|| answer = Some(genotypes(&season.colony, &Asked::default())));
    match answer {
        Some(Err(Unanswerable::TooLarge { needed, allowed })) => assert!(needed > allowed),
        other => panic!("{other:?}"),
    }
    assert!(used.bytes_max < Asked::MEMORY / 10, "{} bytes at once", used.bytes_max);
}
