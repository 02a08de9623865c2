//! A part as a list of stated data, each with its condition, its firmness and its source.

use tidewall_devices::datasheet::{Family, Firmness, RatingWave, Spread};

/// Which datum it is: a key of the parts file (`tidewall_study::parts::PART_KEYS`), or a field of one of its tables
/// joined by a dot, such as `rating.power`, `forward.voltage` or `pulse_life.p`.
pub type Key = &'static str;

/// What is stated. SI units; temperatures in °C.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Minimum, typical and maximum, of which at least one is given.
    Spread(Spread),
    /// One number that is neither a minimum nor a maximum by nature, such as a rating.
    Number(f64),
    /// Yes or no.
    Flag(bool),
    /// Measured V-I points in volts and amperes, rising.
    Curve(Vec<(f64, f64)>),
}

/// Under which conditions a datum holds; what is not stated is `None`. SI units; temperatures in °C.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Condition {
    /// The wave.
    pub wave: Option<RatingWave>,
    /// Current in amperes.
    pub current_a: Option<f64>,
    /// Voltage or bias in volts.
    pub voltage_v: Option<f64>,
    /// Temperature in °C.
    pub temperature_c: Option<f64>,
    /// Rate of rise in V/s.
    pub slope_v_per_s: Option<f64>,
    /// Pulse width in seconds.
    pub width_s: Option<f64>,
    /// Number of pulses.
    pub pulses: Option<u32>,
    /// Frequency in hertz.
    pub frequency_hz: Option<f64>,
}

impl Condition {
    /// Its plain numbers, in a fixed order: current, voltage, temperature, slope, width, frequency.
    pub(crate) fn numbers(&self) -> [Option<f64>; 6] {
        [
            self.current_a,
            self.voltage_v,
            self.temperature_c,
            self.slope_v_per_s,
            self.width_s,
            self.frequency_hz,
        ]
    }
}

/// Where a datum is from.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Provenance {
    /// Document: its title or number.
    pub document: String,
    /// Revision or date of the document; may be empty.
    pub revision: String,
    /// Page, table or cell; may be empty.
    pub place: String,
}

/// One stated fact of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Datum {
    /// Which.
    pub key: Key,
    /// What is stated.
    pub value: Value,
    /// Under which conditions.
    pub condition: Condition,
    /// How firm it is.
    pub firmness: Firmness,
    /// Where it is from.
    pub source: Provenance,
}

/// A part with all that is stated of it.
#[derive(Clone, Debug, PartialEq)]
pub struct PartRecord {
    /// Name, unique in the library.
    pub name: String,
    /// Family.
    pub family: Family,
    /// Its data, in the order in which they were stated.
    pub data: Vec<Datum>,
}

impl Datum {
    /// Whether another datum states the same fact: the same key under the same condition in the same document. The
    /// later of two such data takes the place of the earlier one.
    pub fn same_fact(&self, other: &Datum) -> bool {
        self.key == other.key
            && self.condition == other.condition
            && self.source.document == other.source.document
    }
}
