//! Data in words, for people.

use tidewall_devices::datasheet::RatingWave;
use tidewall_units::{Amps, Celsius, Hertz, Seconds, Volts, VoltsPerSecond};

use crate::keys::{self, Unit};
use crate::record::{Condition, Datum, Value};

/// The value of a datum, such as `min 36.7 V, max 40.6 V`.
pub fn value(datum: &Datum) -> String {
    let unit = keys::find(datum.key).map_or(Unit::None, |info| info.unit);
    match &datum.value {
        Value::Spread(spread) => {
            let named = [("min", spread.min), ("typ", spread.typ), ("max", spread.max)];
            let pieces: Vec<String> = named
                .into_iter()
                .filter_map(|(name, value)| Some(format!("{name} {}", unit.text(value?))))
                .collect();
            pieces.join(", ")
        }
        Value::Number(number) => unit.text(*number),
        Value::Flag(true) => "yes".to_owned(),
        Value::Flag(false) => "no".to_owned(),
        Value::Curve(points) => {
            let ends = match (points.first(), points.last()) {
                (Some(first), Some(last)) => format!(
                    ", from {} at {} to {} at {}",
                    Volts(first.0),
                    Amps(first.1),
                    Volts(last.0),
                    Amps(last.1)
                ),
                _ => String::new(),
            };
            format!("{} points{ends}", points.len())
        }
    }
}

/// The conditions of a datum, such as `8/20 µs, 287 A`; empty if none is stated.
pub fn condition(condition: &Condition) -> String {
    let pieces = [
        condition.wave.map(wave),
        condition.current_a.map(|value| Amps(value).to_string()),
        condition.voltage_v.map(|value| Volts(value).to_string()),
        condition.temperature_c.map(|value| Celsius(value).to_string()),
        condition
            .slope_v_per_s
            .map(|value| VoltsPerSecond(value).to_string()),
        condition.width_s.map(|value| format!("for {}", Seconds(value))),
        condition.pulses.map(|count| match count {
            1 => "1 pulse".to_owned(),
            count => format!("{count} pulses"),
        }),
        condition.frequency_hz.map(|value| Hertz(value).to_string()),
    ];
    pieces.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// A wave, such as `8/20 µs`.
pub fn wave(wave: RatingWave) -> String {
    match wave {
        RatingWave::Rectangle { .. } => wave_key(wave),
        _ => format!("{} µs", wave_key(wave)),
    }
}

/// A wave as parts files write it: `8/20`, another front and tail in µs, or `rectangle 100 ns`.
pub fn wave_key(wave: RatingWave) -> String {
    // Moving the decimal mark in the text keeps the digits, where a multiplication might add some.
    let micros = |seconds: f64| {
        let text = format!("{seconds:e}");
        let (digits, power) = text.split_once('e').unwrap_or((&text, "0"));
        let power = power.parse::<i32>().unwrap_or(0) + 6;
        format!("{digits}e{power}")
            .parse::<f64>()
            .unwrap_or(seconds * 1e6)
    };
    match wave {
        RatingWave::Surge8x20 => "8/20".to_owned(),
        RatingWave::Long10x1000 => "10/1000".to_owned(),
        RatingWave::FrontTail { front_s, tail_s } => format!("{}/{}", micros(front_s), micros(tail_s)),
        RatingWave::Rectangle { width_s } => format!("rectangle {}", Seconds(width_s)),
    }
}

/// What a datum is about, such as `clamping voltage (8/20 µs, 287 A)`.
pub fn fact(datum: &Datum) -> String {
    match condition(&datum.condition) {
        text if text.is_empty() => name(datum).to_owned(),
        text => format!("{} ({text})", name(datum)),
    }
}

/// The name of a datum's key, such as `clamping voltage`.
pub fn name(datum: &Datum) -> &'static str {
    keys::find(datum.key).map_or(datum.key, |info| info.words)
}

/// Where a datum is from: document, revision and place.
pub fn source(datum: &Datum) -> String {
    let source = &datum.source;
    [&source.document, &source.revision, &source.place]
        .into_iter()
        .filter(|text| !text.is_empty())
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(", ")
}
