//! What the tests share: invented parts and a library in a folder of its own.
#![allow(dead_code)] // Each test file uses its own part of this.

use std::path::PathBuf;

use tidewall_devices::datasheet::{Family, Firmness, RatingWave, Spread};
use tidewall_parts::{Action, Condition, Datum, Key, Library, PartRecord, Provenance, Value};

/// A library in a folder that goes with it.
pub struct Bench {
    pub folder: tempfile::TempDir,
}

impl Bench {
    pub fn new() -> Bench {
        Bench {
            folder: tempfile::tempdir().expect("a temporary folder"),
        }
    }

    pub fn path(&self) -> PathBuf {
        self.folder.path().join("parts.sqlite")
    }

    pub fn library(&self) -> Library {
        Library::open(&self.path()).expect("the library opens")
    }
}

pub fn action(what: &str) -> Action {
    Action {
        what: what.to_owned(),
        document: String::new(),
        at_unix_s: Some(1_000),
    }
}

pub fn document(title: &str) -> Provenance {
    Provenance {
        document: title.to_owned(),
        ..Provenance::default()
    }
}

pub fn datum(key: Key, value: Value, firmness: Firmness, title: &str) -> Datum {
    Datum {
        key,
        value,
        condition: Condition::default(),
        firmness,
        source: document(title),
    }
}

/// A datum of a data sheet that guarantees it.
pub fn firm(key: Key, value: Value) -> Datum {
    datum(key, value, Firmness::Guaranteed, "sheet 1")
}

pub fn spread(min: f64, max: f64) -> Value {
    Value::Spread(Spread {
        min: Some(min),
        max: Some(max),
        typ: None,
    })
}

pub fn typical(typ: f64) -> Value {
    Value::Spread(Spread {
        typ: Some(typ),
        ..Spread::default()
    })
}

pub fn part(name: &str, data: Vec<Datum>) -> PartRecord {
    PartRecord {
        name: name.to_owned(),
        family: Family::Avalanche,
        data,
    }
}

/// An invented part of several data.
pub fn larch() -> PartRecord {
    let mut clamp = firm("clamp", spread(40.0, 53.5));
    clamp.condition.wave = Some(RatingWave::Surge8x20);
    clamp.condition.current_a = Some(100.0);
    let mut breakdown = firm("breakdown", spread(36.7, 40.6));
    breakdown.condition.current_a = Some(1e-3);
    part(
        "larch-33",
        vec![
            firm("bidirectional", Value::Flag(true)),
            firm("stand_off", Value::Number(33.0)),
            breakdown,
            clamp,
        ],
    )
}
