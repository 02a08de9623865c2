//! A measurement against its prediction in words.

use tidewall_assess::correlate::result::{Candidate, Deviation};
use tidewall_units::{Amps, Celsius, Farads, Henries, Joules, Ohms, Quantity, Seconds, Volts};

use super::number::{percent, significant};

fn in_unit(value: f64, unit: &str) -> String {
    match unit {
        "V" => Volts(value).rounded(3),
        "A" => Amps(value).rounded(3),
        "J" => Joules(value).rounded(3),
        "C" => format!("{} µC", significant(1e6 * value, 3)),
        "s" => Seconds(value).rounded(3),
        "H" => Henries(value).rounded(3),
        "Ω" => Ohms(value).rounded(3),
        "F" => Farads(value).rounded(3),
        "°C" => Celsius(value).rounded(3),
        _ => format!("{value:.3}"),
    }
}

/// What was read off both waves: quantity, measured, predicted, deviation.
pub fn deviation(row: &Deviation) -> [String; 4] {
    let value = |value: Option<f64>| match value {
        None => "?".to_owned(),
        Some(share) if row.unit == "1" => format!("{} %", percent(share)),
        Some(value) => in_unit(value, row.unit),
    };
    [
        row.quantity.to_owned(),
        value(row.measured),
        value(row.predicted),
        row.share
            .map_or(String::new(), |share| format!("{} %", percent(share))),
    ]
}

/// A parameter fitted alone: name, stated, fitted, 95 % interval, whether that is plausible, how much it explains.
pub fn parameter(candidate: &Candidate) -> [String; 6] {
    let unit = candidate.unit;
    let [low, high] = candidate.interval;
    let open = if candidate.interval_open { ", open" } else { "" };
    let plausible = if candidate.is_plausible { "yes" } else { "no" };
    let [from, to] = candidate.plausible;
    [
        candidate.parameter.clone(),
        in_unit(candidate.stated, unit),
        in_unit(candidate.fitted, unit),
        format!("{} to {}{open}", in_unit(low, unit), in_unit(high, unit)),
        format!("{plausible} ({} to {})", in_unit(from, unit), in_unit(to, unit)),
        format!("{} %", percent(candidate.explains)),
    ]
}
