//! Readers of text: quantities, studies, parts files, IBIS, Touchstone, captures.

use tidewall_extract::readers::{capture, tlp};
use tidewall_interchange::TextFault;
use tidewall_interchange::ibis::{self, Corner};
use tidewall_interchange::touchstone::{self, Fixture};
use tidewall_study::{LoadError, Loader, StudyError};
use tidewall_units::{
    Amps, Celsius, Farads, Henries, Hertz, Joules, Kelvins, Ohms, Quantity, QuantityError, Ratio, Seconds,
    Volts, Watts, parse, parse_limit, parse_range, parse_signed, parse_tolerance,
};

/// Words of quantities.
pub const QUANTITY_WORDS: &[&str] = &[
    "kV",
    "µ",
    "μ",
    "u",
    "Ω",
    "R",
    "±",
    "+/-",
    "-",
    "−",
    "to",
    "…",
    "..",
    "≤",
    "<=",
    "%",
    "ppm",
    "°C",
    "e",
    "E",
    "1e999",
    "4k7",
    "meg",
    "1,000",
    "0,125",
    ".",
    ",",
    "(",
    ")",
    "inf",
    "nan",
    "00",
    "999999999999999999999999999999",
];

/// Words of studies and parts files.
pub const STUDY_WORDS: &[&str] = &[
    "[[stress]]",
    "[[ladder]]",
    "[port]",
    "[pin]",
    "[board]",
    "[[part]]",
    "series",
    "shunt",
    "capacitor",
    "lead",
    "between",
    "= ",
    "{",
    "}",
    "[",
    "]",
    "\"",
    "\"\"\"",
    "'",
    "#",
    "\n",
    "true",
    "nan",
    "inf",
    "1979-05-27",
    "0x1F",
    "profile = \"supply-24vdc\"",
    "profile = \"usb-c\"",
    "standard = \"IEC 61000-4-5\"",
    "level = \"1 kV\"",
    "1e999 V",
    "−1 V",
    "0 V",
    "ibis",
    "samples",
    "touchstone",
    "\u{feff}",
    "\u{0}",
    "../",
    "parts.toml",
];

/// Words of IBIS files.
pub const IBIS_WORDS: &[&str] = &[
    "[IBIS Ver]",
    "[Component]",
    "[Package]",
    "[Pin]",
    "[Model]",
    "[Model Selector]",
    "[GND Clamp]",
    "[POWER Clamp]",
    "[Voltage Range]",
    "[Pullup]",
    "[Ramp]",
    "[End]",
    "[Comment Char]",
    "|",
    "C_comp",
    "Model_type",
    "NA",
    "NC",
    "POWER",
    "1e999",
    "-5.0",
    "0",
    "3.3k",
    "1p",
    "mA",
    "nan",
];

/// Words of Touchstone files.
pub const TOUCHSTONE_WORDS: &[&str] = &[
    "# GHz S RI R 50",
    "# MHz S MA R 75",
    "# Hz Y DB R 1",
    "[Version] 2.0",
    "[Number of Ports] 2",
    "[Network Data]",
    "[End]",
    "[Two-Port Data Order] 21_12",
    "[Number of Frequencies] 3",
    "[Reference]",
    "[Matrix Format] Upper",
    "[Noise Data]",
    "!",
    "0",
    "-1",
    "1e308",
    "1e-320",
    "nan",
    "\n",
];

/// Words of captures and tables of pulses.
pub const CAPTURE_WORDS: &[&str] = &[
    ",",
    ";",
    "\t",
    "\"",
    "Time",
    "Volt",
    "s",
    "ms",
    "mV",
    "CH1",
    "CH2",
    "Increment",
    "Start",
    "1e-9",
    "1e999",
    "-inf",
    "nan",
    "\r\n",
    "\r",
    "\n\n",
    "Record Length",
    "Sample Interval",
    "voltage (V)",
    "current (A)",
    "leakage",
    "0",
    "−1",
];

/// Files beside the study.
struct Beside;

impl Loader for Beside {
    fn load(&self, name: &str) -> Result<Vec<u8>, LoadError> {
        match name {
            "parts.toml" => Ok(include_bytes!("../../../demo/river-gauge/parts.toml").to_vec()),
            "heron.ibs" => Ok(include_bytes!("../../interchange/tests/files/heron.ibs").to_vec()),
            _ => Err(LoadError::Missing),
        }
    }
}

fn as_text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A quantity in every form and of every kind.
pub fn quantity(bytes: &[u8]) {
    let text = as_text(bytes);
    quantity_of::<Volts>(&text);
    quantity_of::<Amps>(&text);
    quantity_of::<Ohms>(&text);
    quantity_of::<Farads>(&text);
    quantity_of::<Henries>(&text);
    quantity_of::<Seconds>(&text);
    quantity_of::<Hertz>(&text);
    quantity_of::<Celsius>(&text);
    quantity_of::<Kelvins>(&text);
    quantity_of::<Watts>(&text);
    quantity_of::<Joules>(&text);
    quantity_of::<Ratio>(&text);
}

fn quantity_of<Q: Quantity>(text: &str) {
    told(text, &parse::<Q>(text));
    told(text, &parse_signed::<Q>(text));
    told(text, &parse_range::<Q>(text));
    told(text, &parse_limit::<Q>(text));
    told(text, &parse_tolerance::<Q>(text));
    if let Ok(value) = parse::<Q>(text) {
        assert!(value.si().is_finite(), "`{text}` became {value:?}");
        let printed = value.to_string();
        let again = parse::<Q>(&printed).unwrap_or_else(|error| panic!("`{printed}` from `{text}`: {error}"));
        assert_eq!(again, value, "`{text}` printed as `{printed}`");
    }
    if let Ok(range) = parse_range::<Q>(text) {
        assert!(range.low < range.high, "`{text}`");
    }
    if let Ok(wide) = parse_tolerance::<Q>(text) {
        assert!(wide.low <= wide.nominal && wide.nominal <= wide.high, "`{text}`");
    }
}

fn told<T>(text: &str, result: &Result<T, QuantityError>) {
    if let Err(error) = result {
        let span = &error.span;
        assert!(
            span.start <= span.end && span.end <= text.len(),
            "{error:?} of `{text}`"
        );
        assert!(
            text.is_char_boundary(span.start) && text.is_char_boundary(span.end),
            "{error:?}"
        );
        assert!(!error.to_string().is_empty());
    }
}

/// A study with parts and an IBIS file beside it.
pub fn study(bytes: &[u8]) {
    match tidewall_study::read_text("study.toml", &as_text(bytes), &Beside) {
        Ok(study) => assert!(!study.digest.is_empty()),
        Err(error) => placed(&error),
    }
}

/// A parts file.
pub fn parts_file(bytes: &[u8]) {
    if let Err(error) = tidewall_study::read_parts("parts.toml", &as_text(bytes), &Beside) {
        placed(&error);
    }
}

fn placed(error: &StudyError) {
    assert!(!error.file.is_empty() && !error.message.is_empty(), "{error:?}");
    assert!(!error.expected.is_empty(), "{error:?}");
    assert_eq!(error.line == 0, error.column == 0, "{error:?}");
    assert!(!error.to_string().is_empty());
}

fn at(text: &str, fault: &TextFault) {
    assert!(fault.line >= 1 && fault.column >= 1, "{fault:?}");
    assert!(
        fault.span.start <= fault.span.end && fault.span.end <= text.len(),
        "{fault:?}"
    );
    assert!(
        !fault.message.is_empty() && !fault.expected.is_empty(),
        "{fault:?}"
    );
}

/// An IBIS file, its pins and the curves of its models.
pub fn ibis(bytes: &[u8]) {
    let text = as_text(bytes);
    let file = match ibis::read(&text) {
        Ok(file) => file,
        Err(fault) => return at(&text, &fault),
    };
    for component in &file.components {
        for pin in &component.pins {
            let _ = file.pin_model(pin);
            let capacitance = component.pin_capacitance_f(pin);
            assert!(capacitance.is_none_or(f64::is_finite), "{pin:?}");
        }
    }
    for model in &file.models {
        for corner in [Corner::Typ, Corner::Min, Corner::Max] {
            let Ok(curve) = model.clamp_curve(corner) else {
                continue;
            };
            let (low, high) = (curve.low_v(), curve.high_v());
            for volts in [low, 0.5 * (low + high), high, 0.0] {
                assert!(
                    curve.current_a(volts).is_none_or(f64::is_finite),
                    "{volts} V of {model:?}"
                );
            }
        }
    }
}

/// A Touchstone file of any number of ports, and what is derived from it.
pub fn touchstone(bytes: &[u8]) {
    let text = as_text(bytes);
    for ports in [None, Some(1), Some(2), Some(3)] {
        let network = match touchstone::read(&text, ports) {
            Ok(network) => network,
            Err(fault) => {
                at(&text, &fault);
                continue;
            }
        };
        let (low, high) = network.range_hz();
        for frequency_hz in [low, 0.5 * (low + high), high, 0.0, 1e6, f64::NAN] {
            if let Some(matrix) = network.at(frequency_hz) {
                assert!(matrix.iter().all(|s| s.size().is_finite()), "{frequency_hz} Hz");
            }
            for fixture in [Fixture::OnePort, Fixture::Series, Fixture::Shunt] {
                if let Ok(part) = touchstone::part_at(&network, fixture, frequency_hz) {
                    assert!(part.capacitance_f.is_finite(), "{part:?}");
                }
            }
        }
        for fixture in [Fixture::OnePort, Fixture::Series, Fixture::Shunt] {
            let _ = touchstone::first_resonance_hz(&network, fixture);
        }
    }
}

/// A capture of an oscilloscope, and the same as a table of transmission-line pulses.
pub fn capture(bytes: &[u8]) {
    for increment_s in [None, Some(1e-9)] {
        let options = capture::CaptureOptions {
            increment_s,
            keep: 1_000,
            ..Default::default()
        };
        match capture::read(bytes, &options, &mut |_| {}) {
            Ok(found) => {
                assert!(found.times_s.iter().all(|t| t.is_finite()));
                for channel in &found.channels {
                    assert_eq!(channel.values.len(), found.times_s.len());
                    assert!(
                        channel.values.iter().all(|value| value.is_finite()),
                        "{}",
                        channel.name
                    );
                }
            }
            Err(fault) => assert!(
                !fault.message.is_empty() && !fault.expected.is_empty(),
                "{fault:?}"
            ),
        }
    }
    match tlp::read(bytes, &tlp::TlpOptions::default()) {
        Ok(table) => assert!(
            table
                .points
                .iter()
                .all(|point| point.volts.is_finite() && point.amps.is_finite())
        ),
        Err(fault) => assert!(
            !fault.message.is_empty() && !fault.expected.is_empty(),
            "{fault:?}"
        ),
    }
}
