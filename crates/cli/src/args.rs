//! The arguments.

use std::path::PathBuf;

use tidewall_assess::draws::{Distribution, Plan};

use tidewall_desk::candidates::Sources;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use crate::extract::args::ExtractArgs;
use crate::open::OpenArgs;
use crate::parts::args::PartsArgs;
use crate::report::args::ReportArgs;

const STATUS: &str = "\
Exit status:
  0  every study passes, marginally or clearly; the command has done its work
  1  a study fails
  2  a verdict is unknown, and none is a failure
  3  an argument or a study cannot be used, or the output cannot be written
130  draws or levels were stopped with Ctrl-C";

/// Judge the protection of an electrical port against surges and discharges.
///
/// A study file describes one port, the stresses it must survive, the ladder of elements that protects it, and the
/// circuit behind. Every corner is run as an electro-thermal transient; the answer is a verdict with margins.
#[derive(Debug, Parser)]
#[command(name = "tidewall", version, after_help = STATUS, arg_required_else_help = true)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// File of the parts library, in place of the usual one
    #[arg(long, global = true, value_name = "FILE")]
    pub library: Option<PathBuf>,
    /// Text for people, or JSON for programs
    #[arg(long, global = true, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// The form of the output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    Text,
    /// For programs; `tidewall schema` describes it.
    Json,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Judge studies at every corner
    Check(CheckArgs),
    /// Rank candidates for a stage, or say what a part in it must be
    Rank(RankArgs),
    /// Lay parts side by side in a stage, or find those nearest to a given one
    Compare(CompareArgs),
    /// Measured curves: fit models to points, read captures, and set them against a study
    Extract(ExtractArgs),
    /// Plan the laboratory test of a study, with what each shot will show
    Plan(PlanArgs),
    /// Write the note that a customer gets: PDF and HTML
    Report(ReportArgs),
    /// Begin a study for a kind of port
    New(NewArgs),
    /// Open a folder of studies in the browser: the workbench
    Open(OpenArgs),
    /// Look into the parts library, and change it
    Parts(PartsArgs),
    /// Say what a check means and what to change when it fails
    Explain(ExplainArgs),
    /// Print the JSON Schema of an output
    Schema(SchemaArgs),
    /// Print the completions of a shell
    Completions(CompletionsArgs),
    /// Print a manual page, or write all of them
    Manual(ManualArgs),
}

const CORNERS: &str = "\
Keys of --corner, joined by commas; a corner must fit all keys of one SPEC:
  stress=ID            the stress of that id
  ambient=70           ambient temperature in °C
  part=low             part tolerances: low, high, crossed, unlike-lines, unlike-lines-mirrored
  tolerance=high       generator: low, nominal, high, blind-spot
  polarity=+           + or - (also: positive, negative)
  supply=none          unpowered port, or the working voltage in V";

/// Arguments of `check`.
#[derive(Debug, Args)]
#[command(after_help = CORNERS)]
pub struct CheckArgs {
    /// Study files, or folders of them
    #[arg(required = true, value_name = "STUDY")]
    pub studies: Vec<PathBuf>,
    /// Run only the corners that fit; given more than once, those that fit any
    #[arg(long = "corner", value_name = "SPEC", conflicts_with = "draws")]
    pub corners: Vec<String>,
    /// Write the waveforms of each stress at its worst let-through
    #[arg(long, value_name = "FILE.csv")]
    pub trace: Option<PathBuf>,
    /// Margin below which a pass is marginal, in place of the studies' own
    #[arg(long, value_name = "SHARE")]
    pub margin: Option<String>,
    #[command(flatten)]
    pub draws: DrawArgs,
    /// Also search the highest level of each stress that is survived at every corner
    #[arg(long, conflicts_with = "corners")]
    pub highest_level: bool,
    /// Also show every reason and the origin of every value
    #[arg(long, short, conflicts_with = "quiet")]
    pub verbose: bool,
    /// Show the verdict alone
    #[arg(long, short)]
    pub quiet: bool,
}

/// Which parts are candidates.
#[derive(Debug, Args)]
pub struct CandidateArgs {
    /// Where parts come from: study (its own parts files), library, generic (classes without a maker), or the name of a
    /// parts file; may be given more than once. Study and library unless given
    #[arg(long, value_name = "SOURCE")]
    pub from: Vec<String>,
    /// Only parts of this family; may be given more than once
    #[arg(long = "family", value_name = "FAMILY")]
    pub families: Vec<String>,
    /// Only these parts
    #[arg(long, value_name = "NAME", value_delimiter = ',')]
    pub only: Vec<String>,
}

impl From<&CandidateArgs> for Sources {
    fn from(args: &CandidateArgs) -> Sources {
        Sources {
            from: args.from.clone(),
            families: args.families.clone(),
            only: args.only.clone(),
        }
    }
}

/// Arguments of `rank`.
#[derive(Debug, Args)]
pub struct RankArgs {
    /// Study file
    #[arg(value_name = "STUDY")]
    pub study: PathBuf,
    /// Stage to choose a part for; given twice, both are chosen together. The only shunt stage unless given
    #[arg(long, value_name = "STAGE")]
    pub at: Vec<String>,
    /// Also try these resistances in a plain series stage: R1=1Ω,2.2Ω or R1=E6:1Ω..47Ω
    #[arg(long, value_name = "STAGE=VALUES")]
    pub series: Vec<String>,
    /// What a part in the place must be, before any is chosen
    #[arg(long, conflicts_with_all = ["series", "prefer", "resume", "draws"])]
    pub explain: bool,
    #[command(flatten)]
    pub candidates: CandidateArgs,
    /// Order by weights instead of one after the other: margin=1,let-through=1,area=0.5,cost=2,capacitance=0
    #[arg(long, value_name = "KEY=WEIGHT,…")]
    pub prefer: Option<String>,
    /// How many of the best to show
    #[arg(long, value_name = "N", default_value_t = 10)]
    pub top: usize,
    #[command(flatten)]
    pub draws: DrawArgs,
    /// How many of the rejected to show
    #[arg(long, value_name = "N", default_value_t = 10)]
    pub rejected: usize,
    /// Keep what is judged in a file, and go on from there when run again
    #[arg(long, value_name = "FILE")]
    pub resume: Option<PathBuf>,
    /// Margin below which a pass is marginal, in place of the study's own
    #[arg(long, value_name = "SHARE")]
    pub margin: Option<String>,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// Study file
    #[arg(value_name = "STUDY")]
    pub study: PathBuf,
    /// The parts
    #[arg(value_name = "PART", conflicts_with = "equivalents_of")]
    pub parts: Vec<String>,
    /// Stage they stand in; the only shunt stage unless given
    #[arg(long, value_name = "STAGE")]
    pub at: Option<String>,
    /// Find the candidates nearest to this part in what the port asks
    #[arg(long, value_name = "PART")]
    pub equivalents_of: Option<String>,
    /// How many of the nearest to show
    #[arg(long, value_name = "N", default_value_t = 5)]
    pub top: usize,
    #[command(flatten)]
    pub candidates: CandidateArgs,
    /// Margin below which a pass is marginal, in place of the study's own
    #[arg(long, value_name = "SHARE")]
    pub margin: Option<String>,
}

/// The most draws at once: each keeps the margins of all its checks.
const MOST_DRAWS: u64 = 100_000;

/// Monte Carlo draws.
#[derive(Debug, Args)]
pub struct DrawArgs {
    /// Also draw so many specimens within all tolerances, and say how often each check fails
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=MOST_DRAWS))]
    pub draws: Option<u64>,
    /// Seed of the draws: the same one gives the same draws
    #[arg(long, value_name = "S", default_value_t = 1, requires = "draws")]
    pub seed: u64,
    /// How specimens lie between the limits of a tolerance
    #[arg(long, value_enum, default_value_t = Spread::Uniform, requires = "draws")]
    pub distribution: Spread,
}

impl DrawArgs {
    /// The draws asked for.
    pub fn plan(&self) -> Option<Plan> {
        Some(Plan {
            count: self.draws?,
            seed: self.seed,
            distribution: match self.distribution {
                Spread::Uniform => Distribution::Uniform,
                Spread::Normal => Distribution::Normal,
            },
        })
    }
}

/// Distribution of the draws.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Spread {
    /// Every position between the limits equally likely
    Uniform,
    /// Normal about the middle, cut off at the limits (three standard deviations)
    Normal,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// Study file
    #[arg(value_name = "STUDY")]
    pub study: PathBuf,
    /// Also write the shot groups to a file, one a row
    #[arg(long, short, value_name = "FILE.csv")]
    pub output: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long, requires = "output")]
    pub force: bool,
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// Kind of port; --list shows them
    #[arg(required_unless_present = "list", value_name = "PROFILE")]
    pub profile: Option<String>,
    /// Show the kinds of port
    #[arg(long, conflicts_with_all = ["profile", "output", "force"])]
    pub list: bool,
    /// Write to a file instead of standard output
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long, requires = "output")]
    pub force: bool,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// Name of the check; without one, all are listed
    #[arg(value_name = "CHECK")]
    pub check: Option<String>,
}

/// Arguments of `schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Which output
    #[arg(value_enum, default_value_t = Output::Check)]
    pub output: Output,
}

/// What has a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Output {
    /// `tidewall check --format json`: one result, or a list for several studies
    Check,
    /// `tidewall rank --format json`
    Rank,
    /// `tidewall rank --explain --format json`
    Requirement,
    /// `tidewall compare --format json`
    Compare,
    /// `tidewall compare --equivalents-of … --format json`
    Equivalents,
    /// `tidewall extract read … --format json`
    Capture,
    /// `tidewall extract against … --format json`
    Correlation,
    /// `tidewall extract fit … --format json`
    Fit,
    /// `tidewall plan --format json`
    Plan,
    /// `tidewall report --format json`
    Report,
    /// `tidewall new --format json`
    New,
    /// `tidewall open --format json`: what it prints once it listens
    Open,
    /// `tidewall explain --format json`
    Explain,
    /// `tidewall parts … --format json`
    Parts,
    /// The file of `tidewall parts export FILE.json`
    PartsFile,
    /// `tidewall parts import --format json`: the report, or the guess
    Import,
    /// `tidewall manual --into … --format json`
    Manual,
    /// Errors on standard error with --format json, one a line
    Error,
}

const SHELLS: &str = "\
Where shells look for them:
  bash   ~/.local/share/bash-completion/completions/tidewall
  zsh    a file _tidewall in a folder of $fpath
  fish   ~/.config/fish/completions/tidewall.fish";

/// Arguments of `completions`.
#[derive(Debug, Args)]
#[command(after_help = SHELLS)]
pub struct CompletionsArgs {
    /// Which shell
    #[arg(value_enum, value_name = "SHELL")]
    pub shell: Shell,
}

const PAGES: &str = "\
Read one, or keep all:
  tidewall manual parts import | man -l -
  tidewall manual --into ~/.local/share/man/man1";

/// Arguments of `manual`.
#[derive(Debug, Args)]
#[command(after_help = PAGES)]
pub struct ManualArgs {
    /// The command, such as `parts import`; without one, the page of the program
    #[arg(value_name = "COMMAND", conflicts_with = "into")]
    pub command: Vec<String>,
    /// Write the pages of all commands into a folder, replacing those that are there
    #[arg(long, value_name = "FOLDER")]
    pub into: Option<PathBuf>,
}
