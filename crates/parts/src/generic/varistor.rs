//! Metal-oxide varistor discs.

use tidewall_devices::datasheet::{Family, RatingWave};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_study::Mark;

use super::{Class, Draft, Formula, both, formula, short};
use crate::record::{Condition, PartRecord};

pub(super) const CLASS: Class = Class {
    key: "generic-varistor",
    family: Family::Varistor,
    title: "zinc-oxide disc by diameter and voltage at 1 mA",
    members: "generic-varistor-DIAMETERmm-VOLTAGEv; DIAMETER 5, 7, 10, 14, 20; VOLTAGE at 1 mA from 18 V to 1000 V in steps of about 20 %",
    formulas: FORMULAS,
    deviations: "Anchored on one published disc of 14 mm and 680 V (560 V direct, 1120 V, 4500 A, 90 J), which it gives back; discs below 82 V and \
        every step to another diameter rest on memory. Its pulse life follows from two single-pulse ratings, not from a published curve.",
    build,
};

/// Voltage at 1 mA in volts from which on the high-voltage rules hold.
const HIGH_FROM_V: f64 = 82.0;

/// Diameter in mm, class current in amperes of high-voltage and of low-voltage discs, dissipation in watts.
const SIZES: &[(f64, f64, f64, f64)] = &[
    (5.0, 5.0, 1.0, 0.1),
    (7.0, 10.0, 2.5, 0.25),
    (10.0, 25.0, 5.0, 0.4),
    (14.0, 50.0, 10.0, 0.6),
    (20.0, 100.0, 20.0, 1.0),
];

const SERIES_V: &[f64] = &[
    18.0, 22.0, 27.0, 33.0, 39.0, 47.0, 56.0, 68.0, 82.0, 100.0, 120.0, 150.0, 180.0, 200.0, 220.0, 240.0,
    270.0, 300.0, 330.0, 360.0, 390.0, 430.0, 470.0, 510.0, 560.0, 620.0, 680.0, 750.0, 820.0, 910.0, 1000.0,
];

const FORMULAS: &[Formula] = &[
    formula(
        "stand_off",
        "highest direct voltage 0.82 times the voltage at 1 mA (published: 560 V of 680 V)",
        Mark::Derived,
    ),
    formula("breakdown", "voltage at 1 mA by the name, ±10 %", Mark::Memory),
    formula(
        "clamp",
        "class current 5, 10, 25, 50, 100 A by diameter: 1.65 times the voltage at 1 mA (published: 1120 V of 680 V); below 82 V 1, 2.5, 5, 10, 20 A and 2.0 times; at the 8/20 rating 2.6 times, below 82 V 3.2 times",
        Mark::Memory,
    ),
    formula(
        "rating.current",
        "8/20: 4500 A at 14 mm (published) by area, at most 6500 A; below 82 V 0.22 times that; 10/1000: energy over clamping voltage at the class current and 1427 µs",
        Mark::Derived,
    ),
    formula(
        "rating.energy",
        "10/1000: 90 J at 14 mm and 680 V (published) by volume",
        Mark::Derived,
    ),
    formula(
        "pulse_life.p",
        "0.4, steep end of the usual 0.25 to 0.4",
        Mark::Memory,
    ),
    formula(
        "pulse_life.q",
        "from the single-pulse currents on 8/20 and 10/1000",
        Mark::Derived,
    ),
    formula("temperature_coefficient", "−5e-4 per kelvin", Mark::Seen),
    formula(
        "leakage",
        "25 µA at 25 °C and 500 µA hot (published for multilayer types), hot taken as 125 °C",
        Mark::Memory,
    ),
    formula(
        "capacitance",
        "959 pF × (diameter / mm)² / (voltage at 1 mA / V): area over thickness, 400 pF at 14 mm and 470 V; ±30 %",
        Mark::Memory,
    ),
    formula("derating_from", "85 °C", Mark::Seen),
    formula(
        "junction_max",
        "125 °C, where the straight derating ends",
        Mark::Memory,
    ),
    formula(
        "thermal_resistance",
        "40 K over the dissipation 0.1, 0.25, 0.4, 0.6, 1 W by diameter",
        Mark::Memory,
    ),
    formula(
        "package_inductance",
        "10 nH of leads, 1 nH for each mm",
        Mark::Memory,
    ),
];

fn build(class: &Class) -> Vec<PartRecord> {
    let mut parts = Vec::new();
    for &size in SIZES {
        for &volts in SERIES_V {
            parts.push(part(class, size, volts));
        }
    }
    parts
}

fn part(class: &Class, (mm, high_a, low_a, dissipation_w): (f64, f64, f64, f64), volts: f64) -> PartRecord {
    let high = volts >= HIGH_FROM_V;
    let area = (mm / 14.0).powi(2);
    let (class_a, class_v, top_v) = if high {
        (high_a, 1.65 * volts, 2.6 * volts)
    } else {
        (low_a, 2.0 * volts, 3.2 * volts)
    };
    let short_a = (4500.0 * area).min(6500.0) * if high { 1.0 } else { 0.22 };
    let energy_j = 90.0 * area * volts / 680.0;
    let charge_s = |wave| UnitWave::of(wave).map_or(f64::NAN, |wave| wave.charge_s());
    let (long_s, short_s) = (charge_s(RatingWave::Long10x1000), charge_s(RatingWave::Surge8x20));
    let long_a = energy_j / (class_v * long_s);
    let mut draft = Draft::new(class, &format!("{}mm-{}v", short(mm), short(volts)));
    let dc_v = 0.82 * volts;
    draft.number("stand_off", dc_v);
    let at = Condition {
        current_a: Some(1e-3),
        ..Condition::default()
    };
    draft.spread("breakdown", both(0.9 * volts, 1.1 * volts), at);
    draft.clamp(RatingWave::Surge8x20, class_a, class_v);
    draft.clamp(RatingWave::Surge8x20, short_a, top_v);
    draft.rating("rating.current", short_a, RatingWave::Surge8x20, 1);
    draft.rating("rating.current", long_a, RatingWave::Long10x1000, 1);
    draft.rating("rating.energy", energy_j, RatingWave::Long10x1000, 1);
    draft.number("pulse_life.p", 0.4);
    draft.number("pulse_life.q", (short_a / long_a).ln() / (long_s / short_s).ln());
    draft.number("temperature_coefficient", -5e-4);
    draft.leakage(dc_v, 25.0, 25e-6);
    draft.leakage(dc_v, 125.0, 500e-6);
    let c_f = 959e-12 * mm * mm / volts;
    draft.capacitance(both(0.7 * c_f, 1.3 * c_f));
    draft.number("derating_from", 85.0);
    draft.number("junction_max", 125.0);
    draft.number("thermal_resistance", 40.0 / dissipation_w);
    draft.number("package_inductance", 10e-9);
    draft.record
}
