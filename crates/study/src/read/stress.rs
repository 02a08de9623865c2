//! `[[stress]]` entries.

use tidewall_stress::catalogue::{self, PortUse, RequestError, StressRequest};
use tidewall_units::{Amps, Farads, Hertz, Ohms, Polarity, Quantity, Seconds, Volts, parse, parse_signed};

use crate::error::StudyError;
use crate::files::Files;
use crate::model::{PortKind, StressCase};
use crate::samples;
use crate::source::nearest;
use crate::table::{Item, Section};

/// The keys of a `[[stress]]`, in the order an engineer writes them.
pub(crate) const STRESS_KEYS: &[&str] = &[
    "id",
    "standard",
    "edition",
    "level",
    "level_name",
    "current",
    "coupling",
    "across",
    "discharge",
    "storage",
    "discharge_resistance",
    "model",
    "polarity",
    "pulse",
    "wave",
    "system",
    "suppressed",
    "source_resistance",
    "front",
    "tail",
    "width",
    "rise",
    "frequency",
    "repetition",
    "wires",
    "csv",
    "time_unit",
    "value_unit",
    "pulses",
    "interval",
    "criterion",
];

/// Field of a request against key of a study, where they differ.
const FIELDS: &[(&str, &str)] = &[
    ("level_v", "level"),
    ("current_a", "current"),
    ("storage_f", "storage"),
    ("discharge_ohm", "discharge_resistance"),
    ("system_v", "system"),
    ("suppressed_v", "suppressed"),
    ("source_ohm", "source_resistance"),
    ("front_s", "front"),
    ("tail_s", "tail"),
    ("width_s", "width"),
    ("rise_s", "rise"),
    ("frequency_hz", "frequency"),
    ("repetition_hz", "repetition"),
    ("samples", "csv"),
    ("quantity", "csv"),
    ("count", "pulses"),
    ("interval_s", "interval"),
];

/// Reads one entry and turns it into a disturbance.
pub(super) fn read(
    item: &Item<'_>,
    lines: usize,
    kind: PortKind,
    files: &mut Files<'_>,
    assumptions: &mut Vec<String>,
) -> Result<StressCase, StudyError> {
    let section = item.table(STRESS_KEYS)?;
    let id = section
        .require("id", "a short name of your own, such as \"surge-earth\"")?
        .name()?;
    let mut request = request(&section, lines, kind, files)?;
    let found = catalogue::disturbance(&request).or_else(|error| {
        // Only where the standard leaves the polarity to the study is it asked for.
        if error.field != "polarity" || request.polarity.is_some() {
            return Err(error);
        }
        request.polarity = Some("both".to_owned());
        assumptions.push(format!("stress {id}: both polarities, as most standards ask"));
        catalogue::disturbance(&request)
    });
    let disturbance = found.map_err(|error| locate(&section, &error))?;
    Ok(StressCase {
        id: id.to_owned(),
        line: section.line(),
        criterion: section.optional("criterion", |item| item.name().map(str::to_owned))?,
        request,
        disturbance,
    })
}

/// What the entry asks for.
fn request(
    section: &Section<'_>,
    lines: usize,
    kind: PortKind,
    files: &mut Files<'_>,
) -> Result<StressRequest, StudyError> {
    let text = |key| section.optional(key, |item| item.name().map(str::to_owned));
    let standard = section
        .require("standard", "the standard, or \"impulse\" or \"samples\"")?
        .name()?
        .to_owned();
    let (level_v, sign) = level(section)?;
    let mut polarity = text("polarity")?;
    if let Some(sign) = sign {
        if let Some(item) = section.get("polarity") {
            return Err(item.error(
                "the polarity is stated twice, as a sign of `level` and as `polarity`",
                "one of the two",
                "leave out `polarity`, or the sign",
            ));
        }
        polarity = Some(sign.to_owned());
    }
    let samples = samples(section, files)?;
    let quantity = samples.as_ref().map(|(quantity, _)| (*quantity).to_owned());
    Ok(StressRequest {
        standard,
        edition: text("edition")?,
        level_v,
        level_name: text("level_name")?,
        current_a: section.optional("current", Item::positive::<Amps>)?,
        coupling: text("coupling")?,
        across: text("across")?,
        discharge: text("discharge")?,
        storage_f: section.optional("storage", Item::positive::<Farads>)?,
        discharge_ohm: section.optional("discharge_resistance", Item::positive::<Ohms>)?,
        model: text("model")?,
        polarity,
        pulse: text("pulse")?,
        wave: text("wave")?,
        system_v: section.optional("system", Item::positive::<Volts>)?,
        suppressed_v: section.optional("suppressed", Item::positive::<Volts>)?,
        source_ohm: section.optional("source_resistance", Item::positive::<Ohms>)?,
        front_s: section.optional("front", Item::positive::<Seconds>)?,
        tail_s: section.optional("tail", Item::positive::<Seconds>)?,
        width_s: section.optional("width", Item::positive::<Seconds>)?,
        rise_s: section.optional("rise", Item::positive::<Seconds>)?,
        frequency_hz: section.optional("frequency", Item::positive::<Hertz>)?,
        repetition_hz: section.optional("repetition", Item::positive::<Hertz>)?,
        wires: section.optional("wires", |item| item.count(1..=1000))?,
        lines,
        port: Some(match kind {
            PortKind::Dc => PortUse::DcSupply,
            PortKind::Ac => PortUse::AcSupply,
            PortKind::Signal => PortUse::Signal,
        }),
        samples: samples.map(|(_, samples)| samples),
        quantity,
        count: section.optional("pulses", |item| item.count(1..=1_000_000))?,
        interval_s: section.optional("interval", Item::positive::<Seconds>)?,
    })
}

/// The magnitude of `level`, and its sign if it has one.
fn level(section: &Section<'_>) -> Result<(Option<f64>, Option<&'static str>), StudyError> {
    let Some(item) = section.get("level") else {
        return Ok((None, None));
    };
    let signed = item
        .read("\"8 kV\"", parse_signed::<Volts>)
        .map_err(|mut error| {
            // Standards number their levels; the number alone is not a voltage.
            if item
                .as_text()
                .is_some_and(|text| text.trim().chars().all(|c| c.is_alphanumeric()))
                && error.hint.is_empty()
            {
                error.hint = "for a level by its name in the standard write level_name".to_owned();
            }
            error
        })?;
    if signed.magnitude.0 <= 0.0 {
        return Err(item.error(
            "`level` must be above zero",
            "a voltage above zero, such as \"1 kV\"",
            "",
        ));
    }
    let sign = signed.polarity.map(|polarity| match polarity {
        Polarity::Positive => "positive",
        Polarity::Negative => "negative",
        Polarity::Both => "both",
    });
    Ok((Some(signed.magnitude.0), sign))
}

type Samples = (&'static str, Vec<(f64, f64)>);

/// The samples of `csv`; what they are follows from the heading of the second column.
fn samples(section: &Section<'_>, files: &mut Files<'_>) -> Result<Option<Samples>, StudyError> {
    let Some(csv) = section.get("csv") else {
        for key in ["time_unit", "value_unit"] {
            if let Some(item) = section.get(key) {
                return Err(item.error(format!("`{key}` without `csv`"), "`csv = \"FILE\"` beside it", ""));
            }
        }
        return Ok(None);
    };
    let source = files.text(&csv)?;
    let columns = samples::columns(&source)?;
    let time = section.optional("time_unit", unit::<Seconds>)?;
    Ok(Some(if columns.second_name().eq_ignore_ascii_case("current") {
        let value = section.optional("value_unit", unit::<Amps>)?;
        (
            "current",
            columns.pairs::<Seconds, Amps>(("time", "current"), Some((time, value)))?,
        )
    } else {
        let value = section.optional("value_unit", unit::<Volts>)?;
        (
            "voltage",
            columns.pairs::<Seconds, Volts>(("time", "voltage"), Some((time, value)))?,
        )
    }))
}

/// One of a unit, in SI units.
fn unit<Q: Quantity>(item: &Item<'_>) -> Result<f64, StudyError> {
    let text = item.name()?;
    parse::<Q>(&format!("1 {text}"))
        .map(Quantity::si)
        .map_err(|error| {
            item.error(
                format!("`{}`: {}", item.key, error.message),
                format!("a unit of {}", Q::NAME),
                error.hint.unwrap_or_default(),
            )
        })
}

/// The error of the catalogue at the key it is about, in the words of a study.
fn locate(section: &Section<'_>, error: &RequestError) -> StudyError {
    let key = FIELDS
        .iter()
        .find(|(field, _)| *field == error.field)
        .map_or(error.field, |(_, key)| *key);
    let expected = match error.expected.as_slice() {
        [] => format!("another `{key}`"),
        several => rename(&several.join(", ")),
    };
    // `lines` and `port` come from the port, not from this entry.
    let item = STRESS_KEYS
        .iter()
        .find(|known| **known == key)
        .and_then(|known| section.get(known));
    let mut hint = rename(&error.hint);
    if let Some(text) = item.as_ref().and_then(Item::as_text)
        && error.expected.len() > 1
    {
        let near = nearest(text, error.expected.iter().map(String::as_str));
        if near.starts_with("did you mean") {
            hint = if hint.is_empty() {
                near
            } else {
                format!("{near} {hint}")
            };
        }
    }
    let message = format!("`{key}`: {}", rename(&error.message));
    match item {
        Some(item) => item.error(message, expected, hint),
        None => section.error(message, expected, hint),
    }
}

/// Field names of a request replaced by the keys of a study.
fn rename(text: &str) -> String {
    let word = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let mut renamed = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find(word) {
        renamed.push_str(&rest[..start]);
        let tail = &rest[start..];
        let end = tail.find(|c| !word(c)).unwrap_or(tail.len());
        let name = &tail[..end];
        // Plain English words that happen to be field names stay.
        let suffixed = name.contains('_');
        let key = FIELDS
            .iter()
            .find(|(field, _)| suffixed && *field == name)
            .map_or(name, |(_, key)| *key);
        renamed.push_str(key);
        rest = &tail[end..];
    }
    renamed.push_str(rest);
    renamed
}
