//! Loci and genotypes: how they pass on, start out, show, and are called.
//!
//! In: a checked [`Colony`](crate::records::Colony). Out: [`Locus`] and [`Unit`] tables of
//! probabilities, and what each record says about a genotype. Knows no network.
//!
//! A [`Unit`] is what is passed on together: one gene, or the genes of one linkage group. Its
//! states are pairs of haplotypes.

mod brood;
mod calls;
mod descent;
mod founders;
mod kinship;
mod locus;
mod meiosis;
mod naming;
mod suspected;
mod unit;

pub use brood::{Brood, fatherless_sex};
pub use calls::{
    CallSheet, GeneCall, Sighting, call_sheets, count_sheet, doubtful_sheets, first_found,
    unseen_genes,
};
pub use founders::{
    FounderEvidence, founder_support, founder_term, founder_term_of, random_mating,
    reading_likelihood, unrelated,
};
pub use kinship::{Kinship, SireChances, recorded_candidates};
pub use locus::Locus;
pub use meiosis::{gametes, transmission};
pub use naming::Naming;
pub use suspected::{
    Compound, Mode, Particulars, as_if, have_compounds, one_locus_units, suspected_units,
};
pub use unit::{Haplotype, SexChromosome, Unit, units};
