//! Do the records of many drawn young follow the laws, each feature by itself?

mod calls;
mod colonies;
mod crosses;
mod founders;
mod sexes;

use super::{Truth, fill};
use crate::records::{Call, Colony, Format, GeneId, read};

/// No background and no mistakes, so that every number below is Mendel's.
const PURE: &str = "background = 0\nmisread = 0\negg_loss = 0\n";

/// Draws a design written as a records file.
fn drawn(text: &str, seed: u64) -> (Colony, Truth) {
    let design = match read(text.as_bytes(), Format::Toml) {
        Ok(checked) => checked.colony,
        Err(errors) => panic!("{errors:#?}"),
    };
    fill(&design, seed).unwrap()
}

/// A founder carrying one copy of each allele named, at genes where that is `het`.
fn het(id: &str, sex: &str, alleles: &[&str]) -> String {
    let told: Vec<_> = alleles.iter().map(|allele| format!("\"het {allele}\"")).collect();
    format!("[[animal]]\nid = \"{id}\"\nsex = \"{sex}\"\nsold_as = [{}]\n", told.join(", "))
}

/// A clutch of counted young whose looks are drawn.
fn counted(dam: &str, sire: &str, more: &str, young: usize) -> String {
    format!(
        "[[clutch]]\nid = \"c\"\ndam = \"{dam}\"\n{sire}\n{more}\n\
         [[clutch.count]]\nlooks = []\nnumber = {young}\n"
    )
}

/// How many counted young of the first clutch are written down with exactly these looks.
fn written(colony: &Colony, looks: &[&str]) -> f64 {
    let clutch = &colony.clutches[0];
    let names = |call: &Call| match call {
        Call::Looks(looks) => {
            looks.iter().map(|l| colony.gene(l.gene).look_name(l.class)).collect()
        }
        _ => vec!["?"],
    };
    let matching = clutch.counts.iter().filter(|count| names(&count.seen.call) == looks);
    matching.map(|count| f64::from(count.total())).sum()
}

/// How many counted young of the first clutch satisfy `what` on their true genotype.
fn truly(truth: &Truth, gene: usize, what: impl Fn(crate::records::Genotype) -> bool) -> f64 {
    let young = truth.clutches[0].counted.iter().flatten();
    young.filter(|(genome, _)| what(genome.genotype(GeneId(gene)))).count() as f64
}

/// That `count` of `all` is a share of `share`, within 4.5 standard errors.
#[track_caller]
fn share(count: f64, all: usize, share: f64) {
    let all = all as f64;
    let error = (all * share * (1.0 - share)).sqrt();
    assert!(
        (count - all * share).abs() <= 4.5 * error + 1e-9,
        "{count} of {all} is not a share of {share}"
    );
}
