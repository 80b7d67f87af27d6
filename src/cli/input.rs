//! Reading the records, and the names on the command line.

use std::io::Read;
use std::path::Path;

use proveout::presentation::diagnostics::render_notices;
use proveout::presentation::wording::bytes;
use proveout::questions::{Asked, LoopClosers, Unanswerable, loop_closers};
use proveout::records::{
    AnimalId, Assumptions, Checked, Colony, Format, GeneId, MAX_BYTES, Notice, nearest, normalise,
    not_computed_yet, read,
};

use super::args::{Notation, Question, Records};
use super::{Failure, output};

/// A records file that was read, with its text for messages.
pub struct Source {
    /// Its name, for messages.
    pub file: String,
    /// Its text.
    pub text: String,
    /// What it says.
    pub colony: Colony,
    /// Doubts that do not stop the answer.
    pub notices: Vec<Notice>,
}

impl Source {
    /// Reads and checks the records, with the assumptions of the command line set.
    pub fn read(records: &Records) -> Result<Self, Failure> {
        let (file, bytes) = load(&records.file)?;
        let format = match records.format {
            Some(Notation::Toml) => Format::Toml,
            Some(Notation::Json) => Format::Json,
            None => Format::of(records.file.extension().and_then(|e| e.to_str()), &bytes),
        };
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let wrong = |errors| Failure::Records { file: file.clone(), text: text.clone(), errors };
        let Checked { mut colony, notices } = read(&bytes, format).map_err(&wrong)?;
        for assumption in &records.assume {
            let (key, value) = assumed(assumption)?;
            colony.assumptions.set(&key, value);
        }
        let refused = not_computed_yet(&colony);
        if !refused.is_empty() {
            return Err(wrong(refused));
        }
        Ok(Source { file, text, colony, notices })
    }

    /// Shows the notices on standard error.
    pub fn show_notices(&self) {
        if !self.notices.is_empty() {
            let colour = output::colour_on_stderr();
            output::tell(&render_notices(&self.file, &self.text, &self.notices, colour));
        }
    }

    /// Turns the lack of an answer into a failure that shows the records.
    pub fn failure(&self, unanswerable: Unanswerable) -> Failure {
        match unanswerable {
            Unanswerable::Impossible(errors) => {
                Failure::Records { file: self.file.clone(), text: self.text.clone(), errors }
            }
            Unanswerable::Question(message) => Failure::Usage(message),
            Unanswerable::TooLarge { needed, allowed } => Failure::TooLarge(format!(
                "an exact answer needs {} of tables, and {} is allowed; \
                 give more with --memory, or narrow the question{}",
                bytes(needed),
                bytes(allowed),
                self.who_closes_loops(allowed),
            )),
        }
    }

    /// Whose genotype would have to be known for an exact answer to fit.
    fn who_closes_loops(&self, allowed: u64) -> String {
        const NAMED: usize = 8;
        let LoopClosers { animals, needed } = loop_closers(&self.colony, allowed);
        if animals.is_empty() || needed > allowed {
            return String::new();
        }
        let name = |(animal, gene): &(AnimalId, GeneId)| {
            let id = self.colony.animal(*animal).id.as_deref().unwrap_or_default();
            format!("{id} at {}", self.colony.gene(*gene).name)
        };
        let mut named: Vec<String> = animals.iter().take(NAMED).map(name).collect();
        if animals.len() > NAMED {
            named.push(format!("{} more", animals.len() - NAMED));
        }
        format!(
            ". These close the loops of the pedigree: {}. With their genotypes known, by a reading \
             for each, it would take {}",
            named.join(", "),
            bytes(needed),
        )
    }

    /// The animal of that name.
    pub fn animal(&self, id: &str) -> Result<AnimalId, Failure> {
        let ids = self.colony.animals.iter().filter_map(|animal| animal.id.as_deref());
        let found = self.colony.find_animal(&normalise(id));
        found.ok_or_else(|| unknown("animal", id, nearest(id, ids)))
    }

    /// The gene of that name.
    pub fn gene(&self, name: &str) -> Result<GeneId, Failure> {
        let genes = self.colony.genes.iter().map(|gene| gene.name.as_str());
        let found = self.colony.find_gene(&normalise(name));
        found.ok_or_else(|| unknown("gene", name, nearest(name, genes)))
    }

    /// What the options narrow the question to.
    pub fn asked(&self, question: &Question) -> Result<Asked, Failure> {
        let colony = &self.colony;
        let clutches = || colony.clutches.iter().map(|clutch| clutch.id.as_str());
        let animal = |id: &String| self.animal(id);
        let gene = |name: &String| self.gene(name);
        let clutch = |id: &String| {
            let found = colony.find_clutch(&normalise(id));
            found.ok_or_else(|| unknown("clutch", id, nearest(id, clutches())))
        };
        Ok(Asked {
            animals: question.animal.iter().map(animal).collect::<Result<_, _>>()?,
            genes: question.gene.iter().map(gene).collect::<Result<_, _>>()?,
            clutches: question.clutch.iter().map(clutch).collect::<Result<_, _>>()?,
            explain: !question.records.json,
            memory: question.limits.bytes(),
            estimate: (!question.limits.exact).then(|| question.seed.unwrap_or(1)),
        })
    }
}

/// The name of a file for messages, and its bytes, no more than are read; `-` is standard input.
pub fn load(path: &Path) -> Result<(String, Vec<u8>), Failure> {
    // One byte more than is allowed is enough to be told that it is too much.
    let limit = MAX_BYTES as u64 + 1;
    let mut bytes = Vec::new();
    if path.as_os_str() == "-" {
        let read = std::io::stdin().lock().take(limit).read_to_end(&mut bytes);
        read.map_err(|error| Failure::File(format!("cannot read standard input: {error}")))?;
        return Ok(("standard input".into(), bytes));
    }
    let name = path.display().to_string();
    let failed = |error: std::io::Error| Failure::File(format!("cannot read {name}: {error}"));
    let file = std::fs::File::open(path).map_err(failed)?;
    file.take(limit).read_to_end(&mut bytes).map_err(failed)?;
    output::taken(path);
    Ok((name, bytes))
}

/// The failure to find what a name of the command line means.
pub fn unknown(what: &str, name: &str, near: Option<&str>) -> Failure {
    let hint = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
    Failure::Usage(format!("no {what} is called `{name}`{hint}"))
}

/// What `--assume` sets, and to what.
pub fn assumed(text: &str) -> Result<(String, f64), Failure> {
    let Some((key, value)) = text.split_once('=') else {
        return Err(Failure::Usage(format!("--assume wants KEY=VALUE, not `{text}`")));
    };
    let (key, value) = (key.trim(), value.trim());
    if Assumptions::default().get(key).is_none() {
        let near = nearest(key, Assumptions::KEYS);
        return Err(unknown("assumption", key, near));
    }
    match value.parse::<f64>() {
        Ok(number) if (0.0..=1.0).contains(&number) && !(key == "background" && number >= 1.0) => {
            Ok((key.to_owned(), number))
        }
        _ => Err(Failure::Usage(format!("{key} is a chance from 0 to 1, not `{value}`"))),
    }
}
