//! Keys that profiles and studies have in common.

use tidewall_units::{Polarity, Seconds, Volts, parse_range, parse_signed};

use crate::error::StudyError;
use crate::model::{AbnormalLevel, Across, Interval, PortKind, PortPolarity};
use crate::table::{Item, Section};

pub(crate) const KINDS: &[(&str, PortKind)] = &[
    ("dc", PortKind::Dc),
    ("ac", PortKind::Ac),
    ("signal", PortKind::Signal),
];

pub(crate) const POLARITIES: &[(&str, PortPolarity)] = &[
    ("uni", PortPolarity::Unidirectional),
    ("bi", PortPolarity::Bidirectional),
];

pub(crate) const ACROSS: &[(&str, Across)] =
    &[("line-earth", Across::LineEarth), ("line-line", Across::LineLine)];

const FORMS: &str = "\"30 V\", \"±30 V\" or \"-7 V to 12 V\"";

/// A must-not-conduct level as it is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Limits {
    /// One side only.
    Positive(f64),
    /// The negative side only.
    Negative(f64),
    /// Both.
    Both(Interval),
}

/// Reads `"30 V"`, `"±30 V"` or `"-7 V to 12 V"`.
pub(crate) fn limits(item: &Item<'_>) -> Result<Limits, StudyError> {
    let is_range = item.as_text().is_some_and(|text| {
        text.contains("..") || text.contains('…') || text.split_whitespace().any(|word| word == "to")
    });
    if is_range {
        let range = item.read(FORMS, parse_range::<Volts>)?;
        let (low, high) = (range.low.0, range.high.0);
        if low > 0.0 || high < 0.0 {
            return Err(item.error(
                format!("`{}` leaves out 0 V", item.key),
                "a range with its low end at or below 0 V and its high end at or above",
                "at 0 V no protector conducts: give the extremes, such as \"0 V to 30 V\"",
            ));
        }
        return Ok(Limits::Both(Interval { low, high }));
    }
    let signed = item.read(FORMS, parse_signed::<Volts>)?;
    let level = signed.magnitude.0;
    if level <= 0.0 {
        return Err(item.error(format!("`{}` must not be zero", item.key), FORMS, ""));
    }
    Ok(match signed.polarity {
        Some(Polarity::Both) => Limits::Both(Interval {
            low: -level,
            high: level,
        }),
        Some(Polarity::Negative) => Limits::Negative(-level),
        Some(Polarity::Positive) | None => Limits::Positive(level),
    })
}

/// A time, or the word that means without end.
pub(crate) fn lasts(item: &Item<'_>, word: &str) -> Result<f64, StudyError> {
    if item.as_text() == Some(word) {
        return Ok(f64::INFINITY);
    }
    item.read(&format!("\"500 ms\" or \"{word}\""), str::parse::<Seconds>)
        .map(|time| time.0)
        .and_then(|time_s| {
            if time_s > 0.0 {
                Ok(time_s)
            } else {
                Err(item.error(
                    format!("`{}` must be above zero", item.key),
                    "a time above zero",
                    "",
                ))
            }
        })
}

/// Levels of one abnormal entry: two for `±`.
pub(crate) fn abnormal(section: &Section<'_>, across: Across) -> Result<Vec<AbnormalLevel>, StudyError> {
    let level = section.require("level", "the voltage, with its sign if it is negative")?;
    let signed = level.read("\"35 V\", \"-30 V\" or \"±30 V\"", parse_signed::<Volts>)?;
    if signed.magnitude.0 <= 0.0 {
        return Err(level.error(
            "an abnormal level of zero says nothing",
            "a voltage other than zero",
            "",
        ));
    }
    let lasts_s = lasts(
        &section.require(
            "lasts",
            "how long the level lasts, such as \"500 ms\", or \"continuous\"",
        )?,
        "continuous",
    )?;
    let may_conduct = section.optional("may_conduct", Item::flag)?.unwrap_or(false);
    let across = section
        .optional("across", |item| item.choice(ACROSS))?
        .unwrap_or(across);
    let note = section.optional("note", Item::text)?.unwrap_or_default();
    let signs: &[f64] = match signed.polarity {
        Some(Polarity::Both) => &[1.0, -1.0],
        Some(Polarity::Negative) => &[-1.0],
        Some(Polarity::Positive) | None => &[1.0],
    };
    let one = |sign: &f64| AbnormalLevel {
        level_v: sign * signed.magnitude.0,
        lasts_s,
        across,
        may_conduct,
        note: note.to_owned(),
    };
    Ok(signs.iter().map(one).collect())
}
