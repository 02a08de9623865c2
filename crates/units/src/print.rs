//! The printer. It moves the decimal mark in the text of the number and never scales the number
//! itself: `{:e}` writes the shortest digits that identify an `f64`, and shifting them by a power of
//! ten changes no digit. The parser shifts them back the same way, so that print and parse is the
//! identity on every finite value, whatever the prefix.

use crate::quantity::Kind;
use crate::scan::prefix_symbol;

/// Engineering text of `value` (SI base units): all digits, or `digits` significant ones.
pub(crate) fn engineering(kind: &Kind, value: f64, digits: Option<usize>) -> String {
    let minus = if value.is_sign_negative() && !value.is_nan() {
        "−"
    } else {
        ""
    };
    let magnitude = value.abs();
    let (first, unit) = match kind.printed {
        [first, ..] => *first,
        [] => (0, ""),
    };
    if !magnitude.is_finite() {
        return format!("{minus}{} {unit}", if magnitude.is_nan() { "NaN" } else { "∞" });
    }
    if magnitude == 0.0 {
        return format!("{minus}0 {unit}");
    }
    let text = match digits {
        None => format!("{magnitude:e}"),
        Some(digits) => format!("{magnitude:.*e}", digits.clamp(1, 17) - 1),
    };
    // `{:e}` of a finite number always holds an `e` and a small integer after it.
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let mut figures: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    figures.truncate(figures.trim_end_matches('0').len().max(1));

    let (base, unit) = kind
        .printed
        .iter()
        .rev()
        .find(|(base, _)| *base <= exponent)
        .copied()
        .unwrap_or((first, unit));
    let (lowest, highest) = kind.prefixes;
    let prefix = ((exponent - base).div_euclid(3) * 3).clamp(lowest.div_euclid(3) * 3, highest);
    match (prefix_symbol(prefix), exponent - base - prefix) {
        (Some(letter), place @ -5..=8) => format!("{minus}{} {letter}{unit}", plain(&figures, place)),
        _ => {
            let (lead, rest) = figures.split_at(1);
            let mark = if rest.is_empty() { "" } else { "." };
            let power = exponent - base;
            let sign = if power < 0 { "−" } else { "" };
            format!("{minus}{lead}{mark}{rest}e{sign}{} {unit}", power.unsigned_abs())
        }
    }
}

/// `figures` with the decimal mark set so that the first one counts 10^`place`.
fn plain(figures: &str, place: i32) -> String {
    let zeros = |count: i32| "0".repeat(usize::try_from(count).unwrap_or(0));
    let whole = usize::try_from(place + 1).unwrap_or(0);
    if place < 0 {
        format!("0.{}{figures}", zeros(-place - 1))
    } else if figures.len() <= whole {
        format!("{figures}{}", "0".repeat(whole - figures.len()))
    } else {
        let (whole, fraction) = figures.split_at(whole);
        format!("{whole}.{fraction}")
    }
}
