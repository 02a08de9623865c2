//! Arguments of `report`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::args::{CandidateArgs, DrawArgs};

const NOTES: &str = "\
Without --as the PDF and the HTML file are written, NAME.pdf and NAME.html. The same files, arguments and version of the
program give the same bytes; a date stands in the note only with --date.

A template is a folder with a template.toml: name, address, logo, logo_alt, footer, signatures, kind, introduction,
closing_title, closing (docs/report.md).";

/// Arguments of `report`.
#[derive(Debug, Args)]
#[command(after_help = NOTES)]
pub struct ReportArgs {
    /// Study file
    #[arg(value_name = "STUDY")]
    pub study: PathBuf,
    /// Name of the files without its ending; the study's name with `-report` in this folder unless given
    #[arg(long, short, value_name = "NAME")]
    pub output: Option<PathBuf>,
    /// Forms to write
    #[arg(long = "as", value_enum, value_name = "FORM", value_delimiter = ',')]
    pub forms: Vec<Form>,
    /// Also write the bare data as a workbook with charts
    #[arg(long, value_name = "FILE.xlsx", conflicts_with = "compare")]
    pub sheet: Option<PathBuf>,
    /// Replace files that exist
    #[arg(long)]
    pub force: bool,
    /// Paper
    #[arg(long, value_enum, default_value_t = PaperSize::A4)]
    pub paper: PaperSize,
    /// Date to print in the note
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// Folder with your own logo, address and texts
    #[arg(long, value_name = "FOLDER")]
    pub template: Option<PathBuf>,
    /// Write one page that compares two parts instead
    #[arg(long, num_args = 2, value_names = ["A", "B"], conflicts_with_all = ["against", "draws"])]
    pub compare: Vec<String>,
    /// Parts to lay beside the chosen one; the best and the nearest misses of other technologies unless given
    #[arg(long, value_name = "PART", value_delimiter = ',')]
    pub against: Vec<String>,
    /// Stage that --against or --compare is meant for
    #[arg(long, value_name = "STAGE")]
    pub at: Option<String>,
    #[command(flatten)]
    pub candidates: CandidateArgs,
    #[command(flatten)]
    pub draws: DrawArgs,
    /// Margin below which a pass is marginal, in place of the study's own
    #[arg(long, value_name = "SHARE")]
    pub margin: Option<String>,
}

/// A form of the note.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// To be sent and signed.
    Pdf,
    /// One file that needs nothing else.
    Html,
}

/// Paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PaperSize {
    /// 210 mm × 297 mm
    A4,
    /// 8.5 in × 11 in
    Letter,
}
