//! Parts in a line: resistors, inductors, beads, fuses, PTCs, blocking current limiters.

use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_devices::{MissingDatum, Protector, ThermalLadder};
use tidewall_ladder::{Inductance, SeriesKind};

use super::sheet;
use crate::dice::Dice;

/// A piece of track: a millimetre to a metre.
pub fn track(dice: &mut Dice) -> SeriesKind {
    SeriesKind::Plain {
        resistance_ohm: dice.wide(0.1e-3, 0.5),
        inductance: Inductance::linear(dice.wide(0.2e-9, 1e-6)),
    }
}

fn plain(resistance_ohm: f64, inductance: Inductance) -> SeriesKind {
    SeriesKind::Plain {
        resistance_ohm,
        inductance,
    }
}

/// Body of a part: none given, or nanohenries.
fn package(dice: &mut Dice) -> Inductance {
    Inductance::linear(if dice.chance(0.4) {
        0.0
    } else {
        dice.log(0.2e-9, 20e-9)
    })
}

/// A part of a series family, through the builder of that family.
pub fn of(dice: &mut Dice, family: Family, volts: f64) -> Result<SeriesKind, MissingDatum> {
    let mut sheet = sheet(family);
    Ok(match family {
        Family::Inductor => {
            sheet.inductance_h = Some(dice.wide(50e-9, 10e-3));
            winding(dice, &mut sheet);
            let model = sheet.inductor()?;
            plain(
                model.winding_ohm,
                saturating(dice, model.inductance_h, model.saturation_a),
            )
        }
        Family::Bead => {
            sheet.inductance_h = Some(dice.wide(20e-9, 10e-6));
            winding(dice, &mut sheet);
            sheet.bead_ohm = Some(dice.wide(5.0, 3e3));
            let model = sheet.bead()?;
            SeriesKind::Bead {
                winding_ohm: model.winding_ohm,
                inductance: saturating(dice, model.inductance_h, model.saturation_a),
                loss_ohm: model.parallel_ohm,
            }
        }
        Family::Fuse => {
            sheet.resistance_ohm = Some(dice.wide(0.5e-3, 200.0));
            sheet.melting_a2s = Some(dice.wide(1e-6, 1e4));
            plain(sheet.fuse()?.resistance_ohm, package(dice))
        }
        Family::Ptc => {
            sheet.resistance_ohm = Some(dice.wide(2e-3, 100.0));
            let hold_a = dice.wide(0.01, 10.0);
            sheet.rated_a = Some(hold_a);
            sheet.trip_a = Some(2.0 * hold_a);
            plain(sheet.ptc()?.resistance_ohm, package(dice))
        }
        Family::Limiter => {
            sheet.resistance_ohm = Some(dice.wide(0.2, 100.0));
            sheet.trip_a = Some(dice.wide(0.02, 2.0));
            sheet.voltage_max_v = Some(dice.wide(40.0, 850.0));
            // A limiter that resets above the overload it has to block would open and close for ever.
            sheet.reset_v = Some(volts * dice.log(0.01, 0.3));
            sheet.turn_on_s = dice.chance(0.7).then(|| dice.wide(10e-9, 3e-6));
            SeriesKind::Device {
                protector: Protector {
                    law: sheet.limiter()?.model,
                    // Contact resistance, as an assessment gives it.
                    series_ohm: 1e-3,
                    package_h: 0.0,
                    thermal: ThermalLadder::default(),
                },
                lead_h: package(dice).henries,
            }
        }
        _ => {
            sheet.resistance_ohm = Some(dice.wide(0.1, 100e3));
            plain(sheet.resistor_ohm()?, package(dice))
        }
    })
}

fn winding(dice: &mut Dice, sheet: &mut Datasheet) {
    sheet.inductor_saturation_a = Some(dice.wide(0.02, 50.0));
    sheet.resistance_ohm = Some(dice.wide(1e-3, 20.0));
}

/// A core that saturates, or now and then an air coil.
fn saturating(dice: &mut Dice, henries: f64, saturation_a: f64) -> Inductance {
    Inductance {
        henries,
        saturation_a: (!dice.chance(0.2)).then_some(saturation_a),
    }
}
