//! The command line.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};

use super::planning_args::{EggsArgs, GoalArgs, PairingsArgs, ReportArgs};
pub use super::serve::Serve;
pub use super::sheet_args::{ExportArgs, ImportArgs};
use super::values::{above_half, chance, memory};

/// Hidden genotypes from clutch evidence.
#[derive(Debug, Parser)]
#[command(
    name = "proveout",
    version,
    before_help = "Examples:\n  \
        proveout new colony.toml          write a commented file to begin with\n  \
        proveout check colony.toml        is every line understood?\n  \
        proveout genotypes colony.toml    what does each animal carry?\n  \
        proveout identify colony.toml     which hatchling is what?\n  \
        proveout mode colony.toml quill   how is the new look inherited?\n  \
        proveout allelic colony.toml fern moss    one locus or two?\n  \
        proveout conflicts colony.toml    which record is wrong?\n  \
        proveout pairings colony.toml     which test pairing next?\n  \
        proveout eggs colony.toml --animal Bram --gene ash --mate Juniper   how many eggs?\n  \
        proveout goal colony.toml --looks \"ash + tallow\"   how do I get there?\n  \
        proveout labels colony.toml       what may I write on the label?\n  \
        proveout report colony.toml --out report.html   all of it, with pictures\n  \
        proveout serve colony.toml        a page to work in, on this machine\n  \
        proveout simulate colony.toml     could this happen by luck?\n  \
        proveout import sheet.csv --into colony.toml   my clutches are in a spreadsheet\n  \
        proveout export colony.toml       and back into one",
    after_help = "Every answer is a chance, computed from what you wrote and the assumptions that \
        `check` prints. It is no certificate and no veterinary or legal advice, and it is not for \
        human genetic counselling.",
    disable_help_subcommand = true
)]
pub struct Args {
    /// What is asked.
    #[command(subcommand)]
    pub command: Command,
}

impl Args {
    /// Whether the answer, and what is wrong, is wanted as JSON.
    pub fn json(&self) -> bool {
        match &self.command {
            Command::New(_) | Command::Serve(_) | Command::Simulate(_) | Command::Export(_) => {
                false
            }
            Command::Import(import) => import.json,
            Command::Check(records) => records.json,
            Command::Genotypes(genotypes) => genotypes.question.records.json,
            Command::Identify(identify) => identify.question.records.json,
            Command::Conflicts(conflicts) => conflicts.question.records.json,
            Command::Mode(mode) => mode.records.json,
            Command::Allelic(allelic) => allelic.records.json,
            Command::Pairings(pairings) => pairings.question.records.json,
            Command::Eggs(eggs) => eggs.records.json,
            Command::Goal(goal) => goal.records.json,
            Command::Labels(labels) => labels.question.records.json,
            Command::Report(report) => report.question.records.json,
        }
    }
}

/// The questions.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// How do I start? Writes a commented example; never overwrites a file.
    #[command(before_help = "Examples:\n  proveout new colony.toml")]
    New(New),
    /// Is my record sound? Shows every error with its line, and the assumptions in force.
    #[command(before_help = "Examples:\n  \
        proveout check colony.toml\n  \
        proveout check - < colony.toml")]
    Check(Records),
    /// What does each animal carry? The chances before and after, and what moved them.
    #[command(before_help = "Examples:\n  \
        proveout genotypes colony.toml\n  \
        proveout genotypes colony.toml --animal Juniper --gene ash\n  \
        proveout genotypes colony.toml --assume misread=0 --json\n  \
        proveout genotypes colony.toml --animal Juniper --gene ash --chart juniper.svg")]
    Genotypes(Genotypes),
    /// Which hatchling is what? Identities with their chances, and what would tell them apart.
    #[command(before_help = "Examples:\n  \
        proveout identify colony.toml\n  \
        proveout identify colony.toml --clutch 2024-A\n  \
        proveout identify colony.toml --clutch 2024-A --chart young.svg")]
    Identify(Identify),
    /// How is the new gene inherited? Every way compared, and the cross that would decide.
    #[command(before_help = "Examples:\n  \
        proveout mode colony.toml quill\n  \
        proveout mode colony.toml quill --prior recessive=0.5,chance=0.05")]
    Mode(ModeArgs),
    /// One locus or two? Alleles of one gene, two genes on one chromosome, or two free ones.
    #[command(before_help = "Examples:\n  \
        proveout allelic colony.toml fern moss\n  \
        proveout allelic colony.toml fern moss --prior same_locus=0.5")]
    Allelic(AllelicArgs),
    /// Which record is wrong? Suspect records, most suspect first, with the cheapest check.
    #[command(before_help = "Examples:\n  \
        proveout conflicts colony.toml\n  \
        proveout conflicts colony.toml --slip 0.02")]
    Conflicts(Conflicts),
    /// Which test pairing next? Every pair that can be bred, by what a clutch would tell.
    #[command(before_help = "Examples:\n  \
        proveout pairings colony.toml\n  \
        proveout pairings colony.toml --carrier Bram ash --young 6")]
    Pairings(PairingsArgs),
    /// How many eggs? To prove, to clear, or to settle whether an animal carries something.
    #[command(before_help = "Examples:\n  \
        proveout eggs colony.toml --animal Bram --gene ash --mate Juniper\n  \
        proveout eggs colony.toml --animal Bram --gene ash --mate Juniper --level 0.99")]
    Eggs(EggsArgs),
    /// How do I get to that animal? Breeding plans, season by season, with what to keep.
    #[command(before_help = "Examples:\n  \
        proveout goal colony.toml --looks \"ash + tallow\"\n  \
        proveout goal colony.toml --genotype \"ash/ash, +/tallow\" --assurance 0.95\n  \
        proveout goal colony.toml --looks ash --seasons 3 --young 6")]
    Goal(GoalArgs),
    /// What may I write on the label? The honest line for each animal, its figure and its ground.
    #[command(before_help = "Examples:\n  \
        proveout labels colony.toml\n  \
        proveout labels colony.toml --animal 2024-A-6 --level 0.999\n  \
        proveout labels colony.toml --csv --out labels.csv")]
    Labels(Labels),
    /// Show me all of it. One page with pictures that needs no network, for screen and paper.
    #[command(before_help = "Examples:\n  \
        proveout report colony.toml --out report.html\n  \
        proveout report colony.toml --gene ash --out ash.html\n  \
        proveout report colony.toml --goal \"ash + tallow\" --out plans.html")]
    Report(ReportArgs),
    /// Let me work in a browser. A page on this machine: see, try, write down, undo.
    ///
    /// It listens on 127.0.0.1 only and needs no network. What is written down goes into the records
    /// file at once, with everything else in it left as it is; the version before is kept beside
    /// it. Ctrl-C ends it.
    #[command(before_help = "Examples:\n  \
        proveout serve colony.toml\n  \
        proveout serve colony.toml --port 8600 --open")]
    Serve(Serve),
    /// Could this happen by luck? The same colony with its clutches drawn anew, as records.
    ///
    /// The hidden genotypes of the animals that came in are drawn from what all records say of
    /// them, and then every clutch: eggs, losses, looks, and how they are called. Compare what you
    /// saw with some dozen seeds. With a dam and a sire, further clutches of that pairing are drawn
    /// instead, and the rest of the file stays as it is.
    #[command(before_help = "Examples:\n  \
        proveout simulate colony.toml --seed 1 --out luck.toml\n  \
        proveout simulate colony.toml --dam Juniper --sire Bram --clutches 20")]
    Simulate(Simulate),
    /// My clutches are in a spreadsheet. Makes records of it; what is not understood is reported.
    #[command(before_help = super::sheet_args::IMPORT_EXAMPLES,
        long_about = super::sheet_args::IMPORT_ABOUT)]
    Import(ImportArgs),
    /// I want my records in a spreadsheet. One row for each animal, hatchling or count.
    #[command(before_help = super::sheet_args::EXPORT_EXAMPLES,
        long_about = super::sheet_args::EXPORT_ABOUT)]
    Export(ExportArgs),
}

/// `new`.
#[derive(Debug, clap::Args)]
pub struct New {
    /// The file to write; it must not exist.
    pub file: PathBuf,
}

/// Where the records come from and where the answer goes.
#[derive(Debug, clap::Args)]
pub struct Records {
    /// The records file; `-` is standard input.
    pub file: PathBuf,
    /// Sets an assumption for this answer, over what the file says.
    #[arg(long, value_name = "KEY=VALUE")]
    pub assume: Vec<String>,
    /// Answers in JSON, with every number in full.
    #[arg(long)]
    pub json: bool,
    /// How the records are written; otherwise told by the name, or by the first character.
    #[arg(long, value_enum)]
    pub format: Option<Notation>,
    /// Writes the answer to a file.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// Whether an answer has to be exact, and the room for that.
#[derive(Debug, clap::Args)]
pub struct Limits {
    /// Accepts nothing but an exact answer.
    #[arg(long)]
    pub exact: bool,
    /// Room for the tables of an exact answer: 500M, 2G. [default: 1G]
    #[arg(long, value_name = "SIZE", value_parser = memory)]
    pub memory: Option<u64>,
}

impl Limits {
    /// Bytes that the tables of an exact answer may take.
    pub fn bytes(&self) -> u64 {
        self.memory.unwrap_or(proveout::questions::Asked::MEMORY)
    }
}

/// A question about one colony.
#[derive(Debug, clap::Args)]
pub struct Question {
    /// Where the records come from.
    #[command(flatten)]
    pub records: Records,
    /// Only this animal; may be given several times.
    #[arg(long, value_name = "ID")]
    pub animal: Vec<String>,
    /// Only this gene; may be given several times.
    #[arg(long, value_name = "NAME")]
    pub gene: Vec<String>,
    /// Only the parents and young of this clutch; may be given several times.
    #[arg(long, value_name = "ID")]
    pub clutch: Vec<String>,
    /// Whether it has to be exact, and the room for that.
    #[command(flatten)]
    pub limits: Limits,
    /// Start of the random numbers, where an answer is estimated.
    #[arg(long, value_name = "NUMBER")]
    pub seed: Option<u64>,
}

/// `genotypes`.
#[derive(Debug, clap::Args)]
pub struct Genotypes {
    /// The colony, and what to narrow the question to.
    #[command(flatten)]
    pub question: Question,
    /// Draws a picture of the answer as well: a file ending in .svg or .png.
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// Which picture. [default: the ladder of one animal at one gene, else the family]
    #[arg(long, value_enum, requires = "chart")]
    pub show: Option<Show>,
}

/// `identify`.
#[derive(Debug, clap::Args)]
pub struct Identify {
    /// The colony, and what to narrow the question to.
    #[command(flatten)]
    pub question: Question,
    /// Draws a picture of the answer as well: a file ending in .svg or .png.
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
}

/// The pictures of `genotypes`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Show {
    /// How each clutch moved the odds of one animal at one gene.
    Ladder,
    /// Today's chance as a block of a hundred.
    Hundred,
    /// The answer over a range of each assumption.
    WhatIf,
    /// Who descends from whom, and who may carry one gene.
    Family,
    /// What hatched in each clutch, and what luck allows.
    Expected,
}

/// `mode`.
#[derive(Debug, clap::Args)]
pub struct ModeArgs {
    /// Where the records come from.
    #[command(flatten)]
    pub records: Records,
    /// The gene, declared with `inheritance = "unknown"`.
    pub gene: String,
    /// Chances before the records: a way or a family of ways and a number; the others share the
    /// rest.
    #[arg(long, value_name = "WAY=CHANCE,…")]
    pub prior: Vec<String>,
    /// Draws a picture of the answer as well: a file ending in .svg or .png.
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// Whether it has to be exact, and the room for that.
    #[command(flatten)]
    pub limits: Limits,
}

/// `allelic`.
#[derive(Debug, clap::Args)]
pub struct AllelicArgs {
    /// Where the records come from.
    #[command(flatten)]
    pub records: Records,
    /// One gene.
    pub one: String,
    /// The other.
    pub other: String,
    /// Chances before the records, of same_locus, linked and free; what is not named shares the
    /// rest.
    #[arg(long, value_name = "NAME=CHANCE,…")]
    pub prior: Vec<String>,
    /// Whether it has to be exact, and the room for that.
    #[command(flatten)]
    pub limits: Limits,
}

/// `conflicts`.
#[derive(Debug, clap::Args)]
pub struct Conflicts {
    /// The colony, and what to narrow the question to.
    #[command(flatten)]
    pub question: Question,
    /// The chance that any one record is a slip, before the records are looked at.
    #[arg(long, value_name = "CHANCE", default_value_t = 0.01, value_parser = chance)]
    pub slip: f64,
}

/// `labels`.
#[derive(Debug, clap::Args)]
pub struct Labels {
    /// The colony, and what to narrow the question to.
    #[command(flatten)]
    pub question: Question,
    /// The chance from which on young or a test prove a thing.
    #[arg(long, value_name = "CHANCE", default_value_t = 0.99, value_parser = above_half)]
    pub level: f64,
    /// Answers as a sheet: comma-separated values under a heading.
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}

/// `simulate`.
#[derive(Debug, clap::Args)]
pub struct Simulate {
    /// The records file; `-` is standard input.
    pub file: PathBuf,
    /// Sets an assumption for this draw, over what the file says.
    #[arg(long, value_name = "KEY=VALUE")]
    pub assume: Vec<String>,
    /// How the records are written; otherwise told by the name, or by the first character.
    #[arg(long, value_enum)]
    pub format: Option<Notation>,
    /// Writes the records drawn to a file.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The dam of the pairing to draw more clutches of.
    #[arg(long, value_name = "ID", requires = "sire")]
    pub dam: Option<String>,
    /// Its sire.
    #[arg(long, value_name = "ID", requires = "dam")]
    pub sire: Option<String>,
    /// How many clutches of the pairing.
    #[arg(long, value_name = "NUMBER", default_value_t = 1, requires = "dam",
        value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub clutches: u32,
    /// Fertile eggs in each; by default what the colony's clutch_size needs, or 6.
    #[arg(long, value_name = "NUMBER", requires = "dam",
        value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub eggs: Option<u32>,
    /// Another number draws other clutches.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
    /// Room for the tables of an exact answer: 500M, 2G. [default: 1G]
    #[arg(long, value_name = "SIZE", value_parser = memory)]
    pub memory: Option<u64>,
}

/// How records are written.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Notation {
    /// TOML.
    Toml,
    /// JSON with the same keys.
    Json,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_well_formed() {
        use clap::CommandFactory;
        Args::command().debug_assert();
    }
}
