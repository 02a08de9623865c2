//! `tidewall parts sample`.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_parts::sample::{self, Style};
use tidewall_report::words::harmless;

use super::PartsOutput;
use super::args::SampleArgs;
use crate::args::Format;
use crate::failure::Failure;
use crate::output::{self, Existing, Target};

/// What was written.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Sample {
    /// Version of this form.
    schema: &'static str,
    /// The table.
    written: String,
    /// The mapping file, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    mapping: Option<String>,
    /// How many parts it holds, all of them invented.
    parts: u32,
    /// The seed it was made from.
    seed: u64,
}

/// Writes a table of invented parts.
pub fn run(args: &SampleArgs, format: Format) -> Result<(), Failure> {
    let existing = if args.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let target = Target::new(&args.file, existing)?;
    let mapping = args
        .mapping
        .as_deref()
        .map(|path| Target::new(path, existing))
        .transpose()?;
    let style = if args.decimal_comma {
        Style::Comma
    } else {
        Style::Point
    };
    target.write(|mut out| sample::write(args.rows, args.seed, style, &mut out))?;
    if let Some(mapping) = mapping {
        mapping.write(|out| out.write_all(sample::mapping().as_bytes()))?;
    }
    let file = args.file.display().to_string();
    let mapping = args.mapping.as_deref().map(|path| path.display().to_string());
    if format == Format::Json {
        return output::print_json(&PartsOutput::Sample(Sample {
            schema: "tidewall/parts-sample/1",
            written: file,
            mapping,
            parts: args.rows,
            seed: args.seed,
        }));
    }
    let by = mapping.map_or(String::new(), |mapping| format!("; {mapping} reads it"));
    output::print(&harmless(&format!(
        "{file}: {} parts, all of them invented{by}.\n",
        args.rows
    )))
}
