//! What a record must fulfil to stand in the library.

use tidewall_devices::datasheet::{RatingWave, Spread};

use crate::error::LibraryError;
use crate::keys::{self, Form};
use crate::record::{Condition, Datum, PartRecord, Value};
use crate::words;

/// Refuses a record that cannot stand in the library.
pub(crate) fn record(record: &PartRecord) -> Result<(), LibraryError> {
    let unfit = |why: String| LibraryError::Unfit {
        part: record.name.clone(),
        why,
    };
    let name = &record.name;
    if name.is_empty() || name.trim() != name || name.chars().any(char::is_control) {
        return Err(unfit(
            "a name is not empty, has no blank at its ends and no control character".to_owned(),
        ));
    }
    for (place, datum) in record.data.iter().enumerate() {
        fits(datum).map_err(|why| unfit(format!("`{}` {why}", datum.key)))?;
        let twice = record.data[..place]
            .iter()
            .find(|other| other.same_fact(datum) && other.value != datum.value);
        if let Some(other) = twice {
            let fact = words::fact(datum);
            let values = format!("{} and {}", words::value(other), words::value(datum));
            return Err(unfit(format!(
                "{fact} is stated twice in \"{}\": {values}",
                datum.source.document
            )));
        }
    }
    Ok(())
}

fn fits(datum: &Datum) -> Result<(), String> {
    let info = keys::find(datum.key).ok_or("is no key of the library")?;
    if datum.source.document.is_empty() {
        return Err("names no document it is from".to_owned());
    }
    match (&datum.value, info.form) {
        (Value::Spread(spread), Form::Spread | Form::Highest) => check_spread(spread)?,
        (Value::Number(number), Form::Number | Form::Highest) => finite([*number])?,
        (Value::Flag(_), Form::Flag) => {}
        (Value::Curve(points), Form::Curve) => check_curve(points)?,
        (_, form) => {
            let wanted = match form {
                Form::Spread => "a minimum, typical value or maximum",
                Form::Number => "one number",
                Form::Highest => "one number or a maximum",
                Form::Flag => "yes or no",
                Form::Curve => "points in volts and amperes",
            };
            return Err(format!("needs {wanted}"));
        }
    }
    check_condition(&datum.condition)
}

fn finite(numbers: impl IntoIterator<Item = f64>) -> Result<(), String> {
    if numbers.into_iter().all(f64::is_finite) {
        Ok(())
    } else {
        Err("holds a number that is not finite".to_owned())
    }
}

fn check_spread(spread: &Spread) -> Result<(), String> {
    let given: Vec<f64> = [spread.min, spread.typ, spread.max]
        .into_iter()
        .flatten()
        .collect();
    if given.is_empty() {
        return Err("gives neither minimum nor typical value nor maximum".to_owned());
    }
    finite(given.iter().copied())?;
    if given.is_sorted() {
        Ok(())
    } else {
        Err("is an impossible range: minimum, typical value and maximum do not rise".to_owned())
    }
}

fn check_curve(points: &[(f64, f64)]) -> Result<(), String> {
    finite(points.iter().flat_map(|(volts, amps)| [*volts, *amps]))?;
    let rises = points
        .windows(2)
        .all(|pair| pair[0].0 < pair[1].0 && pair[0].1 <= pair[1].1);
    if points.len() >= 2 && rises {
        Ok(())
    } else {
        Err("needs at least two points of rising voltage whose current never falls".to_owned())
    }
}

fn check_condition(condition: &Condition) -> Result<(), String> {
    let wave = match condition.wave {
        Some(RatingWave::FrontTail { front_s, tail_s }) => [Some(front_s), Some(tail_s)],
        Some(RatingWave::Rectangle { width_s }) => [Some(width_s), None],
        Some(RatingWave::Surge8x20 | RatingWave::Long10x1000) | None => [None, None],
    };
    if wave.into_iter().flatten().any(|time| time <= 0.0) {
        return Err("has a wave of no duration".to_owned());
    }
    let numbers = condition.numbers();
    finite(wave.into_iter().chain(numbers).flatten())?;
    if condition.pulses == Some(0) {
        return Err("holds for no pulse at all".to_owned());
    }
    Ok(())
}
