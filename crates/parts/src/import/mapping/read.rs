//! From the text of a mapping file to a [`Mapping`].

use serde::Deserialize;
use tidewall_devices::datasheet::{Family, Firmness};
use toml::Spanned;

use super::{
    BLANKS, Conditions, FILL_IN, FamilyFrom, Fixed, Given, Mapping, Numbered, Place, Role, Rule, VERSION,
    Word, Words, required, squeeze,
};
use crate::import::error::ImportError;
use crate::import::number::{Decimal, Measure, Side, Writing};
use crate::import::table::FileOptions;
use crate::import::{cell, wave};
use crate::keys::{self, Form, KeyInfo, Unit};
use crate::wire;

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
    // A class that follows from formulas is no part of a table.
    let known = wire::firmness(word.trim()).filter(|firmness| *firmness != Firmness::Generic);
    known.ok_or_else(|| {
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
        (None, Some(letter)) => cell::column_of(letter.trim())
            .map(Place::Letter)
            .ok_or_else(|| fault(format!("`{letter}` is no column letter"))),
        (Some(_), Some(_)) => Err(fault(format!("`{what}` has both column and letter"))),
        _ => Err(fault(format!("`{what}` names no column"))),
    }
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
            RawGiven::Text(text) => Given::Constant(
                wave::parse(&text)
                    .ok_or_else(|| fault(format!("`wave` cannot be \"{text}\"")).expected(wave::EXPECTED))?,
            ),
            RawGiven::Column(column) => Given::Column {
                place: place_of(name, line, word, column.column, column.letter)?,
                unit: None,
            },
            RawGiven::Count(_) => {
                return Err(fault("`wave` is a text".to_owned()).expected(wave::EXPECTED));
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
