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
