//! Numbers as text: prefixes of the SI, real minus signs, never "−0".

pub use tidewall_units::significant;
use tidewall_units::{
    Amps, Celsius, Farads, Henries, Hertz, Joules, Kelvins, Ohms, Quantity, Seconds, Volts, Watts,
};

/// A value with its unit in engineering form, rounded to so many significant digits. A unit that takes no prefix keeps
/// its value; an empty one leaves a bare number.
pub fn quantity(value: f64, unit: &str, digits: usize) -> String {
    // Adding zero turns a negative zero into zero.
    let value = value + 0.0;
    match unit {
        "V" => Volts(value).rounded(digits),
        "A" => Amps(value).rounded(digits),
        "s" => Seconds(value).rounded(digits),
        "J" => Joules(value).rounded(digits),
        "Ω" => Ohms(value).rounded(digits),
        "F" => Farads(value).rounded(digits),
        "H" => Henries(value).rounded(digits),
        "W" => Watts(value).rounded(digits),
        "Hz" => Hertz(value).rounded(digits),
        "K" => Kelvins(value).rounded(digits),
        "°C" => Celsius(value).rounded(digits),
        "" => significant(value, digits),
        "%" => format!("{} %", significant(value, digits)),
        unit => format!("{} {unit}", significant(value, digits)),
    }
}

/// A number with so many decimals, trailing zeros left off.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    minus(&text)
}

/// A real minus sign, and none before zero.
pub(crate) fn minus(text: &str) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|char| matches!(char, '0' | '.')) => rest.to_owned(),
        _ => text.replace('-', "−"),
    }
}

/// True for units that take prefixes.
pub(crate) fn takes_prefix(unit: &str) -> bool {
    matches!(unit, "V" | "A" | "s" | "J" | "Ω" | "F" | "H" | "W" | "Hz")
}

/// Prefix for an axis whose largest value is of this size: power of ten and letter.
pub(crate) fn prefix(largest: f64, unit: &str) -> (i32, &'static str) {
    const LETTERS: [(i32, &str); 9] = [
        (-15, "f"),
        (-12, "p"),
        (-9, "n"),
        (-6, "µ"),
        (-3, "m"),
        (0, ""),
        (3, "k"),
        (6, "M"),
        (9, "G"),
    ];
    if !(takes_prefix(unit) && largest > 0.0 && largest.is_finite()) {
        return (0, "");
    }
    let fits = LETTERS
        .iter()
        .rev()
        // Seconds above one stay seconds; a rounding error must not make 1000 mV out of 1 V.
        .find(|(power, _)| largest >= 10f64.powi(*power) * (1.0 - 1e-9) && !(unit == "s" && *power > 0));
    fits.copied().unwrap_or((-15, "f"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_has_prefix_and_minus_and_no_negative_zero() {
        assert_eq!(quantity(0.0437, "V", 3), "43.7 mV");
        assert_eq!(quantity(-40.0, "°C", 3), "−40 °C");
        assert_eq!(quantity(-0.0, "V", 3), "0 V");
        assert_eq!(quantity(0.0021, "A²s", 2), "0.0021 A²s");
        assert_eq!(quantity(3.0e4, "", 3), "30000");
        assert_eq!(significant(-0.012_34, 2), "−0.012");
        assert_eq!(significant(1.0e-7, 2), "1e−7");
        assert_eq!(fixed(-0.001, 2), "0");
        assert_eq!(fixed(99.96, 1), "100");
    }

    #[test]
    fn an_axis_has_one_prefix() {
        assert_eq!(prefix(0.02, "s"), (-3, "m"));
        assert_eq!(prefix(20.0, "s"), (0, ""));
        assert_eq!(prefix(1.0e3, "V"), (3, "k"));
        assert_eq!(prefix(999.0, "V"), (0, ""));
        assert_eq!(prefix(300.0, "K"), (0, ""));
        assert_eq!(prefix(0.0, "V"), (0, ""));
    }
}
