//! Text of bare numbers.

/// Text of a number with `digits` significant digits, trailing zeros dropped, with a real minus sign.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return if value.is_nan() {
            "?"
        } else if value > 0.0 {
            "∞"
        } else {
            "−∞"
        }
        .to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let scientific = format!("{value:.*e}", digits.saturating_sub(1));
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let shorten = |text: &str| {
        if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            text.to_owned()
        }
    };
    let text = if (-4..6).contains(&exponent) {
        let decimals = usize::try_from(digits as i32 - 1 - exponent).unwrap_or(0);
        // From the rounded text, so that 999.96 is 1000 in four digits and not 1000.0.
        let rounded: f64 = scientific.parse().unwrap_or(value);
        shorten(&format!("{rounded:.decimals$}"))
    } else {
        format!("{}e{exponent}", shorten(mantissa))
    };
    text.replace('-', "−")
}
