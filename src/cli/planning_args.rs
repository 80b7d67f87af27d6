//! The options of what to breed next.

use std::path::PathBuf;

use super::args::{Limits, Question, Records};
use super::values::{above_half, chance, young};

/// `pairings`.
#[derive(Debug, clap::Args)]
pub struct PairingsArgs {
    /// The colony, and what to narrow the question to.
    #[command(flatten)]
    pub question: Question,
    /// One question only: whether this animal carries this gene; pairs of its relatives are then
    /// looked at as well.
    #[arg(long, num_args = 2, value_names = ["ANIMAL", "GENE"])]
    pub carrier: Vec<String>,
    /// One question only: how this gene, of unknown inheritance, is inherited.
    #[arg(long, value_name = "GENE", conflicts_with = "carrier")]
    pub mode: Option<String>,
    /// One question only: whether these two genes are one locus, linked, or free.
    #[arg(long, num_args = 2, value_names = ["GENE", "OTHER"], conflicts_with_all = ["carrier", "mode"])]
    pub allelic: Vec<String>,
    /// Hatched young of a clutch, instead of `clutch_size`.
    #[arg(long, value_name = "NUMBER", value_parser = young)]
    pub young: Option<f64>,
    /// The chance from which on a question counts as settled.
    #[arg(long, value_name = "CHANCE", default_value_t = 0.99, value_parser = above_half)]
    pub level: f64,
    /// Draws a picture of the answer as well: a file ending in .svg or .png.
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
}

/// `eggs`.
#[derive(Debug, clap::Args)]
pub struct EggsArgs {
    /// Where the records come from.
    #[command(flatten)]
    pub records: Records,
    /// The animal in question.
    #[arg(long, value_name = "ID")]
    pub animal: String,
    /// The gene, or the allele of a gene with several.
    #[arg(long, value_name = "NAME")]
    pub gene: String,
    /// The mate it would be bred to.
    #[arg(long, value_name = "ID")]
    pub mate: String,
    /// The chance from which on the question counts as settled.
    #[arg(long, value_name = "CHANCE", default_value_t = 0.95, value_parser = above_half)]
    pub level: f64,
    /// How surely that is to be reached.
    #[arg(long, value_name = "CHANCE", default_value_t = 0.9, value_parser = chance)]
    pub assurance: f64,
    /// Draws a picture of the answer as well: a file ending in .svg or .png.
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// Whether it has to be exact, and the room for that.
    #[command(flatten)]
    pub limits: Limits,
}

/// `goal`.
#[derive(Debug, clap::Args)]
pub struct GoalArgs {
    /// Where the records come from.
    #[command(flatten)]
    pub records: Records,
    /// The looks wanted: names of looks or combinations, with + or a comma between them.
    #[arg(
        long,
        value_name = "LOOKS",
        required_unless_present = "genotype",
        conflicts_with = "genotype"
    )]
    pub looks: Option<String>,
    /// The genotypes wanted, with a comma between them.
    #[arg(long, value_name = "GENOTYPES")]
    pub genotype: Option<String>,
    /// How surely a whole plan is to succeed.
    #[arg(long, value_name = "CHANCE", default_value_t = 0.9, value_parser = chance)]
    pub assurance: f64,
    /// Seasons that a plan may take.
    #[arg(long, value_name = "NUMBER", default_value_t = 5,
        value_parser = clap::value_parser!(u32).range(1..=50))]
    pub seasons: u32,
    /// Hatched young of a clutch, instead of `clutch_size`.
    #[arg(long, value_name = "NUMBER", value_parser = young)]
    pub young: Option<f64>,
    /// Draws the plans as time lines as well: a file ending in .svg or .png.
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// Whether it has to be exact, and the room for that.
    #[command(flatten)]
    pub limits: Limits,
}

/// `report`.
#[derive(Debug, clap::Args)]
pub struct ReportArgs {
    /// The colony, and what to narrow the question to.
    #[command(flatten)]
    pub question: Question,
    /// Plans to an animal of these looks as well: names with + or a comma between them.
    #[arg(long, value_name = "LOOKS")]
    pub goal: Option<String>,
}
