//! Parts that clamp: avalanche diodes, flat clamps, varistors, steering diodes, measured tables.

use tidewall_devices::datasheet::{Datasheet, Family, RatingWave};
use tidewall_devices::{Law, MissingDatum, Protector, ThermalLadder};
use tidewall_ladder::{Conductor, Steering};

use super::{capacitance, clamp_point, forward, junction, rating, sheet, spread};
use crate::dice::Dice;

/// From a chip diode of 20 W to a block of 30 kW on 10/1000 µs.
pub fn avalanche(dice: &mut Dice, stand_off_v: f64) -> Datasheet {
    let mut sheet = sheet(Family::Avalanche);
    sheet.stand_off_v = Some(stand_off_v);
    let breakdown_v = stand_off_v * dice.lin(1.08, 1.3);
    let share = dice.lin(0.02, 0.1);
    sheet.breakdown_v = spread(breakdown_v, share);
    sheet.breakdown_at_a = Some(1e-3);
    sheet.bidirectional = Some(dice.chance(0.5));
    sheet.alpha_per_k = Some(dice.lin(1e-4, 1.1e-3));
    junction(dice, &mut sheet);
    let power_w = dice.wide(20.0, 30e3);
    // Clamping voltage over the breakdown of the same kind.
    let over = dice.lin(1.15, 1.5);
    let top_v = breakdown_v * (1.0 + share) * over;
    let long_a = power_w / top_v;
    sheet.clamp = vec![clamp_point(
        RatingWave::Long10x1000,
        long_a,
        spread(top_v / (1.0 + share), share),
    )];
    if dice.chance(0.4) {
        // The short wave carries some times the current at a little more.
        let times = dice.lin(4.0, 9.0);
        let short_v = breakdown_v * (1.0 + share) * dice.lin(over, over + 0.4);
        sheet.clamp.push(clamp_point(
            RatingWave::Surge8x20,
            times * long_a,
            spread(short_v / (1.0 + share), share),
        ));
    }
    sheet.ratings = vec![rating(RatingWave::Long10x1000, Some(power_w), Some(long_a))];
    if dice.chance(0.3) {
        sheet.ratings.push(rating(
            RatingWave::Surge8x20,
            None,
            Some(dice.lin(4.0, 9.0) * long_a),
        ));
    }
    // Area goes with power over voltage, and capacitance with area; series diodes for fast lines take most of it away.
    let natural_f = 0.7e-12 * power_w * (40.0 / stand_off_v).min(8.0);
    let farads = natural_f * dice.pick(&[1.0, 1.0, 0.3, 0.02]);
    sheet.capacitance = capacitance(dice, farads.max(0.1e-12), stand_off_v);
    forward(dice, &mut sheet);
    sheet
}

/// From a 5 A array to a 500 A block.
pub fn flat_clamp(dice: &mut Dice, stand_off_v: f64) -> Datasheet {
    let mut sheet = sheet(Family::FlatClamp);
    // The trigger circuit itself needs some volts.
    let stand_off_v = stand_off_v.max(4.0);
    sheet.stand_off_v = Some(stand_off_v);
    let trigger_v = stand_off_v * dice.lin(1.05, 1.25);
    let share = dice.lin(0.005, 0.05);
    sheet.breakdown_v = spread(trigger_v, share);
    let on = dice.lin(0.96, 1.0);
    sheet.on_v = spread(trigger_v * on, share);
    sheet.alpha_per_k = Some(dice.lin(0.0, 5e-4));
    sheet.turn_on_s = Some(dice.wide(0.3e-9, 100e-9));
    sheet.turn_off_v = Some(trigger_v * on * (1.0 - share) * dice.lin(0.6, 0.93));
    let saturation_a = dice.wide(3.0, 500.0);
    sheet.saturation_a = Some(saturation_a);
    sheet.dynamic_ohm = Some(dice.lin(0.02, 0.3) * trigger_v / saturation_a);
    sheet.transistor_breakdown_v = Some(trigger_v * dice.lin(1.1, 1.6));
    if dice.chance(0.4) {
        sheet.detector_s = Some(dice.wide(20e-9, 20e-6));
        sheet.time_out_s = Some(dice.wide(0.5e-6, 1e-3));
    }
    sheet.bidirectional = Some(dice.chance(0.4));
    junction(dice, &mut sheet);
    let rated_a = saturation_a * dice.lin(0.5, 1.0);
    sheet.ratings = vec![rating(RatingWave::Surge8x20, None, Some(rated_a))];
    if dice.chance(0.4) {
        let long_a = rated_a * dice.lin(0.05, 0.3);
        sheet
            .ratings
            .push(rating(RatingWave::Long10x1000, None, Some(long_a)));
    }
    let farads = dice.wide(1e-12, 5e-9);
    sheet.capacitance = capacitance(dice, farads, stand_off_v);
    forward(dice, &mut sheet);
    sheet
}

/// From a chip for 3 V to a block for mains.
pub fn varistor(dice: &mut Dice, stand_off_v: f64) -> Datasheet {
    let mut sheet = sheet(Family::Varistor);
    sheet.stand_off_v = Some(stand_off_v);
    let v1ma_v = stand_off_v * dice.lin(1.25, 1.8);
    let share = dice.lin(0.05, 0.2);
    sheet.breakdown_v = spread(v1ma_v, share);
    sheet.breakdown_at_a = Some(1e-3);
    let rated_a = dice.wide(0.5, 500.0);
    let top_v = v1ma_v * (1.0 + share);
    match dice.below(3) {
        0 => {
            sheet.exponent = Some(dice.lin(12.0, 60.0));
            sheet.dynamic_ohm = Some(dice.wide(1e-3, 2.0));
        }
        1 => {
            sheet.exponent = Some(dice.lin(15.0, 60.0));
            let volts = top_v * dice.lin(1.3, 2.2);
            sheet.clamp = vec![clamp_point(
                RatingWave::Surge8x20,
                rated_a,
                spread(volts / (1.0 + share), share),
            )];
        }
        _ => {
            let volts = top_v * dice.lin(1.3, 2.2);
            sheet.clamp = vec![clamp_point(
                RatingWave::Surge8x20,
                rated_a,
                spread(volts / (1.0 + share), share),
            )];
        }
    }
    let farads = dice.wide(3e-12, 30e-9);
    sheet.capacitance = capacitance(dice, farads, stand_off_v);
    sheet
}

/// A measured curve: nothing below the stand-off, then ever steeper; the same below zero, or a diode there.
pub fn table(dice: &mut Dice, stand_off_v: f64) -> Datasheet {
    let mut sheet = sheet(Family::Table);
    sheet.bidirectional = Some(dice.chance(0.5));
    let (mut volts, mut amps) = (stand_off_v * dice.lin(1.05, 1.3), dice.log(1e-6, 1e-3));
    sheet.table.push((0.95 * volts, 0.1 * amps));
    for _ in 0..2 + dice.below(9) {
        sheet.table.push((volts, amps));
        let next = amps * dice.log(1.5, 30.0);
        // Measured up to a kiloampere, and no part is steeper than some milliohms.
        if next > 1e3 {
            break;
        }
        volts += stand_off_v * dice.log(1e-3, 0.2) + dice.log(3e-3, 0.3) * (next - amps);
        amps = next;
    }
    let farads = dice.wide(0.1e-12, 5e-9);
    sheet.capacitance = capacitance(dice, farads, stand_off_v);
    forward(dice, &mut sheet);
    sheet
}

/// Two diodes and a rail with its clamp.
pub fn steering(dice: &mut Dice, volts: f64) -> Datasheet {
    let mut sheet = sheet(Family::Steering);
    forward(dice, &mut sheet);
    let rail_v = volts.min(60.0) * dice.lin(1.0, 1.1);
    sheet.rail_f = Some(dice.wide(50e-12, 100e-6));
    sheet.rail_v = Some(rail_v);
    sheet.rail_clamp = Some((rail_v * dice.lin(1.1, 1.8), dice.wide(5e-3, 3.0)));
    let farads = dice.wide(0.1e-12, 50e-12);
    sheet.capacitance = capacitance(dice, farads, rail_v);
    sheet
}

/// A steering stage of the ladder, as an assessment builds it.
pub fn steered(
    sheet: &Datasheet,
    name: String,
    conductor: Conductor,
    lead_h: f64,
) -> Result<Steering, MissingDatum> {
    let model = sheet.steering()?;
    let clamp = Protector {
        law: Law::Avalanche(model.rail_clamp),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    };
    Ok(Steering {
        name,
        conductor,
        to_rail: model.diode,
        from_return: model.diode,
        lead_h,
        rail_f: model.rail_f,
        rail_v: model.rail_v,
        rail_clamp: Some((clamp, lead_h)),
    })
}
