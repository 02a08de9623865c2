//! `tidewall completions`.

use clap::CommandFactory;

use crate::args::{Cli, CompletionsArgs};
use crate::failure::Failure;
use crate::output;
use crate::status::Status;

/// Prints the completions of a shell, made from the same definition that the arguments are read by.
pub fn run(args: &CompletionsArgs) -> Result<Status, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "tidewall", &mut script);
    output::print(&String::from_utf8_lossy(&script))?;
    Ok(Status::Pass)
}
