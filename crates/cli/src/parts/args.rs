//! The arguments of `parts`.

use std::path::PathBuf;

use clap::{Args, Subcommand};

const PLACE: &str = "\
The library is the file of --library, else of TIDEWALL_LIBRARY, else tidewall/parts.sqlite in XDG_DATA_HOME or
~/.local/share. It is created on first use, with the demonstration parts.";

/// Arguments of `parts`.
#[derive(Debug, Args)]
#[command(after_help = PLACE)]
pub struct PartsArgs {
    /// What to do
    #[command(subcommand)]
    pub command: PartsCommand,
}

/// The commands of `parts`.
#[derive(Debug, Subcommand)]
pub enum PartsCommand {
    /// List the parts
    List(ListArgs),
    /// Show everything that is stated of a part, with its sources
    Show(NameArgs),
    /// Show what happened to a part
    History(NameArgs),
    /// Put the parts of a parts file into the library
    Add(AddArgs),
    /// Take a part out of the library; its history stays
    Retire(NameArgs),
    /// Write the library to a CSV, XLSX or JSON file
    Export(ExportArgs),
    /// Put the parts of a CSV or XLSX table into the library
    Import(ImportArgs),
    /// Write a table of invented parts, to try the import on
    Sample(SampleArgs),
}

const IMPORT: &str = "\
A mapping file says which column is which datum. --guess writes a first one from the table's headers; look at it, fill
in what it leaves open, and import with --mapping. Without --mapping, --guess and --accept-guess the guess is shown and
nothing is imported. docs/parts-import.md describes the mapping file.

Exit status:
  0  every row is in the library, or the guess is written
  2  some rows are bad and were left out; the others are in the library
  3  nothing was imported";

/// Arguments of `parts import`.
#[derive(Debug, Args)]
#[command(after_help = IMPORT)]
pub struct ImportArgs {
    /// CSV or XLSX file
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Mapping file
    #[arg(long, value_name = "MAPPING.toml", conflicts_with_all = ["guess", "accept_guess"])]
    pub mapping: Option<PathBuf>,
    /// Write the first guess of a mapping file, and import nothing
    #[arg(long, value_name = "MAPPING.toml", conflicts_with_all = ["accept_guess", "dry_run", "max_bad"])]
    pub guess: Option<PathBuf>,
    /// Import by the first guess, if it leaves nothing open
    #[arg(long)]
    pub accept_guess: bool,
    /// Show what would change, and change nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Most bad rows with which the good ones are imported [default: half of the rows]
    #[arg(long, value_name = "N")]
    pub max_bad: Option<u64>,
    /// Sheet of a workbook
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// For the guess: how firm the values are (guaranteed, typical, measured, invented)
    #[arg(long, value_name = "KIND", conflicts_with = "mapping")]
    pub kind: Option<String>,
    /// For the guess: the document the values are from [default: name of the file]
    #[arg(long, value_name = "TITLE", conflicts_with = "mapping")]
    pub document: Option<String>,
    /// For the guess: family of all parts
    #[arg(long, value_name = "FAMILY", conflicts_with = "mapping")]
    pub family: Option<String>,
    /// Replace the mapping file that --guess writes if it exists
    #[arg(long, requires = "guess")]
    pub force: bool,
}

/// Arguments of `parts sample`.
#[derive(Debug, Args)]
pub struct SampleArgs {
    /// CSV file to write
    #[arg(value_name = "FILE.csv")]
    pub file: PathBuf,
    /// How many parts
    #[arg(long, value_name = "N", default_value_t = 100, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub rows: u32,
    /// Another seed gives other parts, the same seed the same file
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Semicolons between columns and decimal commas
    #[arg(long)]
    pub decimal_comma: bool,
    /// Also write the mapping file that reads the table
    #[arg(long, value_name = "MAPPING.toml")]
    pub mapping: Option<PathBuf>,
    /// Replace the files if they exist
    #[arg(long)]
    pub force: bool,
}

/// Arguments of `parts list`.
#[derive(Debug, Args)]
pub struct ListArgs {
    /// Only parts with this in their name
    #[arg(value_name = "TEXT")]
    pub text: Option<String>,
    /// Only parts of this family, such as avalanche
    #[arg(long, value_name = "FAMILY")]
    pub family: Option<String>,
}

/// The name of a part.
#[derive(Debug, Args)]
pub struct NameArgs {
    /// Name of the part
    #[arg(value_name = "NAME")]
    pub name: String,
}

/// Arguments of `parts add`.
#[derive(Debug, Args)]
pub struct AddArgs {
    /// Parts file
    #[arg(value_name = "FILE.toml")]
    pub file: PathBuf,
    /// Show what would change, and change nothing
    #[arg(long)]
    pub dry_run: bool,
}

/// Arguments of `parts export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// File to write; its ending says the form: .csv, .xlsx or .json
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Only parts of this family
    #[arg(long, value_name = "FAMILY")]
    pub family: Option<String>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
}
