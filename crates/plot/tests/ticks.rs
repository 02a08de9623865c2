//! Which marks an axis gets.

use tidewall_plot::{Axis, ticks};

/// Texts of the marks, and the unit of the axis.
fn labels(axis: &Axis, range: (f64, f64), wanted: usize) -> (Vec<String>, String) {
    let found = ticks(axis, range, wanted);
    let texts = found.ticks.into_iter().filter_map(|tick| tick.label).collect();
    (texts, found.unit)
}

#[test]
fn linear_axes_have_round_marks_and_one_prefix() {
    let volts = Axis::linear("Voltage", "V");
    let seconds = Axis::linear("Time", "s");
    let celsius = Axis::linear("Ambient", "°C");
    for (axis, range, wanted, texts, unit) in [
        (&volts, (0.0, 72.0), 8, "0 10 20 30 40 50 60 70", "V"),
        (&volts, (-60.0, 70.0), 4, "−50 0 50", "V"),
        (&volts, (-300.0, 600.0), 4, "−200 0 200 400 600", "V"),
        (&volts, (0.0, 1.0), 5, "0 0.2 0.4 0.6 0.8 1", "V"),
        (&volts, (0.0, 4000.0), 4, "0 1 2 3 4", "kV"),
        (&volts, (0.0, 0.9), 3, "0 200 400 600 800", "mV"),
        (&seconds, (0.0, 50e-6), 5, "0 10 20 30 40 50", "µs"),
        (&seconds, (0.0, 600e-9), 3, "0 200 400 600", "ns"),
        (&seconds, (0.0, 2.5e3), 3, "0 1000 2000", "s"),
        (&celsius, (-40.0, 70.0), 5, "−40 −20 0 20 40 60", "°C"),
        (&volts, (48.99, 49.01), 4, "48.99 48.995 49 49.005 49.01", "V"),
        // From the right to the left is the same axis.
        (&volts, (0.0, -70.0), 4, "−60 −40 −20 0", "V"),
    ] {
        let (found, unit_found) = labels(axis, range, wanted);
        assert_eq!(
            (found.join(" ").as_str(), unit_found.as_str()),
            (texts, unit),
            "{range:?}"
        );
    }
}

#[test]
fn log_axes_mark_decades_and_carry_the_unit_on_the_marks() {
    let amps = Axis::log("Current", "A");
    for (range, wanted, texts) in [
        ((1e-3, 300.0), 8, "1 mA 10 mA 100 mA 1 A 10 A 100 A"),
        ((1e-12, 1e3), 6, "1 pA 1 nA 1 µA 1 mA 1 A 1 kA"),
        ((1.0, 100.0), 8, "1 A 2 A 5 A 10 A 20 A 50 A 100 A"),
        // Less than a decade and a half is marked evenly.
        ((30.0, 90.0), 6, "30 40 50 60 70 80 90"),
    ] {
        assert_eq!(labels(&amps, range, wanted).0.join(" "), texts, "{range:?}");
    }
    let minor = ticks(&amps, (1.0, 100.0), 3).ticks;
    assert!(minor.iter().any(|tick| tick.at == 30.0 && tick.label.is_none()));
}

#[test]
fn split_axes_mark_zero_and_the_decades_on_both_sides() {
    let amps = Axis::symlog("Current", "A", 0.1);
    assert_eq!(
        labels(&amps, (-10.0, 100.0), 8).0.join(" "),
        "−10 A −1 A 0 1 A 10 A 100 A"
    );
    // Not beyond ten times the even part: an even axis.
    assert_eq!(labels(&amps, (-0.5, 0.5), 3).0.join(" "), "−500 0 500");
}

#[test]
fn no_range_is_too_strange() {
    for axis in [
        Axis::linear("", ""),
        Axis::log("x", "V"),
        Axis::symlog("x", "A", 1e-3),
        Axis::linear("x", "s"),
    ] {
        for range in [(1e-300, 1e300), (1.0, 1.0 + 1e-12), (5e-324, 1e-300), (1e8, 1e9)] {
            let found = ticks(&axis, range, 6).ticks;
            assert!(found.len() <= 700, "{axis:?} {range:?}: {}", found.len());
        }
    }
}
