//! Values as text for reasons.

use tidewall_units::{
    Amps, Celsius, Farads, Henries, Joules, Kelvins, Ohms, PerKelvin, Quantity, Ratio, Seconds, Volts, Watts,
};

/// Volts with three digits.
pub fn volts(value: f64) -> String {
    Volts(value).rounded(3)
}

/// Amperes with three digits.
pub fn amps(value: f64) -> String {
    Amps(value).rounded(3)
}

/// Ohms with three digits.
pub fn ohms(value: f64) -> String {
    Ohms(value).rounded(3)
}

/// Farads with three digits.
pub fn farads(value: f64) -> String {
    Farads(value).rounded(3)
}

/// Joules with three digits.
pub fn joules(value: f64) -> String {
    Joules(value).rounded(3)
}

/// Watts with three digits.
pub fn watts(value: f64) -> String {
    Watts(value).rounded(3)
}

/// Seconds with three digits; "ever" for an infinite time.
pub fn seconds(value: f64) -> String {
    if value.is_infinite() {
        "any time".to_owned()
    } else {
        Seconds(value).rounded(3)
    }
}

/// Degrees Celsius with three digits.
pub fn celsius(value: f64) -> String {
    Celsius(value).rounded(3)
}

/// Kelvins with three digits.
pub fn kelvins(value: f64) -> String {
    Kelvins(value).rounded(3)
}

/// Henries with three digits.
pub fn henries(value: f64) -> String {
    Henries(value).rounded(3)
}

/// A temperature coefficient with three digits.
pub fn per_kelvin(value: f64) -> String {
    PerKelvin(value).rounded(3)
}

/// A share in percent with two digits.
pub fn percent(value: f64) -> String {
    Ratio(value).rounded(2)
}
