//! The mapping file: which column is which datum. Its form is described in `docs/parts-import.md`.

use std::collections::BTreeMap;

use serde::Deserialize;
use tidewall_devices::datasheet::{Family, Firmness};
use toml::Spanned;

use super::error::ImportError;
use super::number::{Decimal, Measure, Side, Writing};
use super::table::FileOptions;
use crate::keys::{self, Form, KeyInfo, Unit};
use crate::wire;

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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    mapping: u32,
    #[serde(default)]
    file: RawFile,
    constants: RawConstants,
    name: RawPlace,
    family: Option<RawPlace>,
    #[serde(default)]
    blanks: Option<Vec<String>>,
    #[serde(default)]
    skip: Vec<String>,
    #[serde(default)]
    words: Words,
    #[serde(default)]
    datum: Vec<Spanned<RawDatum>>,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    sheet: Option<String>,
    header_row: Option<u64>,
    encoding: Option<String>,
    delimiter: Option<char>,
    decimal: Option<Decimal>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawConstants {
    kind: String,
    document: String,
    #[serde(default)]
    revision: String,
    family: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawPlace {
    column: Option<String>,
    letter: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawDatum {
    key: String,
    column: Option<String>,
    letter: Option<String>,
    value: Option<RawFixed>,
    role: Option<Role>,
    unit: Option<String>,
    #[serde(default)]
    families: Vec<String>,
    kind: Option<String>,
    wave: Option<RawGiven>,
    current: Option<RawGiven>,
    voltage: Option<RawGiven>,
    temperature: Option<RawGiven>,
    slope: Option<RawGiven>,
    width: Option<RawGiven>,
    pulses: Option<RawGiven>,
    frequency: Option<RawGiven>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum RawFixed {
    Flag(bool),
    Number(f64),
    Text(String),
}

#[derive(Deserialize)]
#[serde(untagged)]
enum RawGiven {
    Count(u32),
    Text(String),
    Column(RawColumn),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawColumn {
    column: Option<String>,
    letter: Option<String>,
    unit: Option<String>,
}

/// Cells that state nothing, unless the mapping says otherwise.
pub(super) const BLANKS: &[&str] = &["-", "–", "—", "n/a", "n.a.", "tbd"];

impl Mapping {
    /// Reads a mapping from the text of the file `name`.
    ///
    /// # Errors
    /// The first fault, with its line.
    pub fn parse(name: &str, text: &str) -> Result<Mapping, ImportError> {
        let raw: Raw = toml::from_str(text).map_err(|error| {
            let place = error.span().map_or(String::new(), |span| line_at(text, span.start));
            ImportError::new(name, place, error.message().trim())
                .hint("docs/parts-import.md describes the mapping file; `tidewall parts import FILE --guess MAPPING.toml` writes one")
        })?;
        let fault = |message: String| ImportError::new(name, "", message);
        if raw.mapping != VERSION {
            return Err(fault(format!("is a mapping of version {}", raw.mapping)).expected("mapping = 1"));
        }
        let (document, revision) = (raw.constants.document.trim(), raw.constants.revision.trim());
        if document.is_empty() || document == FILL_IN {
            return Err(fault("`document` in [constants] is not filled in".to_owned())
                .expected("title or number of the document that the values are from"));
        }
        let family = match (raw.constants.family, raw.family) {
            (Some(word), None) => FamilyFrom::Constant(family_of(name, "", &word)?),
            (None, Some(place)) => {
                FamilyFrom::Column(place_of(name, "", "family", place.column, place.letter)?)
            }
            (Some(_), Some(_)) => {
                return Err(fault(
                    "the family is given twice, in [constants] and as a column".to_owned(),
                ));
            }
            (None, None) => {
                return Err(fault("the family of the parts is not given".to_owned())
                    .expected("`family` in [constants], or `family = { column = \"…\" }`"));
            }
        };
        let mut data = Vec::new();
        for datum in raw.datum {
            let place = line_at(text, datum.span().start);
            data.push(rule(name, &place, datum.into_inner())?);
        }
        if data.is_empty() {
            return Err(fault("maps no datum".to_owned()).expected("at least one [[datum]] table"));
        }
        Ok(Mapping {
            file: FileOptions {
                sheet: raw.file.sheet,
                encoding: raw.file.encoding,
                delimiter: raw.file.delimiter,
                decimal: raw.file.decimal,
            },
            name: name.to_owned(),
            header_row: raw.file.header_row,
            firmness: firmness_of(name, "[constants]", &raw.constants.kind)?,
            document: document.to_owned(),
            revision: revision.to_owned(),
            part_name: place_of(name, "", "name", raw.name.column, raw.name.letter)?,
            family,
            blanks: match raw.blanks {
                Some(blanks) => blanks.iter().map(|text| text.trim().to_lowercase()).collect(),
                None => BLANKS.iter().map(|text| (*text).to_owned()).collect(),
            },
            skipped: raw.skip,
            words: words_of(name, raw.words)?,
            data,
        })
    }
}

fn line_at(text: &str, byte: usize) -> String {
    let before = text.as_bytes().iter().take(byte);
    format!("line {}", 1 + before.filter(|byte| **byte == b'\n').count())
}

fn words_of(name: &str, raw: Words) -> Result<Words, ImportError> {
    let mut words = Words::new();
    for (key, table) in raw {
        let known = key == "family" || keys::find(&key).is_some_and(|info| info.form == Form::Flag);
        if !known {
            return Err(ImportError::new(
                name,
                format!("[words.{key}]"),
                "words are translated for `family` and `bidirectional` only",
            ));
        }
        for (text, word) in table {
            let place = format!("[words.{key}] \"{text}\"");
            match (&word, key.as_str()) {
                (Word::Text(word), "family") => {
                    family_of(name, &place, word)?;
                }
                (Word::Flag(_), other) if other != "family" => {}
                _ => {
                    let expected = if key == "family" {
                        "a family word"
                    } else {
                        "true or false"
                    };
                    return Err(ImportError::new(name, place, "is no translation").expected(expected));
                }
            }
            words
                .entry(key.clone())
                .or_default()
                .insert(text.trim().to_lowercase(), word);
        }
    }
    Ok(words)
}

fn family_of(name: &str, place: &str, word: &str) -> Result<Family, ImportError> {
    wire::family(word.trim()).ok_or_else(|| {
        let all: Vec<&str> = tidewall_study::parts::FAMILIES
            .iter()
            .map(|(word, _)| *word)
            .collect();
        ImportError::new(name, place, format!("there is no family `{word}`")).expected(all.join(", "))
    })
}

fn firmness_of(name: &str, place: &str, word: &str) -> Result<Firmness, ImportError> {
    wire::firmness(word.trim()).ok_or_else(|| {
        ImportError::new(name, place, format!("`kind` cannot be \"{word}\""))
            .expected("guaranteed, typical, measured or invented: how firm the values are")
    })
}

fn place_of(
    name: &str,
    line: &str,
    what: &str,
    column: Option<String>,
    letter: Option<String>,
) -> Result<Place, ImportError> {
    let fault = |message: String| {
        ImportError::new(name, line, message).expected("`column = \"HEADER TEXT\"` or `letter = \"C\"`")
    };
    match (column, letter) {
        (Some(text), None) if !squeeze(&text).is_empty() => Ok(Place::Header(squeeze(&text))),
        (None, Some(letter)) => super::cell::column_of(letter.trim())
            .map(Place::Letter)
            .ok_or_else(|| fault(format!("`{letter}` is no column letter"))),
        (Some(_), Some(_)) => Err(fault(format!("`{what}` has both column and letter"))),
        _ => Err(fault(format!("`{what}` names no column"))),
    }
}

/// Text with single blanks.
pub(super) fn squeeze(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn rule(name: &str, line: &str, raw: RawDatum) -> Result<Rule, ImportError> {
    let fault = |message: String| ImportError::new(name, line, message);
    let info = keys::find(raw.key.trim())
        .filter(|info| info.form != Form::Curve)
        .ok_or_else(|| {
            let all: Vec<&str> = keys::KEYS
                .iter()
                .filter(|info| info.form != Form::Curve)
                .map(|info| info.key)
                .collect();
            fault(format!("there is no datum `{}`", raw.key)).expected(all.join(", "))
        })?;
    let measure = Measure::Of(info.unit);
    let given = match raw.value {
        Some(_) if raw.column.is_some() || raw.letter.is_some() => {
            return Err(fault(format!("`{}` has both a value and a column", info.key)));
        }
        Some(value) => Given::Constant(fixed(info, value).map_err(&fault)?),
        None => {
            if let Some(unit) = &raw.unit {
                check_unit(measure, info.key, unit).map_err(&fault)?;
            }
            Given::Column {
                place: place_of(name, line, info.key, raw.column, raw.letter)?,
                unit: raw.unit.map(|unit| unit.trim().to_owned()),
            }
        }
    };
    match (info.form, raw.role) {
        (Form::Spread, None) => {
            return Err(fault(format!("`{}` needs a role", info.key))
                .expected("role = \"min\", \"typ\", \"max\" or \"range\""));
        }
        (Form::Spread, Some(_)) | (_, None) | (Form::Highest, Some(Role::Max)) => {}
        (_, Some(_)) => return Err(fault(format!("`{}` is one value and takes no role", info.key))),
    }
    let given_conditions = [
        ("wave", raw.wave),
        ("current", raw.current),
        ("voltage", raw.voltage),
        ("temperature", raw.temperature),
        ("slope", raw.slope),
        ("width", raw.width),
        ("pulses", raw.pulses),
        ("frequency", raw.frequency),
    ];
    let mut conditions = Conditions::default();
    for (word, given) in given_conditions {
        let Some(given) = given else {
            if required(info.key).contains(&word) {
                return Err(
                    fault(format!("`{}` says nothing without its {word}", info.key)).expected(format!(
                        "`{word} = …`: a value, or {{ column = \"…\", unit = \"…\" }}"
                    )),
                );
            }
            continue;
        };
        condition(name, line, word, given, &mut conditions)?;
    }
    let families = raw.families.iter().map(|word| family_of(name, line, word));
    Ok(Rule {
        info,
        given,
        role: raw.role,
        families: families.collect::<Result<_, _>>()?,
        firmness: raw.kind.map(|kind| firmness_of(name, line, &kind)).transpose()?,
        conditions,
    })
}

fn condition(
    name: &str,
    line: &str,
    word: &str,
    given: RawGiven,
    out: &mut Conditions,
) -> Result<(), ImportError> {
    let fault = |message: String| ImportError::new(name, line, message);
    let numbered = Numbered::ALL
        .into_iter()
        .find(|condition| condition.word() == word);
    let Some(numbered) = numbered else {
        out.wave = Some(match given {
            RawGiven::Text(text) => Given::Constant(super::wave::parse(&text).ok_or_else(|| {
                fault(format!("`wave` cannot be \"{text}\"")).expected(super::wave::EXPECTED)
            })?),
            RawGiven::Column(column) => Given::Column {
                place: place_of(name, line, word, column.column, column.letter)?,
                unit: None,
            },
            RawGiven::Count(_) => {
                return Err(fault("`wave` is a text".to_owned()).expected(super::wave::EXPECTED));
            }
        });
        return Ok(());
    };
    let measure = numbered.measure();
    let given = match given {
        RawGiven::Count(count) if numbered == Numbered::Pulses && count > 0 => {
            Given::Constant(f64::from(count))
        }
        RawGiven::Count(_) => return Err(fault(format!("`{word}` needs its unit, as text"))),
        RawGiven::Text(text) => Given::Constant(measure.read(text.trim()).map_err(|error| {
            fault(format!("`{word}`: {}", error.message))
                .expected(error.expected)
                .hint(error.hint)
        })?),
        RawGiven::Column(column) => {
            if let Some(unit) = &column.unit {
                check_unit(measure, word, unit).map_err(&fault)?;
            }
            Given::Column {
                place: place_of(name, line, word, column.column, column.letter)?,
                unit: column.unit.map(|unit| unit.trim().to_owned()),
            }
        }
    };
    out.numbers.push((numbered, given));
    Ok(())
}

fn check_unit(measure: Measure, key: &str, unit: &str) -> Result<(), String> {
    if unit.trim() == FILL_IN {
        return Err(format!("the unit of `{key}` is not filled in"));
    }
    if measure.takes(unit.trim()) {
        return Ok(());
    }
    Err(format!("`{unit}` is no unit of `{key}`"))
}

fn fixed(info: &KeyInfo, value: RawFixed) -> Result<Fixed, String> {
    match (info.form, value) {
        (Form::Flag, RawFixed::Flag(flag)) => Ok(Fixed::Flag(flag)),
        (Form::Flag, _) => Err(format!("`{}` is true or false", info.key)),
        (_, RawFixed::Flag(_)) => Err(format!("`{}` is a quantity", info.key)),
        (_, RawFixed::Number(number)) if info.unit == Unit::None => Ok(Fixed::Number(number)),
        (_, RawFixed::Number(_)) => Err(format!("`{}` needs its unit, as text", info.key)),
        (_, RawFixed::Text(text)) => {
            let writing = Writing {
                measure: Measure::Of(info.unit),
                unit: None,
                decimal: Decimal::Point,
                side: Side::Neither,
            };
            writing
                .text(text.trim())
                .map(Fixed::Number)
                .map_err(|error| format!("`{}`: {}; expected {}", info.key, error.message, error.expected))
        }
    }
}
