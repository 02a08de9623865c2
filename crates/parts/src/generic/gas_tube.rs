//! Gas discharge tubes.

use tidewall_devices::datasheet::{Family, RatingWave};
use tidewall_study::Mark;

use super::{Class, Draft, Formula, both, formula, short};
use crate::record::{Condition, PartRecord};

pub(super) const CLASS: Class = Class {
    key: "generic-gas-tube",
    family: Family::GasTube,
    title: "two-pole gas discharge tube by 8/20 current and direct spark-over voltage",
    members: "generic-gas-tube-CURRENTka-VOLTAGEv; CURRENT 5, 10, 20; VOLTAGE 90, 150, 200, 230, 250, 300, 350, 400, 420, 470, 600",
    formulas: FORMULAS,
    deviations: "Impulse voltages are those of one published two-pole series of 5 mm (typical of distribution) with a spread of memory; a published fast three-pole \
        tube of 230 V fires at 650 V on 5 kV/µs where the slope law of this class reaches about 900 V at its highest.",
    build,
};

/// Nominal direct voltage, and voltages in volts typical of distribution at 100 V/µs and at 1 kV/µs.
const TUBES: &[(f64, f64, f64)] = &[
    (90.0, 300.0, 550.0),
    (150.0, 350.0, 550.0),
    (200.0, 425.0, 575.0),
    (230.0, 450.0, 600.0),
    (250.0, 475.0, 625.0),
    (300.0, 525.0, 650.0),
    (350.0, 600.0, 750.0),
    (400.0, 650.0, 800.0),
    (420.0, 675.0, 850.0),
    (470.0, 750.0, 950.0),
    (600.0, 950.0, 1100.0),
];

/// Current class in kA, current in amperes on 10/1000 µs, highest capacitance in farads.
const SIZES: &[(f64, f64, f64)] = &[(5.0, 100.0, 1e-12), (10.0, 100.0, 1.5e-12), (20.0, 200.0, 2e-12)];

const FORMULAS: &[Formula] = &[
    formula(
        "breakdown",
        "by the name, ±15 %, ±20 % at 90 V, at 100 V/s (published series)",
        Mark::Seen,
    ),
    formula(
        "firing",
        "published table at 100 V/µs and 1 kV/µs; its excess over the nominal voltage ±20 % on the lowest and highest direct voltage",
        Mark::Memory,
    ),
    formula("glow_voltage", "70 V at 10 mA", Mark::Seen),
    formula("glow_to_arc_current", "0.5 A", Mark::Seen),
    formula("arc_voltage", "10 V at 1 A and above", Mark::Seen),
    formula(
        "holdover_voltage",
        "line through the published 80 V of a 230 V tube and 135 V of a 420 V tube, no more than 135 V",
        Mark::Derived,
    ),
    formula(
        "rating.current",
        "8/20 by the name, 10 times; 10/350 a tenth of it, once; 10/1000 100 A, for 20 kA 200 A, 300 times",
        Mark::Memory,
    ),
    formula(
        "capacitance",
        "0.3 pF to 1 pF, 1.5 pF and 2 pF by size (published: below 1 pF at 5 mm)",
        Mark::Memory,
    ),
    formula(
        "leakage",
        "10 GΩ at the lowest direct spark-over voltage, any temperature",
        Mark::Seen,
    ),
    formula("package_inductance", "2 nH, surface-mount", Mark::Memory),
];

fn build(class: &Class) -> Vec<PartRecord> {
    let mut parts = Vec::new();
    for &size in SIZES {
        for &tube in TUBES {
            parts.push(part(class, size, tube));
        }
    }
    parts
}

fn part(
    class: &Class,
    (ka, long_a, c_f): (f64, f64, f64),
    (nominal_v, slow_v, fast_v): (f64, f64, f64),
) -> PartRecord {
    let tolerance = if nominal_v < 100.0 { 0.2 } else { 0.15 };
    let (low_v, high_v) = ((1.0 - tolerance) * nominal_v, (1.0 + tolerance) * nominal_v);
    let mut draft = Draft::new(class, &format!("{}ka-{}v", short(ka), short(nominal_v)));
    draft.spread("breakdown", both(low_v, high_v), Condition::default());
    for (slope_v_per_s, volts) in [(1e8, slow_v), (1e9, fast_v)] {
        let excess = volts - nominal_v;
        let condition = Condition {
            slope_v_per_s: Some(slope_v_per_s),
            ..Condition::default()
        };
        draft.spread(
            "firing",
            both(low_v + 0.8 * excess, high_v + 1.2 * excess),
            condition,
        );
    }
    draft.number("glow_voltage", 70.0);
    draft.number("glow_to_arc_current", 0.5);
    draft.number("arc_voltage", 10.0);
    draft.number(
        "holdover_voltage",
        (80.0 + (nominal_v - 230.0) * 55.0 / 190.0).min(135.0),
    );
    let long_wave = RatingWave::FrontTail {
        front_s: 10e-6,
        tail_s: 350e-6,
    };
    draft.rating("rating.current", 1e3 * ka, RatingWave::Surge8x20, 10);
    draft.rating("rating.current", 1e2 * ka, long_wave, 1);
    draft.rating("rating.current", long_a, RatingWave::Long10x1000, 300);
    draft.capacitance(both(0.3e-12, c_f));
    draft.leakage(low_v, 25.0, low_v / 1e10);
    draft.leakage(low_v, 125.0, low_v / 1e10);
    draft.number("package_inductance", 2e-9);
    draft.record
}
