//! Asking `mode` and `allelic` about a records file.

use proveout::presentation::names;
use proveout::questions::{
    AllelicAnswer, AllelicAsked, Asked, ModeAnswer, ModeAsked, ModeResult, PriorOf, Unanswerable,
    allelic, mode,
};
use proveout::records::{Colony, Format, read};

/// An answer and the colony it is about.
pub struct Answer {
    pub colony: Colony,
    pub answer: ModeAnswer,
}

pub fn colony(text: &str) -> Colony {
    match read(text.as_bytes(), Format::Toml) {
        Ok(checked) => checked.colony,
        Err(errors) => panic!("{text}\ncannot be read: {errors:#?}"),
    }
}

/// Asks how the gene `quill` is inherited.
pub fn ask_with(text: &str, priors: Vec<PriorOf>, explain: bool) -> Result<Answer, Unanswerable> {
    let colony = colony(text);
    let gene = colony.find_gene("quill").unwrap();
    let asked = ModeAsked { gene, priors, explain, memory: Asked::MEMORY };
    let answer = mode(&colony, &asked)?;
    Ok(Answer { colony, answer })
}

pub fn ask(text: &str) -> Answer {
    match ask_with(text, Vec::new(), false) {
        Ok(answer) => answer,
        Err(why) => panic!("{text}\nis not answered: {why:?}"),
    }
}

impl Answer {
    pub fn of(&self, way: &str) -> &ModeResult {
        let named = |one: &&ModeResult| names::mode(&self.colony, one.mode) == way;
        self.answer.modes.iter().find(named).unwrap_or_else(|| panic!("no way is called {way}"))
    }

    pub fn log(&self, way: &str) -> f64 {
        self.of(way).log_evidence
    }

    /// By how many times the records are likelier under one way than under another.
    pub fn factor(&self, one: &str, other: &str) -> f64 {
        (self.log(one) - self.log(other)).exp()
    }
}

/// Asks whether two genes are one locus.
pub fn ask_allelic(text: &str, genes: [&str; 2]) -> AllelicAnswer {
    let colony = colony(text);
    let genes = genes.map(|name| colony.find_gene(name).unwrap());
    let third = 1.0 / 3.0;
    let asked = AllelicAsked { genes, priors: [third; 3], memory: Asked::MEMORY };
    match allelic(&colony, &asked) {
        Ok(answer) => answer,
        Err(why) => panic!("{text}\nis not answered: {why:?}"),
    }
}

/// Asserts that two numbers are equal, relative to the larger or to one.
#[track_caller]
pub fn same(what: &str, got: f64, want: f64, tolerance: f64) {
    let scale = want.abs().max(1.0);
    let equal = got == want || (got - want).abs() <= tolerance * scale;
    assert!(equal, "{what}: gave {got}, expected {want}");
}
