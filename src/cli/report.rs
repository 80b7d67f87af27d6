//! `report`: all of it on one page.

use proveout::presentation::report::{About, Parts, report};
use proveout::presentation::report_json;
use proveout::questions::{
    Asked, EggsAnswer, Expectation, GenotypesAnswer, GoalAnswer, GoalAsked, IdentifyAnswer,
    LabelsAnswer, ModeAnswer, ModeAsked, PairingsAnswer, PairingsAsked, Target, Unanswerable,
    WhatIf, eggs_of_best, expected, genotypes, goal, identify, labels, mode, pairings, what_if,
};
use proveout::records::keep::version_of;
use proveout::records::{Colony, Inheritance};

use super::goal::by_looks;
use super::input::Source;
use super::planning_args::ReportArgs;
use super::progress::Progress;
use super::{Failure, output};

/// From this chance on a thing counts as proven.
const LEVEL: f64 = 0.99;
/// How surely a test is to be settled, and a plan to succeed.
const ASSURANCE: f64 = 0.9;
/// Seasons that a plan may take.
const SEASONS: u32 = 5;

/// What a report is made of.
struct Answers {
    genotypes: GenotypesAnswer,
    identify: IdentifyAnswer,
    expected: Vec<Expectation>,
    what_if: Vec<WhatIf>,
    modes: Vec<ModeAnswer>,
    labels: LabelsAnswer,
    pairings: Option<PairingsAnswer>,
    eggs: Vec<EggsAnswer>,
    goal: Option<GoalAnswer>,
}

impl Answers {
    fn parts<'a>(&'a self, colony: &'a Colony, about: &'a About) -> Parts<'a> {
        Parts {
            colony,
            about,
            genotypes: &self.genotypes,
            identify: &self.identify,
            expected: &self.expected,
            what_if: &self.what_if,
            modes: &self.modes,
            labels: Some(&self.labels),
            pairings: self.pairings.as_ref(),
            eggs: &self.eggs,
            goal: self.goal.as_ref(),
        }
    }
}

fn ask(colony: &Colony, asked: &Asked, target: Option<Target>) -> Result<Answers, Unanswerable> {
    let asked = &Asked { explain: true, ..asked.clone() };
    let genotypes = genotypes(colony, asked)?;
    let identify = identify(colony, asked)?;
    let expected = expected(colony, asked)?;
    let pictured = Parts::pictured(colony, &genotypes);
    let what_if = what_if(colony, &pictured, asked.memory)?;
    let mut modes = Vec::new();
    for gene in colony.gene_ids() {
        if colony.gene(gene).inheritance == Inheritance::Unknown && asked.wants_gene(gene) {
            let (priors, explain, memory) = (Vec::new(), true, asked.memory);
            modes.push(mode(colony, &ModeAsked { gene, priors, explain, memory })?);
        }
    }
    let labels = labels(colony, asked, LEVEL)?;
    let pairings = match colony.clutch_size {
        Some(_) => {
            let quick = Asked { explain: false, ..asked.clone() };
            let (carrier, mode, young) = (None, None, None);
            let wanted =
                PairingsAsked { asked: quick, carrier, mode, allelic: None, young, level: LEVEL };
            Some(pairings(colony, &wanted)?)
        }
        None => None,
    };
    let eggs = match &pairings {
        Some(answer) => eggs_of_best(colony, answer, ASSURANCE, asked.memory)?,
        None => Vec::new(),
    };
    let planned = |target: Target| {
        let (assurance, memory) = (ASSURANCE, asked.memory);
        let (seasons, young) = (SEASONS, None);
        goal(colony, &GoalAsked { target, assurance, seasons, young, memory })
    };
    let goal = target.map(planned).transpose()?;
    Ok(Answers { genotypes, identify, expected, what_if, modes, labels, pairings, eggs, goal })
}

/// The report of a colony as a page.
pub fn page(colony: &Colony, asked: &Asked, about: &About) -> Result<String, Unanswerable> {
    Ok(report(&ask(colony, asked, None)?.parts(colony, about)))
}

pub fn run(args: &ReportArgs) -> Result<(), Failure> {
    let question = &args.question;
    let source = Source::read(&question.records)?;
    let asked = source.asked(question)?;
    let target = args.goal.as_deref().map(|looks| by_looks(&source.colony, looks)).transpose()?;
    let working = Progress::begin("working out the report");
    let answers = ask(&source.colony, &asked, target).map_err(|why| source.failure(why));
    drop(working);
    let answers = answers?;
    let about = About {
        file: file_name(&source.file),
        hash: version_of(source.text.as_bytes()),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        assumed: question.records.assume.clone(),
    };
    let parts = answers.parts(&source.colony, &about);
    let text = if question.records.json {
        report_json(&parts)
    } else {
        source.show_notices();
        report(&parts)
    };
    output::answer(&text, question.records.out.as_deref())
}

/// The last part of a path: where the file lies on this machine is nobody else's business.
fn file_name(path: &str) -> String {
    let name = std::path::Path::new(path).file_name().and_then(|name| name.to_str());
    name.unwrap_or(path).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_that_of_the_standard() {
        // SOURCE: NIST, FIPS 180-4, example "abc".
        let printed = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(version_of(b"abc"), printed);
    }

    #[test]
    fn the_folder_of_the_records_is_not_told() {
        assert_eq!(file_name("/home/somebody/colony.toml"), "colony.toml");
        assert_eq!(file_name("standard input"), "standard input");
    }
}
