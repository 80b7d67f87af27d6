//! `new`: a file to begin with.

use proveout::records::STARTER;

use super::args::New;
use super::{Failure, output};

pub fn run(new: &New) -> Result<(), Failure> {
    output::write_file(&new.file, STARTER, false)?;
    let name = new.file.display();
    output::answer(
        &format!(
            "Wrote {name}: a small invented colony with a word on every key.\n\
             Next:  proveout check {name}\n       proveout genotypes {name}\n"
        ),
        None,
    )
}
