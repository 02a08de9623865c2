//! From columns to data: roles, units, conditions.

use super::Confidence;
use super::columns::Column;
use crate::import::mapping::{FILL_IN, Numbered, Role, required};
use crate::import::number::{Measure, Side};
use crate::import::terms::{Custom, Meaning};
use crate::keys::{self, Form, KeyInfo, Unit};

/// A condition as a mapping writes it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Written {
    Constant(String),
    Column { column: usize, unit: Option<String> },
}

/// A datum as a mapping writes it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Guessed {
    pub info: &'static KeyInfo,
    pub column: usize,
    pub unit: Option<String>,
    pub role: Option<Role>,
    pub conditions: Vec<(&'static str, Written)>,
}

/// Makes data of the columns and tells each what is thought of it.
pub(super) fn assemble(columns: &mut [Column]) -> Vec<Guessed> {
    for column in columns.iter_mut() {
        let words = match column.meaning {
            Some(Meaning::Name) => "name of the part",
            Some(Meaning::Family) => "family",
            Some(Meaning::Firmness) => "how firm the values are (given once for the whole file)",
            _ => continue,
        };
        let confidence = column.confidence;
        column.understood(words.to_owned(), confidence, "");
    }
    let mut data: Vec<Guessed> = Vec::new();
    for place in 0..columns.len() {
        let Some(guessed) = of_column(columns, place) else {
            continue;
        };
        let same = data.iter().find(|other| {
            other.info == guessed.info && other.role == guessed.role && other.conditions == guessed.conditions
        });
        if let Some(other) = same {
            let reason = format!(
                "states the same as column \"{}\", which is taken",
                columns[other.column].text
            );
            columns[place].words.clear();
            columns[place].doubt(Confidence::NotUnderstood, reason);
            continue;
        }
        data.push(guessed);
    }
    for column in columns.iter_mut().filter(|column| column.words.is_empty()) {
        if column.meaning.is_some() && column.confidence < Confidence::NotUnderstood {
            column.doubt(Confidence::NotUnderstood, "nothing refers to it");
        }
        column.confidence = Confidence::NotUnderstood;
    }
    data
}

fn of_column(columns: &mut [Column], place: usize) -> Option<Guessed> {
    let (key, custom, field_role) = key_of(&columns[place])?;
    let info = keys::find(key)?;
    let confidence = columns[place].confidence;
    columns[place].understood(info.words.to_owned(), confidence, "");
    let role = role(&mut columns[place], info, custom, field_role);
    let side = match (info.form, role) {
        (Form::Highest, _) | (_, Some(Role::Max)) => Side::Upper,
        (_, Some(Role::Min)) => Side::Lower,
        _ => Side::Neither,
    };
    let unit = if info.form == Form::Flag {
        None
    } else {
        unit(&mut columns[place], Measure::Of(info.unit), side, role)
    };
    if let Some(role) = role_word(role) {
        columns[place].words = format!("{}, {role}", columns[place].words);
    }
    let conditions = conditions(columns, place, key);
    let said: Vec<String> = conditions
        .iter()
        .map(|(word, written)| match written {
            Written::Constant(text) => format!("{word} {text}"),
            Written::Column { column, .. } => format!("{word} of \"{}\"", columns[*column].text),
        })
        .collect();
    if !said.is_empty() {
        columns[place].words = format!("{} ({})", columns[place].words, said.join(", "));
    }
    Some(Guessed {
        info,
        column: place,
        unit,
        role,
        conditions,
    })
}

/// Key of a column that states a datum, with the custom for its role, and a role that an export's field gives.
fn key_of(column: &Column) -> Option<(&'static str, Custom, Option<Role>)> {
    if let Some(point) = &column.point {
        let role = match point.field.as_str() {
            "min" => Some(Role::Min),
            "typ" => Some(Role::Typ),
            "max" => Some(Role::Max),
            _ => None,
        };
        return match (point.list, point.field.as_str()) {
            ("rating", "power") => Some(("rating.power", Custom::None, None)),
            ("rating", "current") => Some(("rating.current", Custom::None, None)),
            ("rating", "energy") => Some(("rating.energy", Custom::None, None)),
            ("leakage", "current") => Some(("leakage", Custom::None, None)),
            ("clamp" | "capacitance" | "firing", _) if role.is_some() => {
                Some((point.list, Custom::Typ, role))
            }
            _ => None,
        };
    }
    match column.meaning {
        Some(Meaning::Datum(key, custom)) => Some((key, custom, None)),
        _ => None,
    }
}

fn role(column: &mut Column, info: &KeyInfo, custom: Custom, given: Option<Role>) -> Option<Role> {
    if info.form != Form::Spread {
        return None;
    }
    if let Some(role) = given.or(column.header.role) {
        return Some(role);
    }
    let (role, word) = match custom {
        Custom::Max => (Role::Max, "a maximum"),
        Custom::Min => (Role::Min, "a minimum"),
        Custom::Typ | Custom::None => (Role::Typ, "a typical value"),
    };
    column.doubt(
        Confidence::Likely,
        format!("neither minimum nor maximum is said: {word} by custom"),
    );
    Some(role)
}

fn role_word(role: Option<Role>) -> Option<&'static str> {
    Some(match role? {
        Role::Min => "minimum",
        Role::Typ => "typical",
        Role::Max => "maximum",
        Role::Range => "minimum to maximum",
    })
}

/// The unit of a column: of its header, of its cells, or by custom.
fn unit(column: &mut Column, measure: Measure, side: Side, role: Option<Role>) -> Option<String> {
    let plain = matches!(measure, Measure::Of(Unit::None) | Measure::Count);
    if column.samples.is_empty() {
        column.doubt(Confidence::Likely, "the first rows hold no value of it");
    }
    let stated = column.header.unit.clone();
    let chosen = match &stated {
        Some(_) => stated,
        None if plain => None,
        None => {
            let (own, _) = column.fits(measure, None, side);
            if own > 0 {
                return checked(column, measure, None, side, role);
            }
            if column.custom_unit.is_empty() {
                column.doubt(
                    Confidence::Doubtful,
                    "neither the header nor the cells state a unit",
                );
                return Some(FILL_IN.to_owned());
            }
            column.doubt(
                Confidence::Doubtful,
                format!("no unit is stated: {} by custom", column.custom_unit),
            );
            Some(column.custom_unit.to_owned())
        }
    };
    checked(column, measure, chosen, side, role)
}

/// The unit, after a look at whether the cells fit it.
fn checked(
    column: &mut Column,
    measure: Measure,
    unit: Option<String>,
    side: Side,
    role: Option<Role>,
) -> Option<String> {
    let all = column.samples.len();
    if all == 0 || role == Some(Role::Range) {
        return unit;
    }
    match column.fits(measure, unit.as_deref(), side) {
        (good, None) => column.reasons.push(format!("{good} of {all} sample cells fit")),
        (good, Some(why)) => column.doubt(
            Confidence::Doubtful,
            format!("{good} of {all} sample cells fit; the first of the others: {why}"),
        ),
    }
    unit
}

fn conditions(columns: &mut [Column], place: usize, key: &str) -> Vec<(&'static str, Written)> {
    if let Some(point) = columns[place].point.clone() {
        return of_point(columns, point.list, point.number);
    }
    let mut found: Vec<(&'static str, Written)> = Vec::new();
    let header = columns[place].header.clone();
    if let Some(text) = header.wave_text.filter(|_| required(key).contains(&"wave")) {
        found.push(("wave", Written::Constant(text)));
    }
    for (kind, text) in &header.conditions {
        if !found.iter().any(|(word, _)| *word == kind.word()) {
            found.push((kind.word(), Written::Constant(text.clone())));
        }
    }
    for reference in &header.refers {
        if let Some((kind, column)) = referred(columns, place, reference) {
            if !found.iter().any(|(word, _)| *word == kind.word()) {
                found.push((kind.word(), refer(columns, column, kind)));
            }
        } else {
            columns[place].doubt(
                Confidence::Doubtful,
                format!("what `@ {reference}` refers to is not known"),
            );
        }
    }
    for word in ["wave", "current", "voltage", "temperature", "slope"] {
        let missing = required(key).contains(&word) && !found.iter().any(|(known, _)| *known == word);
        if missing {
            let written = by_custom(columns, place, key, word);
            found.push((word, written));
        }
    }
    if key == "breakdown" && !found.iter().any(|(word, _)| *word == "current") {
        let test = columns.iter().position(|column| {
            matches!(
                column.header.term.as_str(),
                "it" | "testcurrent" | "ibr" | "breakdownat"
            )
        });
        if let Some(test) = test.filter(|test| fits_current(&columns[*test])) {
            found.push(("current", refer(columns, test, Numbered::Current)));
        }
    }
    if key.starts_with("rating.") {
        let same = |column: &Column| {
            column.meaning == Some(Meaning::Pulses)
                && (column.header.wave.is_none() || column.header.wave == columns[place].header.wave)
        };
        if let Some(count) = columns.iter().position(same) {
            found.push(("pulses", refer(columns, count, Numbered::Pulses)));
        }
    }
    found
}

fn fits_current(column: &Column) -> bool {
    let unit = column.header.unit.as_deref();
    unit.is_none_or(|unit| Numbered::Current.measure().takes(unit))
}

/// Conditions of a numbered point of our own export: the other columns of the same number.
fn of_point(columns: &mut [Column], list: &str, number: u32) -> Vec<(&'static str, Written)> {
    let fields: &[(&str, &'static str, Option<Numbered>)] = match list {
        "clamp" => &[
            ("wave", "wave", None),
            ("current", "current", Some(Numbered::Current)),
        ],
        "rating" => &[
            ("wave", "wave", None),
            ("pulses", "pulses", Some(Numbered::Pulses)),
        ],
        "leakage" => &[
            ("voltage", "voltage", Some(Numbered::Voltage)),
            ("temperature", "temperature", Some(Numbered::Temperature)),
        ],
        "capacitance" => &[("bias", "voltage", Some(Numbered::Voltage))],
        _ => &[("slope", "slope", Some(Numbered::Slope))],
    };
    let mut found = Vec::new();
    for (field, word, kind) in fields {
        let column = columns.iter().position(|column| {
            column
                .point
                .as_ref()
                .is_some_and(|point| point.list == list && point.number == number && point.field == *field)
        });
        let Some(column) = column else {
            found.push((*word, Written::Constant(FILL_IN.to_owned())));
            continue;
        };
        found.push((
            *word,
            match kind {
                Some(kind) => refer(columns, column, *kind),
                None => {
                    columns[column].understood("wave of others".to_owned(), Confidence::Certain, "");
                    Written::Column { column, unit: None }
                }
            },
        ));
    }
    found
}

/// Uses a column as a condition of others.
fn refer(columns: &mut [Column], place: usize, kind: Numbered) -> Written {
    let column = &mut columns[place];
    let plain = kind == Numbered::Pulses;
    if column.words.is_empty() {
        // A column that others refer to is understood by that.
        column.confidence = Confidence::Certain;
        column.reasons = vec![format!("other columns refer to it as their {}", kind.word())];
        column.words = format!("{} of others", kind.word());
    }
    let unit = match (&column.header.unit, kind) {
        _ if plain => None,
        (Some(unit), _) => Some(unit.clone()),
        (None, _) if column.fits(kind.measure(), None, Side::Neither).0 > 0 => None,
        (None, Numbered::Voltage) => Some("V".to_owned()),
        (None, _) => Some(FILL_IN.to_owned()),
    };
    Written::Column { column: place, unit }
}

/// The column a term behind `@` stands for.
fn referred(columns: &[Column], place: usize, term: &str) -> Option<(Numbered, usize)> {
    let wave = columns[place].header.wave;
    let kind = |column: &Column| {
        let unit = column.header.unit.as_deref();
        let of_key = match column.meaning {
            Some(Meaning::Datum(key, _)) => keys::find(key).map(|info| info.unit),
            _ => None,
        };
        let is = |wanted: Unit, measure: Numbered| {
            of_key == Some(wanted) || unit.is_some_and(|unit| measure.measure().takes(unit))
        };
        if is(Unit::Volt, Numbered::Voltage) {
            Some(Numbered::Voltage)
        } else if is(Unit::Ampere, Numbered::Current) || column.meaning == Some(Meaning::TestCurrent) {
            Some(Numbered::Current)
        } else {
            None
        }
    };
    let fits = |column: &&(usize, &Column)| {
        let waves = wave.is_none() || column.1.header.wave.is_none() || column.1.header.wave == wave;
        column.0 != place && waves && kind(column.1).is_some()
    };
    let all: Vec<(usize, &Column)> = columns.iter().enumerate().collect();
    let meant = crate::import::header::Header::of(term);
    // What the term can mean, looked up once: a header may have hundreds of columns, and each may refer to another.
    let means: Vec<Meaning> = crate::import::terms::TERMS
        .iter()
        .filter(|known| {
            known.sure.contains(&meant.term.as_str()) || known.likely.contains(&meant.term.as_str())
        })
        .map(|known| known.meaning)
        .collect();
    let meaning = |column: &Column| column.meaning.is_some_and(|meaning| means.contains(&meaning));
    let found = all
        .iter()
        .filter(fits)
        .find(|(_, column)| column.header.term == term)
        .or_else(|| all.iter().filter(fits).find(|(_, column)| meaning(column)))?;
    Some((kind(found.1)?, found.0))
}

/// A needed condition that the header does not state.
fn by_custom(columns: &mut [Column], place: usize, key: &str, word: &'static str) -> Written {
    let wave = columns[place].header.wave;
    let find = |columns: &[Column], key: &str| {
        columns.iter().position(|column| {
            matches!(column.meaning, Some(Meaning::Datum(own, _)) if own == key)
                && (wave.is_none() || column.header.wave.is_none() || column.header.wave == wave)
        })
    };
    match (key, word) {
        ("clamp", "current") => {
            if let Some(column) = find(columns, "rating.current") {
                columns[place].doubt(Confidence::Likely, "at the rated pulse current by custom");
                return refer(columns, column, Numbered::Current);
            }
        }
        ("clamp", "wave") => {
            let rated =
                find(columns, "rating.current").and_then(|column| columns[column].header.wave_text.clone());
            if let Some(text) = rated {
                columns[place].doubt(
                    Confidence::Likely,
                    "on the wave of the rated pulse current by custom",
                );
                return Written::Constant(text);
            }
        }
        ("leakage", "voltage") => {
            if let Some(column) = find(columns, "stand_off") {
                columns[place].doubt(Confidence::Likely, "at the stand-off voltage by custom");
                return refer(columns, column, Numbered::Voltage);
            }
        }
        ("leakage", "temperature") => {
            columns[place].doubt(Confidence::Likely, "at 25 °C by custom");
            return Written::Constant("25 °C".to_owned());
        }
        ("capacitance", "voltage") => {
            columns[place].doubt(Confidence::Doubtful, "no bias is stated: 0 V by custom");
            return Written::Constant("0 V".to_owned());
        }
        _ => {}
    }
    columns[place].doubt(Confidence::Doubtful, format!("its {word} is not stated"));
    Written::Constant(FILL_IN.to_owned())
}
