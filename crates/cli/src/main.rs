//! The command line: reads studies, calls the library, prints what it finds. No numerics of its own.

mod args;
mod check;
mod compare;
mod completions;
mod corner;
mod explain;
mod extract;
mod failure;
mod interrupt;
mod library;
mod manual;
mod new;
mod open;
mod output;
mod parts;
mod plan;
mod progress;
mod rank;
mod report;
mod schema;
mod sheet;
mod status;
mod trace;

use std::process::ExitCode;

use clap::Parser;
use clap::error::ErrorKind;

use args::{Cli, Command, Format};
use failure::Failure;
use status::Status;

fn main() -> ExitCode {
    let status = match Cli::try_parse() {
        Ok(cli) => run(&cli),
        Err(error) => refuse(&error),
    };
    status.into()
}

fn run(cli: &Cli) -> Status {
    let done = match &cli.command {
        Command::Rank(args) => rank::run(args, cli.library.as_deref(), cli.format),
        Command::Compare(args) => compare::run(args, cli.library.as_deref(), cli.format),
        Command::Check(args) => check::run(args, cli.library.as_deref(), cli.format),
        Command::Extract(args) => extract::run(args, cli.library.as_deref(), cli.format),
        Command::Plan(args) => plan::run(args, cli.library.as_deref(), cli.format),
        Command::Report(args) => report::run(args, cli.library.as_deref(), cli.format),
        Command::New(args) => new::run(args, cli.format),
        Command::Open(args) => open::run(args, cli.library.as_deref(), cli.format),
        Command::Parts(args) => parts::run(args, cli.library.as_deref(), cli.format),
        Command::Explain(args) => explain::run(args, cli.format),
        Command::Schema(args) => schema::run(args),
        Command::Completions(args) => completions::run(args),
        Command::Manual(args) => manual::run(args, cli.format),
    };
    done.unwrap_or_else(|failure| {
        failure::report(&failure, cli.format);
        Status::BadInput
    })
}

/// Help and version are no errors; everything else about the arguments is bad input.
fn refuse(error: &clap::Error) -> Status {
    if !error.use_stderr() {
        // A reader that has gone away is no error either.
        let _ = error.print();
        return Status::Pass;
    }
    // The format is not parsed when parsing fails, but a script that asked for JSON should get it.
    let words: Vec<_> = std::env::args_os().skip(1).collect();
    let json = words
        .windows(2)
        .any(|pair| pair[0] == "--format" && pair[1] == "json")
        || words.iter().any(|word| word == "--format=json");
    if json {
        let failure = match error.kind() {
            ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand | ErrorKind::MissingSubcommand => {
                Failure::usage("no command is given", "tidewall --help lists the commands")
            }
            _ => {
                let text = error.to_string();
                let text = text.split("\n\n").next().unwrap_or_default();
                let message = text.strip_prefix("error: ").unwrap_or(text);
                Failure::usage(message.trim(), "--help after the command shows its arguments")
            }
        };
        failure::report(&failure, Format::Json);
    } else {
        let _ = error.print();
    }
    Status::BadInput
}
