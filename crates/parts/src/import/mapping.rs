//! The mapping file: which column is which datum. Its form is described in `docs/parts-import.md`.

mod read;

use std::collections::BTreeMap;

use serde::Deserialize;
use tidewall_devices::datasheet::{Family, Firmness};

use super::number::Measure;
use super::table::FileOptions;
use crate::keys::{KeyInfo, Unit};

/// Version of the mapping's form.
pub(super) const VERSION: u32 = 1;
/// A unit that a guess leaves to the user.
pub(super) const FILL_IN: &str = "FILL IN";

/// A mapping that has been read and is consistent in itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapping {
    /// How the file is written.
    pub file: FileOptions,
    pub(super) name: String,
    pub(super) header_row: Option<u64>,
    pub(super) firmness: Firmness,
    pub(super) document: String,
    pub(super) revision: String,
    pub(super) part_name: Place,
    pub(super) family: FamilyFrom,
    pub(super) blanks: Vec<String>,
    pub(super) skipped: Vec<String>,
    pub(super) words: Words,
    pub(super) data: Vec<Rule>,
}

/// Translations of cell texts, by key and text in lower case.
pub(super) type Words = BTreeMap<String, BTreeMap<String, Word>>;

/// What a translated text means.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(untagged)]
pub(super) enum Word {
    Flag(bool),
    Text(String),
}

/// A column.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Place {
    Header(String),
    Letter(usize),
}

impl Place {
    /// In words.
    pub fn in_words(&self) -> String {
        match self {
            Place::Header(text) => format!("\"{text}\""),
            Place::Letter(column) => super::cell::letters(*column),
        }
    }
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum FamilyFrom {
    Constant(Family),
    Column(Place),
}

/// Which part of a datum a column states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Role {
    Min,
    Typ,
    Max,
    /// Both ends, as in `36.7 V to 40.6 V`.
    Range,
}

/// Something that is the same for all rows, or stands in a column.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Given<T> {
    Constant(T),
    Column { place: Place, unit: Option<String> },
}

/// Conditions of a datum.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Conditions {
    pub wave: Option<Given<tidewall_devices::datasheet::RatingWave>>,
    pub numbers: Vec<(Numbered, Given<f64>)>,
}

/// The numeric conditions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Numbered {
    Current,
    Voltage,
    Temperature,
    Slope,
    Width,
    Pulses,
    Frequency,
}

impl Numbered {
    pub const ALL: [Numbered; 7] = [
        Numbered::Current,
        Numbered::Voltage,
        Numbered::Temperature,
        Numbered::Slope,
        Numbered::Width,
        Numbered::Pulses,
        Numbered::Frequency,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Numbered::Current => "current",
            Numbered::Voltage => "voltage",
            Numbered::Temperature => "temperature",
            Numbered::Slope => "slope",
            Numbered::Width => "width",
            Numbered::Pulses => "pulses",
            Numbered::Frequency => "frequency",
        }
    }

    pub fn measure(self) -> Measure {
        match self {
            Numbered::Current => Measure::Of(Unit::Ampere),
            Numbered::Voltage => Measure::Of(Unit::Volt),
            Numbered::Temperature => Measure::Of(Unit::Celsius),
            Numbered::Slope => Measure::VoltPerSecond,
            Numbered::Width => Measure::Of(Unit::Second),
            Numbered::Pulses => Measure::Count,
            Numbered::Frequency => Measure::Hertz,
        }
    }
}

/// What a column states.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Rule {
    pub info: &'static KeyInfo,
    pub given: Given<Fixed>,
    pub role: Option<Role>,
    pub families: Vec<Family>,
    pub firmness: Option<Firmness>,
    pub conditions: Conditions,
}

/// A constant datum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Fixed {
    Number(f64),
    Flag(bool),
}

/// The conditions without which a datum of this key says nothing.
pub(super) fn required(key: &str) -> &'static [&'static str] {
    match key {
        "clamp" => &["wave", "current"],
        "rating.power" | "rating.current" | "rating.energy" => &["wave"],
        "leakage" => &["voltage", "temperature"],
        "capacitance" => &["voltage"],
        "firing" => &["slope"],
        _ => &[],
    }
}

/// Cells that state nothing, unless the mapping says otherwise.
pub(super) const BLANKS: &[&str] = &["-", "–", "—", "n/a", "n.a.", "tbd"];

/// Text with single blanks.
pub(super) fn squeeze(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
