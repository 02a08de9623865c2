//! From the data files to profiles.

use std::collections::BTreeMap;

use tidewall_units::{Amps, Farads, Hertz, Ohms, Volts};
use toml::de::{DeTable, DeValue};

use crate::error::StudyError;
use crate::levels::{self, ACROSS, KINDS, Limits, POLARITIES};
use crate::model::{Across, Interval, PortKind};
use crate::origin::Mark;
use crate::profile::{Profile, Sourced, UsualStress};
use crate::read::stress::STRESS_KEYS;
use crate::source::Source;
use crate::table::{Item, Section, parse_document};

const FILES: &[(&str, &str)] = &[
    ("usb.toml", include_str!("../../data/usb.toml")),
    ("network.toml", include_str!("../../data/network.toml")),
    ("industrial.toml", include_str!("../../data/industrial.toml")),
    ("vehicle.toml", include_str!("../../data/vehicle.toml")),
    ("local.toml", include_str!("../../data/local.toml")),
    ("power.toml", include_str!("../../data/power.toml")),
];

const SOURCES: &str = include_str!("../../data/sources.toml");

const MARKS: &[(&str, Mark)] = &[
    ("seen", Mark::Seen),
    ("memory", Mark::Memory),
    ("derived", Mark::Derived),
    ("practice", Mark::CommonPractice),
];

const KEYS: &[&str] = &[
    "number",
    "key",
    "title",
    "kind",
    "lines",
    "across",
    "polarity",
    "working",
    "working_rms",
    "frequency",
    "must_not_conduct",
    "must_not_conduct_between",
    "abnormal",
    "source_current",
    "source_resistance",
    "capacitance_limit",
    "capacitance_matching",
    "leakage_limit",
    "stress",
    "usual_stand_off",
    "usual_choice",
    "survives",
    "note",
];

type References = BTreeMap<String, String>;

pub(super) fn parse() -> Result<Vec<Profile>, StudyError> {
    let references = references()?;
    let mut profiles = Vec::new();
    for (name, text) in FILES {
        let source = Source {
            name: (*name).to_owned(),
            text: (*text).to_owned(),
        };
        let document = parse_document(&source)?;
        let top = Section::new(&source, document.get_ref(), 0..0, "", &["profile"])?;
        for item in top.list("profile")? {
            profiles.push(read(&item.table(KEYS)?, &references)?);
        }
    }
    profiles.sort_by_key(|profile| profile.number);
    Ok(profiles)
}

fn references() -> Result<References, StudyError> {
    let source = Source {
        name: "sources.toml".to_owned(),
        text: SOURCES.to_owned(),
    };
    let document = parse_document(&source)?;
    let text = |table: &DeTable<'_>| {
        let entry = |(key, value): (&serde_spanned::Spanned<_>, &serde_spanned::Spanned<DeValue<'_>>)| {
            let key: &toml::de::DeString<'_> = key.get_ref();
            Some((key.to_string(), value.get_ref().as_str()?.to_owned()))
        };
        table.iter().filter_map(entry).collect()
    };
    Ok(text(document.get_ref()))
}

/// The mark and source beside a value. A source `@id` stands for the text of `sources.toml`.
fn mark(section: &Section<'_>, references: &References) -> Result<(Mark, String), StudyError> {
    let mark = section
        .require("mark", "every value has its mark")?
        .choice(MARKS)?;
    let Some(item) = section.get("source") else {
        if matches!(mark, Mark::Seen | Mark::Derived) {
            return Err(section.error("a value read or derived has no source", "`source`", ""));
        }
        return Ok((mark, String::new()));
    };
    let text = item.name()?;
    let Some(id) = text.strip_prefix('@') else {
        return Ok((mark, text.to_owned()));
    };
    let words: Vec<&str> = id
        .split('@')
        .map(|id| references.get(id.trim()).map(String::as_str))
        .collect::<Option<_>>()
        .ok_or_else(|| item.error(format!("there is no source {id}"), "an id of sources.toml", ""))?;
    Ok((mark, words.join("; ")))
}

/// `{ value = …, mark = …, source = … }`.
fn sourced<'a, T>(
    section: &Section<'a>,
    key: &'static str,
    references: &References,
    read: impl FnOnce(&Item<'a>) -> Result<T, StudyError>,
) -> Result<Option<Sourced<T>>, StudyError> {
    let Some(item) = section.get(key) else {
        return Ok(None);
    };
    let inner = item.table(&["value", "mark", "source"])?;
    let (mark, source) = mark(&inner, references)?;
    let value = read(&inner.require("value", "")?)?;
    Ok(Some(Sourced { value, mark, source }))
}

fn require<T>(value: Option<Sourced<T>>, section: &Section<'_>, key: &str) -> Result<Sourced<T>, StudyError> {
    value.ok_or_else(|| section.error(format!("the profile has no `{key}`"), key, ""))
}

fn both_sides(item: &Item<'_>) -> Result<Interval, StudyError> {
    Ok(match levels::limits(item)? {
        Limits::Positive(high) => Interval { low: 0.0, high },
        Limits::Negative(low) => Interval { low, high: 0.0 },
        Limits::Both(interval) => interval,
    })
}

/// `"58 V"` or `"22 V to 24 V"`.
fn one_or_range(item: &Item<'_>) -> Result<Interval, StudyError> {
    if item.as_text().is_some_and(|text| text.contains(" to ")) {
        return item.range::<Volts>();
    }
    item.positive::<Volts>().map(|value| Interval {
        low: value,
        high: value,
    })
}

/// Alternating voltages are written as r.m.s. values and kept as amplitudes.
fn amplitude(item: &Item<'_>) -> Result<Interval, StudyError> {
    let rms = item.range::<Volts>()?;
    Ok(Interval {
        low: rms.low * std::f64::consts::SQRT_2,
        high: rms.high * std::f64::consts::SQRT_2,
    })
}

fn read(section: &Section<'_>, references: &References) -> Result<Profile, StudyError> {
    let across = section
        .optional("across", |item| item.choice(ACROSS))?
        .unwrap_or(Across::LineEarth);
    let kind: PortKind = section.require("kind", "")?.choice(KINDS)?;
    let mut abnormal = Vec::new();
    for item in section.list("abnormal")? {
        let entry = item.table(&[
            "level",
            "lasts",
            "across",
            "may_conduct",
            "note",
            "mark",
            "source",
        ])?;
        let (mark, source) = mark(&entry, references)?;
        let levels = levels::abnormal(&entry, across)?;
        abnormal.extend(levels.into_iter().map(|value| Sourced {
            value,
            mark,
            source: source.clone(),
        }));
    }
    let mut stresses = Vec::new();
    for item in section.list("stress")? {
        stresses.push(stress(&item, references)?);
    }
    let working_v = match kind {
        PortKind::Ac => sourced(section, "working_rms", references, amplitude)?,
        _ => sourced(section, "working", references, Item::range::<Volts>)?,
    };
    let text = |item: &Item<'_>| item.name().map(str::to_owned);
    let polarity = sourced(section, "polarity", references, |item| item.choice(POLARITIES))?;
    let usual_choice = sourced(section, "usual_choice", references, text)?;
    let survives = sourced(section, "survives", references, text)?;
    Ok(Profile {
        key: section.require("key", "")?.name()?.to_owned(),
        number: section.require("number", "")?.count(1..=45)?,
        title: section.require("title", "")?.name()?.to_owned(),
        lines: section.require("lines", "")?.count(1..=2)? as usize,
        kind,
        between_lines: across == Across::LineLine,
        polarity: require(polarity, section, "polarity")?,
        working_v,
        frequency_hz: sourced(section, "frequency", references, Item::positive::<Hertz>)?,
        must_not_conduct_v: sourced(section, "must_not_conduct", references, both_sides)?,
        must_not_conduct_between_v: sourced(section, "must_not_conduct_between", references, both_sides)?,
        abnormal,
        source_a: sourced(section, "source_current", references, Item::positive::<Amps>)?,
        source_ohm: sourced(section, "source_resistance", references, Item::positive::<Ohms>)?,
        capacitance_limit_f: sourced(section, "capacitance_limit", references, Item::positive::<Farads>)?,
        capacitance_matching_f: sourced(
            section,
            "capacitance_matching",
            references,
            Item::positive::<Farads>,
        )?,
        leakage_limit_a: sourced(section, "leakage_limit", references, Item::positive::<Amps>)?,
        stresses,
        usual_stand_off_v: sourced(section, "usual_stand_off", references, one_or_range)?,
        usual_choice: require(usual_choice, section, "usual_choice")?,
        survives: require(survives, section, "survives")?,
        note: section
            .optional("note", Item::text)?
            .unwrap_or_default()
            .to_owned(),
    })
}

/// A usual stress: `{ mark, source, note, set = { standard = …, … } }`, the inner keys those of a study.
fn stress(item: &Item<'_>, references: &References) -> Result<Sourced<UsualStress>, StudyError> {
    let entry = item.table(&["set", "note", "mark", "source"])?;
    let (mark, source) = mark(&entry, references)?;
    let note = entry.optional("note", Item::text)?.unwrap_or_default().to_owned();
    let set = entry.require("set", "")?.table(STRESS_KEYS)?;
    let mut keys = Vec::new();
    for key in STRESS_KEYS {
        if let Some(value) = set.get(key) {
            let text = item.source.text.get(value.span()).unwrap_or_default();
            keys.push(((*key).to_owned(), text.to_owned()));
        }
    }
    Ok(Sourced {
        value: UsualStress { keys, note },
        mark,
        source,
    })
}
