//! What an export holds: read back, it says what the library does.

mod common;

use std::collections::HashMap;
use std::io::Cursor;

use calamine::{Data, Reader, Xlsx};
use common::{Bench, action, datum, larch, part};
use tidewall_devices::datasheet::{Family, Firmness, RatingWave};
use tidewall_parts::export::{write_csv, write_json, write_xlsx};
use tidewall_parts::wire::{PartsExport, SCHEMA};
use tidewall_parts::{Filter, Library, LibraryError, PartRecord, Value};

fn library(bench: &Bench) -> Library {
    let mut library = bench.library();
    let mut edit = library.begin(&action("test")).unwrap();
    edit.put(&larch()).unwrap();
    // A second opinion, which does not count but is in the library.
    let measured = datum(
        "stand_off",
        Value::Number(35.0),
        Firmness::Measured,
        "bench; \"A\", 2",
    );
    edit.put(&part("larch-33", vec![measured])).unwrap();
    edit.put(&odd()).unwrap();
    edit.commit().unwrap();
    library
}

/// A part with what the demonstration parts lack.
fn odd() -> PartRecord {
    let bench = |key, value| datum(key, value, Firmness::Measured, "bench");
    let mut rating = bench("rating.current", Value::Number(50.0));
    rating.condition.wave = Some(RatingWave::FrontTail {
        front_s: 1.2 / 1e6,
        tail_s: 50.0 / 1e6,
    });
    let mut narrow = bench("rating.current", Value::Number(20.0));
    narrow.condition.wave = Some(RatingWave::Rectangle { width_s: 1e-7 });
    narrow.condition.pulses = Some(10);
    let failure = {
        let mut datum = bench("failure_current", Value::Number(21.5));
        datum.condition.width_s = Some(1e-7);
        datum
    };
    let table = bench("table", Value::Curve(vec![(30.0, 1e-3), (36.0, 1.0)]));
    PartRecord {
        family: Family::Table,
        ..part("=odd, \"name\"", vec![rating, narrow, failure, table])
    }
}

/// Cells of each part by the heads of their columns.
type Rows = HashMap<String, HashMap<String, String>>;

fn rows(heads: &[String], lines: impl Iterator<Item = Vec<String>>) -> Rows {
    lines
        .map(|cells| {
            let row: HashMap<String, String> = heads.iter().cloned().zip(cells).collect();
            (row["name"].clone(), row)
        })
        .collect()
}

fn csv_rows(library: &Library, filter: &Filter) -> Rows {
    let mut bytes = Vec::new();
    write_csv(library, filter, &mut bytes).unwrap();
    let text = String::from_utf8(bytes).unwrap();
    let text = text.strip_prefix('\u{feff}').expect("a byte-order mark");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heads: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let lines = reader
        .records()
        .map(|record| record.unwrap().iter().map(str::to_owned).collect());
    rows(&heads, lines)
}

fn xlsx_rows(library: &Library) -> Rows {
    let mut bytes = Vec::new();
    write_xlsx(library, &Filter::default(), 1_000, &mut bytes).unwrap();
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let range = book.worksheet_range("parts").unwrap();
    let text = |cell: &Data| match cell {
        Data::Empty => String::new(),
        Data::Float(number) => format!("#{number}"),
        other => other.to_string(),
    };
    let mut lines = range.rows().map(|row| row.iter().map(text).collect::<Vec<_>>());
    let heads = lines.next().unwrap();
    rows(&heads, lines)
}

#[test]
fn a_csv_row_holds_what_counts_under_heads_with_units() {
    let bench = Bench::new();
    let library = library(&bench);
    let rows = csv_rows(&library, &Filter::default());
    assert_eq!(rows.len(), library.names(&Filter::default()).unwrap().len());
    let row = &rows["larch-33"];
    for (head, cell) in [
        ("family", "avalanche"),
        ("kind", "guaranteed"),
        ("source", "sheet 1"),
        ("bidirectional", "true"),
        ("stand_off (V)", "33"),
        ("breakdown min (V)", "36.7"),
        ("breakdown typ (V)", ""),
        ("breakdown max (V)", "40.6"),
        ("breakdown at (A)", "0.001"),
        ("clamp 1 wave", "8/20"),
        ("clamp 1 current (A)", "100"),
        ("clamp 1 max (V)", "53.5"),
        ("clamp 2 wave", ""),
        ("rating 1 wave", ""),
    ] {
        assert_eq!(row[head], cell, "{head}");
    }
    let row = &rows["=odd, \"name\""];
    for (head, cell) in [
        ("rating 1 wave", "1.2/50"),
        ("rating 1 current (A)", "50"),
        ("rating 1 pulses", "1"),
        ("rating 2 wave", "rectangle 100 ns"),
        ("rating 2 pulses", "10"),
        ("failure_current current (A)", "21.5"),
        ("failure_current width (s)", "1e-7"),
        ("table (V, A)", "30 0.001; 36 1"),
    ] {
        assert_eq!(row[head], cell, "{head}");
    }
    let row = &rows["elm-90"];
    assert_eq!(row["firing 2 slope (V/s)"], "1000000000");
    assert_eq!(row["rating 1 pulses"], "10");
    // A column that no part fills is left out.
    assert!(!row.contains_key("trip_current (A)"));
    let only = Filter {
        family: Some(Family::GasTube),
        text: None,
    };
    assert_eq!(csv_rows(&library, &only).len(), 1);
}

#[test]
fn a_workbook_holds_the_same_with_numbers_as_numbers() {
    let bench = Bench::new();
    let library = library(&bench);
    let csv = csv_rows(&library, &Filter::default());
    let xlsx = xlsx_rows(&library);
    assert_eq!(csv.len(), xlsx.len());
    let mut numbers = 0;
    for (name, row) in &csv {
        for (head, cell) in row {
            let other = &xlsx[name][head];
            match other.strip_prefix('#') {
                Some(number) => {
                    numbers += 1;
                    let (one, two): (f64, f64) = (cell.parse().unwrap(), number.parse().unwrap());
                    assert_eq!(one, two, "{name}: {head}");
                }
                None => assert_eq!(other, cell, "{name}: {head}"),
            }
        }
    }
    assert!(numbers > 100, "{numbers}");
}

#[test]
fn json_holds_everything_with_its_sources() {
    let bench = Bench::new();
    let library = library(&bench);
    let mut bytes = Vec::new();
    write_json(&library, &Filter::default(), &mut bytes).unwrap();
    let export: PartsExport = serde_json::from_slice(&bytes).unwrap();
    assert_eq!(export.schema, SCHEMA);
    let read: Vec<PartRecord> = export.parts.iter().map(|part| part.record().unwrap()).collect();
    let mut held = Vec::new();
    library
        .each(&Filter::default(), |record| {
            held.push(record);
            Ok::<(), LibraryError>(())
        })
        .unwrap();
    assert_eq!(read, held);
    let larch = read.iter().find(|record| record.name == "larch-33").unwrap();
    assert_eq!(larch.data.len(), common::larch().data.len() + 1);
}
