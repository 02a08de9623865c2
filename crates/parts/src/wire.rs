//! Records as JSON: the export, and the values kept in the history.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tidewall_devices::datasheet::{Family, Firmness, RatingWave, Spread};
use tidewall_study::parts::{FAMILIES, FIRMNESS};

use crate::keys;
use crate::record::{Condition, Datum, PartRecord, Provenance, Value};

/// Version of the export's form.
pub const SCHEMA: &str = "tidewall/parts/1";

/// The word of a family in parts files.
pub fn family_word(family: Family) -> &'static str {
    word(FAMILIES, family)
}

/// The family of a word.
pub fn family(word: &str) -> Option<Family> {
    meaning(FAMILIES, word)
}

/// The word of a firmness in parts files.
pub fn firmness_word(firmness: Firmness) -> &'static str {
    word(FIRMNESS, firmness)
}

/// The firmness of a word.
pub fn firmness(word: &str) -> Option<Firmness> {
    meaning(FIRMNESS, word)
}

fn word<T: PartialEq>(table: &[(&'static str, T)], value: T) -> &'static str {
    // The tables hold every value; a test says so.
    table
        .iter()
        .find(|(_, known)| *known == value)
        .map_or("", |(word, _)| word)
}

fn meaning<T: Copy>(table: &[(&str, T)], word: &str) -> Option<T> {
    table
        .iter()
        .find(|(known, _)| *known == word)
        .map(|(_, value)| *value)
}

/// A wave as a text that gives back the same wave, times in seconds: `8/20`, `10/1000`, `2e-6/1e-5 s`,
/// `rectangle 1e-7 s`.
pub fn wave_text(wave: RatingWave) -> String {
    match wave {
        RatingWave::Surge8x20 => "8/20".to_owned(),
        RatingWave::Long10x1000 => "10/1000".to_owned(),
        RatingWave::FrontTail { front_s, tail_s } => format!("{front_s:e}/{tail_s:e} s"),
        RatingWave::Rectangle { width_s } => format!("rectangle {width_s:e} s"),
    }
}

/// The wave of a text of [`wave_text`]; `None` if it is none.
pub fn wave(text: &str) -> Option<RatingWave> {
    let seconds = |text: &str| {
        text.parse::<f64>()
            .ok()
            .filter(|time| time.is_finite() && *time > 0.0)
    };
    match text {
        "8/20" => return Some(RatingWave::Surge8x20),
        "10/1000" => return Some(RatingWave::Long10x1000),
        _ => {}
    }
    let times = text.strip_suffix(" s")?;
    if let Some(width) = times.strip_prefix("rectangle ") {
        return Some(RatingWave::Rectangle {
            width_s: seconds(width)?,
        });
    }
    let (front, tail) = times.split_once('/')?;
    Some(RatingWave::FrontTail {
        front_s: seconds(front)?,
        tail_s: seconds(tail)?,
    })
}

/// Parts with all that is stated of them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PartsExport {
    /// Version of this form.
    pub schema: String,
    /// The parts, by name.
    pub parts: Vec<PartExport>,
}

/// A part. SI units, temperatures in °C.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PartExport {
    /// Name.
    pub name: String,
    /// Family, in the word of parts files.
    pub family: String,
    /// Everything that is stated, in the order in which it was.
    pub data: Vec<DatumExport>,
}

/// One stated fact: exactly one of spread (`min`, `typ`, `max`), `number`, `flag` and `curve`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct DatumExport {
    /// Key of the parts file, or the field of one of its tables after a dot.
    pub key: String,
    /// Unit of the numbers; absent for plain numbers, flags and curves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Minimum.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// Typical value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typ: Option<f64>,
    /// Maximum.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
    /// One number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<f64>,
    /// Yes or no.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flag: Option<bool>,
    /// Points in volts and amperes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub curve: Option<Vec<(f64, f64)>>,
    /// Under which conditions.
    #[serde(skip_serializing_if = "ConditionExport::is_empty")]
    pub condition: ConditionExport,
    /// How firm: `guaranteed`, `typical`, `measured`, `invented` or `generic`.
    pub kind: String,
    /// Document it is from.
    pub document: String,
    /// Revision or date of the document.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub revision: String,
    /// Page, table or cell.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub place: String,
}

/// Conditions; what is not stated is absent.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct ConditionExport {
    /// The wave: `8/20`, `10/1000`, front and tail such as `2e-6/1e-5 s`, or `rectangle 1e-7 s`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wave: Option<String>,
    /// Current in amperes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_a: Option<f64>,
    /// Voltage or bias in volts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub voltage_v: Option<f64>,
    /// Temperature in °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub temperature_c: Option<f64>,
    /// Rate of rise in V/s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope_v_per_s: Option<f64>,
    /// Pulse width in seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width_s: Option<f64>,
    /// Number of pulses.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pulses: Option<u32>,
    /// Frequency in hertz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frequency_hz: Option<f64>,
}

impl ConditionExport {
    fn is_empty(&self) -> bool {
        *self == ConditionExport::default()
    }
}

impl From<&Condition> for ConditionExport {
    fn from(condition: &Condition) -> Self {
        ConditionExport {
            wave: condition.wave.map(wave_text),
            current_a: condition.current_a,
            voltage_v: condition.voltage_v,
            temperature_c: condition.temperature_c,
            slope_v_per_s: condition.slope_v_per_s,
            width_s: condition.width_s,
            pulses: condition.pulses,
            frequency_hz: condition.frequency_hz,
        }
    }
}

impl From<&Datum> for DatumExport {
    fn from(datum: &Datum) -> Self {
        let unit = keys::find(datum.key).map_or("", |info| info.unit.symbol());
        let mut export = DatumExport {
            key: datum.key.to_owned(),
            unit: Some(unit.to_owned()).filter(|unit| !unit.is_empty()),
            condition: (&datum.condition).into(),
            kind: firmness_word(datum.firmness).to_owned(),
            document: datum.source.document.clone(),
            revision: datum.source.revision.clone(),
            place: datum.source.place.clone(),
            ..DatumExport::default()
        };
        match &datum.value {
            Value::Spread(spread) => {
                (export.min, export.typ, export.max) = (spread.min, spread.typ, spread.max)
            }
            Value::Number(number) => export.number = Some(*number),
            Value::Flag(flag) => export.flag = Some(*flag),
            Value::Curve(points) => export.curve = Some(points.clone()),
        }
        export
    }
}

impl DatumExport {
    /// Back to the datum.
    ///
    /// # Errors
    /// In words, what no datum can have.
    pub fn datum(&self) -> Result<Datum, String> {
        let info = keys::find(&self.key).ok_or_else(|| format!("there is no key `{}`", self.key))?;
        let spread = Spread {
            min: self.min,
            typ: self.typ,
            max: self.max,
        };
        let spread = (spread != Spread::default()).then_some(Value::Spread(spread));
        let values = [
            spread,
            self.number.map(Value::Number),
            self.flag.map(Value::Flag),
            self.curve.clone().map(Value::Curve),
        ];
        let mut values = values.into_iter().flatten();
        let (Some(value), None) = (values.next(), values.next()) else {
            return Err(format!("`{}` needs exactly one value", self.key));
        };
        let condition = &self.condition;
        let wave = match &condition.wave {
            None => None,
            Some(text) => Some(wave(text).ok_or_else(|| format!("`{text}` is no wave"))?),
        };
        Ok(Datum {
            key: info.key,
            value,
            condition: Condition {
                wave,
                current_a: condition.current_a,
                voltage_v: condition.voltage_v,
                temperature_c: condition.temperature_c,
                slope_v_per_s: condition.slope_v_per_s,
                width_s: condition.width_s,
                pulses: condition.pulses,
                frequency_hz: condition.frequency_hz,
            },
            firmness: firmness(&self.kind).ok_or_else(|| format!("`{}` is no kind of value", self.kind))?,
            source: Provenance {
                document: self.document.clone(),
                revision: self.revision.clone(),
                place: self.place.clone(),
            },
        })
    }
}

impl From<&PartRecord> for PartExport {
    fn from(record: &PartRecord) -> Self {
        PartExport {
            name: record.name.clone(),
            family: family_word(record.family).to_owned(),
            data: record.data.iter().map(DatumExport::from).collect(),
        }
    }
}

impl PartExport {
    /// Back to the record.
    ///
    /// # Errors
    /// In words, what no record can have.
    pub fn record(&self) -> Result<PartRecord, String> {
        Ok(PartRecord {
            name: self.name.clone(),
            family: family(&self.family).ok_or_else(|| format!("`{}` is no family", self.family))?,
            data: self
                .data
                .iter()
                .map(DatumExport::datum)
                .collect::<Result<_, _>>()?,
        })
    }
}
