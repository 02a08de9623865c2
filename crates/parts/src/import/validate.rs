//! What a part's data must fulfil among each other.
//!
//! Everything here follows from the definitions of the data (a clamping voltage lies above the breakdown voltage of the
//! same diode, and so on); whether a part is any good is not asked.

use tidewall_devices::datasheet::{Family, Spread};

use super::rows::Stated;
use crate::keys::Unit;
use crate::record::Value;
use crate::{keys, words};

/// Numbers that may be zero.
const ZERO_TOO: &[&str] = &[
    "forward.resistance",
    "dynamic_resistance",
    "resistance",
    "rail_clamp.resistance",
    "rail_voltage",
    "turn_on_delay",
];

/// Takes a fault: the column, what is wrong, what is expected.
type Fault<'f> = &'f mut dyn FnMut(Option<usize>, &str, &str);

/// Checks the data of one part.
pub(super) fn part(family: Family, data: &[Stated], fault: Fault<'_>) {
    let mut sound = true;
    for stated in data {
        sound &= single(stated, fault);
    }
    if sound {
        between(family, data, fault);
    }
}

/// One datum by itself.
fn single(stated: &Stated, fault: Fault<'_>) -> bool {
    let column = stated.columns.first().copied();
    let datum = &stated.datum;
    let unit = keys::find(datum.key).map_or(Unit::None, |info| info.unit);
    let signed = matches!(unit, Unit::PerKelvin | Unit::Celsius);
    let fits = |value: f64| {
        value.is_finite()
            && (unit != Unit::Celsius || value > -273.15)
            && (signed || value > 0.0 || value == 0.0 && ZERO_TOO.contains(&datum.key))
    };
    match &datum.value {
        Value::Number(number) if !fits(*number) => {
            fault(
                column,
                &format!("{} must be positive", unit.text(*number)),
                "a value above zero",
            );
            false
        }
        Value::Spread(spread) => {
            let given: Vec<f64> = [spread.min, spread.typ, spread.max]
                .into_iter()
                .flatten()
                .collect();
            if let Some(bad) = given.iter().find(|value| !fits(**value)) {
                fault(
                    column,
                    &format!("{} must be positive", unit.text(*bad)),
                    "a value above zero",
                );
                return false;
            }
            if !given.is_sorted() {
                let text = format!("{} does not rise: {}", words::fact(datum), words::value(datum));
                fault(column, &text, "minimum ≤ typical ≤ maximum");
                return false;
            }
            true
        }
        _ => true,
    }
}

fn lowest(spread: &Spread) -> Option<f64> {
    spread.min.or(spread.typ).or(spread.max)
}

fn highest(spread: &Spread) -> Option<f64> {
    spread.max.or(spread.typ).or(spread.min)
}

/// Data against each other. Those of other temperatures than the rest are left alone.
fn between(family: Family, data: &[Stated], fault: Fault<'_>) {
    let at_room = |stated: &&Stated| {
        stated
            .datum
            .condition
            .temperature_c
            .is_none_or(|celsius| (20.0..=30.0).contains(&celsius))
    };
    let all = |key: &'static str| {
        data.iter()
            .filter(at_room)
            .filter(move |stated| stated.datum.key == key)
    };
    let column = |stated: &Stated| stated.columns.first().copied();
    let spread = |stated: &Stated| match &stated.datum.value {
        Value::Spread(spread) => *spread,
        _ => Spread::default(),
    };
    let number = |key: &'static str| {
        all(key).find_map(|stated| match stated.datum.value {
            Value::Number(number) => Some(number),
            _ => None,
        })
    };
    let volts = |value: f64| Unit::Volt.text(value);
    let conducts_above = matches!(
        family,
        Family::Avalanche
            | Family::FlatClamp
            | Family::Snapback
            | Family::Varistor
            | Family::Thyristor
            | Family::GasTube
    );
    let stand_off = number("stand_off").filter(|_| conducts_above);
    for stated in all("breakdown") {
        if let (Some(stand_off), Some(breakdown)) = (stand_off, highest(&spread(stated)))
            && breakdown <= stand_off
        {
            let reason = format!(
                "breakdown {} is not above the stand-off voltage {}",
                volts(breakdown),
                volts(stand_off)
            );
            fault(
                column(stated),
                &reason,
                "breakdown above stand-off: have two columns changed places?",
            );
            return;
        }
    }
    // A snapback part or a thyristor clamps below the voltage it is triggered at.
    let clamps_above = matches!(family, Family::Avalanche | Family::Varistor);
    let least = all("breakdown").find_map(|stated| lowest(&spread(stated)));
    for stated in all("clamp").filter(|_| clamps_above) {
        if let (Some(least), Some(clamp)) = (least, highest(&spread(stated)))
            && clamp <= least
        {
            let reason = format!(
                "clamping voltage {} is not above the breakdown voltage {}",
                volts(clamp),
                volts(least)
            );
            fault(
                column(stated),
                &reason,
                "clamping above breakdown: have two columns changed places?",
            );
            return;
        }
    }
    let slowest = all("breakdown").find_map(|stated| lowest(&spread(stated)));
    for stated in all("firing").filter(|_| family == Family::GasTube) {
        if let (Some(direct), Some(firing)) = (slowest, highest(&spread(stated)))
            && firing < direct
        {
            let reason = format!(
                "firing voltage {} is below the direct spark-over voltage {}",
                volts(firing),
                volts(direct)
            );
            fault(column(stated), &reason, "a fast rise fires later, that is higher");
            return;
        }
    }
    if let (Some(off), Some(trigger)) = (
        number("turn_off_voltage"),
        least.filter(|_| family == Family::FlatClamp),
    ) && off > trigger
    {
        let stated = all("turn_off_voltage").next().and_then(column);
        let reason = format!(
            "turn-off voltage {} is above the trigger voltage {}",
            volts(off),
            volts(trigger)
        );
        fault(
            stated,
            &reason,
            "a clamp turns off below the voltage that triggers it",
        );
        return;
    }
    if let (Some(limit), Some(from)) = (number("junction_max"), number("derating_from"))
        && from >= limit
    {
        let stated = all("derating_from").next().and_then(column);
        fault(
            stated,
            "derating begins above the highest junction temperature",
            "derating_from below junction_max",
        );
    }
}
