//! A million rows: what is held in memory does not grow with the file.

use std::fs::File;
use std::io::{BufWriter, Write};

use tidewall_parts::import::{ImportOptions, Mapping, Outcome, Sink, Table, import_into};
use tidewall_parts::{Change, LibraryError, PartRecord};

const ROWS: u64 = 1_000_000;

/// Most memory in bytes. Fifty bytes for each name are the rule; the table that holds them doubles as it grows.
const MOST: u64 = 192 << 20;

const MAPPING: &str = r#"
mapping = 1
[constants]
kind = "invented"
document = "list"
family = "avalanche"
[name]
column = "Part"
[[datum]]
key = "stand_off"
column = "VRWM (V)"
unit = "V"
"#;

#[derive(Default)]
struct Counted(u64);

impl Sink for Counted {
    fn put(&mut self, _: &PartRecord) -> Result<Change, LibraryError> {
        self.0 += 1;
        Ok(Change::Added)
    }
}

/// Highest resident memory of this process so far, in bytes; `None` where the system does not say.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes * 1024)
}

#[test]
fn a_million_rows_take_bounded_memory() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.csv");
    let mut file = BufWriter::new(File::create(&path).unwrap());
    writeln!(file, "Part;VRWM (V);Note").unwrap();
    let note = "x".repeat(200);
    for number in 0..ROWS {
        writeln!(file, "alder-{number};{},5;{note}", 5 + number % 90).unwrap();
    }
    file.into_inner().unwrap().sync_all().unwrap();
    let length = path.metadata().unwrap().len();
    assert!(
        length > MOST,
        "the file must be larger than the memory it may take"
    );

    let mapping = Mapping::parse("mapping.toml", MAPPING).unwrap();
    let table = Table::open(&path, &mapping.file).unwrap();
    let mut counted = Counted::default();
    let report = import_into(
        &table,
        &mapping,
        &ImportOptions::default(),
        &mut counted,
        &mut |_| {},
    )
    .unwrap();
    assert_eq!(report.outcome, Outcome::Complete);
    assert_eq!((counted.0, report.added), (ROWS, ROWS));
    if let Some(peak) = peak() {
        assert!(peak < MOST, "{} MiB", peak >> 20);
    }
}
