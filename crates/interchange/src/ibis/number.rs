//! Numbers with scaling letters.

/// Factor of a scaling letter.
fn scale(letter: char) -> Option<f64> {
    Some(match letter {
        'T' => 1e12,
        'G' => 1e9,
        'M' => 1e6,
        'k' => 1e3,
        'm' => 1e-3,
        'u' => 1e-6,
        'n' => 1e-9,
        'p' => 1e-12,
        'f' => 1e-15,
        _ => return None,
    })
}

/// The largest number that a buffer can have anything of, in any unit (numerical choice): slopes and products of such numbers
/// are finite.
pub(super) const LARGEST: f64 = 1e15;

/// A number such as `5.0pF`, `-1.2e-3` or `200mV`: a scaling letter directly behind the number counts, letters
/// behind it are a unit and do not. `None` if it is no number, or one beyond [`LARGEST`].
pub(super) fn scaled(text: &str) -> Option<f64> {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        at
    };
    let sign = usize::from(bytes.first().is_some_and(|b| matches!(b, b'+' | b'-')));
    let mut end = digits(sign);
    let mut any = end > sign;
    if bytes.get(end) == Some(&b'.') {
        let after = digits(end + 1);
        any |= after > end + 1;
        end = after;
    }
    if !any {
        return None;
    }
    if bytes.get(end).is_some_and(|b| matches!(b, b'e' | b'E')) {
        let sign = usize::from(bytes.get(end + 1).is_some_and(|b| matches!(b, b'+' | b'-')));
        let after = digits(end + 1 + sign);
        if after > end + 1 + sign {
            end = after;
        }
    }
    let (number, unit) = text.split_at(end);
    if !unit.chars().all(|c| c.is_ascii_alphabetic()) {
        return None;
    }
    let factor = unit.chars().next().and_then(scale).unwrap_or(1.0);
    let value = number.parse::<f64>().ok()? * factor;
    (value.abs() <= LARGEST).then_some(value)
}

#[cfg(test)]
mod tests {
    use super::scaled;

    fn near(text: &str, wanted: f64) {
        let got = scaled(text).unwrap_or(f64::NAN);
        assert!(
            (got - wanted).abs() <= 1e-12 * wanted.abs(),
            "{text}: {got} instead of {wanted}"
        );
    }

    #[test]
    fn scaling_letters_count_and_units_do_not() {
        near("5.0pF", 5e-12);
        near("-1.2e-3", -1.2e-3);
        near("200mV", 0.2);
        near("2M", 2e6);
        near("2m", 2e-3);
        near("3.3V", 3.3);
        near("1.5kohm", 1500.0);
        near("7u", 7e-6);
        near("1e3m", 1.0);
        near("+.5n", 0.5e-9);
        near("4T", 4e12);
        near("4G", 4e9);
        near("4f", 4e-15);
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in [
            "", "-", ".", "NA", "1.2.3", "1e400", "1e308", "-1e16", "5 p", "5µ", "0x10", "nan", "inf",
        ] {
            assert_eq!(scaled(text), None, "{text}");
        }
    }
}
