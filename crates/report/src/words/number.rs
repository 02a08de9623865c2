//! Numbers and corners as people read them.

use tidewall_assess::result::{Corner, PartSet, Polarity, StressSet};
use tidewall_units::{
    AmpSquaredSeconds, Amps, Celsius, Farads, Henries, Hertz, Joules, Kelvins, Ohms, Quantity, Ratio,
    Seconds, Volts, Watts, parse,
};

pub use tidewall_units::significant;

/// Digits shown of a value.
const DIGITS: usize = 4;

/// A prefixed unit and how many SI units it is, fit for a value of this size.
fn scale<Q: Quantity>(size: f64) -> (f64, String) {
    let printed = Q::from_si(size).rounded(DIGITS);
    let unit = printed.rsplit(' ').next().unwrap_or_default();
    let factor = parse::<Q>(&format!("1 {unit}")).map_or(1.0, Q::si);
    if size == 0.0 || !size.is_finite() {
        (1.0, Q::SYMBOL.to_owned())
    } else {
        (factor, unit.to_owned())
    }
}

/// Numbers in one unit, so that they can be compared at a glance: their texts and the unit. All have the decimals
/// that the largest needs; one too small for these is "below" the last of them.
pub fn in_one_unit(values: &[Option<f64>], unit: &str) -> (Vec<String>, String) {
    if values.iter().all(Option::is_none) {
        return (vec![String::new(); values.len()], String::new());
    }
    let size = values
        .iter()
        .flatten()
        .map(|value| value.abs())
        .fold(0.0, f64::max);
    let (factor, printed) = match unit {
        "V" => scale::<Volts>(size),
        "A" => scale::<Amps>(size),
        "J" => scale::<Joules>(size),
        "W" => scale::<Watts>(size),
        "s" => scale::<Seconds>(size),
        "Ω" => scale::<Ohms>(size),
        "F" => scale::<Farads>(size),
        "H" => scale::<Henries>(size),
        "Hz" => scale::<Hertz>(size),
        "°C" => scale::<Celsius>(size),
        "K" => scale::<Kelvins>(size),
        "A²s" => scale::<AmpSquaredSeconds>(size),
        // A share; counts are whole.
        "1" if size < 1.0 => (0.01, "%".to_owned()),
        "1" => (1.0, String::new()),
        other => (1.0, other.to_owned()),
    };
    let largest = size / factor;
    let decimals = if (1e-3..1e6).contains(&largest) {
        let whole = largest.log10().floor() as i32;
        usize::try_from(DIGITS as i32 - 1 - whole).ok()
    } else {
        None
    };
    let text = |value: f64| match decimals {
        Some(decimals) => fixed(value / factor, decimals),
        None => significant(value / factor, DIGITS),
    };
    (
        values
            .iter()
            .map(|value| value.map_or(String::new(), text))
            .collect(),
        printed,
    )
}

/// Text of a number with at most so many decimals and [`DIGITS`] digits.
fn fixed(value: f64, decimals: usize) -> String {
    let step = 0.1f64.powi(decimals as i32);
    if value != 0.0 && value.abs() < 0.5 * step {
        let sign = if value < 0.0 { "> −" } else { "< " };
        return format!("{sign}{}", significant(step, 1));
    }
    if value.abs() < 1.0 {
        let text = format!("{value:.decimals$}");
        let text = if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.')
        } else {
            &text
        };
        return text.replace('-', "−");
    }
    significant(value, DIGITS)
}

/// A share in percent with one decimal, without the sign for percent.
pub fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent > 999.9 {
        "> 999".to_owned()
    } else if percent < -999.9 {
        "< −999".to_owned()
    } else {
        let text = format!("{percent:.1}");
        let text = if text == "-0.0" { "0.0" } else { &text };
        text.replace('-', "−")
    }
}

/// The tolerances of the parts in words.
pub fn parts_in_words(parts: PartSet) -> String {
    format!("parts {}", parts.word().replace('-', " "))
}

/// A corner in words.
pub fn corner_words(corner: &Corner) -> String {
    let mut words = vec![Celsius(corner.ambient_c).rounded(3)];
    if let Some(part) = corner.part {
        words.push(parts_in_words(part));
    }
    match (corner.stress_tolerance, corner.stress_factor) {
        (Some(StressSet::BlindSpot), Some(factor)) => words.push(format!(
            "generator just below firing, at {} of its level",
            Ratio(factor).rounded(3)
        )),
        (Some(StressSet::Drawn), Some(factor)) => {
            words.push(format!("generator at {} of its level", Ratio(factor).rounded(3)));
        }
        (Some(stress), _) => words.push(format!("generator {}", stress.word())),
        (None, _) => {}
    }
    if let Some(sign) = corner.polarity {
        let word = match sign {
            Polarity::Positive => "positive",
            Polarity::Negative => "negative",
        };
        words.push(word.to_owned());
        words.push(match corner.supply_v {
            Some(volts) => format!("{} on the line", Volts(volts).rounded(3)),
            None => "unpowered".to_owned(),
        });
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_rounded_and_zeros_dropped() {
        for (value, text) in [
            (72.0, "72"),
            (72.123_9, "72.12"),
            (999.96, "1000"),
            (123_456.0, "123500"),
            (-0.025, "−0.025"),
            (0.000_123_46, "0.0001235"),
            (3.25e-5, "3.25e−5"),
            (-1.0e9, "−1e9"),
            (f64::INFINITY, "∞"),
            (f64::NAN, "?"),
        ] {
            assert_eq!(significant(value, 4), text);
        }
        assert_eq!(significant(123_456.0, 7), "123456");
    }

    #[test]
    fn value_and_limit_share_their_unit() {
        let (texts, unit) = in_one_unit(&[Some(950e-3), Some(1.2)], "V");
        assert_eq!((texts.join(" "), unit.as_str()), ("0.95 1.2".to_owned(), "V"));
        let (texts, unit) = in_one_unit(&[Some(2.5e-6), None], "A");
        assert_eq!((texts.join("|"), unit.as_str()), ("2.5|".to_owned(), "µA"));
        let (texts, unit) = in_one_unit(&[Some(143.27), Some(175.0)], "°C");
        assert_eq!((texts.join(" "), unit.as_str()), ("143.3 175".to_owned(), "°C"));
        let (texts, unit) = in_one_unit(&[Some(0.05)], "A²s");
        assert_eq!((texts.join(" "), unit.as_str()), ("0.05".to_owned(), "A²s"));
        let (texts, unit) = in_one_unit(&[Some(8.644e-4), Some(1.2)], "W");
        assert_eq!((texts.join(" "), unit.as_str()), ("0.001 1.2".to_owned(), "W"));
        let (texts, unit) = in_one_unit(&[Some(-1.767e-6), Some(1.2)], "W");
        assert_eq!((texts.join(" "), unit.as_str()), ("> −0.001 1.2".to_owned(), "W"));
        let (texts, unit) = in_one_unit(&[Some(9.761e-5), Some(1e-3)], "1");
        assert_eq!((texts.join(" "), unit.as_str()), ("0.0098 0.1".to_owned(), "%"));
        let (texts, unit) = in_one_unit(&[Some(5.0), Some(10.0)], "1");
        assert_eq!((texts.join(" "), unit.as_str()), ("5 10".to_owned(), ""));
    }

    #[test]
    fn shares_are_percent_with_one_decimal() {
        assert_eq!(percent(-0.202_4), "−20.2");
        assert_eq!(percent(-1e-9), "0.0");
        assert_eq!(percent(40.0), "> 999");
    }
}
