//! Does any text make the reader or the whole way to an answer panic, hang, or ask for too much?
//!
//! Texts are made from a corpus of sound and unsound records by seeded changes: bytes and lines
//! turned over, cut, doubled, swapped with those of other files, numbers made extreme. The ordinary
//! run takes `PROVEOUT_FUZZ_SECONDS` (20); `PROVEOUT_FUZZ_RUNS` counts executions instead.

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that finds nothing has to fail")]

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use proveout::questions::{Asked, Unanswerable, genotypes};
use proveout::records::{Format, not_computed_yet, read};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// On a busy machine a text may wait so many times as long.
const WAITS: u32 = 30;
/// Texts are not longer than this.
const LONGEST: usize = 100_000;
/// No text takes longer; without full optimisation it is given room.
const SLOWEST: Duration = Duration::from_secs(if cfg!(debug_assertions) { 10 } else { 1 });
/// Room for the tables of an answer.
const MEMORY: u64 = 64 << 20;
/// The whole process takes less, with the corpus and all that stands beside the tables.
const MOST_MEMORY: u64 = 1 << 30;

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|end| end == "toml" || end == "json") {
            files.push(path);
        }
    }
}

/// The seeds: every records file that is kept here, right or wrong, that is not large.
fn corpus() -> Vec<Vec<u8>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for folder in [
        "datasets/demo",
        "datasets/stories",
        "datasets/published",
        "tests/cases",
        "tests/messages",
        "tests/fuzzed",
    ] {
        collect(&root.join(folder), &mut files);
    }
    files.sort();
    let texts = files.iter().map(|path| fs::read(path).unwrap());
    texts.filter(|text| text.len() < LONGEST / 4).collect()
}

struct Mutator {
    dice: ChaCha8Rng,
    corpus: Vec<Vec<u8>>,
    /// How often each text is taken, added up.
    shares: Vec<f64>,
}

/// What numbers, names and marks are turned into.
const ODD: [&str; 24] = [
    "0",
    "-1",
    "1e308",
    "nan",
    "inf",
    "1e-320",
    "99999999999999999999",
    "0.5",
    "\"\"",
    "[]",
    "{}",
    "true",
    "2024-02-30",
    "\"unknown\"",
    "\"none\"",
    "\"+/+\"",
    "'''",
    "\"\"\"",
    "[[clutch]]",
    "[[animal]]",
    "[assume]",
    "\u{feff}",
    "\u{202e}",
    "\0",
];

impl Mutator {
    /// Texts that take twice as long to answer are taken half as often: all get the same time.
    fn new(seed: u64) -> Self {
        let corpus = corpus();
        let mut sum = 0.0;
        let mut share = |text: &Vec<u8>| {
            let start = Instant::now();
            let _ = std::panic::catch_unwind(|| whole_way(text));
            sum += 1.0 / start.elapsed().as_secs_f64().max(1e-4);
            sum
        };
        let shares = corpus.iter().map(&mut share).collect();
        Mutator { dice: ChaCha8Rng::seed_from_u64(seed), corpus, shares }
    }

    fn seed(&mut self) -> usize {
        let all = self.shares.last().copied().unwrap_or(0.0);
        let at = all * (self.dice.next_u64() as f64 / u64::MAX as f64);
        self.shares.partition_point(|share| *share < at).min(self.shares.len() - 1)
    }

    fn below(&mut self, number: usize) -> usize {
        (self.dice.next_u64() % number.max(1) as u64) as usize
    }

    fn text(&mut self) -> Vec<u8> {
        let at = self.seed();
        let mut text = self.corpus[at].clone();
        for _ in 0..1 + self.below(4) {
            self.change(&mut text);
        }
        text.truncate(LONGEST);
        text
    }

    fn line(&mut self, text: &[u8]) -> (usize, usize) {
        let at = self.below(text.len());
        let start = text[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let end =
            text[at..].iter().position(|byte| *byte == b'\n').map_or(text.len(), |n| at + n + 1);
        (start, end)
    }

    fn change(&mut self, text: &mut Vec<u8>) {
        if text.is_empty() {
            text.extend(b"a");
        }
        let (start, end) = self.line(text);
        match self.below(9) {
            0 => {
                let at = self.below(text.len());
                text[at] = self.below(256) as u8;
            }
            1 => drop(text.drain(start..end)),
            2 => {
                let line = text[start..end].to_vec();
                let (at, _) = self.line(text);
                text.splice(at..at, line);
            }
            3 => {
                let other = self.below(self.corpus.len());
                let other = self.corpus[other].clone();
                let (from, to) = self.line(&other);
                text.splice(start..start, other[from..to].iter().copied());
            }
            4 => text.truncate(start),
            5 => {
                let odd = ODD[self.below(ODD.len())];
                let value = text[start..end].iter().position(|byte| *byte == b'=');
                let from = value.map_or(start, |at| start + at + 1);
                let to = end.max(from);
                text.splice(from..to, format!(" {odd}\n").into_bytes());
            }
            6 => {
                let odd = ODD[self.below(ODD.len())];
                let at = self.below(text.len());
                text.splice(at..at, odd.bytes());
            }
            7 => {
                let other = self.below(self.corpus.len());
                let other = self.corpus[other].clone();
                text.truncate(start);
                let (from, _) = self.line(&other);
                text.extend_from_slice(&other[from..]);
            }
            _ => {
                let line = text[start..end].to_vec();
                for _ in 0..self.below(40) {
                    text.splice(start..start, line.iter().copied());
                }
            }
        }
    }
}

/// Reads a text and answers for it; whether there was an answer.
fn whole_way(text: &[u8]) -> bool {
    let format = Format::of(None, text);
    let Ok(checked) = read(text, format) else { return false };
    if !not_computed_yet(&checked.colony).is_empty() {
        return false;
    }
    let asked = Asked { memory: MEMORY, ..Asked::default() };
    match genotypes(&checked.colony, &asked) {
        Ok(answer) => {
            for one in &answer.genotypes {
                let sum: f64 = one.posterior.iter().sum();
                // Where no way of one gene is left, there is nothing to be averaged.
                let nothing = one.suspected.as_ref().is_some_and(|s| s.inherited < 1e-9);
                assert!((sum - 1.0).abs() < 1e-6 || (nothing && sum == 0.0), "{sum}");
            }
            true
        }
        Err(Unanswerable::TooLarge { .. } | Unanswerable::Impossible(_)) => false,
        Err(other) => panic!("{other:?}"),
    }
}

/// Processor time of all threads while something is done, where the system tells: a busy machine makes
/// a text wait, and does not count.
fn processor_time_of(task: impl FnOnce()) -> Option<Duration> {
    /// Ticks of 10 ms, the fourteenth and fifteenth of the fields; the second may hold blanks.
    fn spent() -> Option<u64> {
        let stat = fs::read_to_string("/proc/self/stat").ok()?;
        let behind = stat.rsplit_once(')')?.1;
        let mut ticks = behind.split_whitespace().skip(11).map(str::parse::<u64>);
        Some(ticks.next()?.ok()? + ticks.next()?.ok()?)
    }
    let before = spent()?;
    task();
    Some(Duration::from_millis(10 * (spent()? - before)))
}

/// The most memory that this process ever took, in bytes, where the system tells.
fn peak_memory() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse().ok().map(|kib: u64| kib << 10)
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

#[test]
fn no_text_makes_the_program_panic_or_hang() {
    let runs = number("PROVEOUT_FUZZ_RUNS");
    let seconds = Duration::from_secs(number("PROVEOUT_FUZZ_SECONDS").unwrap_or(20));
    let seed = number("PROVEOUT_FUZZ_SEED").unwrap_or(1);
    let mut mutator = Mutator::new(seed);
    assert!(mutator.corpus.len() > 30, "{} seeds", mutator.corpus.len());
    let (begun, mut done, mut answered, mut slowest) = (Instant::now(), 0u64, 0u64, Duration::ZERO);
    let mut found = Vec::new();
    while found.len() < 10 && runs.map_or(begun.elapsed() < seconds, |runs| done < runs) {
        let text = mutator.text();
        let start = Instant::now();
        let ended = std::panic::catch_unwind(|| whole_way(&text));
        let mut took = start.elapsed();
        if took >= SLOWEST && ended.is_ok() {
            let again = || drop(std::panic::catch_unwind(|| whole_way(&text)));
            let worked = processor_time_of(again).unwrap_or(took);
            // One that waits for something is found, too.
            took = if took < WAITS * SLOWEST { worked } else { took };
        }
        let kept = || {
            let path = std::env::temp_dir().join(format!("proveout-fuzz-{seed}-{done}"));
            fs::write(&path, &text).unwrap();
            path
        };
        match &ended {
            Err(_) => found.push(format!("a panic on {}", kept().display())),
            Ok(_) if took >= SLOWEST => found.push(format!("{took:?} on {}", kept().display())),
            Ok(_) => {}
        }
        slowest = slowest.max(took);
        answered += u64::from(ended.is_ok_and(|answered| answered));
        done += 1;
        if done % 500_000 == 0 {
            println!("{done} texts, {answered} answered, {:?}, {found:?}", begun.elapsed());
        }
    }
    let peak = peak_memory();
    println!(
        "{done} texts, {answered} answered, slowest {slowest:?}, {:?}, {peak:?} bytes at most",
        begun.elapsed()
    );
    assert!(found.is_empty(), "{found:#?}");
    assert!(peak.is_none_or(|peak| peak < MOST_MEMORY), "{peak:?} bytes");
    assert!(answered > 0, "no text was answered for: the changes are too wild");
}

#[test]
fn texts_that_once_broke_it_no_longer_do() {
    let mut files = Vec::new();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzzed"), &mut files);
    assert!(files.len() >= 2, "{files:?}");
    for file in files {
        let _ = whole_way(&fs::read(&file).unwrap());
    }
}
