//! `tidewall parts list`.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_devices::datasheet::{Datasheet, Spread};
use tidewall_parts::{LibraryError, PartRecord, wire, words};
use tidewall_units::{Amps, Farads, Joules, Quantity, Volts, Watts};

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

/// A part in short. SI units; what is not known is null.
#[derive(Debug, Serialize, JsonSchema)]
struct PartLine {
    /// Name.
    name: String,
    /// Family.
    family: &'static str,
    /// How firm its values are as a whole.
    kind: Option<&'static str>,
    /// Stand-off voltage in volts.
    stand_off_v: Option<f64>,
    /// Least breakdown voltage in volts.
    breakdown_min_v: Option<f64>,
    /// Typical breakdown voltage in volts.
    breakdown_typ_v: Option<f64>,
    /// Highest breakdown voltage in volts.
    breakdown_max_v: Option<f64>,
    /// The first pulse rating in words.
    rating: Option<String>,
    /// Capacitance at the lowest bias stated, in farads: highest, else typical, else least.
    capacitance_f: Option<f64>,
    /// How many documents state something of it.
    sources: usize,
}

impl PartLine {
    fn of(record: &PartRecord) -> PartLine {
        let sheet = record.datasheet();
        let mut documents: Vec<&str> = Vec::new();
        for datum in &record.data {
            if !documents.contains(&datum.source.document.as_str()) {
                documents.push(&datum.source.document);
            }
        }
        let lowest = sheet
            .capacitance
            .iter()
            .min_by(|one, two| one.bias_v.total_cmp(&two.bias_v));
        PartLine {
            name: record.name.clone(),
            family: wire::family_word(record.family),
            kind: sheet.firmness.map(wire::firmness_word),
            stand_off_v: sheet.stand_off_v,
            breakdown_min_v: sheet.breakdown_v.min,
            breakdown_typ_v: sheet.breakdown_v.typ,
            breakdown_max_v: sheet.breakdown_v.max,
            rating: rating(&sheet),
            capacitance_f: lowest.and_then(|point| {
                let farads = &point.capacitance_f;
                farads.max.or(farads.typ).or(farads.min)
            }),
            sources: documents.len(),
        }
    }

    fn breakdown(&self) -> String {
        let spread = Spread {
            min: self.breakdown_min_v,
            typ: self.breakdown_typ_v,
            max: self.breakdown_max_v,
        };
        match (spread.min, spread.max, spread.typ) {
            (Some(min), Some(max), _) => format!("{} to {}", short(Volts(min)), short(Volts(max))),
            (_, _, Some(typ)) => format!("typ {}", short(Volts(typ))),
            (Some(min), None, None) => format!("≥ {}", short(Volts(min))),
            (None, Some(max), None) => format!("≤ {}", short(Volts(max))),
            (None, None, None) => String::new(),
        }
    }
}

fn short(quantity: impl Quantity) -> String {
    quantity.rounded(3)
}

fn rating(sheet: &Datasheet) -> Option<String> {
    let rating = sheet.ratings.first()?;
    let value = match (rating.power_w, rating.current_a, rating.energy_j) {
        (Some(watts), ..) => short(Watts(watts)),
        (_, Some(amps), _) => short(Amps(amps)),
        (_, _, Some(joules)) => short(Joules(joules)),
        _ => return None,
    };
    Some(format!("{value} {}", words::wave(rating.wave)))
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
