//! Microseconds: surges, ring waves, lightning, any impulse.

use tidewall_stress::StressRequest;
use tidewall_stress::catalogue::levels::{GR_1089, TIA_968_A, TIA_968_B};

use super::{base, key};
use crate::dice::Dice;

/// The combination wave and the 10/700 wave in every coupling.
pub fn combination(dice: &mut Dice, lines: usize) -> StressRequest {
    let coupling = dice.pick(&[
        "line-line",
        "line-earth",
        "line-line-capacitor",
        "line-line-arrester",
        "line-earth-capacitor",
        "line-earth-arrester",
        "symmetrical-capacitor",
        "symmetrical-arrester",
        "symmetrical-direct",
        "shield",
        "direct",
        "telecom-direct",
        "telecom-arrester",
    ]);
    let telecom = coupling.starts_with("tele");
    let several = telecom || coupling.starts_with("sym");
    StressRequest {
        level_v: Some(dice.wide(50.0, 10e3)),
        coupling: key(coupling),
        wires: several.then(|| dice.pick(&[2u32, 4, 8]).max(lines as u32)),
        source_ohm: (coupling == "direct" && dice.chance(0.5)).then(|| dice.wide(0.1, 1e3)),
        edition: [None, key("2"), key("3")][dice.below(3)].clone(),
        model: if telecom {
            None
        } else {
            [None, key("H"), key("K"), key("D2"), key("D3"), key("D18")][dice.below(6)].clone()
        },
        ..base("IEC 61000-4-5")
    }
}

/// The ring wave.
pub fn ring(dice: &mut Dice) -> StressRequest {
    StressRequest {
        level_v: Some(dice.wide(50.0, 6e3)),
        coupling: key(dice.pick(&["line-earth", "line-line"])),
        source_ohm: Some(dice.pick(&[12.0, 30.0, 200.0])),
        ..base("IEC 61000-4-12")
    }
}

/// Telecommunication lines of the ITU.
pub fn itu(dice: &mut Dice) -> StressRequest {
    let (level_v, level_name) = if dice.chance(0.3) {
        (
            None,
            key(dice.pick(&["inherent basic", "internal basic", "coordination basic"])),
        )
    } else {
        (Some(dice.wide(100.0, 8e3)), None)
    };
    StressRequest {
        level_v,
        level_name,
        coupling: key(dice.pick(&["transverse", "port-earth"])),
        ..base(dice.pick(&["ITU-T K.20", "ITU-T K.21", "ITU-T K.45"]))
    }
}

/// Telecommunication lines of North America.
pub fn telecom(dice: &mut Dice) -> StressRequest {
    if dice.chance(0.5) {
        let row = &GR_1089[dice.below(GR_1089.len())];
        let named = row.name.ends_with("metallic") || row.name.ends_with("longitudinal");
        StressRequest {
            level_name: key(row.name),
            coupling: (!named).then(|| dice.pick(&["metallic", "longitudinal"]).to_owned()),
            ..base("GR-1089")
        }
    } else {
        let rows = TIA_968_A.iter().map(|row| row.name);
        let names: Vec<&str> = rows.chain(TIA_968_B.iter().map(|row| row.0)).collect();
        StressRequest {
            level_name: key(dice.pick(&names)),
            ..base("TIA-968")
        }
    }
}

/// Pin injection of aircraft equipment.
pub fn aircraft(dice: &mut Dice) -> StressRequest {
    let pulse = dice.pick(&["WF3", "WF4", "WF5A"]);
    StressRequest {
        level_v: Some(dice.wide(20.0, 4e3)),
        pulse: key(pulse),
        frequency_hz: (pulse == "WF3").then(|| dice.pick(&[1e6, 10e6])),
        ..base("DO-160")
    }
}

/// Any front and tail, from a voltage or a current.
pub fn impulse(dice: &mut Dice) -> StressRequest {
    let times: [(f64, f64); 10] = [
        (8e-6, 20e-6),
        (10e-6, 1000e-6),
        (10e-6, 350e-6),
        (2e-6, 10e-6),
        (10e-6, 160e-6),
        (10e-6, 560e-6),
        (1.2e-6, 50e-6),
        (5e-6, 310e-6),
        (0.25e-6, 100e-6),
        (5e-9, 50e-9),
    ];
    let (front_s, tail_s) = dice.pick(&times);
    let stated = StressRequest {
        front_s: Some(front_s),
        tail_s: Some(tail_s),
        ..base("impulse")
    };
    match dice.below(3) {
        0 => StressRequest {
            current_a: Some(dice.wide(0.1, 20e3)),
            ..stated
        },
        1 => StressRequest {
            current_a: Some(dice.wide(0.1, 20e3)),
            source_ohm: Some(dice.wide(0.05, 1e3)),
            ..stated
        },
        _ => StressRequest {
            level_v: Some(dice.wide(20.0, 10e3)),
            source_ohm: Some(dice.wide(0.05, 1e3)),
            ..stated
        },
    }
}

/// A recording of a dozen points.
pub fn samples(dice: &mut Dice) -> StressRequest {
    let step_s = dice.wide(0.5e-9, 10e-6);
    let current = dice.chance(0.3);
    let top = if current {
        dice.wide(0.1, 3e3)
    } else {
        dice.wide(10.0, 5e3)
    };
    let mut at_s = 0.0;
    let mut points = vec![(0.0, 0.0)];
    for _ in 0..2 + dice.below(12) {
        at_s += step_s * dice.log(0.1, 10.0);
        points.push((at_s, top * dice.lin(-0.5, 1.0)));
    }
    points.push((at_s + 2.0 * step_s, 0.0));
    StressRequest {
        samples: Some(points),
        quantity: key(if current { "current" } else { "voltage" }),
        source_ohm: (!current || dice.chance(0.5)).then(|| dice.wide(0.1, 1e3)),
        ..base("samples")
    }
}
