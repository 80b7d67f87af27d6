//! `--chart`: an answer as a picture.

use std::path::Path;

use proveout::presentation::charts::{self, Chart, FAMILY_AT_MOST, NoPng};
use proveout::presentation::isolated;
use proveout::questions::{
    Asked, EggsAnswer, GenotypesAnswer, GoalAnswer, IdentifyAnswer, ModeAnswer, PairingsAnswer,
    Story, Unanswerable, expected, what_if,
};
use proveout::records::{Colony, GeneId};

use super::args::{Genotypes, Show};
use super::input::Source;
use super::{Failure, output};

/// Draws what `genotypes` found.
pub fn genotypes(
    source: &Source,
    asked: &Asked,
    options: &Genotypes,
    answer: &GenotypesAnswer,
) -> Result<(), Failure> {
    let Some(file) = &options.chart else { return Ok(()) };
    let colony = isolated(&source.colony);
    let failed = |why: Unanswerable| source.failure(why);
    let show =
        options.show.unwrap_or(if asked.animals.len() == 1 { Show::Ladder } else { Show::Family });
    let chart = match show {
        Show::Ladder => charts::ladder(&colony, story(answer)?),
        Show::Hundred => charts::hundred(&colony, story(answer)?),
        Show::WhatIf => {
            let story = story(answer)?;
            let found = what_if(&source.colony, &[story.proposition], asked.memory);
            let found = found.map_err(failed)?;
            let Some(one) = found.first() else { return Err(nothing()) };
            charts::what_if(&colony, one)
        }
        Show::Expected => {
            let found = expected(&source.colony, asked).map_err(failed)?;
            charts::expected(&colony, &found)
        }
        Show::Family => family(&colony, asked, answer)?,
    };
    write(file, &chart)
}

/// Draws what `identify` found.
pub fn identify(
    source: &Source,
    file: Option<&Path>,
    answer: &IdentifyAnswer,
) -> Result<(), Failure> {
    let Some(file) = file else { return Ok(()) };
    write(file, &charts::hatchlings(&isolated(&source.colony), answer))
}

/// Draws what `mode` found.
pub fn mode(source: &Source, file: Option<&Path>, answer: &ModeAnswer) -> Result<(), Failure> {
    let Some(file) = file else { return Ok(()) };
    write(file, &charts::mode(&isolated(&source.colony), answer))
}

/// Draws what `eggs` found.
pub fn eggs(source: &Source, file: Option<&Path>, answer: &EggsAnswer) -> Result<(), Failure> {
    let Some(file) = file else { return Ok(()) };
    write(file, &charts::eggs(&isolated(&source.colony), answer))
}

/// Draws what `pairings` found.
pub fn pairings(
    source: &Source,
    file: Option<&Path>,
    answer: &PairingsAnswer,
) -> Result<(), Failure> {
    let Some(file) = file else { return Ok(()) };
    write(file, &charts::pairings(&isolated(&source.colony), answer))
}

/// Draws what `goal` found.
pub fn goal(source: &Source, file: Option<&Path>, answer: &GoalAnswer) -> Result<(), Failure> {
    let Some(file) = file else { return Ok(()) };
    write(file, &charts::goal(&isolated(&source.colony), answer))
}

/// The one proposition that a picture is to be about.
fn story(answer: &GenotypesAnswer) -> Result<&Story, Failure> {
    let first = answer.stories.first().ok_or_else(nothing)?;
    let about = |story: &Story| (story.proposition.animal, story.proposition.gene);
    match answer.stories.iter().all(|story| about(story) == about(first)) {
        true => Ok(first),
        false => Err(Failure::Usage(
            "this picture shows one animal at one gene; name them with --animal and --gene".into(),
        )),
    }
}

fn nothing() -> Failure {
    Failure::Usage("nothing is in doubt there, so there is no picture of it".into())
}

fn family(colony: &Colony, asked: &Asked, answer: &GenotypesAnswer) -> Result<Chart, Failure> {
    let genes: Vec<GeneId> = colony.gene_ids().filter(|gene| asked.wants_gene(*gene)).collect();
    let [gene] = genes.as_slice() else {
        return Err(Failure::Usage("the family is drawn for one gene; name it with --gene".into()));
    };
    let members = colony.animals.iter().filter(|animal| animal.id.is_some()).count();
    let only = charts::near(colony, &asked.animals);
    let only = (!asked.animals.is_empty()).then_some(only.as_slice());
    if only.map_or(members, <[_]>::len) > FAMILY_AT_MOST {
        return Err(Failure::Usage(format!(
            "a family of more than {FAMILY_AT_MOST} animals cannot be read; name some with --animal \
             to see them and theirs"
        )));
    }
    Ok(charts::family(colony, answer, *gene, only))
}

fn write(file: &Path, chart: &Chart) -> Result<(), Failure> {
    let ending = file.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    match ending.to_ascii_lowercase().as_str() {
        "svg" => output::write_file(file, chart.svg(), true),
        "png" => output::write_file(file, chart.png().map_err(|why| no_png(why, file))?, true),
        _ => Err(Failure::Usage(format!(
            "a picture is a file ending in .svg or .png, not `{}`",
            file.display()
        ))),
    }
}

fn no_png(why: NoPng, file: &Path) -> Failure {
    let why = match why {
        NoPng::NoFont => "no font is installed to write its words with",
        NoPng::TooLarge => "it is too large",
    };
    let svg = file.with_extension("svg");
    Failure::File(format!("no PNG can be made: {why}; ask for {} instead", svg.display()))
}
