//! The library as one file: JSON with everything, CSV and XLSX with a row for each part.
//!
//! The head of a column is a key of the parts file, the number of the point where the key has several, the field where
//! the key is a table, and the unit in brackets: `stand_off (V)`, `breakdown max (V)`, `clamp 2 current (A)`. A cell
//! holds what counts ([`PartRecord::datasheet`]); an empty one says that nothing is known.

use std::io::{self, Write};

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Workbook};
use tidewall_devices::datasheet::{Datasheet, Spread};

use crate::error::LibraryError;
use crate::keys::{KEYS, Unit};
use crate::record::{PartRecord, Value};
use crate::store::{Filter, Library};
use crate::wire::{self, PartExport, SCHEMA};
use crate::words;

/// Rows a sheet can hold beside its head.
const LARGEST_SHEET: usize = 1_048_575;

/// Why an export failed.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The library cannot be read.
    #[error(transparent)]
    Library(#[from] LibraryError),
    /// The file cannot be written.
    #[error("{0}")]
    Write(#[from] io::Error),
    /// There are more parts than a sheet has rows.
    #[error("{0} parts are more than the {LARGEST_SHEET} rows of a sheet; export them as CSV")]
    TooMany(usize),
}

impl From<csv::Error> for ExportError {
    fn from(error: csv::Error) -> Self {
        ExportError::Write(error.into())
    }
}

/// A cell of a row.
#[derive(Clone, Debug, PartialEq)]
enum Cell {
    Empty,
    Number(f64),
    Text(String),
}

/// How many points the longest list of each kind has.
#[derive(Clone, Copy, Debug, Default)]
struct Lengths {
    clamp: usize,
    ratings: usize,
    leakage: usize,
    capacitance: usize,
    firing: usize,
}

impl Lengths {
    fn cover(&mut self, sheet: &Datasheet) {
        self.clamp = self.clamp.max(sheet.clamp.len());
        self.ratings = self.ratings.max(sheet.ratings.len());
        self.leakage = self.leakage.max(sheet.leakage.len());
        self.capacitance = self.capacitance.max(sheet.capacitance.len());
        self.firing = self.firing.max(sheet.firing.len());
    }
}

/// Collects head and cells of one row side by side, so that they cannot fall out of step.
struct Row {
    heads: Vec<String>,
    cells: Vec<Cell>,
}

impl Row {
    fn text(&mut self, head: &str, text: impl Into<String>) {
        self.heads.push(head.to_owned());
        let text = text.into();
        self.cells.push(if text.is_empty() {
            Cell::Empty
        } else {
            Cell::Text(text)
        });
    }

    fn number(&mut self, head: &str, unit: Unit, value: Option<f64>) {
        self.number_in(head, unit.symbol(), value);
    }

    fn number_in(&mut self, head: &str, unit: &str, value: Option<f64>) {
        self.heads.push(match unit {
            "" => head.to_owned(),
            unit => format!("{head} ({unit})"),
        });
        self.cells.push(value.map_or(Cell::Empty, Cell::Number));
    }

    fn spread(&mut self, head: &str, unit: Unit, spread: Option<Spread>) {
        let spread = spread.unwrap_or_default();
        for (name, value) in [("min", spread.min), ("typ", spread.typ), ("max", spread.max)] {
            self.number(&format!("{head} {name}"), unit, value);
        }
    }
}

/// Head and cells of a part.
fn row(sheet: &Datasheet, record: &PartRecord, lengths: Lengths) -> Row {
    let mut row = Row {
        heads: Vec::new(),
        cells: Vec::new(),
    };
    row.text("name", &record.name);
    row.text("family", wire::family_word(record.family));
    row.text("kind", sheet.firmness.map_or("", wire::firmness_word));
    row.text("source", &*sheet.source);
    let counting = record.counting();
    let number = |key: &str| {
        let mut data = record.data.iter().zip(&counting);
        let (datum, _) = data.find(|(datum, counts)| **counts && datum.key == key)?;
        match datum.value {
            Value::Number(number) => Some(number),
            _ => None,
        }
    };
    for info in KEYS {
        match info.key {
            "bidirectional" => {
                let flag = sheet.bidirectional;
                row.text(
                    info.key,
                    flag.map_or("", |yes| if yes { "true" } else { "false" }),
                );
            }
            "breakdown" => row.spread(info.key, info.unit, Some(sheet.breakdown_v)),
            "breakdown.at" => row.number("breakdown at", info.unit, sheet.breakdown_at_a),
            "on_voltage" => row.spread(info.key, info.unit, Some(sheet.on_v)),
            "hold_voltage" => row.spread(info.key, info.unit, Some(sheet.hold_v)),
            "hold_current" => row.spread(info.key, info.unit, Some(sheet.hold_a)),
            "forward.at" => row.number("forward at", info.unit, sheet.forward_at_a),
            "failure_current" => row.number("failure_current current", info.unit, sheet.failure_a),
            "failure_current.width" => row.number("failure_current width", info.unit, sheet.failure_width_s),
            // Ratings stand together, one after the other.
            "rating.power" => ratings(&mut row, sheet, lengths),
            "rating.current" | "rating.energy" => {}
            "clamp" | "leakage" | "capacitance" | "firing" => points(&mut row, sheet, lengths, info.key),
            "table" => {
                let points: Vec<String> = sheet.table.iter().map(|(v, a)| format!("{v} {a}")).collect();
                row.text("table (V, A)", points.join("; "));
            }
            key => row.number(&key.replace('.', " "), info.unit, number(key)),
        }
    }
    row
}

fn ratings(row: &mut Row, sheet: &Datasheet, lengths: Lengths) {
    for place in 0..lengths.ratings {
        let point = sheet.ratings.get(place);
        let head = |field: &str| format!("rating {} {field}", place + 1);
        row.text(
            &head("wave"),
            point.map_or(String::new(), |point| words::wave_key(point.wave)),
        );
        row.number(&head("power"), Unit::Watt, point.and_then(|point| point.power_w));
        row.number(
            &head("current"),
            Unit::Ampere,
            point.and_then(|point| point.current_a),
        );
        row.number(
            &head("energy"),
            Unit::Joule,
            point.and_then(|point| point.energy_j),
        );
        row.number(
            &head("pulses"),
            Unit::None,
            point.map(|point| f64::from(point.pulses)),
        );
    }
}

fn points(row: &mut Row, sheet: &Datasheet, lengths: Lengths, key: &str) {
    let head = |place: usize, field: &str| format!("{key} {}{field}", place + 1);
    match key {
        "clamp" => {
            for place in 0..lengths.clamp {
                let point = sheet.clamp.get(place);
                let wave = point.map_or(String::new(), |point| words::wave_key(point.wave));
                row.text(&head(place, " wave"), wave);
                row.number(
                    &head(place, " current"),
                    Unit::Ampere,
                    point.map(|point| point.current_a),
                );
                row.spread(&head(place, ""), Unit::Volt, point.map(|point| point.voltage_v));
            }
        }
        "leakage" => {
            for place in 0..lengths.leakage {
                let point = sheet.leakage.get(place);
                row.number(
                    &head(place, " voltage"),
                    Unit::Volt,
                    point.map(|point| point.voltage_v),
                );
                let celsius = point.map(|point| point.temperature_c);
                row.number(&head(place, " temperature"), Unit::Celsius, celsius);
                row.number(
                    &head(place, " current"),
                    Unit::Ampere,
                    point.map(|point| point.current_a),
                );
            }
        }
        "capacitance" => {
            for place in 0..lengths.capacitance {
                let point = sheet.capacitance.get(place);
                row.number(&head(place, " bias"), Unit::Volt, point.map(|point| point.bias_v));
                row.spread(
                    &head(place, ""),
                    Unit::Farad,
                    point.map(|point| point.capacitance_f),
                );
            }
        }
        _ => {
            for place in 0..lengths.firing {
                let point = sheet.firing.get(place);
                row.number_in(
                    &head(place, " slope"),
                    "V/s",
                    point.map(|point| point.slope_v_per_s),
                );
                row.spread(&head(place, ""), Unit::Volt, point.map(|point| point.voltage_v));
            }
        }
    }
}

/// Columns of an export: their heads, and which of all possible ones hold anything.
struct Columns {
    lengths: Lengths,
    heads: Vec<String>,
    used: Vec<bool>,
    parts: usize,
}

impl Columns {
    /// Looks through the whole library.
    fn of(library: &Library, filter: &Filter) -> Result<Columns, LibraryError> {
        let mut lengths = Lengths::default();
        let mut parts = 0;
        library.each(filter, |record| {
            lengths.cover(&record.datasheet());
            parts += 1;
            Ok::<(), LibraryError>(())
        })?;
        let mut heads: Vec<String> = Vec::new();
        let mut used: Vec<bool> = Vec::new();
        library.each(filter, |record| {
            let row = row(&record.datasheet(), &record, lengths);
            used.resize(row.cells.len(), false);
            for (used, cell) in used.iter_mut().zip(&row.cells) {
                *used |= *cell != Cell::Empty;
            }
            heads = row.heads;
            Ok::<(), LibraryError>(())
        })?;
        Ok(Columns {
            lengths,
            heads: kept(&used, heads).collect(),
            used,
            parts,
        })
    }

    fn cells(&self, record: &PartRecord) -> impl Iterator<Item = Cell> {
        kept(&self.used, row(&record.datasheet(), record, self.lengths).cells)
    }
}

fn kept<T>(used: &[bool], all: Vec<T>) -> impl Iterator<Item = T> {
    all.into_iter()
        .zip(used)
        .filter_map(|(item, used)| used.then_some(item))
}

/// Writes CSV with a row for each part. SI units; a byte-order mark tells spreadsheets that it is UTF-8.
///
/// # Errors
/// See [`ExportError`].
pub fn write_csv(library: &Library, filter: &Filter, out: &mut dyn Write) -> Result<(), ExportError> {
    let columns = Columns::of(library, filter)?;
    out.write_all("\u{feff}".as_bytes())?;
    let mut writer = csv::Writer::from_writer(out);
    writer.write_record(&columns.heads)?;
    library.each(filter, |record| {
        let cells = columns.cells(&record).map(|cell| match cell {
            Cell::Empty => String::new(),
            Cell::Text(text) => text,
            Cell::Number(number) => plain(number),
        });
        writer.write_record(cells).map_err(ExportError::from)
    })?;
    writer.flush()?;
    Ok(())
}

/// A number with all its digits, in powers of ten where it would be long.
fn plain(number: f64) -> String {
    if number == 0.0 || (1e-4..1e15).contains(&number.abs()) {
        number.to_string()
    } else {
        format!("{number:e}")
    }
}

/// Writes an XLSX file with a row for each part. `at_unix_s`, in seconds since 1970-01-01 UTC, becomes its date.
///
/// # Errors
/// See [`ExportError`].
pub fn write_xlsx(
    library: &Library,
    filter: &Filter,
    at_unix_s: i64,
    out: &mut dyn Write,
) -> Result<(), ExportError> {
    let columns = Columns::of(library, filter)?;
    if columns.parts > LARGEST_SHEET {
        return Err(ExportError::TooMany(columns.parts));
    }
    let failed = |error: rust_xlsxwriter::XlsxError| ExportError::Write(io::Error::other(error.to_string()));
    let mut book = Workbook::new();
    let date = ExcelDateTime::from_timestamp(at_unix_s).map_err(failed)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&date));
    let sheet = book.add_worksheet();
    sheet.set_name("parts").map_err(failed)?;
    sheet.set_freeze_panes(1, 1).map_err(failed)?;
    for (place, head) in (0u16..).zip(&columns.heads) {
        sheet.write_string(0, place, head).map_err(failed)?;
    }
    let mut line = 1u32;
    library.each(filter, |record| {
        for (place, cell) in (0u16..).zip(columns.cells(&record)) {
            match cell {
                Cell::Empty => continue,
                Cell::Number(number) => sheet.write_number(line, place, number),
                Cell::Text(text) => sheet.write_string(line, place, text),
            }
            .map_err(failed)?;
        }
        line += 1;
        Ok::<(), ExportError>(())
    })?;
    let bytes = book.save_to_buffer().map_err(failed)?;
    out.write_all(&bytes)?;
    Ok(())
}

/// Writes everything the library holds, with sources, as JSON of the form [`wire::PartsExport`].
///
/// # Errors
/// See [`ExportError`].
pub fn write_json(library: &Library, filter: &Filter, out: &mut dyn Write) -> Result<(), ExportError> {
    // Piece by piece, so that a library of any size can be written.
    write!(out, "{{\n  \"schema\": \"{SCHEMA}\",\n  \"parts\": [")?;
    let mut first = true;
    library.each(filter, |record| {
        out.write_all(if first { b"\n    " } else { b",\n    " })?;
        first = false;
        serde_json::to_writer(&mut *out, &PartExport::from(&record)).map_err(io::Error::from)?;
        Ok::<(), ExportError>(())
    })?;
    out.write_all(b"\n  ]\n}\n")?;
    Ok(())
}
