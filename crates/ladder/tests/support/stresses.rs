//! Every generator at every level, in both polarities.

use tidewall_stress::fit::{self, Definition};
use tidewall_stress::generator::automotive::{self, Pulse};
use tidewall_stress::generator::burst::{BurstCoupling, burst_pulse};
use tidewall_stress::generator::surge::{SETS, SurgeCoupling, Through, combination_wave};
use tidewall_stress::generator::telecom::{TelecomCoupling, wave_10_700};
use tidewall_stress::generator::thevenin::{self, LARGE_COMPLIANCE_OHM};
use tidewall_stress::generator::{Drive, esd};
use tidewall_stress::{Network, forms};

use super::Dice;

/// A stress for a port of `conductors`, with a name for messages.
pub fn stress(dice: &mut Dice, conductors: usize) -> (String, Network) {
    let drive = if conductors == 1 {
        Drive::LineToEarth
    } else {
        dice.pick(&[
            Drive::LineToEarth,
            Drive::LineToLine,
            Drive::BothToEarth,
            Drive::BothToEarth,
        ])
    };
    let line = dice.below(conductors);
    let (name, network) = match dice.below(10) {
        0 | 1 => surge(dice, drive),
        2 => telecom(dice, drive),
        3 | 4 => discharge(dice, line),
        5 => burst(dice, drive),
        6 => vehicle(dice, drive),
        7 => impulse(dice, drive),
        8 => oscillation(dice, drive),
        _ => pulse(dice, line),
    };
    let sign = if dice.chance(0.5) { 1.0 } else { -1.0 };
    (format!("{name}, {drive:?}, sign {sign}"), network.scaled(sign))
}

fn surge(dice: &mut Dice, drive: Drive) -> (String, Network) {
    let level = dice.pick(&[250.0, 500.0, 1e3, 2e3, 4e3, 6e3]);
    let through = dice.pick(&[Through::Arrester, Through::Capacitor, Through::Direct]);
    let coupling = dice.pick(&[
        SurgeCoupling::Series { resistance_ohm: 0.0 },
        SurgeCoupling::Series { resistance_ohm: 10.0 },
        SurgeCoupling::PowerLineLine,
        SurgeCoupling::PowerLineEarth,
        SurgeCoupling::SignalCapacitor,
        SurgeCoupling::SignalArrester,
        SurgeCoupling::Symmetrical {
            wire_ohm: 80.0,
            through,
        },
        SurgeCoupling::Symmetrical {
            wire_ohm: 320.0,
            through,
        },
        SurgeCoupling::Shield,
    ]);
    let set = &SETS[dice.below(SETS.len())];
    let network = combination_wave(set, level, coupling, drive);
    (format!("combination wave {level} V {coupling:?}"), network)
}

fn telecom(dice: &mut Dice, drive: Drive) -> (String, Network) {
    let level = dice.pick(&[500.0, 1e3, 1.5e3, 4e3, 6e3]);
    let coupling = TelecomCoupling {
        wire_ohm: dice.pick(&[25.0, 50.0, 100.0]),
        arrester: dice.chance(0.3),
    };
    (format!("10/700 {level} V"), wave_10_700(level, coupling, drive))
}

fn discharge(dice: &mut Dice, line: usize) -> (String, Network) {
    let level = dice.pick(&[2e3, 4e3, 6e3, 8e3, 15e3, 25e3]);
    match dice.below(8) {
        0 => (
            format!("discharge current {level} V"),
            esd::analytic_discharge(level, line),
        ),
        1 => {
            let level = dice.pick(&[250.0, 500.0, 1e3, 2e3, 4e3, 8e3]);
            (
                format!("human-body model {level} V"),
                esd::human_body(level, line),
            )
        }
        _ => {
            let network = &esd::NETWORKS[dice.below(esd::NETWORKS.len())];
            (
                format!("discharge {level} V"),
                esd::discharge(network, level, line),
            )
        }
    }
}

fn burst(dice: &mut Dice, drive: Drive) -> (String, Network) {
    let level = dice.pick(&[250.0, 500.0, 1e3, 2e3, 4e3]);
    let coupling = dice.pick(&[
        BurstCoupling::Network33Nf,
        BurstCoupling::Clamp100Pf,
        BurstCoupling::Clamp200Pf,
        BurstCoupling::Direct,
    ]);
    (
        format!("burst {level} V {coupling:?}"),
        burst_pulse(level, coupling, drive),
    )
}

fn vehicle(dice: &mut Dice, drive: Drive) -> (String, Network) {
    let heavy = dice.chance(0.5);
    let (name, network) = match dice.below(7) {
        0 => {
            let (peak, rise, lasts, ohm) = if heavy {
                (600.0, 3e-6, 1e-3, 50.0)
            } else {
                (150.0, 1e-6, 2e-3, 10.0)
            };
            let network = automotive::pulse(Pulse::One, peak, rise, lasts, ohm, drive);
            ("vehicle pulse 1", network)
        }
        1 => (
            "vehicle pulse 2a",
            automotive::pulse(Pulse::TwoA, 112.0, 1e-6, 50e-6, 2.0, drive),
        ),
        2 => {
            let (peak, lasts) = (if heavy { 20.0 } else { 10.0 }, dice.pick(&[0.2, 2.0]));
            (
                "vehicle pulse 2b",
                automotive::pulse(Pulse::TwoB, peak, 1e-3, lasts, 0.05, drive),
            )
        }
        3 => (
            "vehicle pulse 3a",
            automotive::pulse(Pulse::ThreeA, 220.0, 5e-9, 150e-9, 50.0, drive),
        ),
        4 => (
            "vehicle pulse 3b",
            automotive::pulse(Pulse::ThreeB, 300.0, 5e-9, 150e-9, 50.0, drive),
        ),
        kind => {
            let (peak, supply, cut) = if heavy {
                (202.0, 28.0, 58.0)
            } else {
                (101.0, 14.0, 35.0)
            };
            let lasts = dice.pick(&[40e-3, 100e-3, 400e-3]);
            let ohm = dice.lin(0.5, 4.0);
            let cut = (kind == 6).then_some(cut);
            (
                "load dump",
                automotive::load_dump(peak, supply, 10e-3, lasts, ohm, cut, drive),
            )
        }
    };
    (name.into(), network.expect("a standard pulse has a shape"))
}

/// Front/tail shapes as current or voltage.
fn impulse(dice: &mut Dice, drive: Drive) -> (String, Network) {
    let front_tail: [(f64, f64); 8] = [
        (8e-6, 20e-6),
        (10e-6, 1000e-6),
        (10e-6, 350e-6),
        (2e-6, 10e-6),
        (10e-6, 160e-6),
        (10e-6, 560e-6),
        (1.2e-6, 50e-6),
        (5e-6, 310e-6),
    ];
    let (front_s, tail_s) = dice.pick(&front_tail);
    let current = dice.chance(0.5);
    let definition = if current {
        Definition::Current
    } else {
        Definition::Voltage
    };
    let shape = match dice.below(4) {
        0 if front_s == 8e-6 => forms::surge_8_20(),
        0 if tail_s == 350e-6 => forms::lightning_10_350(),
        1 if front_s == 8e-6 => forms::damped_8_20(),
        _ => fit::impulse(front_s, tail_s, definition).expect("a standard shape exists"),
    };
    let (peak_v, source_ohm) = if current {
        let amps = dice.log(1.0, 5e3);
        (amps * LARGE_COMPLIANCE_OHM, LARGE_COMPLIANCE_OHM)
    } else {
        (dice.log(100.0, 5e3), dice.log(1.0, 100.0))
    };
    let name = format!(
        "{:.1}/{:.0} µs, {peak_v:.0} V, {source_ohm:.1} Ω",
        1e6 * front_s,
        1e6 * tail_s
    );
    let network = thevenin::source(&shape, peak_v, source_ohm, drive, 3.0 * tail_s, front_s);
    (name, network)
}

/// Ring wave and damped sines.
fn oscillation(dice: &mut Dice, drive: Drive) -> (String, Network) {
    if dice.chance(0.4) {
        let level = dice.pick(&[500.0, 1e3, 2e3, 4e3, 6e3]);
        let ohm = dice.pick(&[12.0, 30.0, 200.0]);
        let network = thevenin::source(&forms::ring_wave_100_khz(), level, ohm, drive, 100e-6, 0.5e-6);
        return (format!("ring wave {level} V {ohm} Ω"), network);
    }
    let frequency = dice.pick(&[1e6, 3e6, 10e6]);
    let level = dice.pick(&[100.0, 250.0, 600.0, 1500.0, 3200.0]);
    let shape = forms::damped_sine(
        frequency * dice.lin(0.07, 0.35),
        std::f64::consts::TAU * frequency,
    );
    let network = thevenin::source(&shape, level, 25.0, drive, 20.0 / frequency, 0.1 / frequency);
    (format!("damped sine {frequency:.0e} Hz {level} V"), network)
}

/// Rectangular pulses from a line, and measured samples.
fn pulse(dice: &mut Dice, line: usize) -> (String, Network) {
    if dice.chance(0.7) {
        let (volts, rise_s, width_s) = (
            dice.log(10.0, 2e3),
            dice.log(0.2e-9, 10e-9),
            dice.log(30e-9, 500e-9),
        );
        let network = esd::transmission_line_pulse(volts, rise_s, width_s.max(3.0 * rise_s), line);
        return (format!("rectangle {volts:.0} V"), network);
    }
    let step_s = dice.log(1e-9, 1e-6);
    let mut points = vec![(0.0, 0.0)];
    for k in 1..12 {
        points.push((f64::from(k) * step_s, dice.lin(-0.5, 1.0)));
    }
    points.push((14.0 * step_s, 0.0));
    let shape = forms::samples(&points).expect("the times ascend");
    let (volts, ohm) = (dice.log(10.0, 2e3), dice.log(1.0, 100.0));
    let drive = if line == 0 {
        Drive::LineToEarth
    } else {
        Drive::BothToEarth
    };
    let network = thevenin::source(&shape, volts, ohm, drive, 30.0 * step_s, step_s);
    (format!("samples every {step_s:.1e} s, {volts:.0} V"), network)
}
