//! Avalanche diodes.

use tidewall_devices::datasheet::{Family, RatingWave};
use tidewall_study::Mark;
use tidewall_study::profile::{BREAKDOWN_OVER_STAND_OFF, SERIES_V};

use super::{Class, Draft, Formula, both, formula, short, short_wave_factor};
use crate::record::{Condition, PartRecord};

pub(super) const CLASS: Class = Class {
    key: "generic-avalanche",
    family: Family::Avalanche,
    title: "avalanche diode by pulse power on 10/1000 µs and stand-off",
    members: "generic-avalanche-POWERw-STANDOFFv-uni and -bi; POWER 400, 600, 1500, 3000, 5000; STANDOFF the usual series from 5 V to 440 V",
    formulas: FORMULAS,
    deviations: "Against the published ten-row family of 1500 W, 18 V to 68 V: with the row's own breakdown voltage the clamping voltages \
        on 10/1000 and 8/20 are within 3 % and the currents within 4 %; the family's stand-off is 0.85 times its \
        typical breakdown voltage, here 0.856; its highest junction temperature is 175 °C, here 150 °C.",
    build,
};

/// Pulse power in watts on 10/1000 µs, thermal resistance to ambient in K/W, forward current in amperes, package in H.
const SIZES: &[(f64, f64, f64, f64)] = &[
    (400.0, 120.0, 25.0, 2e-9),
    (600.0, 100.0, 50.0, 2e-9),
    (1500.0, 50.0, 100.0, 2.5e-9),
    (3000.0, 50.0, 100.0, 3e-9),
    (5000.0, 40.0, 100.0, 8e-9),
];

/// Highest clamping voltage on 10/1000 µs over the highest breakdown voltage.
pub(super) const CLAMP_LONG: f64 = 1.32;
/// Highest clamping voltage on 8/20 µs over that on 10/1000 µs.
pub(super) const CLAMP_SHORT: f64 = 1.29;
/// Highest junction temperature in °C.
pub(super) const JUNCTION_C: f64 = 150.0;

const FORMULAS: &[Formula] = &[
    formula("bidirectional", "by the name", Mark::Derived),
    formula("stand_off", "by the name", Mark::Derived),
    formula(
        "breakdown",
        "minimum 1.11 times the stand-off; ±5 % about a middle of minimum / 0.95; at 10 mA up to 7 V of stand-off, 1 mA above",
        Mark::Memory,
    ),
    formula(
        "temperature_coefficient",
        "(10.95 − 37.8 V / VBR) × 1e-4 per kelvin with the middle VBR: line through a published family of 18 V to 68 V",
        Mark::Derived,
    ),
    formula(
        "rating.power",
        "10/1000 by the name; 8/20 by equal junction rise under √t heating, factor 6.61",
        Mark::Derived,
    ),
    formula(
        "clamp",
        "10/1000: 1.32 times the highest breakdown at power / voltage; 8/20: 1.29 times that voltage at power / voltage (means of ten published rows)",
        Mark::Derived,
    ),
    formula(
        "leakage",
        "25 °C: 800 µA up to 6 V, a quarter of it for each volt more, at least 1 µA (from memory); 85 °C: five times that (published limits of one family)",
        Mark::Memory,
    ),
    formula(
        "leakage_doubling",
        "10 K, worst of the published rules",
        Mark::Seen,
    ),
    formula(
        "capacitance",
        "at zero bias 1 nF × (power / 600 W) × (24 V / stand-off)^(2/3), abrupt junction; half of it if bidirectional; ±30 %",
        Mark::Memory,
    ),
    formula("grading_exponent", "abrupt junction", Mark::Memory),
    formula(
        "forward.voltage",
        "3.5 V up to 200 V of breakdown, 5 V above (published for 1500 W)",
        Mark::Seen,
    ),
    formula(
        "forward.at",
        "25 A for 400 W, 50 A for 600 W, 100 A above",
        Mark::Memory,
    ),
    formula("junction_max", "150 °C", Mark::Seen),
    formula(
        "thermal_resistance",
        "junction to ambient 120 K/W for 400 W and 50 K/W for 1500 W (published), 100 K/W for 600 W, 50 K/W for 3000 W, 40 K/W for 5000 W",
        Mark::Memory,
    ),
    formula(
        "package_inductance",
        "2 nH to 3 nH surface-mount, 8 nH with leads (5000 W)",
        Mark::Memory,
    ),
];

/// What follows from power and stand-off.
pub(super) struct Values {
    pub(super) low_v: f64,
    pub(super) middle_v: f64,
    pub(super) high_v: f64,
    /// Highest clamping voltage and current on 10/1000 µs.
    pub(super) long: (f64, f64),
    /// The same on 8/20 µs.
    pub(super) short: (f64, f64),
    /// Pulse power in watts on 8/20 µs.
    pub(super) short_w: f64,
    /// Middle capacitance in farads at zero bias of a unidirectional part.
    pub(super) c_f: f64,
}

pub(super) fn values(power_w: f64, stand_off_v: f64) -> Values {
    let low_v = BREAKDOWN_OVER_STAND_OFF * stand_off_v;
    let middle_v = low_v / 0.95;
    let high_v = 1.05 * middle_v;
    let long_v = CLAMP_LONG * high_v;
    let short_v = CLAMP_SHORT * long_v;
    let short_w = power_w * short_wave_factor();
    Values {
        low_v,
        middle_v,
        high_v,
        long: (long_v, power_w / long_v),
        short: (short_v, short_w / short_v),
        short_w,
        c_f: 1e-9 * (power_w / 600.0) * (24.0 / stand_off_v).powf(2.0 / 3.0),
    }
}

/// Leakage in amperes at 25 °C.
pub(super) fn leakage_a(stand_off_v: f64) -> f64 {
    (800e-6 * 4f64.powf(6.0 - stand_off_v)).clamp(1e-6, 800e-6)
}

fn build(class: &Class) -> Vec<PartRecord> {
    let mut parts = Vec::new();
    for &size in SIZES {
        for &stand_off_v in SERIES_V.iter().filter(|v| **v >= 5.0) {
            for bidirectional in [false, true] {
                parts.push(part(class, size, stand_off_v, bidirectional));
            }
        }
    }
    parts
}

fn part(
    class: &Class,
    (power_w, thermal, forward_a, package_h): (f64, f64, f64, f64),
    stand_off_v: f64,
    bidirectional: bool,
) -> PartRecord {
    let v = values(power_w, stand_off_v);
    let side = if bidirectional { "bi" } else { "uni" };
    let mut draft = Draft::new(
        class,
        &format!("{}w-{}v-{side}", short(power_w), short(stand_off_v)),
    );
    draft.flag("bidirectional", bidirectional);
    draft.number("stand_off", stand_off_v);
    let at = Condition {
        current_a: Some(if stand_off_v <= 7.0 { 10e-3 } else { 1e-3 }),
        ..Condition::default()
    };
    draft.spread("breakdown", both(v.low_v, v.high_v), at);
    draft.number("temperature_coefficient", 10.95e-4 - 3.78e-3 / v.middle_v);
    draft.clamp(RatingWave::Long10x1000, v.long.1, v.long.0);
    draft.clamp(RatingWave::Surge8x20, v.short.1, v.short.0);
    draft.rating("rating.power", power_w, RatingWave::Long10x1000, 1);
    draft.rating("rating.power", v.short_w, RatingWave::Surge8x20, 1);
    draft.leakage(stand_off_v, 25.0, leakage_a(stand_off_v));
    draft.leakage(stand_off_v, 85.0, 5.0 * leakage_a(stand_off_v));
    draft.number("leakage_doubling", 10.0);
    let c_f = if bidirectional { 0.5 * v.c_f } else { v.c_f };
    draft.capacitance(both(0.7 * c_f, 1.3 * c_f));
    draft.number("grading_exponent", 0.5);
    if !bidirectional {
        draft.number("forward.voltage", if v.middle_v <= 200.0 { 3.5 } else { 5.0 });
        draft.number("forward.at", forward_a);
    }
    draft.number("junction_max", JUNCTION_C);
    draft.number("thermal_resistance", thermal);
    draft.number("package_inductance", package_h);
    draft.record
}
