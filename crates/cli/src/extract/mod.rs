//! `tidewall extract`.

mod against;
pub mod args;
mod fit;
mod keep;
pub mod read;

use std::path::Path;

use crate::args::Format;
use crate::failure::Failure;
use crate::status::Status;
use args::{ExtractArgs, ExtractCommand};

/// Runs what the arguments say.
pub fn run(args: &ExtractArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    match &args.command {
        ExtractCommand::Fit(args) => fit::run(args, library, format),
        ExtractCommand::Read(args) => read::run(args, format),
        ExtractCommand::Against(args) => against::run(args, library, format),
    }
}
