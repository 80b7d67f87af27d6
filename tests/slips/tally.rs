//! How often a planted slip is ranked first among the records.

use std::fmt;

use proveout::numbers::ln;
use proveout::questions::{Asked, conflicts};

use super::plant::{Plant, Planted, plant};
use super::undo::{every_record, log_evidence, undone};

/// The chance that any one record is a slip, before the records are looked at.
pub const SLIP: f64 = 0.01;

/// Cases in which the data can show a slip, and what was answered there.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    /// Colonies with the slip.
    pub planted: usize,
    /// Those where taking the slip away gains ln 20, and ln 3 more than any other record.
    pub shown: usize,
    /// Of these: ranked first.
    pub first: usize,
    /// Those where putting the truth back gains ln 20, and ln 3 more than taking away any other
    /// record.
    pub shown_put_back: usize,
    /// Of these: ranked first.
    pub first_put_back: usize,
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "planted {}, shown {}, ranked first {}; truth put back: shown {}, ranked first {}",
            self.planted, self.shown, self.first, self.shown_put_back, self.first_put_back,
        )
    }
}

/// Plants slips of one kind, from one seed on, until `wanted` of them can be seen in the data.
pub fn tally(what: Plant, seeds: std::ops::Range<u64>, wanted: usize) -> Tally {
    let mut tally = Tally::default();
    for seed in seeds {
        if tally.shown == wanted {
            break;
        }
        if let Some(planted) = plant(what, seed) {
            tally.add(seed, &planted);
        }
    }
    tally
}

impl Tally {
    fn add(&mut self, seed: u64, planted: &Planted) {
        self.planted += 1;
        let colony = &planted.colony;
        let base = log_evidence(colony);
        let away = planted.wrong.iter().map(|record| undone(colony, *record));
        let away = away.fold(f64::NEG_INFINITY, f64::max);
        let back = planted.put_back.unwrap_or(f64::NEG_INFINITY);
        if away.max(back) < base + ln(20.0) {
            return;
        }
        // Once one other record is as good as both, the rest need not be tried.
        let mut rival = base;
        for record in every_record(colony) {
            if rival + ln(3.0) > away.max(back) {
                return;
            }
            if !planted.wrong.contains(&record) {
                rival = rival.max(undone(colony, record));
            }
        }
        let can_show = |log: f64| log >= base + ln(20.0) && log >= rival + ln(3.0);
        let first = self.ranked_first(seed, planted);
        if can_show(away) {
            self.shown += 1;
            self.first += usize::from(first);
        }
        if can_show(back) {
            self.shown_put_back += 1;
            self.first_put_back += usize::from(first);
        }
    }

    fn ranked_first(&self, seed: u64, planted: &Planted) -> bool {
        let colony = &planted.colony;
        let answer = conflicts(colony, &Asked::default(), SLIP).unwrap();
        let mut first = answer.slips.iter().filter(|slip| slip.rank == 1);
        let found = first.any(|slip| planted.wrong.iter().any(|record| record.is(colony, slip)));
        if !found && std::env::var_os("PROVEOUT_SHOW").is_some() {
            println!("seed {seed}: {:?}, but {:?}", planted.wrong, answer.slips.first());
        }
        found
    }
}
