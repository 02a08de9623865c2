//! Nanoseconds: discharges, line pulses, bursts.

use tidewall_stress::StressRequest;

use super::{base, key};
use crate::dice::Dice;

/// A discharge from a hand, a tester or a network of a road vehicle.
pub fn discharge(dice: &mut Dice) -> StressRequest {
    let level_v = Some(dice.wide(100.0, 30e3));
    let kind = key(dice.pick(&["contact", "air"]));
    match dice.below(4) {
        0 => StressRequest {
            level_v: Some(dice.wide(50.0, 8e3)),
            ..base("HBM")
        },
        1 => StressRequest {
            level_v,
            discharge: kind,
            storage_f: Some(dice.pick(&[150e-12, 330e-12])),
            discharge_ohm: Some(dice.pick(&[330.0, 2e3])),
            ..base("ISO 10605")
        },
        _ => StressRequest {
            level_v,
            discharge: kind,
            model: [None, key("circuit"), key("current")][dice.below(3)].clone(),
            ..base("IEC 61000-4-2")
        },
    }
}

/// A rectangle from a charged line.
pub fn pulse(dice: &mut Dice) -> StressRequest {
    let width_s = dice.wide(1e-9, 10e-6);
    StressRequest {
        current_a: Some(dice.wide(1e-3, 100.0)),
        width_s: Some(width_s),
        rise_s: Some(dice.wide(50e-12, 50e-9).min(0.79 * width_s)),
        ..base("TLP")
    }
}

/// One pulse of a burst.
pub fn burst(dice: &mut Dice) -> StressRequest {
    StressRequest {
        level_v: Some(dice.wide(50.0, 8e3)),
        coupling: key(dice.pick(&["network", "clamp-100pF", "clamp-200pF", "direct"])),
        repetition_hz: Some(dice.pick(&[5e3, 100e3])),
        ..base("IEC 61000-4-4")
    }
}
