//! Texts and their values, and texts that are no values.

use tidewall_units::*;

fn fails<Q: Quantity>(text: &str) -> (std::ops::Range<usize>, String, String) {
    let error = parse::<Q>(text).expect_err(text);
    assert!(!error.to_string().contains('\n'), "{error}");
    (error.span, error.message, error.hint.unwrap_or_default())
}

#[test]
fn prefixes_spaces_marks_and_signs_are_read() {
    let thin = [
        "8 kV",
        "8kV",
        "8\u{a0}kV",
        "8\u{202f}kV",
        "8\u{2009}kV",
        " 8  kV ",
        "8e3 V",
        "8E+3V",
        "+8 kV",
        "0,8e4 V",
    ];
    for text in thin {
        assert_eq!(parse(text), Ok(Volts(8e3)), "{text}");
    }
    for text in [
        "4.7 µF",
        "4.7 \u{3bc}F",
        "4,7 µF",
        "4.7uF",
        "4700nF",
        "4700000 pF",
        "4.7e-6 F",
        "4.7e−6 F",
        "4µ7F",
        "4u7",
        "4.7µ",
    ] {
        assert_eq!(parse(text), Ok(Farads(4.7e-6)), "{text}");
    }
    for text in [
        "4.7 kΩ",
        "4.7 k\u{2126}",
        "4k7",
        "4K7",
        "4k7Ω",
        "4k7 ohm",
        "4700R",
        "4700 ohms",
        "4.7k",
        "4.7K",
        "0.0047 megohm",
    ] {
        assert_eq!(parse(text), Ok(Ohms(4700.0)), "{text}");
    }
    for text in ["-40 °C", "−40°C", "- 40 degC", "-40 ℃"] {
        assert_eq!(parse(text), Ok(Celsius(-40.0)), "{text}");
    }
    assert_eq!(parse("R47"), Ok(Ohms(0.47)));
    assert_eq!(parse("4R7"), Ok(Ohms(4.7)));
    assert_eq!(parse("20 mΩ"), Ok(Ohms(0.02)));
    assert_eq!(parse("2n2"), Ok(Farads(2.2e-9)));
    assert_eq!(parse("3V3"), Ok(Volts(3.3)));
    assert_eq!(parse(".5 V"), Ok(Volts(0.5)));
    assert_eq!(parse("0,125 V"), Ok(Volts(0.125)));
    assert_eq!(parse("1 MV"), Ok(Volts(1e6)));
    assert_eq!(parse("1 mV"), Ok(Volts(1e-3)));
}

#[test]
fn every_quantity_has_its_units() {
    assert_eq!(parse("0.9 ns"), Ok(Seconds(0.9e-9)));
    assert_eq!(parse("1 min"), Ok(Seconds(60.0)));
    assert_eq!(parse("2 h"), Ok(Seconds(7200.0)));
    assert_eq!(parse("500 ms"), Ok(Seconds(0.5)));
    assert_eq!(parse("15nH"), Ok(Henries(15e-9)));
    assert_eq!(parse("1.5 kW"), Ok(Watts(1500.0)));
    assert_eq!(parse("3 mJ"), Ok(Joules(3e-3)));
    assert_eq!(parse("100 kHz"), Ok(Hertz(1e5)));
    assert_eq!(parse("40 K"), Ok(Kelvins(40.0)));
    assert_eq!(parse("30 A"), Ok(Amps(30.0)));
    for text in ["20 %", "20%", "0.2", "200000 ppm"] {
        assert_eq!(parse(text), Ok(Ratio(0.2)), "{text}");
    }
    for text in [
        "0.1 %/K",
        "0,1 %/°C",
        "1000 ppm/K",
        "1e-3 1/K",
        "1e-3/K",
        "0.001 K⁻¹",
    ] {
        assert_eq!(parse(text), Ok(PerKelvin(1e-3)), "{text}");
    }
    assert_eq!(parse("100 K/W"), Ok(KelvinPerWatt(100.0)));
    assert_eq!(parse("100 °C/W"), Ok(KelvinPerWatt(100.0)));
    for text in [
        "1 kV/µs",
        "1 kV/us",
        "1000 V/\u{3bc}s",
        "1 V/ns",
        "1e9 V/s",
        "1 GV/s",
        "1000 kV/ms",
    ] {
        assert_eq!(parse(text), Ok(VoltsPerSecond(1e9)), "{text}");
    }
    for text in ["3.66e-6 A²s", "3.66e-6A2s", "3.66e-6 A²·s"] {
        assert_eq!(parse(text), Ok(AmpSquaredSeconds(3.66e-6)), "{text}");
    }
    assert_eq!(parse("2 mm"), Ok(Metres(2e-3)));
    assert_eq!(parse("2 m"), Ok(Metres(2.0)));
    assert_eq!(parse("5mm2"), Ok(SquareMetres(5e-6)));
    assert_eq!(parse("5m2"), Ok(SquareMetres(5.0)));
    assert_eq!("1.5 mm²".parse(), Ok(SquareMetres(1.5e-6)));
}

#[test]
fn case_slips_are_refused_with_the_right_spelling() {
    assert_eq!(
        fails::<Volts>("8 KV"),
        (
            2..4,
            "`KV` is not a unit of voltage".into(),
            "did you mean 8 kV?".into()
        )
    );
    assert_eq!(fails::<Volts>("8 kv").2, "did you mean 8 kV?");
    assert_eq!(fails::<Seconds>("5 Ms").2, "did you mean 5 ms?");
    assert_eq!(fails::<Farads>("10 MF").2, "did you mean 10 mF?");
    assert_eq!(fails::<Amps>("10 MA").2, "did you mean 10 mA?");
    assert_eq!(fails::<Hertz>("10 KHz").2, "did you mean 10 kHz?");
    assert_eq!(fails::<Ohms>("10 KΩ").2, "did you mean 10 kΩ?");
    assert_eq!(fails::<Celsius>("25 C").2, "did you mean °C?");
    assert!(fails::<Volts>("230 Vrms").2.contains("RMS"));
}

#[test]
fn wrong_and_missing_units_are_refused_at_their_place() {
    assert_eq!(
        fails::<Volts>("8 A"),
        (
            2..3,
            "`A` is a unit of current, not of voltage".into(),
            String::new()
        )
    );
    assert_eq!(fails::<Amps>("  8 kΩ").0, 4..7);
    assert_eq!(fails::<PerKelvin>("0.1 %").2, "did you mean %/K?");
    assert_eq!(
        fails::<Celsius>("25 K").1,
        "`K` is a unit of temperature difference, not of temperature"
    );
    assert_eq!(
        fails::<Volts>("8"),
        (
            0..1,
            "`8` has no unit".into(),
            "write 8 V if that is what is meant".into()
        )
    );
    assert_eq!(fails::<Seconds>("5 m").2, "write ms or min");
    assert_eq!(fails::<Ohms>("10 K").2, "did you mean kΩ?");
    assert_eq!(
        fails::<Ohms>("10 m").1,
        "`m` is a unit of length, not of resistance"
    );
    for text in ["4n7", "10u"] {
        fails::<Henries>(text);
    }
    fails::<AmpSquaredSeconds>("5 mA²s");
    fails::<Volts>("8 kkV");
    fails::<Volts>("8 kV/");
}

#[test]
fn numbers_that_are_not_finite_or_not_numbers_are_refused() {
    for text in ["NaN V", "nan", "inf V", "-inf V", "∞ V", "−∞ V", "Infinity V"] {
        assert!(fails::<Volts>(text).1.contains("not a finite number"), "{text}");
    }
    for text in ["1e400 V", "1e308 kV", "-1e308 kV", "1e99999999999999999999 V"] {
        assert!(fails::<Volts>(text).1.contains("too large"), "{text}");
    }
    assert!(fails::<Seconds>("1e308 h").1.contains("too large"));
    for text in ["1e-400 V", "1e-320 pV", "1e-99999999999999999999 V"] {
        assert!(fails::<Volts>(text).1.contains("too small"), "{text}");
    }
    assert_eq!(parse("0e999999999999999999999 V"), Ok(Volts(0.0)));
    for text in ["", " ", "\u{a0}"] {
        assert_eq!(fails::<Volts>(text).1, "the text is empty");
    }
    for text in [
        "V", "kV", "-", "±", "5. V", "1e V", "- - 5 V", "٣ V", "0x10 V", "±8 kV", "8\nkV 9",
    ] {
        fails::<Volts>(text);
    }
    assert_eq!(fails::<Volts>("–5 V").2, "write the minus sign as - or −");
    assert_eq!(
        fails::<Volts>("8 kV foo "),
        (5..8, "`foo` is left over".into(), String::new())
    );
    assert!(fails::<Volts>(&"9".repeat(5000)).1.contains("too long"));
}

#[test]
fn separators_of_thousands_are_refused() {
    assert_eq!(
        fails::<Volts>("1,000 V"),
        (
            0..5,
            "`1,000` is ambiguous: decimal comma or thousands separator".into(),
            "write 1000 or 1.000".into()
        )
    );
    for text in [
        "1,000.5 V",
        "1.000,5 V",
        "1,000,000 V",
        "1.000.000 V",
        "1 000 V",
        "1\u{202f}000 V",
        "1'000 V",
        "1_000 V",
    ] {
        assert!(fails::<Volts>(text).1.contains("groups its digits"), "{text}");
    }
    assert_eq!(parse("1.000 V"), Ok(Volts(1.0)));
    assert_eq!(parse("1,00 V"), Ok(Volts(1.0)));
    assert_eq!(parse("1234,567 V"), Ok(Volts(1234.567)));
}

#[test]
fn signed_levels_are_read() {
    let cases = [
        ("±8 kV", Some(Polarity::Both)),
        ("± 8 kV", Some(Polarity::Both)),
        ("+/-8 kV", Some(Polarity::Both)),
        ("+8 kV", Some(Polarity::Positive)),
        ("-8 kV", Some(Polarity::Negative)),
        ("−8 kV", Some(Polarity::Negative)),
        ("8 kV", None),
    ];
    for (text, polarity) in cases {
        assert_eq!(
            parse_signed(text),
            Ok(Signed {
                polarity,
                magnitude: Volts(8e3)
            }),
            "{text}"
        );
    }
    for text in ["±-8 kV", "±8", "±8 A", "-/+8 kV", "8 kV±"] {
        assert!(parse_signed::<Volts>(text).is_err(), "{text}");
    }
}

#[test]
fn ranges_are_read_and_impossible_ones_refused() {
    for text in [
        "-40 °C to 70 °C",
        "-40 to 70 °C",
        "−40 °C … 70 °C",
        "-40 °C .. 70 °C",
        "-40...70 °C",
        "-40°C to +70°C",
    ] {
        assert_eq!(
            parse_range(text),
            Ok(Range {
                low: Celsius(-40.0),
                high: Celsius(70.0)
            }),
            "{text}"
        );
    }
    assert_eq!(
        parse_range("1k to 4k7"),
        Ok(Range {
            low: Ohms(1000.0),
            high: Ohms(4700.0)
        })
    );
    assert_eq!(
        parse_range("10 to 20 %"),
        Ok(Range {
            low: Ratio(0.1),
            high: Ratio(0.2)
        })
    );
    assert_eq!(
        parse_range("0.1 to 0.2"),
        Ok(Range {
            low: Ratio(0.1),
            high: Ratio(0.2)
        })
    );
    let bad = [
        ("70 °C to -40 °C", "the range is upside down"),
        ("70 °C to 70 °C", "the range is empty"),
        ("-40 to 70", "`70` has no unit"),
        ("1 to 10k", "`1` has no unit"),
        ("70 °C", "the range has no `to`"),
        ("-40 °C – 70 °C", "the range has no `to`"),
    ];
    for (text, message) in bad {
        let error = if text.contains('k') {
            parse_range::<Ohms>(text).err()
        } else {
            parse_range::<Celsius>(text).err()
        };
        assert_eq!(error.expect(text).message, message, "{text}");
    }
    let range = parse_range::<Volts>("1 V to 2 V").expect("a range");
    assert!(range.contains(Volts(1.0)) && range.contains(Volts(2.0)) && !range.contains(Volts(2.1)));
}

#[test]
fn tolerances_are_read() {
    let cases = [
        ("24 V", 24.0, 24.0, 24.0),
        ("24 V ±20 %", 24.0, 19.2, 28.8),
        ("24V±20%", 24.0, 19.2, 28.8),
        ("24 V +/-20 %", 24.0, 19.2, 28.8),
        ("24 V ±200000 ppm", 24.0, 19.2, 28.8),
        ("24 V -15 %/+20 %", 24.0, 20.4, 28.8),
        ("24 V -15/+20 %", 24.0, 20.4, 28.8),
        ("24 V +20 % / −15 %", 24.0, 20.4, 28.8),
        ("24 V ±1 V", 24.0, 23.0, 25.0),
        ("24 V ±500 mV", 24.0, 23.5, 24.5),
        ("24 V -0 %/+1 V", 24.0, 24.0, 25.0),
        ("-48 V ±20 %", -48.0, -57.6, -38.4),
        ("-48 V -1 V/+2 V", -48.0, -49.0, -46.0),
        ("24 V (20 V to 29 V)", 24.0, 20.0, 29.0),
        ("24 V (20 to 29 V)", 24.0, 20.0, 29.0),
    ];
    for (text, nominal, low, high) in cases {
        let wanted = Toleranced {
            nominal: Volts(nominal),
            low: Volts(low),
            high: Volts(high),
        };
        assert_eq!(parse_tolerance(text), Ok(wanted), "{text}");
    }
    let body = Toleranced {
        nominal: Celsius(25.0),
        low: Celsius(22.0),
        high: Celsius(28.0),
    };
    assert_eq!(parse_tolerance("25 °C ±3 K"), Ok(body));
    assert_eq!(parse_tolerance("25 °C ±3 °C"), Ok(body));
    assert_eq!(
        parse_tolerance("0.5 ±0.25"),
        Ok(Toleranced {
            nominal: Ratio(0.5),
            low: Ratio(0.25),
            high: Ratio(0.75)
        })
    );
}

#[test]
fn impossible_tolerances_are_refused() {
    for text in [
        "24 V +20 %",
        "24 V -15 %",
        "24 V ±",
        "24 V ±20",
        "24 V ±1 A",
        "24 V -15 %/-20 %",
        "24 V -150 %/+20 %",
        "24 ±20 %",
        "24 V (25 V to 29 V)",
        "24 V (20 V to 29 V",
        "24 V ±-5 %",
        "24 V ±1e308 V ±",
        "1e308 V ±100 %",
        "24 V foo",
        "24 V ±20 % V",
    ] {
        assert!(parse_tolerance::<Volts>(text).is_err(), "{text}");
    }
    assert!(parse_tolerance::<Celsius>("25 °C ±10 %").is_err());
    assert!(parse_tolerance::<Ratio>("50 % ±10 %").is_err());
}

#[test]
fn limits_are_read() {
    let cases = [
        ("< 5 pF", Relation::Below),
        ("<=5 pF", Relation::AtMost),
        ("≤ 5 pF", Relation::AtMost),
        ("> 5pF", Relation::Above),
        (">= 5 pF", Relation::AtLeast),
        ("≥5p", Relation::AtLeast),
    ];
    for (text, relation) in cases {
        assert_eq!(
            parse_limit(text),
            Ok(Limit {
                relation,
                value: Farads(5e-12)
            }),
            "{text}"
        );
    }
    assert!(parse_limit::<Farads>("5 pF").is_err());
    let limit = Limit {
        relation: Relation::Below,
        value: Farads(5e-12),
    };
    assert!(limit.allows(Farads(4e-12)) && !limit.allows(Farads(5e-12)));
}

#[test]
fn printing_chooses_the_engineering_prefix() {
    let cases = [
        (Volts(8e3).to_string(), "8 kV"),
        (Volts(-0.0).to_string(), "−0 V"),
        (Volts(999.0).to_string(), "999 V"),
        (Volts(-1000.0).to_string(), "−1 kV"),
        (Volts(0.1 + 0.2).to_string(), "300.00000000000004 mV"),
        (Volts(5e-324).to_string(), "5e−324 V"),
        (Volts(1e308).to_string(), "1e308 V"),
        (Farads(4.7e-6).to_string(), "4.7 \u{b5}F"),
        (Ohms(4700.0).to_string(), "4.7 k\u{3a9}"),
        (Seconds(3600.0).to_string(), "3600 s"),
        (Celsius(-40.0).to_string(), "−40 °C"),
        (Celsius(1250.5).to_string(), "1250.5 °C"),
        (Ratio(0.2).to_string(), "20 %"),
        (PerKelvin(-0.0005).to_string(), "−0.05 %/K"),
        (VoltsPerSecond(1e9).to_string(), "1 kV/µs"),
        (VoltsPerSecond(100.0).to_string(), "100 V/s"),
        (AmpSquaredSeconds(0.05).to_string(), "0.05 A²s"),
        (AmpSquaredSeconds(3.66e-6).to_string(), "3.66e−6 A²s"),
        (SquareMetres(1.5e-6).to_string(), "1.5 mm²"),
        (Metres(2e-3).to_string(), "2 mm"),
        (KelvinPerWatt(0.05).to_string(), "50 mK/W"),
        (Volts(f64::NAN).to_string(), "NaN V"),
        (Volts(f64::NEG_INFINITY).to_string(), "−∞ V"),
        (Volts(43.7182).rounded(3), "43.7 V"),
        (Volts(999.96).rounded(4), "1 kV"),
        (Joules(0.0123456).rounded(3), "12.3 mJ"),
        (Celsius(1234.5).rounded(2), "1200 °C"),
        (Amps(1.0).rounded(0), "1 A"),
        (
            parse_range::<Celsius>("-40 to 70 °C").map_or_else(|e| e.to_string(), |r| r.to_string()),
            "−40 °C to 70 °C",
        ),
        (
            parse_signed::<Volts>("+/- 8 kV").map_or_else(|e| e.to_string(), |s| s.to_string()),
            "±8 kV",
        ),
        (
            parse_tolerance::<Volts>("24 V ±20 %").map_or_else(|e| e.to_string(), |t| t.to_string()),
            "24 V (19.2 V to 28.8 V)",
        ),
        (
            parse_limit::<Farads>("<= 5 pF").map_or_else(|e| e.to_string(), |l| l.to_string()),
            "≤ 5 pF",
        ),
    ];
    for (text, wanted) in cases {
        assert_eq!(text, wanted);
    }
}

#[test]
fn arithmetic_keeps_the_dimensions() {
    assert_eq!(Volts(1000.0) / Ohms(2.0), Amps(500.0));
    assert_eq!(Volts(10.0) * Amps(3.0) * Seconds(2.0), Joules(60.0));
    assert_eq!(Celsius(25.0) + Watts(2.0) * KelvinPerWatt(10.0), Celsius(45.0));
    assert_eq!(
        PerKelvin::from_percent_per_kelvin(0.1) * (Celsius(85.0) - Celsius(25.0)),
        Ratio(0.06)
    );
    assert_eq!(
        (Seconds::from_micros(8.0), Farads::from_picos(150.0)),
        (Seconds(8e-6), Farads(150e-12))
    );
    assert_eq!(Celsius(25.0).absolute_k(), 298.15);
}
