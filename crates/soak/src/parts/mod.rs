//! Random parts: datasheets whose data do not contradict each other, over the decades that each family is made in.
//!
//! Ranges are common practice of the trade (no source): from the smallest chip diodes to the largest blocks. What a
//! family cannot have is not drawn: a clamp whose on-voltage lies below its turn-off level, a clamping voltage below
//! breakdown.

mod clamps;
mod crowbars;
mod series;

use tidewall_devices::datasheet::{
    CapacitancePoint, ClampPoint, Datasheet, Family, Firmness, PartCorner, PulseRating, RatingWave, Spread,
};
use tidewall_devices::{MissingDatum, Protector};
use tidewall_ladder::{Conductor, SeriesKind, Steering};

use crate::dice::Dice;

/// Families that stand across a line.
const SHUNTS: [Family; 7] = [
    Family::Avalanche,
    Family::FlatClamp,
    Family::Snapback,
    Family::Varistor,
    Family::GasTube,
    Family::Thyristor,
    Family::Table,
];

/// The highest stand-off voltage of a snapback clamp in volts.
const SNAPBACK_MOST_V: f64 = 36.0;

/// Families that stand in a line.
const IN_LINE: [Family; 6] = [
    Family::Resistor,
    Family::Inductor,
    Family::Bead,
    Family::Fuse,
    Family::Ptc,
    Family::Limiter,
];

/// A shunt protector for a line that works at `volts`, at a corner of its tolerance.
///
/// # Errors
/// The builder of its family misses a datum, which would be a defect of the draws here.
pub fn shunt(dice: &mut Dice, volts: f64, ambient_c: f64) -> Result<Protector, MissingDatum> {
    let family = match dice.pick(&SHUNTS) {
        // No one makes them for lines of more than some tens of volts.
        Family::Snapback if volts > SNAPBACK_MOST_V => Family::Thyristor,
        family => family,
    };
    shunt_of(dice, family, volts, ambient_c)
}

fn shunt_of(dice: &mut Dice, family: Family, volts: f64, ambient_c: f64) -> Result<Protector, MissingDatum> {
    // Mostly a part that stands the line; now and then one that was taken for another line.
    let stand_off_v = if dice.chance(0.06) {
        dice.log(2.5, 600.0)
    } else {
        volts * dice.log(1.0, 2.2)
    };
    let sheet = match family {
        Family::Avalanche => clamps::avalanche(dice, stand_off_v),
        Family::FlatClamp => clamps::flat_clamp(dice, stand_off_v),
        Family::Varistor => clamps::varistor(dice, stand_off_v),
        Family::Snapback => crowbars::snapback(dice, stand_off_v),
        Family::Thyristor => crowbars::thyristor(dice, stand_off_v),
        Family::GasTube => crowbars::gas_tube(dice, stand_off_v),
        _ => clamps::table(dice, stand_off_v),
    };
    let corner = dice.pick(&[PartCorner::Low, PartCorner::High, PartCorner::Typical]);
    Ok(sheet.protector(corner, ambient_c)?.protector)
}

/// Steering diodes with their rail.
///
/// # Errors
/// As [`shunt`].
pub fn steering(
    dice: &mut Dice,
    name: String,
    conductor: Conductor,
    volts: f64,
) -> Result<Steering, MissingDatum> {
    let sheet = clamps::steering(dice, volts);
    let lead_h = lead(dice);
    clamps::steered(&sheet, name, conductor, lead_h)
}

/// What stands in a line: a part of any series family, or a piece of track.
///
/// # Errors
/// As [`shunt`].
pub fn in_line(dice: &mut Dice, volts: f64) -> Result<SeriesKind, MissingDatum> {
    if dice.chance(0.25) {
        return Ok(series::track(dice));
    }
    let family = dice.pick(&IN_LINE);
    series::of(dice, family, volts)
}

/// Inductance in henries of a shunt's own path: from a via in the pad to a decimetre of wire.
pub fn lead(dice: &mut Dice) -> f64 {
    dice.wide(0.05e-9, 100e-9)
}

fn sheet(family: Family) -> Datasheet {
    let mut sheet = Datasheet::unknown("drawn", family, "random numbers");
    sheet.firmness = Some(Firmness::Invented);
    sheet
}

/// `middle` with a tolerance to both sides.
fn spread(middle: f64, share: f64) -> Spread {
    Spread {
        min: Some(middle * (1.0 - share)),
        typ: Some(middle),
        max: Some(middle * (1.0 + share)),
    }
}

fn clamp_point(wave: RatingWave, current_a: f64, voltage_v: Spread) -> ClampPoint {
    ClampPoint {
        wave,
        current_a,
        voltage_v,
    }
}

fn rating(wave: RatingWave, power_w: Option<f64>, current_a: Option<f64>) -> PulseRating {
    PulseRating {
        wave,
        power_w,
        current_a,
        energy_j: None,
        pulses: 1,
    }
}

/// One point of the capacitance, or two that fall with bias.
fn capacitance(dice: &mut Dice, at_zero_f: f64, at_v: f64) -> Vec<CapacitancePoint> {
    let point = |bias_v: f64, farads: f64| CapacitancePoint {
        bias_v,
        capacitance_f: Spread {
            typ: Some(farads),
            ..Spread::default()
        },
    };
    let mut points = vec![point(0.0, at_zero_f)];
    if dice.chance(0.5) {
        let grading = dice.lin(0.2, 0.6);
        points.push(point(at_v, at_zero_f / (1.0 + at_v / 0.7).powf(grading)));
    }
    points
}

fn forward(dice: &mut Dice, sheet: &mut Datasheet) {
    if dice.chance(0.5) {
        sheet.forward_v = Some(dice.lin(0.75, 3.5));
        sheet.forward_at_a = Some(dice.log(0.1, 200.0));
    } else {
        sheet.forward_v = Some(dice.lin(0.4, 1.1));
        sheet.forward_ohm = Some(dice.log(1e-3, 2.0));
    }
}

/// Heat: limit of the junction, and often the path to ambient.
fn junction(dice: &mut Dice, sheet: &mut Datasheet) {
    sheet.junction_max_c = Some(dice.pick(&[125.0, 150.0, 175.0]));
    if dice.chance(0.5) {
        sheet.thermal_k_per_w = Some(dice.log(5.0, 500.0));
    }
}
