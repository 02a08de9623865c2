//! CSV and XLSX import.

use tidewall_parts::import::{
    FileOptions, GuessOptions, ImportError, ImportOptions, Mapping, Refusal, Sink, Table, guess, import_into,
};
use tidewall_parts::{Change, LibraryError, PartRecord, sample};

/// Words of tables.
pub const WORDS: &[&str] = &[
    ",",
    ";",
    "\t",
    "\"",
    "\"\"",
    "\r\n",
    "\r",
    "\n",
    "Part",
    "VRWM (V)",
    "VBR min (V)",
    "Ipp 8/20 (A)",
    "C (pF)",
    "1,5",
    "1.5",
    "1.000,5",
    "±5 %",
    "µ",
    "n/a",
    "-",
    "−40",
    "1e999",
    "\u{feff}",
    "=1+1",
    "avalanche",
];

/// Words of mapping files.
pub const MAPPING_WORDS: &[&str] = &[
    "[file]",
    "[part]",
    "[[column]]",
    "header",
    "column = \"A\"",
    "unit = \"V\"",
    "datum",
    "kind",
    "document",
    "decimal",
    "delimiter",
    "sheet",
    "=",
    "\"",
    "[",
    "]",
    "{",
    "}",
    "\n",
    "#",
];

struct Nothing;

impl Sink for Nothing {
    fn put(&mut self, record: &PartRecord) -> Result<Change, LibraryError> {
        assert!(!record.name.is_empty());
        Ok(Change::Added)
    }
}

fn told(error: &ImportError) {
    assert!(!error.file.is_empty() && !error.message.is_empty(), "{error:?}");
}

fn brought_in(table: &Table, mapping: &Mapping) {
    match import_into(
        table,
        mapping,
        &ImportOptions::default(),
        &mut Nothing,
        &mut |_| {},
    ) {
        Ok(report) => {
            let sum = report.added
                + report.changed
                + report.moved
                + report.unchanged
                + report.repeated
                + report.bad;
            assert!(sum <= report.rows, "{report:?}");
        }
        Err(Refusal::Table(error)) => told(&error),
        Err(error) => panic!("{error}"),
    }
}

/// A table, text or workbook: looked at, its mapping guessed, imported by the guess and by the mapping of the sample.
pub fn import(bytes: &[u8]) {
    let table = match Table::from_bytes("table", bytes.to_vec(), &FileOptions::default()) {
        Ok(table) => table,
        Err(error) => return told(&error),
    };
    let options = GuessOptions {
        kind: Some("invented".to_owned()),
        document: None,
        family: None,
    };
    match guess(&table, &options) {
        Ok(guess) if guess.to_fill_in.is_empty() => {
            let mapping = Mapping::parse("guess", &guess.mapping);
            let mapping = mapping.unwrap_or_else(|error| panic!("{error}\n{}", guess.mapping));
            brought_in(&table, &mapping);
        }
        Ok(_) => {}
        Err(error) => told(&error),
    }
    if let Ok(mapping) = Mapping::parse("sample", &sample::mapping()) {
        brought_in(&table, &mapping);
    }
}

/// A mapping file, and the sample's table imported by it.
pub fn mapping(bytes: &[u8]) {
    let mapping = match Mapping::parse("mapping", &String::from_utf8_lossy(bytes)) {
        Ok(mapping) => mapping,
        Err(error) => return told(&error),
    };
    let mut table = Vec::new();
    sample::write(5, 5, sample::Style::Comma, &mut table).expect("memory takes it");
    match Table::from_bytes("table", table, &mapping.file) {
        Ok(table) => brought_in(&table, &mapping),
        Err(error) => told(&error),
    }
}
