//! Data of a part that are more than one number.

use tidewall_devices::datasheet::{
    CapacitancePoint, ClampPoint, FiringPoint, LeakagePoint, PulseRating, RatingWave, Spread,
};
use tidewall_units::{Amps, Celsius, Farads, Joules, Quantity, Volts, VoltsPerSecond, Watts};

use super::wave::{self, parse_wave};
use crate::error::StudyError;
use crate::table::{Item, Section};
use tidewall_units::clip;

pub(super) fn positive_number(item: &Item<'_>) -> Result<f64, StudyError> {
    let value = item.number()?;
    if value > 0.0 {
        return Ok(value);
    }
    Err(item.error(
        format!("`{}` must be above zero", item.key),
        "a number above zero",
        "",
    ))
}

/// Minimum, typical and maximum of a positive quantity from the keys `min`, `typ` and `max`.
fn spread_keys<Q: Quantity>(section: &Section<'_>) -> Result<Spread, StudyError> {
    let spread = Spread {
        min: section.optional("min", Item::positive::<Q>)?,
        typ: section.optional("typ", Item::positive::<Q>)?,
        max: section.optional("max", Item::positive::<Q>)?,
    };
    let values: Vec<f64> = [spread.min, spread.typ, spread.max]
        .into_iter()
        .flatten()
        .collect();
    if values.is_empty() {
        return Err(section.error(
            format!("`{}` gives no value", section.title),
            "at least one of min, typ and max",
            "state what the document states, and leave out the rest",
        ));
    }
    if !values.is_sorted() {
        return Err(section.error(
            format!(
                "`{}` is an impossible range: min, typ and max do not rise",
                section.title
            ),
            "min ≤ typ ≤ max",
            "have two of the values changed places?",
        ));
    }
    Ok(spread)
}

/// `"36 V"` (a typical value) or `{ min, typ, max }`.
pub(super) fn spread<Q: Quantity>(item: &Item<'_>) -> Result<Spread, StudyError> {
    if item.is_table() {
        return spread_keys::<Q>(&item.table(&["min", "typ", "max"])?);
    }
    Ok(Spread {
        typ: Some(item.positive::<Q>()?),
        ..Spread::default()
    })
}

/// A spread with the condition `at`.
pub(super) fn spread_at<Q: Quantity, At: Quantity>(
    item: &Item<'_>,
) -> Result<(Spread, Option<f64>), StudyError> {
    if item.is_table() {
        let section = item.table(&["min", "typ", "max", "at"])?;
        return Ok((
            spread_keys::<Q>(&section)?,
            section.optional("at", Item::positive::<At>)?,
        ));
    }
    Ok((spread::<Q>(item)?, None))
}

fn wave(item: &Item<'_>) -> Result<RatingWave, StudyError> {
    let text = item.text()?;
    parse_wave(text).map_err(|fault| {
        item.error(
            format!("`{}` cannot be \"{}\"", item.key, clip(text.trim())),
            wave::EXPECTED,
            fault.hint(),
        )
    })
}

fn required_wave(section: &Section<'_>) -> Result<RatingWave, StudyError> {
    wave(&section.require("wave", "the value depends on the wave: \"8/20\", \"10/1000\", …")?)
}

pub(super) fn clamp_points(part: &Section<'_>) -> Result<Vec<ClampPoint>, StudyError> {
    let read = |item: &Item<'_>| {
        let section = item.table(&["wave", "current", "min", "typ", "max"])?;
        Ok(ClampPoint {
            wave: required_wave(&section)?,
            current_a: section
                .require("current", "peak current of the wave")?
                .positive::<Amps>()?,
            voltage_v: spread_keys::<Volts>(&section)?,
        })
    };
    part.list("clamp")?.iter().map(read).collect()
}

pub(super) fn ratings(part: &Section<'_>) -> Result<Vec<PulseRating>, StudyError> {
    let read = |item: &Item<'_>| {
        let section = item.table(&["wave", "power", "current", "energy", "pulses"])?;
        let rating = PulseRating {
            wave: required_wave(&section)?,
            power_w: section.optional("power", Item::positive::<Watts>)?,
            current_a: section.optional("current", Item::positive::<Amps>)?,
            energy_j: section.optional("energy", Item::positive::<Joules>)?,
            pulses: section
                .optional("pulses", |item| item.count(1..=1_000_000))?
                .unwrap_or(1),
        };
        if rating.power_w.is_none() && rating.current_a.is_none() && rating.energy_j.is_none() {
            return Err(section.error(
                "`rating` gives no value",
                "at least one of power, current and energy",
                "",
            ));
        }
        Ok(rating)
    };
    part.list("rating")?.iter().map(read).collect()
}

pub(super) fn leakage(part: &Section<'_>) -> Result<Vec<LeakagePoint>, StudyError> {
    let read = |item: &Item<'_>| {
        let section = item.table(&["voltage", "temperature", "current"])?;
        Ok(LeakagePoint {
            voltage_v: section
                .require("voltage", "voltage the leakage is stated at")?
                .positive::<Volts>()?,
            temperature_c: section
                .require(
                    "temperature",
                    "leakage doubles about every 10 K; data sheets usually mean 25 °C",
                )?
                .quantity::<Celsius>()?,
            current_a: section
                .require("current", "highest leakage")?
                .positive::<Amps>()?,
        })
    };
    part.list("leakage")?.iter().map(read).collect()
}

pub(super) fn capacitance(part: &Section<'_>) -> Result<Vec<CapacitancePoint>, StudyError> {
    let read = |item: &Item<'_>| {
        let section = item.table(&["bias", "min", "typ", "max"])?;
        Ok(CapacitancePoint {
            bias_v: section
                .require("bias", "capacitance depends on bias; 0 V is usual")?
                .not_negative::<Volts>()?,
            capacitance_f: spread_keys::<Farads>(&section)?,
        })
    };
    part.list("capacitance")?.iter().map(read).collect()
}

pub(super) fn firing(part: &Section<'_>) -> Result<Vec<FiringPoint>, StudyError> {
    let read = |item: &Item<'_>| {
        let section = item.table(&["slope", "min", "typ", "max"])?;
        Ok(FiringPoint {
            slope_v_per_s: section
                .require("slope", "rate of rise the tube is fired with")?
                .positive::<VoltsPerSecond>()?,
            voltage_v: spread_keys::<Volts>(&section)?,
        })
    };
    part.list("firing")?.iter().map(read).collect()
}
