//! The `[port]` table: profile and overrides.

use tidewall_units::{Amps, Celsius, Farads, Hertz, Ohms, Quantity, Volts};

use crate::error::StudyError;
use crate::levels::{self, ACROSS, KINDS, Limits, POLARITIES};
use crate::model::{AbnormalLevel, Across, Interval, Port, PortKind, Powered};
use crate::origin::{Origin, Valued};
use crate::profile::{Profile, Sourced, profile, profiles};
use crate::source::nearest;
use crate::table::{Item, Section};

const KEYS: &[&str] = &[
    "profile",
    "kind",
    "lines",
    "polarity",
    "working",
    "working_rms",
    "across",
    "frequency",
    "must_not_conduct",
    "must_not_conduct_between",
    "abnormal",
    "source_current",
    "source_resistance",
    "ambient",
    "capacitance_limit",
    "capacitance_matching",
    "leakage_limit",
    "powered",
];

const POWERED: &[(&str, Powered)] = &[
    ("powered", Powered::Powered),
    ("unpowered", Powered::Unpowered),
    ("both", Powered::Both),
];

/// Coldest and hottest ambient that is not taken for a slip, in °C.
const AMBIENT_C: Interval = Interval {
    low: -90.0,
    high: 200.0,
};

struct Reader<'a, 's> {
    section: &'s Section<'a>,
    profile: Option<&'static Profile>,
}

impl<'a> Reader<'a, '_> {
    /// The study's value, else the profile's.
    fn value<T: Clone + 'static>(
        &self,
        key: &'static str,
        fallback: impl FnOnce(&'static Profile) -> Option<&'static Sourced<T>>,
        read: impl FnOnce(&Item<'a>) -> Result<T, StudyError>,
    ) -> Result<Option<Valued<T>>, StudyError> {
        if let Some(item) = self.section.get(key) {
            return Ok(Some(Valued {
                value: read(&item)?,
                origin: Origin::Study { line: item.line() },
            }));
        }
        let Some(profile) = self.profile else {
            return Ok(None);
        };
        Ok(fallback(profile).map(|sourced| sourced.valued(&profile.key)))
    }

    fn positive<Q: Quantity>(
        &self,
        key: &'static str,
        fallback: impl FnOnce(&'static Profile) -> Option<&'static Sourced<f64>>,
    ) -> Result<Option<Valued<f64>>, StudyError> {
        self.value(key, fallback, Item::positive::<Q>)
    }

    /// A must-not-conduct level. Where the study gives one side only, the other is the profile's, or 0 V.
    fn limits(
        &self,
        key: &'static str,
        fallback: Option<&'static Sourced<Interval>>,
        assumptions: &mut Vec<String>,
    ) -> Result<Option<Valued<Interval>>, StudyError> {
        let Some(item) = self.section.get(key) else {
            return Ok(self
                .profile
                .and_then(|profile| fallback.map(|sourced| sourced.valued(&profile.key))));
        };
        let other = fallback.map(|sourced| sourced.value);
        let mut rest = |side: &str, value: Option<f64>| {
            let value = value.unwrap_or(0.0);
            let from = if other.is_some() {
                "the profile's"
            } else {
                "nothing is said of it"
            };
            assumptions.push(format!(
                "{key} gives one side only; {side} side taken as {} ({from})",
                Volts(value)
            ));
            value
        };
        let value = match levels::limits(&item)? {
            Limits::Both(interval) => interval,
            Limits::Positive(high) => Interval {
                low: rest("negative", other.map(|limits| limits.low)),
                high,
            },
            Limits::Negative(low) => Interval {
                low,
                high: rest("positive", other.map(|limits| limits.high)),
            },
        };
        Ok(Some(Valued {
            value,
            origin: Origin::Study { line: item.line() },
        }))
    }
}

pub(super) fn read(item: &Item<'_>, assumptions: &mut Vec<String>) -> Result<Port, StudyError> {
    let section = item.table(KEYS)?;
    let profile = section.optional("profile", find_profile)?;
    let reader = Reader {
        section: &section,
        profile,
    };
    let kind = kind(&section, profile)?;
    let lines = lines(&section, profile, assumptions)?;
    let across = section.optional("across", |item| item.choice(ACROSS))?;
    let across = match across {
        Some(Across::LineLine) if lines == 1 => {
            return Err(section.error(
                "`across` is \"line-line\" on a port of one line",
                "\"line-earth\"",
                "",
            ));
        }
        Some(across) => across,
        None if lines == 2 && profile.is_some_and(|profile| profile.between_lines) => Across::LineLine,
        None => Across::LineEarth,
    };
    let must_not_conduct_v = reader.limits(
        "must_not_conduct",
        profile.and_then(|profile| profile.must_not_conduct_v.as_ref()),
        assumptions,
    )?;
    let must_not_conduct_between_v = reader.limits(
        "must_not_conduct_between",
        profile.and_then(|profile| profile.must_not_conduct_between_v.as_ref()),
        assumptions,
    )?;
    if lines == 1
        && let Some(item) = section.get("must_not_conduct_between")
    {
        return Err(item.error(
            "a port of one line has no other line",
            "`must_not_conduct`",
            "or set lines = 2",
        ));
    }
    let port = Port {
        profile: profile.map(|profile| profile.key.clone()),
        title: profile.map(|profile| profile.title.clone()).unwrap_or_default(),
        lines,
        kind,
        working_v: working(&reader, kind)?,
        working_across: across,
        frequency_hz: reader.positive::<Hertz>("frequency", |profile| profile.frequency_hz.as_ref())?,
        must_not_conduct_v,
        must_not_conduct_between_v: must_not_conduct_between_v.filter(|_| lines == 2),
        abnormal: abnormal(&reader, lines, across)?,
        source_a: reader.positive::<Amps>("source_current", |profile| profile.source_a.as_ref())?,
        source_ohm: reader.positive::<Ohms>("source_resistance", |profile| profile.source_ohm.as_ref())?,
        polarity: reader.value(
            "polarity",
            |profile| Some(&profile.polarity),
            |item| item.choice(POLARITIES),
        )?,
        ambient_c: ambient(&section)?,
        capacitance_limit_f: reader.positive::<Farads>("capacitance_limit", |profile| {
            profile.capacitance_limit_f.as_ref()
        })?,
        capacitance_matching_f: reader.positive::<Farads>("capacitance_matching", |profile| {
            profile.capacitance_matching_f.as_ref()
        })?,
        leakage_limit_a: reader
            .positive::<Amps>("leakage_limit", |profile| profile.leakage_limit_a.as_ref())?,
        powered: section
            .optional("powered", |item| item.choice(POWERED))?
            .unwrap_or(Powered::Both),
    };
    check_working(&section, &port)?;
    Ok(port)
}

fn find_profile(item: &Item<'_>) -> Result<&'static Profile, StudyError> {
    let key = item.name()?;
    profile(key).ok_or_else(|| {
        item.error(
            format!("there is no profile `{}`", tidewall_units::clip(key)),
            "the key of a port profile",
            nearest(key, profiles().iter().map(|profile| profile.key.as_str())),
        )
    })
}

fn kind(section: &Section<'_>, profile: Option<&Profile>) -> Result<PortKind, StudyError> {
    match (section.optional("kind", |item| item.choice(KINDS))?, profile) {
        (Some(kind), _) => Ok(kind),
        (None, Some(profile)) => Ok(profile.kind),
        (None, None) => Err(section.error(
            "the port has neither `profile` nor `kind`",
            "`profile`, or `kind` (\"dc\", \"ac\" or \"signal\")",
            "a profile fills in what such a port normally carries",
        )),
    }
}

fn lines(
    section: &Section<'_>,
    profile: Option<&Profile>,
    assumptions: &mut Vec<String>,
) -> Result<usize, StudyError> {
    match (section.optional("lines", |item| item.count(1..=2))?, profile) {
        (Some(lines), _) => Ok(lines as usize),
        (None, Some(profile)) => Ok(profile.lines),
        (None, None) => {
            assumptions.push("the port has one line and a return (lines = 1)".to_owned());
            Ok(1)
        }
    }
}

/// The working voltage: `working` as it is, `working_rms` as the amplitude.
fn working(reader: &Reader<'_, '_>, kind: PortKind) -> Result<Option<Valued<Interval>>, StudyError> {
    let fallback = |profile: &'static Profile| profile.working_v.as_ref().filter(|_| profile.kind == kind);
    let (right, wrong, hint) = match kind {
        PortKind::Ac => (
            "working_rms",
            "working",
            "on an alternating-voltage port the range is given as r.m.s. values",
        ),
        _ => ("working", "working_rms", "r.m.s. values belong to kind = \"ac\""),
    };
    if let Some(item) = reader.section.get(wrong) {
        return Err(item.error(
            format!("`{wrong}` does not fit the kind of port"),
            format!("`{right}`"),
            hint,
        ));
    }
    reader.value(right, fallback, |item| {
        let range = item.range::<Volts>()?;
        if kind != PortKind::Ac {
            return Ok(range);
        }
        if range.low < 0.0 {
            return Err(item.error("an r.m.s. value cannot be below zero", "a range above zero", ""));
        }
        let amplitude = std::f64::consts::SQRT_2;
        Ok(Interval {
            low: range.low * amplitude,
            high: range.high * amplitude,
        })
    })
}

fn abnormal(
    reader: &Reader<'_, '_>,
    lines: usize,
    across: Across,
) -> Result<Vec<Valued<AbnormalLevel>>, StudyError> {
    let one_line = |mut level: Valued<AbnormalLevel>| {
        if lines == 1 {
            level.value.across = Across::LineEarth;
        }
        level
    };
    let Some(list) = reader.section.get("abnormal") else {
        let from = |profile: &Profile| -> Vec<_> {
            profile
                .abnormal
                .iter()
                .map(|level| one_line(level.valued(&profile.key)))
                .collect()
        };
        return Ok(reader.profile.map(from).unwrap_or_default());
    };
    let mut levels = Vec::new();
    for item in list.list()? {
        let entry = item.table(&["level", "lasts", "across", "may_conduct", "note"])?;
        if let Some(item) = entry.get("across")
            && lines == 1
            && item.choice(ACROSS)? == Across::LineLine
        {
            return Err(item.error(
                "a port of one line has no other line",
                "\"line-earth\"",
                "or set lines = 2",
            ));
        }
        let origin = Origin::Study { line: item.line() };
        let read = levels::abnormal(&entry, across)?;
        levels.extend(read.into_iter().map(|value| Valued {
            value,
            origin: origin.clone(),
        }));
    }
    Ok(levels)
}

fn ambient(section: &Section<'_>) -> Result<Valued<Interval>, StudyError> {
    let item = section.require(
        "ambient",
        "add ambient = \"-40 °C to 85 °C\" with the range of your equipment",
    )?;
    // One temperature is a range of its own: a test at room temperature.
    let value = match item.quantity::<Celsius>() {
        Ok(one) => Interval { low: one, high: one },
        Err(_) => item.range::<Celsius>()?,
    };
    if value.low < AMBIENT_C.low || value.high > AMBIENT_C.high {
        return Err(item.error(
            "`ambient` is an impossible range for electronics",
            format!(
                "a range within {} to {}",
                Celsius(AMBIENT_C.low),
                Celsius(AMBIENT_C.high)
            ),
            "",
        ));
    }
    Ok(Valued {
        value,
        origin: Origin::Study { line: item.line() },
    })
}

/// The working voltage cannot exceed the level at which the protector must not conduct.
fn check_working(section: &Section<'_>, port: &Port) -> Result<(), StudyError> {
    let limits = match port.working_across {
        Across::LineEarth => &port.must_not_conduct_v,
        Across::LineLine => &port.must_not_conduct_between_v,
    };
    let (Some(working), Some(limits)) = (&port.working_v, limits) else {
        return Ok(());
    };
    // Between values of the study and of the profile the study's is the one to point at.
    let (key, from_study) = [
        ("must_not_conduct", &limits.origin),
        ("must_not_conduct_between", &limits.origin),
        ("working", &working.origin),
        ("working_rms", &working.origin),
    ]
    .into_iter()
    .find_map(|(key, _)| section.get(key).map(|item| (key, Some(item))))
    .unwrap_or(("must_not_conduct", None));
    let slack = 1e-9 * limits.value.high.abs().max(1.0);
    let beyond = working.value.high > limits.value.high + slack
        || (port.kind != PortKind::Ac && working.value.low < limits.value.low - slack);
    if !beyond {
        return Ok(());
    }
    let message = format!(
        "`{key}` is an impossible range: the working voltage ({} to {}) goes beyond the level at which the protector must not conduct ({} to {})",
        Volts(working.value.low).rounded(4),
        Volts(working.value.high).rounded(4),
        Volts(limits.value.low).rounded(4),
        Volts(limits.value.high).rounded(4),
    );
    let expected = "a must-not-conduct level at or above the highest working voltage";
    let hint =
        "with a profile, override both `working` and the must-not-conduct level where your port differs";
    Err(match from_study {
        Some(item) => item.error(message, expected, hint),
        None => section.error(message, expected, hint),
    })
}
