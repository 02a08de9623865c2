//! `tidewall parts show` and `tidewall parts history`.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_desk::parts::HistoryLine;
use tidewall_parts::wire::{self, PartExport};
use tidewall_parts::{PartRecord, words};

use super::{PartsOutput, no_part};
use crate::args::Format;
use crate::failure::Failure;
use crate::library::{self, Place};
use crate::output;
use crate::sheet::page::{Page, Style};
use crate::sheet::table::{Align, Table, plain};

/// A part with everything that is stated of it.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ShownPart {
    /// Version of this form.
    schema: &'static str,
    /// The library's file.
    library: String,
    /// The part.
    part: PartExport,
    /// For each datum of the part, whether it is the one that counts.
    counts: Vec<bool>,
}

/// What happened to a part.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartHistory {
    /// Version of this form.
    schema: &'static str,
    /// The library's file.
    library: String,
    /// Name of the part.
    name: String,
    /// Oldest first.
    history: Vec<HistoryLine>,
}

/// Shows a part.
pub fn show(name: &str, place: &Place, format: Format) -> Result<(), Failure> {
    let library = library::look(place)?;
    let record = library.part(name)?.ok_or_else(|| no_part(&library, name))?;
    let shown = library.path().display().to_string();
    let counts = record.counting();
    if format == Format::Json {
        return output::print_json(&PartsOutput::Show(ShownPart {
            schema: "tidewall/part/1",
            library: shown,
            part: (&record).into(),
            counts,
        }));
    }
    output::print(&page(&record, &counts))
}

fn page(record: &PartRecord, counts: &[bool]) -> String {
    let mut page = Page::for_terminal();
    page.line(&[
        (Style::Strong, &record.name),
        (Style::Plain, &format!(" ({})", wire::family_word(record.family))),
    ]);
    let mut table = Table::default()
        .column("datum", Align::Left)
        .column("value", Align::Left)
        .column("condition", Align::Left)
        .column("kind", Align::Left)
        .column("source", Align::Left);
    for (datum, counts) in record.data.iter().zip(counts) {
        let fact = words::name(datum);
        let fact = if *counts {
            fact.to_owned()
        } else {
            format!("{fact} *")
        };
        table.row(vec![
            plain(fact),
            plain(words::value(datum)),
            plain(words::condition(&datum.condition)),
            plain(wire::firmness_word(datum.firmness).to_owned()),
            plain(words::source(datum)),
        ]);
    }
    table.write(&mut page);
    if counts.contains(&false) {
        page.line(&[(
            Style::Plain,
            "* does not count: another datum takes precedence, or no model has room for it",
        )]);
    }
    page.finish()
}

/// Shows the history of a part.
pub fn history(name: &str, place: &Place, format: Format) -> Result<(), Failure> {
    let library = library::look(place)?;
    let entries = library.history(name)?;
    if entries.is_empty() {
        return Err(no_part(&library, name));
    }
    let history: Vec<HistoryLine> = entries.iter().map(HistoryLine::from).collect();
    if format == Format::Json {
        return output::print_json(&PartsOutput::History(PartHistory {
            schema: "tidewall/part-history/1",
            library: library.path().display().to_string(),
            name: name.to_owned(),
            history,
        }));
    }
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, name)]);
    for line in &history {
        let at = line.at.as_deref().unwrap_or("time not recorded");
        page.entry(&format!("{at}  "), &format!("{} [{}]", line.words, line.action));
    }
    output::print(&page.finish())
}
