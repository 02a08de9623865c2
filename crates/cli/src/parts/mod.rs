//! `tidewall parts`.

pub mod args;
mod change;
mod export;
mod import;
mod list;
mod one;
mod sample;

use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_parts::{Filter, Library};

use crate::args::Format;
use crate::failure::Failure;
use crate::library::Place;
use crate::status::Status;
use tidewall_desk::candidates;
use tidewall_desk::names::nearest;

use args::{PartsArgs, PartsCommand};

pub use import::ImportOutput;

/// Output of `parts` as JSON.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum PartsOutput {
    /// `parts list`.
    List(list::PartList),
    /// `parts show`.
    Show(one::ShownPart),
    /// `parts history`.
    History(one::PartHistory),
    /// `parts add` and `parts retire`.
    Change(change::LibraryChange),
    /// `parts export`: what was written.
    Written(export::Written),
    /// `parts sample`.
    Sample(sample::Sample),
}

/// Does what is asked.
pub fn run(args: &PartsArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    if let PartsCommand::Sample(args) = &args.command {
        sample::run(args, format)?;
        return Ok(Status::Pass);
    }
    let place = Place::new(library)?;
    match &args.command {
        PartsCommand::Import(args) => return import::run(args, &place, format),
        PartsCommand::Sample(_) => Ok(()),
        PartsCommand::List(args) => list::run(args, &place, format),
        PartsCommand::Show(args) => one::show(&args.name, &place, format),
        PartsCommand::History(args) => one::history(&args.name, &place, format),
        PartsCommand::Add(args) => change::add(args, &place, format),
        PartsCommand::Retire(args) => change::retire(&args.name, &place, format),
        PartsCommand::Export(args) => export::run(args, &place, format),
    }?;
    Ok(Status::Pass)
}

/// What a family and a text let through.
fn filter(family: Option<&str>, text: Option<&str>) -> Result<Filter, Failure> {
    let family = family.map(candidates::family).transpose()?;
    Ok(Filter {
        family,
        text: text.map(str::to_owned),
    })
}

/// The error about a name that the library does not have.
fn no_part(library: &Library, name: &str) -> Failure {
    let names = library.names(&Filter::default()).unwrap_or_default();
    let hint = nearest(name, names.iter().map(String::as_str));
    Failure::usage(
        format!(
            "there is no part `{name}` in the parts library {}",
            library.path().display()
        ),
        hint.unwrap_or_else(|| "tidewall parts list shows the parts".to_owned()),
    )
}
