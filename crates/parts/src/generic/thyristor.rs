//! Thyristor surge suppressors.

use tidewall_devices::datasheet::{Family, RatingWave, Spread};
use tidewall_study::Mark;

use super::{Class, Draft, Formula, both, formula, short};
use crate::record::{Condition, PartRecord};

pub(super) const CLASS: Class = Class {
    key: "generic-thyristor",
    family: Family::Thyristor,
    title: "symmetrical thyristor surge suppressor by 10/1000 current and off-state voltage",
    members: "generic-thyristor-CURRENTa-VOLTAGEv; CURRENT 35, 50, 80, 100; VOLTAGE 6, 25, 58, 65, 75, 90, 120, 140, 170, 190, 220, 275, 320, 360",
    formulas: FORMULAS,
    deviations: "The 35 A row is one published family, and the 100 A row meets the published 500 A on 2/10 of another; the breakover of a published \
        5 V line part is 10.5 V where the formula gives 10.8 V, and its holding current is 20 mA where parts of 25 V and above have 150 mA.",
    build,
};

const CLASSES_A: &[f64] = &[35.0, 50.0, 80.0, 100.0];
const SERIES_V: &[f64] = &[
    6.0, 25.0, 58.0, 65.0, 75.0, 90.0, 120.0, 140.0, 170.0, 190.0, 220.0, 275.0, 320.0, 360.0,
];

/// Front and tail in µs, and current in amperes of the published 35 A family.
const WAVES: &[(f64, f64, f64)] = &[
    (2.0, 10.0, 175.0),
    (10.0, 160.0, 60.0),
    (5.0, 310.0, 50.0),
    (10.0, 560.0, 45.0),
];
/// Currents in amperes of the same family on 8/20 µs and 10/1000 µs.
const SHORT_A: f64 = 120.0;
const LONG_A: f64 = 35.0;

const FORMULAS: &[Formula] = &[
    formula("bidirectional", "symmetrical", Mark::Derived),
    formula("stand_off", "off-state voltage by the name", Mark::Derived),
    formula(
        "breakdown",
        "breakover from the off-state voltage to 1.3 times it plus 4 V, at 200 mA (published for a 5 V line part: 75 mA to 200 mA)",
        Mark::Memory,
    ),
    formula(
        "temperature_coefficient",
        "1e-3 per kelvin, as an avalanche junction",
        Mark::Memory,
    ),
    formula(
        "on_voltage",
        "1 V to 2.5 V at zero current: with the resistance no more than the published 3 V at 5 A",
        Mark::Memory,
    ),
    formula("dynamic_resistance", "0.1 Ω × 35 A / class current", Mark::Memory),
    formula(
        "hold_current",
        "150 mA at least, 20 mA below 25 V (published parts)",
        Mark::Seen,
    ),
    formula("hold_temperature_coefficient", "−7e-3 per kelvin", Mark::Memory),
    formula("turn_on_delay", "1 µs, slow end of 0.1 µs to 1 µs", Mark::Memory),
    formula(
        "rating.current",
        "published family of 35 A (2/10 175 A, 8/20 120 A, 10/160 60 A, 5/310 50 A, 10/560 45 A, 10/1000 35 A), in proportion to the class current",
        Mark::Derived,
    ),
    formula("derating_from", "70 °C (published family)", Mark::Seen),
    formula(
        "junction_max",
        "150 °C, where the straight derating ends (published family)",
        Mark::Seen,
    ),
    formula("leakage", "5 µA at the off-state voltage and 25 °C", Mark::Memory),
    formula(
        "leakage_doubling",
        "10 K, worst of the published rules",
        Mark::Seen,
    ),
    formula(
        "capacitance",
        "highest 110 pF × (class current / 100 A) × (5.25 V / off-state voltage)^0.2, published for 5.25 V and 100 A, the exponent from memory; lowest half of it",
        Mark::Memory,
    ),
    formula("thermal_resistance", "100 K/W", Mark::Memory),
    formula("package_inductance", "2 nH, surface-mount", Mark::Memory),
];

fn build(class: &Class) -> Vec<PartRecord> {
    let mut parts = Vec::new();
    for &current_a in CLASSES_A {
        for &off_v in SERIES_V {
            parts.push(part(class, current_a, off_v));
        }
    }
    parts
}

fn part(class: &Class, current_a: f64, off_v: f64) -> PartRecord {
    let scale = current_a / LONG_A;
    let mut draft = Draft::new(class, &format!("{}a-{}v", short(current_a), short(off_v)));
    draft.flag("bidirectional", true);
    draft.number("stand_off", off_v);
    let at = Condition {
        current_a: Some(0.2),
        ..Condition::default()
    };
    draft.spread("breakdown", both(off_v, 1.3 * off_v + 4.0), at);
    draft.number("temperature_coefficient", 1e-3);
    draft.spread("on_voltage", both(1.0, 2.5), Condition::default());
    draft.number("dynamic_resistance", 0.1 / scale);
    let hold = Spread {
        min: Some(if off_v < 25.0 { 0.02 } else { 0.15 }),
        ..Spread::default()
    };
    draft.spread("hold_current", hold, Condition::default());
    draft.number("hold_temperature_coefficient", -7e-3);
    draft.number("turn_on_delay", 1e-6);
    draft.rating("rating.current", SHORT_A * scale, RatingWave::Surge8x20, 1);
    for (front_us, tail_us, amps) in WAVES {
        let wave = RatingWave::FrontTail {
            front_s: front_us / 1e6,
            tail_s: tail_us / 1e6,
        };
        draft.rating("rating.current", amps * scale, wave, 1);
    }
    draft.rating("rating.current", LONG_A * scale, RatingWave::Long10x1000, 1);
    draft.number("derating_from", 70.0);
    draft.number("junction_max", 150.0);
    draft.leakage(off_v, 25.0, 5e-6);
    draft.number("leakage_doubling", 10.0);
    let most_f = 110e-12 * (current_a / 100.0) * (5.25 / off_v).powf(0.2);
    draft.capacitance(both(0.5 * most_f, most_f));
    draft.number("thermal_resistance", 100.0);
    draft.number("package_inductance", 2e-9);
    draft.record
}
