//! Properties that hold for every value and every text.

use proptest::prelude::*;
use tidewall_units::*;

/// Every finite `f64`: all exponents, both signs, both zeros, subnormals.
fn finite() -> impl Strategy<Value = f64> {
    let bits = any::<u64>()
        .prop_map(f64::from_bits)
        .prop_filter("finite", |value| value.is_finite());
    let subnormal = (0..1_u64 << 52, any::<bool>()).prop_map(|(bits, negative)| {
        if negative {
            -f64::from_bits(bits)
        } else {
            f64::from_bits(bits)
        }
    });
    let usual =
        (-999_999_i32..=999_999, -18..=12).prop_map(|(digits, power)| f64::from(digits) * 10_f64.powi(power));
    prop_oneof![
        bits,
        subnormal,
        usual,
        Just(0.0),
        Just(-0.0),
        Just(f64::MAX),
        Just(f64::MIN),
        Just(f64::MIN_POSITIVE)
    ]
}

/// Text near the grammar, which plain random text never reaches.
fn near_text() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "1", "24", "000", "0", "9e", "1e400", "4k7", "K", "k", "M", "m", "µ", "\u{3bc}", "u", "meg", "V",
        "A", "Ω", "\u{2126}", "R", "F", "H", "s", "min", "h", "°C", "℃", "°", "%", "ppm", "/K", "%/K", "1/K",
        "²", "A²s", "mm2", "V/µs", "±", "+/-", "+", "-", "−", "–", "to", "…", "..", ".", ",", "'", "(", ")",
        "<", ">=", " ", "\u{202f}", "\u{a0}", "nan", "∞", "é", "🌊", "\0", "/",
    ]);
    prop::collection::vec(piece, 0..9).prop_map(|pieces| pieces.concat())
}

fn sound<T>(text: &str, result: Result<T, QuantityError>) -> Result<(), TestCaseError> {
    if let Err(error) = result {
        prop_assert!(error.span.start <= error.span.end, "{:?} in {text:?}", error);
        prop_assert!(text.get(error.span.clone()).is_some(), "{:?} in {text:?}", error);
        prop_assert!(!error.to_string().chars().any(char::is_control), "{:?}", error);
        prop_assert!(!error.message.is_empty() && !error.expected.is_empty());
    }
    Ok(())
}

fn all_forms<Q: Quantity>(text: &str) -> Result<(), TestCaseError> {
    let value = parse::<Q>(text);
    if let Ok(value) = value {
        prop_assert!(value.si().is_finite());
    }
    sound(text, value)?;
    sound(text, parse_signed::<Q>(text))?;
    sound(text, parse_range::<Q>(text))?;
    sound(text, parse_limit::<Q>(text))?;
    let toleranced = parse_tolerance::<Q>(text);
    if let Ok(Toleranced { nominal, low, high }) = toleranced {
        prop_assert!(low <= nominal && nominal <= high, "{text:?}");
    }
    sound(text, toleranced)
}

fn same<Q: Quantity>(one: Q, other: Q) -> bool {
    one.si().to_bits() == other.si().to_bits()
}

fn identity<Q: Quantity>(a: f64, b: f64, c: f64) -> Result<(), TestCaseError> {
    let value = Q::from_si(a);
    let text = value.to_string();
    prop_assert!(same(parse::<Q>(&text)?, value), "{text}");
    prop_assert!(
        same(text.replace(' ', "").parse::<Q>()?, value),
        "{text} without space"
    );
    let magnitude = Q::from_si(a.abs());
    for polarity in [
        None,
        Some(Polarity::Positive),
        Some(Polarity::Negative),
        Some(Polarity::Both),
    ] {
        let signed = Signed { polarity, magnitude };
        let back = parse_signed::<Q>(&signed.to_string())?;
        prop_assert!(
            back.polarity == polarity && same(back.magnitude, magnitude),
            "{signed}"
        );
    }
    let limit = Limit {
        relation: Relation::AtMost,
        value,
    };
    prop_assert!(
        same(parse_limit::<Q>(&limit.to_string())?.value, value),
        "{limit}"
    );
    let mut ends = [a, b, c];
    ends.sort_by(f64::total_cmp);
    let [low, nominal, high] = ends.map(Q::from_si);
    if low < high {
        let range = Range { low, high };
        let back = parse_range::<Q>(&range.to_string())?;
        prop_assert!(same(back.low, low) && same(back.high, high), "{range}");
        let toleranced = Toleranced { nominal, low, high };
        let back = parse_tolerance::<Q>(&toleranced.to_string())?;
        prop_assert!(
            same(back.nominal, nominal) && same(back.low, low) && same(back.high, high),
            "{toleranced}"
        );
    }
    Ok(())
}

/// Rounding moves a value by half a unit of its last digit at most.
fn close<Q: Quantity>(value: f64) -> Result<(), TestCaseError> {
    // Near the ends of the range the rounded value may not be a number any more.
    if value == 0.0 || !(1e-290..1e290).contains(&value.abs()) {
        return Ok(());
    }
    let text = Q::from_si(value).rounded(4);
    let error = (parse::<Q>(&text)?.si() - value).abs() / value.abs();
    prop_assert!(error <= 0.000_500_000_1, "{value:e} is not {text}");
    Ok(())
}

macro_rules! for_every_quantity {
    ($call:ident($($argument:expr),*)) => {
        for_every_quantity!(@ $call ($($argument),*) Volts Amps Seconds Ohms Farads Henries Joules Watts Celsius Kelvins
            Hertz Ratio PerKelvin KelvinPerWatt VoltsPerSecond AmpSquaredSeconds Metres SquareMetres)
    };
    (@ $call:ident $arguments:tt $($quantity:ident)*) => {
        $(for_every_quantity!(! $call $quantity $arguments);)*
    };
    (! $call:ident $quantity:ident ($($argument:expr),*)) => { $call::<$quantity>($($argument),*)? };
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, rng_seed: prop::test_runner::RngSeed::Fixed(0x7161_e5ca), ..ProptestConfig::default() })]

    #[test]
    fn print_then_parse_is_the_identity(a in finite(), b in finite(), c in finite()) {
        for_every_quantity!(identity(a, b, c));
    }

    #[test]
    fn rounding_is_to_the_nearest(a in finite()) {
        for_every_quantity!(close(a));
    }

    #[test]
    fn no_text_panics_and_every_span_lies_in_the_text(text in any::<String>()) {
        for_every_quantity!(all_forms(&text));
    }

    #[test]
    fn no_text_near_the_grammar_panics(text in near_text()) {
        for_every_quantity!(all_forms(&text));
    }

    #[test]
    fn prefixes_read_as_if_written_out(digits in 1_u32..=999_999, power in -9..=3_i32) {
        let written = format!("{digits}e{power} kV");
        let plain = format!("{digits}e{} V", power + 3);
        prop_assert_eq!(parse::<Volts>(&written)?, parse::<Volts>(&plain)?);
    }
}
