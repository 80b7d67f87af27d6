//! Is a records file on the disk always one whole version, whatever happens while it is saved?

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use proveout::records::keep::{Kept, NotSaved};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use tempfile::TempDir;

/// Names the file that a child process saves until it is killed.
const CHILD: &str = "PROVEOUT_TEST_SAVES";

/// How many lines each of the savers at the same time adds.
const LINES: usize = 150;

/// A version that tells its number on every line, so that a mixture or a torn end is seen.
fn version(number: usize) -> String {
    let lines = 1 + number * 37 % 400;
    format!("# {number} of {lines}\n").repeat(lines)
}

/// The number of a whole version.
fn number(text: &str) -> usize {
    let first = text.lines().next().unwrap_or_default();
    let number = first.strip_prefix("# ").and_then(|rest| rest.split(' ').next());
    let number = number.and_then(|number| number.parse().ok());
    let number = number.unwrap_or_else(|| panic!("no version begins with {first:?}"));
    assert!(text == version(number), "version {number} is not whole");
    number
}

/// In the child: saves one version after another. In the parent's run: nothing to do.
#[test]
fn a_child_saves_until_it_is_killed() {
    let Some(path) = std::env::var_os(CHILD) else { return };
    let mut kept = Kept::open(PathBuf::from(path)).unwrap();
    loop {
        let next = version(number(kept.text()) + 1);
        let seen = kept.version().to_string();
        kept.save(&next, &seen).unwrap();
    }
}

/// A folder in memory where there is one: what a kill can do is the same, and a thousand saves
/// need not wait for a disk.
fn quick_folder() -> TempDir {
    TempDir::new_in("/dev/shm").or_else(|_| TempDir::new()).unwrap()
}

/// The visible files of a folder, and the others.
fn names(folder: &Path) -> (Vec<String>, Vec<String>) {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names.into_iter().partition(|name| !name.starts_with('.'))
}

#[test]
fn a_kill_at_any_moment_of_a_thousand_saves_leaves_two_whole_versions() {
    let folder = quick_folder();
    let path = folder.path().join("colony.toml");
    fs::write(&path, version(0)).unwrap();
    let mut dice = ChaCha8Rng::seed_from_u64(9);
    let (mut saved, mut kills, mut left) = (0, 0, 0);
    while saved < 1000 || kills < 40 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["a_child_saves_until_it_is_killed", "--exact", "--nocapture"])
            .env(CHILD, &path)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // It begins to save after a moment that depends on the machine.
        while number(&fs::read_to_string(&path).unwrap()) == saved
            && child.try_wait().unwrap().is_none()
        {
            thread::sleep(Duration::from_micros(200));
        }
        thread::sleep(Duration::from_micros(dice.random_range(0..60_000)));
        child.kill().unwrap();
        assert!(!child.wait().unwrap().success(), "the child ended by itself");
        kills += 1;

        let now = number(&fs::read_to_string(&path).unwrap());
        assert!(now > saved, "a version was lost: {saved} is followed by {now}");
        left += usize::from(!names(folder.path()).1.is_empty());
        let kept = Kept::open(&path).unwrap();
        assert_eq!(number(kept.text()), now, "opening changes nothing");
        assert_eq!(number(&kept.previous().unwrap().unwrap()), now - 1);
        let (seen, hidden) = names(folder.path());
        assert_eq!(seen, ["colony.proveout-previous.toml", "colony.toml"]);
        assert!(hidden.is_empty(), "left behind: {hidden:?}");
        saved = now;
    }
    println!("{saved} saves, {kills} kills, {left} of them in the middle of a save");
    // Most kills fall into a save: otherwise this test would prove little.
    assert!(left * 4 > kills, "only {left} of {kills} kills left something behind");
    let mut kept = Kept::open(&path).unwrap();
    let seen = kept.version().to_string();
    kept.undo(&seen).unwrap();
    assert_eq!(number(kept.text()), saved - 1);
}

#[test]
fn savers_at_the_same_time_never_lose_a_line_of_one_another() {
    let folder = quick_folder();
    let path = folder.path().join("colony.toml");
    fs::write(&path, "").unwrap();
    let saver = |name: usize| {
        let mut kept = Kept::open(&path).unwrap();
        for line in 0..LINES {
            loop {
                kept.refresh().unwrap();
                let text = format!("{}{name}:{line}\n", kept.text());
                let seen = kept.version().to_string();
                match kept.save(&text, &seen) {
                    Ok(()) => break,
                    Err(NotSaved::ChangedMeanwhile { .. }) => {}
                    Err(error) => panic!("{error}"),
                }
            }
        }
    };
    thread::scope(|scope| {
        (0..4).for_each(|name| drop(scope.spawn(move || saver(name))));
    });
    let text = fs::read_to_string(&path).unwrap();
    assert_eq!(text.lines().count(), 4 * LINES);
    for name in 0..4 {
        let own = text.lines().filter(|line| line.starts_with(&format!("{name}:")));
        let wanted: Vec<String> = (0..LINES).map(|line| format!("{name}:{line}")).collect();
        assert_eq!(own.collect::<Vec<_>>(), wanted, "in its own order");
    }
}
