//! `eggs`: how many eggs does it take?

use proveout::presentation::{eggs_text, planning_json};
use proveout::questions::{EggsAsked, eggs};
use proveout::records::{Inheritance, nearest, normalise};

use super::input::{Source, unknown};
use super::planning_args::EggsArgs;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(args: &EggsArgs) -> Result<(), Failure> {
    let source = Source::read(&args.records)?;
    let colony = &source.colony;
    let (gene, allele) = allele(&source, &args.gene)?;
    if colony.gene(gene).inheritance == Inheritance::Unknown {
        return Err(Failure::Usage(format!(
            "how `{}` is inherited is not known: ask `mode` first, which names the cross that \
             decides",
            args.gene
        )));
    }
    let asked = EggsAsked {
        animal: source.animal(&args.animal)?,
        gene,
        allele,
        mate: source.animal(&args.mate)?,
        level: args.level,
        assurance: args.assurance,
        memory: args.limits.bytes(),
    };
    let working = Progress::begin("counting the eggs");
    let answer = eggs(colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    super::chart::eggs(&source, args.chart.as_deref(), &answer)?;
    let text = if args.records.json {
        planning_json::eggs(colony, &answer)
    } else {
        source.show_notices();
        eggs_text(colony, &answer)
    };
    output::answer(&text, args.records.out.as_deref())
}

/// An allele by its name, or by that of a gene which has one only.
fn allele(source: &Source, name: &str) -> Result<(proveout::records::GeneId, usize), Failure> {
    let colony = &source.colony;
    let wanted = normalise(name);
    for gene in colony.gene_ids() {
        let alleles = &colony.gene(gene).alleles;
        if let Some(at) = alleles.iter().position(|allele| *allele == wanted) {
            return Ok((gene, at + 1));
        }
    }
    let gene = source.gene(name)?;
    match colony.gene(gene).alleles.as_slice() {
        [_] => Ok((gene, 1)),
        alleles => {
            let near = nearest(name, alleles.iter().map(String::as_str));
            let list = alleles.join("`, `");
            let message = format!("`{name}` has several alleles; name one: `{list}`");
            Err(if near.is_some() {
                unknown("allele", name, near)
            } else {
                Failure::Usage(message)
            })
        }
    }
}
