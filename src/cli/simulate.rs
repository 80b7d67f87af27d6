//! `simulate`: could this happen by luck?

use proveout::questions::{Asked, Drawn, simulate};
use proveout::records::{AnimalId, Colony, Sex, to_toml};

use super::args::{Records, Simulate};
use super::input::Source;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(asked: &Simulate) -> Result<(), Failure> {
    let source = Source::read(&Records {
        file: asked.file.clone(),
        assume: asked.assume.clone(),
        json: false,
        format: asked.format,
        out: None,
    })?;
    let drawn = match (&asked.dam, &asked.sire) {
        (Some(dam), Some(sire)) => Drawn::Pairing {
            dam: parent(&source, dam, Sex::Female)?,
            sire: parent(&source, sire, Sex::Male)?,
            clutches: asked.clutches,
            eggs: asked.eggs,
        },
        _ => Drawn::Everything,
    };
    let working = Progress::begin("drawing clutches");
    let memory = asked.memory.unwrap_or(Asked::MEMORY);
    let made = simulate(&source.colony, drawn, asked.seed, memory);
    drop(working);
    let made = made.map_err(|why| source.failure(why))?;
    source.show_notices();
    output::answer(&to_toml(&marked(made, asked.seed)), asked.out.as_deref())
}

fn parent(source: &Source, id: &str, sex: Sex) -> Result<AnimalId, Failure> {
    let animal = source.animal(id)?;
    let recorded = source.colony.animal(animal).sex;
    match (recorded, sex) {
        (Some(Sex::Male), Sex::Female) => {
            Err(Failure::Usage(format!("`{id}` is recorded as male and cannot be a dam")))
        }
        (Some(Sex::Female), Sex::Male) => {
            Err(Failure::Usage(format!("`{id}` is recorded as female and cannot be a sire")))
        }
        _ => Ok(animal),
    }
}

/// The colony with a title that nobody takes for records of what was seen.
fn marked(mut colony: Colony, seed: u64) -> Colony {
    let title = colony.title.as_deref().unwrap_or("Untitled colony");
    colony.title = Some(format!("{title}, drawn by simulate with seed {seed}"));
    colony
}
