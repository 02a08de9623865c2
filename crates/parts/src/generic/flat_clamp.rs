//! Flat clamps.

use tidewall_devices::datasheet::{Family, RatingWave};
use tidewall_study::Mark;

use super::avalanche::{self, JUNCTION_C};
use super::{Class, Draft, Formula, both, formula, short, short_wave_factor};
use crate::record::{Condition, PartRecord};

pub(super) const CLASS: Class = Class {
    key: "generic-flat-clamp",
    family: Family::FlatClamp,
    title: "voltage-triggered flat clamp by pulse power on 10/1000 µs and stand-off",
    members: "generic-flat-clamp-POWERw-STANDOFFv-uni and -bi; POWER 300, 1500, 3000; STANDOFF 5, 12, 15, 18, 24, 28, 33, 36, 40, 48, 58",
    formulas: FORMULAS,
    deviations: "No published family was found to compare with: trigger, on-state, delay and limits are choices of a plausible part, and the \
        first thing to replace by data.",
    build,
};

const POWERS_W: &[f64] = &[300.0, 1500.0, 3000.0];
const STAND_OFFS_V: &[f64] = &[5.0, 12.0, 15.0, 18.0, 24.0, 28.0, 33.0, 36.0, 40.0, 48.0, 58.0];

const FORMULAS: &[Formula] = &[
    formula("bidirectional", "by the name", Mark::Derived),
    formula("stand_off", "by the name", Mark::Derived),
    formula(
        "breakdown",
        "trigger 1.1 to 1.25 times the stand-off, at 1 mA",
        Mark::CommonPractice,
    ),
    formula(
        "on_voltage",
        "1.1 to 1.25 times the stand-off: the intercept lies close to the trigger",
        Mark::Derived,
    ),
    formula(
        "dynamic_resistance",
        "a tenth of the 8/20 slope of a generic avalanche part of equal power and stand-off (flat clamps: 5 to 20 times less)",
        Mark::Derived,
    ),
    formula(
        "temperature_coefficient",
        "2e-4 per kelvin: reference and threshold cancel in part",
        Mark::Memory,
    ),
    formula("turn_on_delay", "5 ns", Mark::CommonPractice),
    formula(
        "turn_off_voltage",
        "1.03 times the stand-off, above any working voltage",
        Mark::CommonPractice,
    ),
    formula(
        "saturation_current",
        "1.5 times the rated 8/20 current",
        Mark::CommonPractice,
    ),
    formula(
        "transistor_breakdown",
        "1.6 times the stand-off",
        Mark::CommonPractice,
    ),
    formula(
        "rating.current",
        "power by the name on 10/1000 and 6.61 times that on 8/20 (√t heating), over the highest on-state voltage",
        Mark::Derived,
    ),
    formula(
        "leakage",
        "0.5 µA at 25 °C, five times that at 85 °C, at the stand-off",
        Mark::CommonPractice,
    ),
    formula(
        "leakage_doubling",
        "10 K, worst of the published rules",
        Mark::Seen,
    ),
    formula(
        "capacitance",
        "that of a generic avalanche part of equal power and stand-off, half of it if bidirectional; ±30 %",
        Mark::CommonPractice,
    ),
    formula("grading_exponent", "abrupt junction", Mark::Memory),
    formula("forward.voltage", "3.5 V", Mark::CommonPractice),
    formula("forward.at", "50 A", Mark::CommonPractice),
    formula("junction_max", "150 °C", Mark::CommonPractice),
    formula("thermal_resistance", "60 K/W", Mark::CommonPractice),
    formula("package_inductance", "2 nH, surface-mount", Mark::Memory),
];

fn build(class: &Class) -> Vec<PartRecord> {
    let mut parts = Vec::new();
    for &power_w in POWERS_W {
        for &stand_off_v in STAND_OFFS_V {
            for bidirectional in [false, true] {
                parts.push(part(class, power_w, stand_off_v, bidirectional));
            }
        }
    }
    parts
}

/// Current in amperes at which a line takes a power.
fn current_a(v0_v: f64, r_ohm: f64, power_w: f64) -> f64 {
    2.0 * power_w / (v0_v + (v0_v * v0_v + 4.0 * r_ohm * power_w).sqrt())
}

fn part(class: &Class, power_w: f64, stand_off_v: f64, bidirectional: bool) -> PartRecord {
    let like = avalanche::values(power_w, stand_off_v);
    let (low_v, high_v) = (1.1 * stand_off_v, 1.25 * stand_off_v);
    let r_ohm = 0.1 * (like.short.0 - like.high_v) / like.short.1;
    let short_a = current_a(high_v, r_ohm, power_w * short_wave_factor());
    let side = if bidirectional { "bi" } else { "uni" };
    let mut draft = Draft::new(
        class,
        &format!("{}w-{}v-{side}", short(power_w), short(stand_off_v)),
    );
    draft.flag("bidirectional", bidirectional);
    draft.number("stand_off", stand_off_v);
    let at = Condition {
        current_a: Some(1e-3),
        ..Condition::default()
    };
    draft.spread("breakdown", both(low_v, high_v), at);
    draft.spread("on_voltage", both(low_v, high_v), Condition::default());
    draft.number("dynamic_resistance", r_ohm);
    draft.number("temperature_coefficient", 2e-4);
    draft.number("turn_on_delay", 5e-9);
    draft.number("turn_off_voltage", 1.03 * stand_off_v);
    draft.number("saturation_current", 1.5 * short_a);
    draft.number("transistor_breakdown", 1.6 * stand_off_v);
    draft.rating(
        "rating.current",
        current_a(high_v, r_ohm, power_w),
        RatingWave::Long10x1000,
        1,
    );
    draft.rating("rating.current", short_a, RatingWave::Surge8x20, 1);
    draft.leakage(stand_off_v, 25.0, 0.5e-6);
    draft.leakage(stand_off_v, 85.0, 2.5e-6);
    draft.number("leakage_doubling", 10.0);
    let c_f = if bidirectional { 0.5 * like.c_f } else { like.c_f };
    draft.capacitance(both(0.7 * c_f, 1.3 * c_f));
    draft.number("grading_exponent", 0.5);
    if !bidirectional {
        draft.number("forward.voltage", 3.5);
        draft.number("forward.at", 50.0);
    }
    draft.number("junction_max", JUNCTION_C);
    draft.number("thermal_resistance", 60.0);
    draft.number("package_inductance", 2e-9);
    draft.record
}
