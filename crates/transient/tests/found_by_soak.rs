//! Circuits that random ladders found and the integrator once failed on.

mod support;

use support::{FIRST, Model, assemble, attempt, series, shunt, simulate, thyristor};
use tidewall_devices::law::CurrentLimiter;
use tidewall_devices::{Law, Protector, ThermalLadder};
use tidewall_ladder::{Capacitor, Conductor, Pin, Port, Series, SeriesKind, Stage};
use tidewall_stress::generator::automotive::load_dump;
use tidewall_stress::generator::{Drive, thevenin};
use tidewall_stress::{Network, forms};
use tidewall_transient::{Options, TransientError};

fn port(stages: Vec<Stage>, pin_f: f64) -> Port {
    Port {
        conductors: 1,
        stages,
        pin: Pin {
            capacitance_f: pin_f,
            ..Pin::default()
        },
        supply: None,
        ambient_c: 25.0,
        track_ohm: 75.0,
        loss_tangent: 0.02,
    }
}

fn model(name: &'static str, port: Port, network: Network) -> Model {
    let end_s = network.duration_s;
    Model {
        name,
        port,
        network,
        end_s,
    }
}

fn dump(peak_v: f64) -> Network {
    load_dump(peak_v, 14.0, 10e-3, 0.2, 2.0, None, Drive::LineToEarth).unwrap()
}

#[test]
fn an_open_pin_under_a_load_dump_is_cheap_and_balances() {
    // Picoamperes of charging current: each step was refused for femtojoules that rounding alone makes.
    let open = model(
        "open pin",
        port(vec![series("track", 1.3, 1.6e-9)], 1e-12),
        dump(80.0),
    );
    let (_, _, outcome) = simulate(&open, &Options::default());
    assert!(outcome.counters.steps < 1_000, "{:?}", outcome.counters);
    assert!(outcome.audit.holds(), "{:?}", outcome.audit);
    let pin = outcome.probes.last().unwrap().volts;
    assert!((pin.max - 80.0).abs() < 0.08, "{pin:?}");
}

#[test]
fn the_peak_of_a_sine_that_a_divider_follows_is_found() {
    // The source is right at both ends of any step: the peaks between them were cut off by a per cent.
    let shape = forms::damped_sine_over_four_cycles(10e6, 0.5);
    let network = thevenin::source(&shape, 140.0, 25.0, Drive::LineToEarth, 4e-6, 5e-9);
    let highest = (0..400_000)
        .map(|k| (140.0 * shape.value(f64::from(k) * 1e-11)).abs())
        .fold(0.0, f64::max);
    let capacitor = Capacitor {
        name: "C".into(),
        across: FIRST,
        capacitance_f: 2e-3,
        esr_ohm: 0.04,
        lead_h: 12e-9,
    };
    let stages = vec![series("R", 150.0, 0.0), Stage::Capacitor(capacitor)];
    let divider = model("divider", port(stages, 2e-3), network);
    let (_, _, outcome) = simulate(&divider, &Options::default());
    let wanted = highest * 150.0 / 175.0;
    let got = outcome.probes[0].volts.size();
    assert!((got / wanted - 1.0).abs() < 1e-3, "{got} V instead of {wanted} V");
}

#[test]
fn a_limiter_that_charges_a_capacitor_does_not_open_and_close_for_ever() {
    let law = CurrentLimiter {
        on_ohm: 3.0,
        trip_a: 0.02,
        transition_s: 1e-6,
        blocked_ohm: 1e6,
        reset_v: 10.0,
        withstand_v: 200.0,
        breakdown_ohm: 3.0,
        c_f: 1e-12,
    };
    let limiter = Stage::Series(Box::new(Series {
        name: "L".into(),
        conductor: Conductor::First,
        kind: SeriesKind::Device {
            protector: Protector {
                law: Law::Limiter(law),
                series_ohm: 1e-3,
                package_h: 0.0,
                thermal: ThermalLadder::default(),
            },
            lead_h: 0.0,
        },
    }));
    let charging = model("limiter", port(vec![limiter], 400e-6), dump(20.0));
    let (_, _, outcome) = simulate(&charging, &Options::default());
    assert!(outcome.counters.events <= 2, "{:?}", outcome.counters);
    assert!(outcome.counters.steps < 5_000, "{:?}", outcome.counters);
    // Once it lets the line through again it does so below its trip current.
    assert!(
        outcome
            .elements
            .iter()
            .all(|element| element.final_a.abs() < 0.02)
    );
}

#[test]
fn a_part_that_a_capacitor_feeds_by_turns_is_named() {
    // Fired, the thyristor empties the capacitor, goes out at the reversal of its current, and the source fills it again.
    let mut fast = thyristor();
    if let Law::Crowbar(law) = &mut fast.law {
        law.transition_s = 2e-9;
        law.trigger_v = 20.0;
        law.off_ohm = 3.0;
    }
    let capacitor = Capacitor {
        name: "C".into(),
        across: FIRST,
        capacitance_f: 100e-9,
        esr_ohm: 20e-3,
        lead_h: 20e-9,
    };
    let stages = vec![
        series("R", 1e3, 0.0),
        Stage::Capacitor(capacitor),
        shunt("restless", FIRST, fast, 20e-9),
    ];
    let oscillator = model("oscillator", port(stages, 10e-12), dump(300.0));
    let (assembly, equations) = assemble(&oscillator);
    let options = Options {
        max_steps: 400_000,
        ..Options::default()
    };
    let refused = attempt(&oscillator, &assembly, &equations, &options).unwrap_err();
    assert!(
        matches!(&refused, TransientError::Oscillates { device, changes, .. } if device == "restless" && *changes >= 100),
        "{refused}"
    );
    assert!(
        refused.to_string().contains("`restless` has changed its state"),
        "{refused}"
    );
}
