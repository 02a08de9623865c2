//! `tidewall parts export`.

use std::io;

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_parts::export::{ExportError, write_csv, write_json, write_xlsx};
use tidewall_report::words::harmless;

use super::args::ExportArgs;
use super::{PartsOutput, filter};
use crate::args::Format;
use crate::failure::Failure;
use crate::library::{self, Place, now};
use crate::output::{self, Existing, Target};

/// What was written.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Written {
    /// Version of this form.
    schema: &'static str,
    /// The library's file.
    library: String,
    /// The file written.
    written: String,
    /// How many parts it holds.
    parts: usize,
}

/// Writes the library to a file.
pub fn run(args: &ExportArgs, place: &Place, format: Format) -> Result<(), Failure> {
    let filter = filter(args.family.as_deref(), None)?;
    let ending = args.file.extension().and_then(|ending| ending.to_str());
    let ending = ending.unwrap_or_default().to_lowercase();
    if !["csv", "xlsx", "json"].contains(&ending.as_str()) {
        return Err(Failure::usage(
            format!("the ending of `{}` says no form", args.file.display()),
            "name a file that ends in .csv, .xlsx or .json",
        ));
    }
    let existing = if args.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let target = Target::new(&args.file, existing)?;
    let library = library::look(place)?;
    let parts = library.names(&filter)?.len();
    let mut trouble = None;
    let written = target.write(|out| {
        let done = match ending.as_str() {
            "csv" => write_csv(&library, &filter, out),
            "xlsx" => write_xlsx(&library, &filter, now(), out),
            _ => write_json(&library, &filter, out),
        };
        done.map_err(|error| match error {
            ExportError::Write(error) => error,
            other => {
                let text = other.to_string();
                trouble = Some(other);
                io::Error::other(text)
            }
        })
    });
    match trouble {
        Some(ExportError::Library(error)) => return Err(error.into()),
        Some(other) => return Err(Failure::library(other.to_string(), "")),
        None => written?,
    }
    let file = args.file.display().to_string();
    if format == Format::Json {
        return output::print_json(&PartsOutput::Written(Written {
            schema: "tidewall/parts-export/1",
            library: library.path().display().to_string(),
            written: file,
            parts,
        }));
    }
    let count = match parts {
        1 => "1 part".to_owned(),
        count => format!("{count} parts"),
    };
    output::print(&format!("{}: {count} written\n", harmless(&file)))
}
