//! `report`: all of it on one page.

use sha2::{Digest, Sha256};

use proveout::presentation::report::{About, Parts, report};
use proveout::questions::{Asked, expected, genotypes, identify, what_if};

use super::args::Question;
use super::input::Source;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(question: &Question) -> Result<(), Failure> {
    let source = Source::read(&question.records)?;
    let asked = Asked { explain: true, ..source.asked(question)? };
    let colony = &source.colony;
    let working = Progress::begin("working out the report");
    let ask = || {
        let genotypes = genotypes(colony, &asked)?;
        let identify = identify(colony, &asked)?;
        let expected = expected(colony, &asked)?;
        let pictured = Parts::pictured(colony, &genotypes);
        let what_if = what_if(colony, &pictured, asked.memory)?;
        Ok((genotypes, identify, expected, what_if))
    };
    let answers = ask().map_err(|why| source.failure(why));
    drop(working);
    let (genotypes, identify, expected, what_if) = answers?;
    source.show_notices();
    let about = About {
        file: file_name(&source.file),
        hash: hash(source.text.as_bytes()),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        assumed: question.records.assume.clone(),
    };
    let page = report(&Parts {
        colony,
        about: &about,
        genotypes: &genotypes,
        identify: &identify,
        expected: &expected,
        what_if: &what_if,
        more: Vec::new(),
    });
    output::answer(&page, question.records.out.as_deref())
}

/// The last part of a path: where the file lies on this machine is nobody else's business.
fn file_name(path: &str) -> String {
    let name = std::path::Path::new(path).file_name().and_then(|name| name.to_str());
    name.unwrap_or(path).to_owned()
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}
