//! How often another question warns that a record may be wrong.

use std::fmt;

use proveout::numbers::ln;
use proveout::questions::{Asked, Unanswerable, genotypes};
use proveout::records::{Assumptions, Colony};
use proveout::sampler::{Params, sample_colony};

use super::binomial::upper;
use super::plant::{Plant, plant, small};
use super::undo::{log_evidence, undone};

/// Colonies asked about, and how many of them were warned of.
#[derive(Clone, Copy, Debug, Default)]
pub struct Warned {
    pub asked: u32,
    pub warned: u32,
    /// Colonies that have no exact answer; none of them counts.
    pub too_large: u32,
}

impl Warned {
    fn ask(&mut self, colony: &Colony) {
        match genotypes(colony, &Asked::default()) {
            Ok(answer) => {
                self.asked += 1;
                self.warned += u32::from(answer.surprise.is_some());
            }
            // No warning then, but an error that says so.
            Err(Unanswerable::Impossible(_) | Unanswerable::Question(_)) => {}
            Err(Unanswerable::TooLarge { .. }) => self.too_large += 1,
        }
    }
}

impl fmt::Display for Warned {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let share = 100.0 * f64::from(self.warned) / f64::from(self.asked);
        let bound = 100.0 * upper(self.warned, self.asked);
        let Warned { asked, warned, too_large } = self;
        write!(f, "{warned} of {asked} warned, {share:.2} %; at 99 % under {bound:.2} %")?;
        if *too_large > 0 { write!(f, " ({too_large} more were too large)") } else { Ok(()) }
    }
}

/// What sound colonies are drawn with.
pub type Kind = (&'static str, fn(u64) -> Params);

/// The small ones slips are planted into, and rich ones.
pub const KINDS: [Kind; 3] = [
    ("small, default assumptions", small),
    ("small, many hidden copies, many misreads", |seed| {
        let assumptions = Assumptions { background: 0.1, misread: 0.02, ..Assumptions::default() };
        Params { assumptions, ..small(seed) }
    }),
    ("large clutches, five seasons", |seed| Params {
        seasons: 5,
        young: (6, 14),
        assumptions: Assumptions { background: 0.05, ..Assumptions::default() },
        ..small(seed)
    }),
];

/// Sound colonies: their records are drawn as they are judged.
pub fn of_sound(kind: Kind, seeds: std::ops::Range<u64>) -> Warned {
    let mut warned = Warned::default();
    for seed in seeds {
        if let Ok((colony, _)) = sample_colony(&kind.1(seed), seed) {
            warned.ask(&colony);
        }
    }
    warned
}

/// Colonies with the wrong sire of a clutch, where naming another gains ln 20.
pub fn of_wrong_sires(seeds: std::ops::Range<u64>, wanted: u32) -> Warned {
    let mut warned = Warned::default();
    for seed in seeds {
        if warned.asked == wanted {
            break;
        }
        let Some(planted) = plant(Plant::Sire, seed) else { continue };
        let base = log_evidence(&planted.colony);
        if undone(&planted.colony, planted.wrong[0]) >= base + ln(20.0) {
            warned.ask(&planted.colony);
        }
    }
    warned
}
