//! `tidewall parts list`.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_desk::parts::{PartLine, short};
use tidewall_parts::LibraryError;
use tidewall_units::{Farads, Volts};

use super::args::ListArgs;
use super::{PartsOutput, filter};
use crate::args::Format;
use crate::failure::Failure;
use crate::library::{self, Place};
use crate::output;
use crate::sheet::page::{Page, Style};
use crate::sheet::table::{Align, Table, plain};

/// Parts of the library in short.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartList {
    /// Version of this form.
    schema: &'static str,
    /// The library's file.
    library: String,
    /// The parts, by name.
    parts: Vec<PartLine>,
}

/// Lists the parts.
pub fn run(args: &ListArgs, place: &Place, format: Format) -> Result<(), Failure> {
    let filter = filter(args.family.as_deref(), args.text.as_deref())?;
    let library = library::look(place)?;
    let mut parts = Vec::new();
    library.each(&filter, |record| {
        parts.push(PartLine::of(&record));
        Ok::<(), LibraryError>(())
    })?;
    let shown = library.path().display().to_string();
    if format == Format::Json {
        return output::print_json(&PartsOutput::List(PartList {
            schema: "tidewall/parts-list/1",
            library: shown,
            parts,
        }));
    }
    let mut page = Page::for_terminal();
    if parts.is_empty() {
        page.line(&[(Style::Plain, &format!("No part fits in {shown}."))]);
        return output::print(&page.finish());
    }
    let mut table = Table::default()
        .column("part", Align::Left)
        .column("family", Align::Left)
        .column("stand-off", Align::Left)
        .column("breakdown", Align::Left)
        .column("rating", Align::Left)
        .column("capacitance", Align::Left)
        .column("kind", Align::Left)
        .column("sources", Align::Left);
    for part in &parts {
        table.row(vec![
            plain(part.name.clone()),
            plain(part.family.to_owned()),
            plain(
                part.stand_off_v
                    .map_or(String::new(), |volts| short(Volts(volts))),
            ),
            plain(part.breakdown()),
            plain(part.rating.clone().unwrap_or_default()),
            plain(
                part.capacitance_f
                    .map_or(String::new(), |farads| short(Farads(farads))),
            ),
            plain(part.kind.unwrap_or_default().to_owned()),
            plain(part.sources.to_string()),
        ]);
    }
    table.write(&mut page);
    let parts = match parts.len() {
        1 => "1 part".to_owned(),
        count => format!("{count} parts"),
    };
    page.line(&[(Style::Plain, &format!("{parts} in {shown}"))]);
    output::print(&page.finish())
}
