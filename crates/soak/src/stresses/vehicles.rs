//! Road vehicles: pulses of the supply and load dump.

use tidewall_stress::StressRequest;

use super::{base, key};
use crate::dice::Dice;

/// One of the supply's pulses.
pub fn pulse(dice: &mut Dice) -> StressRequest {
    let pulse = dice.pick(&["1", "2a", "2b", "3a", "3b"]);
    let slow = pulse == "2b";
    StressRequest {
        level_v: Some(if slow {
            dice.wide(5.0, 40.0)
        } else {
            dice.wide(20.0, 700.0)
        }),
        pulse: key(pulse),
        edition: key(dice.pick(&["2004", "2011"])),
        system_v: Some(dice.pick(&[12.0, 24.0])),
        source_ohm: slow.then(|| dice.wide(1e-3, 0.05)),
        width_s: slow.then(|| dice.wide(0.2, 2.0)),
        polarity: None,
        ..base("ISO 7637-2")
    }
}

/// Load dump with or without central suppression.
pub fn load_dump(dice: &mut Dice) -> StressRequest {
    let suppressed = dice.chance(0.5);
    let twelve = dice.chance(0.5);
    let (system_v, level_v, source_ohm, width_s) = if twelve {
        (
            12.0,
            dice.wide(79.0, 101.0),
            dice.wide(0.5, 4.0),
            dice.wide(40e-3, 0.4),
        )
    } else {
        (
            24.0,
            dice.wide(151.0, 202.0),
            dice.wide(1.0, 8.0),
            dice.wide(0.1, 0.35),
        )
    };
    StressRequest {
        level_v: Some(level_v),
        pulse: key(if suppressed { "B" } else { "A" }),
        system_v: Some(system_v),
        source_ohm: Some(source_ohm),
        width_s: Some(width_s),
        suppressed_v: suppressed.then(|| dice.lin(1.25 * system_v, 0.6 * level_v)),
        polarity: None,
        ..base("ISO 16750-2")
    }
}
