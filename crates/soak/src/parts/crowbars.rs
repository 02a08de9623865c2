//! Parts that break over: snapback clamps, thyristors, gas tubes.

use tidewall_devices::datasheet::{Datasheet, Family, FiringPoint, RatingWave, Spread};

use super::{SNAPBACK_MOST_V, capacitance, clamp_point, junction, rating, sheet, spread};
use crate::dice::Dice;

/// Chip-scale clamps of data lines, which no one makes for more than some tens of volts.
pub fn snapback(dice: &mut Dice, stand_off_v: f64) -> Datasheet {
    let mut sheet = sheet(Family::Snapback);
    let stand_off_v = stand_off_v.min(SNAPBACK_MOST_V);
    sheet.stand_off_v = Some(stand_off_v);
    let trigger_v = stand_off_v * dice.lin(1.2, 2.5);
    sheet.breakdown_v = spread(trigger_v, dice.lin(0.02, 0.15));
    if dice.chance(0.7) {
        sheet.breakdown_at_a = Some(dice.wide(1e-3, 0.3));
    }
    sheet.on_v = spread(trigger_v * dice.lin(0.25, 0.8), 0.05);
    sheet.dynamic_ohm = Some(dice.wide(0.05, 3.0));
    sheet.hold_a = least(dice.wide(1e-3, 0.3));
    sheet.alpha_per_k = Some(dice.lin(0.0, 1e-3));
    if dice.chance(0.7) {
        sheet.turn_on_s = Some(dice.wide(0.1e-9, 5e-9));
    }
    common(dice, &mut sheet, 0.05e-12, 30e-12, 1.0, 30.0);
    sheet
}

/// Thyristor suppressors of lines.
pub fn thyristor(dice: &mut Dice, stand_off_v: f64) -> Datasheet {
    let mut sheet = sheet(Family::Thyristor);
    sheet.stand_off_v = Some(stand_off_v);
    let trigger_v = stand_off_v * dice.lin(1.15, 1.6);
    sheet.breakdown_v = spread(trigger_v, dice.lin(0.02, 0.1));
    if dice.chance(0.7) {
        sheet.breakdown_at_a = Some(dice.wide(10e-3, 0.8));
    }
    sheet.on_v = spread(dice.lin(0.9, 3.5).min(0.6 * trigger_v), 0.1);
    sheet.dynamic_ohm = Some(dice.wide(5e-3, 0.3));
    sheet.hold_a = least(dice.wide(0.02, 0.5));
    sheet.hold_per_k = dice.chance(0.7).then(|| dice.lin(-8e-3, -2e-3));
    sheet.alpha_per_k = Some(dice.lin(0.0, 1.2e-3));
    if dice.chance(0.7) {
        sheet.turn_on_s = Some(dice.wide(30e-9, 3e-6));
    }
    common(dice, &mut sheet, 5e-12, 500e-12, 30.0, 500.0);
    sheet
}

fn least(amps: f64) -> Spread {
    Spread {
        min: Some(amps),
        ..Spread::default()
    }
}

fn common(dice: &mut Dice, sheet: &mut Datasheet, least_f: f64, most_f: f64, least_a: f64, most_a: f64) {
    sheet.bidirectional = Some(dice.chance(0.6));
    super::forward(dice, sheet);
    let farads = dice.wide(least_f, most_f);
    let stand_off_v = sheet.stand_off_v.unwrap_or(1.0);
    sheet.capacitance = capacitance(dice, farads, stand_off_v);
    if dice.chance(0.5) {
        junction(dice, sheet);
        let amps = dice.wide(least_a, most_a);
        sheet.ratings = vec![rating(RatingWave::Surge8x20, None, Some(amps))];
        if dice.chance(0.5) {
            // A clamping point beside resistance and on-voltage is told and not needed.
            let at_v = sheet.on_v.max.unwrap_or(1.0) + amps * sheet.dynamic_ohm.unwrap_or(0.1);
            sheet.clamp = vec![clamp_point(RatingWave::Surge8x20, amps, spread(at_v, 0.05))];
        }
    }
}

/// From 75 V tubes of lines to 3.5 kV tubes of mains.
pub fn gas_tube(dice: &mut Dice, stand_off_v: f64) -> Datasheet {
    let mut sheet = sheet(Family::GasTube);
    // The lowest of them still fires well above its glow.
    let dc_v = (stand_off_v * dice.lin(1.2, 2.5)).clamp(100.0, 3.5e3);
    let share = dice.lin(0.1, 0.25);
    sheet.breakdown_v = spread(dc_v, share);
    let slow_v = dc_v * (1.0 + share) * dice.lin(1.15, 2.0);
    let fast_v = slow_v * dice.lin(1.1, 1.5);
    sheet.firing = vec![firing(100e6, slow_v, share), firing(1e9, fast_v, share)];
    sheet.glow_v = Some(dice.lin(60.0, 69.0));
    sheet.glow_to_arc_a = Some(dice.wide(0.1, 1.5));
    sheet.arc_v = Some(dice.wide(7.0, 35.0));
    if dice.chance(0.5) {
        sheet.dynamic_ohm = Some(dice.wide(2e-3, 0.2));
    }
    if dice.chance(0.5) {
        sheet.turn_on_s = Some(dice.wide(1e-9, 50e-9));
    }
    let farads = dice.wide(0.2e-12, 5e-12);
    sheet.capacitance = capacitance(dice, farads, dc_v);
    sheet
}

fn firing(slope_v_per_s: f64, volts: f64, share: f64) -> FiringPoint {
    FiringPoint {
        slope_v_per_s,
        voltage_v: Spread {
            min: Some(volts * (1.0 - 0.5 * share)),
            typ: Some(volts),
            max: Some(volts * (1.0 + 0.5 * share)),
        },
    }
}
