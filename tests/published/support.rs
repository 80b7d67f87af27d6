//! Asking the program about a records file, and comparing what it says with print.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use approx::relative_eq;
use proveout::questions::{Asked, GenotypesAnswer, genotypes};
use proveout::records::{Colony, Format, not_computed_yet, read};
use serde_json::Value;

/// A few hundred additions of logarithms, and far tighter than any figure printed.
const TOLERANCE: f64 = 1e-9;

/// One item of the reference, its source, how that is known, and the tests that prove it.
pub struct Row {
    pub id: &'static str,
    pub source: &'static str,
    /// As `value_basis` of the reference has it.
    pub basis: &'static str,
    pub by: &'static [fn()],
}

pub const READ: &str = "read in the source or a published quotation of it";
pub const FORMULA: &str = "computed from the standard formula";
pub const MEMORY_HIGH: &str = "from memory, confidence high";
pub const MEMORY_MEDIUM_HIGH: &str = "from memory, confidence medium-high";
pub const MEMORY_MEDIUM: &str = "from memory, confidence medium";
pub const MEMORY_LOW_MEDIUM: &str = "from memory, confidence low-medium";
pub const MEMORY_LOW: &str = "from memory, confidence low";

/// The reference as a whole.
pub static REFERENCE: LazyLock<Value> = LazyLock::new(|| {
    let text = std::fs::read_to_string(folder().join("published.json")).unwrap();
    serde_json::from_str(&text).unwrap()
});

pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/published")
}

/// The items of the reference, in its order.
pub fn items() -> &'static [Value] {
    REFERENCE["items"].as_array().unwrap()
}

pub fn item(id: &str) -> &'static Value {
    items().iter().find(|item| item["id"] == id).unwrap_or_else(|| panic!("no item {id}"))
}

/// The numbers of one list of the reference: `/counts/pen 709` and the like.
pub fn numbers(list: &Value) -> Vec<f64> {
    list.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

/// The observed counts of an item.
pub fn observed(id: &str) -> Vec<f64> {
    numbers(&item(id)["gof"]["obs"])
}

/// The text of a file of `datasets/published`.
pub fn file(name: &str) -> String {
    std::fs::read_to_string(folder().join(format!("{name}.toml"))).unwrap()
}

/// The text with one passage, which must stand in it exactly once, written anew.
pub fn with(text: &str, old: &str, new: &str) -> String {
    assert_eq!(text.matches(old).count(), 1, "`{old}` does not stand there once");
    text.replacen(old, new, 1)
}

/// The text without its clutch of this id, and whatever follows it up to the next clutch.
pub fn without_clutch(text: &str, id: &str) -> String {
    let start = text.find(&format!("[[clutch]]\nid = \"{id}\"\n")).unwrap();
    let rest = &text[start + 1..];
    let end = rest.find("[[clutch]]\n").map_or(text.len(), |at| start + 1 + at);
    format!("{}{}", &text[..start], &text[end..])
}

/// What the program says about a records file.
pub struct Answer {
    colony: Colony,
    answer: GenotypesAnswer,
    /// Where each animal and gene stands among the answers.
    at: HashMap<(String, String), usize>,
}

/// Reads a records file and asks what each animal carries; `None` when it cannot be true.
pub fn try_ask(text: &str) -> Option<Answer> {
    let colony = match read(text.as_bytes(), Format::Toml) {
        Ok(checked) => checked.colony,
        Err(errors) => panic!("{text}\ncannot be read: {errors:?}"),
    };
    assert_eq!(not_computed_yet(&colony), [], "{text}");
    let answer = genotypes(&colony, &Asked::default()).ok()?;
    let name = |at: usize| {
        let answer = &answer.genotypes[at];
        let animal = colony.animal(answer.animal).id.clone().unwrap();
        (animal, colony.gene(answer.gene).name.clone())
    };
    let at = (0..answer.genotypes.len()).map(|at| (name(at), at)).collect();
    Some(Answer { colony, answer, at })
}

/// Reads a records file and asks what each animal carries.
pub fn ask(text: &str) -> Answer {
    try_ask(text).unwrap_or_else(|| panic!("{text}\nis said to be impossible"))
}

/// Natural log of the probability of all that a records file says.
pub fn log_evidence(text: &str) -> f64 {
    ask(text).log_evidence()
}

impl Answer {
    pub fn log_evidence(&self) -> f64 {
        self.answer.log_evidence
    }

    /// The chance of a genotype given all records.
    pub fn chance(&self, animal: &str, gene: &str, genotype: &str) -> f64 {
        self.pick(animal, gene, genotype, |at| &self.answer.genotypes[at].posterior)
    }

    /// The chance of a genotype before any look, call or reading.
    pub fn prior(&self, animal: &str, gene: &str, genotype: &str) -> f64 {
        self.pick(animal, gene, genotype, |at| &self.answer.genotypes[at].prior)
    }

    fn pick<'a>(
        &'a self,
        animal: &str,
        gene: &str,
        genotype: &str,
        chances: impl Fn(usize) -> &'a [f64],
    ) -> f64 {
        let at = *self.at.get(&(animal.to_string(), gene.to_string())).unwrap();
        let answer = &self.answer.genotypes[at];
        let declared = self.colony.gene(answer.gene);
        let name = |g| declared.genotype_name(g, self.colony.sex_system);
        let which = answer.genotypes.iter().position(|g| name(*g) == genotype);
        chances(at)[which.unwrap_or_else(|| panic!("{gene} has no genotype {genotype}"))]
    }
}

/// Log probability of independent draws: every count times the log of its chance.
pub fn multinomial(counts: &[f64], chances: &[f64]) -> f64 {
    assert_eq!(counts.len(), chances.len());
    counts.iter().zip(chances).map(|(count, chance)| count * chance.ln()).sum()
}

/// Asserts equality with a closed form or an exact fraction.
#[track_caller]
pub fn same(source: &str, got: f64, want: f64) {
    assert!(
        relative_eq!(got, want, epsilon = 0.0, max_relative = TOLERANCE),
        "{source}: gave {got}, expected {want}"
    );
}

/// Asserts that a number, rounded to as many decimals as were printed, is what was printed.
#[track_caller]
pub fn printed(source: &str, got: f64, print: &str) {
    let decimals = print.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    assert_eq!(format!("{got:.decimals$}"), print, "{source}: gave {got}");
}

/// A fraction as it is printed: `81/209`.
pub fn fraction(text: &str) -> f64 {
    let (above, below) = text.split_once('/').unwrap();
    above.parse::<f64>().unwrap() / below.parse::<f64>().unwrap()
}

/// Where a function of one number is largest between two numbers, by golden section.
pub fn where_largest(mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    while high - low > 1e-7 {
        let (left, right) = (high - golden * (high - low), low + golden * (high - low));
        if of(left) < of(right) { low = left } else { high = right }
    }
    f64::midpoint(low, high)
}
