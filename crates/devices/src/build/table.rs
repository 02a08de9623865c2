//! Parts known by a measured V-I table.

use super::{Built, MissingDatum, Notes, assemble};
use crate::datasheet::Datasheet;
use crate::law::{Law, Table, smooth_positive};

/// Rounding of the forward corner in volts, as of other diodes (numerical choice).
const FORWARD_KNEE_V: f64 = 0.02;
/// Places of points on a rounded corner, in roundings from the threshold (numerical choice).
const CORNER: [f64; 7] = [8.0, 4.0, 2.0, 0.0, -2.0, -4.0, -6.0];

/// Points of a forward branch down to `-highest` amperes or a little further, lowest first: straight, with a rounded corner. A
/// corner of two points would be as sharp as the branch is steep, and no step of the integration could stand on it.
fn forward_branch(threshold_v: f64, ohm: f64, highest_a: f64) -> Vec<(f64, f64)> {
    // Numerical choice: the whole corner lies above zero.
    let knee_v = FORWARD_KNEE_V.min(threshold_v / 8.0);
    let point = |over_v: f64| {
        let (rounded_v, _) = smooth_positive(over_v, knee_v);
        (-threshold_v - over_v, -rounded_v / ohm)
    };
    let far_v = ohm * highest_a;
    let beyond = (far_v > CORNER[0] * knee_v).then(|| point(far_v));
    beyond
        .into_iter()
        .chain(CORNER.iter().map(|place| point(place * knee_v)))
        .collect()
}

pub(super) fn build(sheet: &Datasheet) -> Result<Built, MissingDatum> {
    let mut notes = Notes::default();
    let bidirectional = sheet.bidirectional.ok_or_else(|| {
        sheet.missing(
            "whether the part is symmetrical",
            "a unidirectional part conducts forward below zero",
            "bidirectional",
        )
    })?;
    let mut points: Vec<(f64, f64)> = sheet.table.clone();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let two_sided = points.iter().any(|(v, _)| *v < 0.0);
    if !two_sided {
        points.retain(|(v, i)| *v > 0.0 && *i > 0.0);
        let below: Vec<(f64, f64)> = if bidirectional {
            points.iter().rev().map(|(v, i)| (-v, -i)).collect()
        } else if points.is_empty() {
            Vec::new()
        } else {
            let (threshold, ohm) = sheet.forward(&mut notes)?;
            forward_branch(threshold, ohm, points.last().map_or(1.0, |p| p.1))
        };
        let origin = (!below.is_empty()).then_some((0.0, 0.0));
        points = below.into_iter().chain(origin).chain(points).collect();
    }
    let (volts, amps): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
    let c_f = sheet.constant_capacitance(&mut notes);
    let table = Table::new(&volts, &amps, c_f).map_err(|_| {
        sheet.missing(
            "V-I table of at least two points in which voltage and current both rise",
            "the table is all there is to know of this part",
            "table",
        )
    })?;
    // The last two points give the voltage at a rated current beyond the table.
    let n = volts.len();
    let r_ohm = (volts[n - 1] - volts[n - 2]) / (amps[n - 1] - amps[n - 2]);
    let heating = sheet.plain_heating(volts[n - 1] - r_ohm * amps[n - 1], r_ohm);
    Ok(assemble(sheet, Law::Table(table), 0.0, heating, notes))
}
