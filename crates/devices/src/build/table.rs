//! Parts known by a measured V-I table.

use super::{Built, MissingDatum, Notes, assemble};
use crate::datasheet::Datasheet;
use crate::law::{Law, Table};

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
            let highest = points.last().map_or(1.0, |p| p.1);
            let foot = 1e-6 * highest;
            vec![(-threshold - ohm * highest, -highest), (-threshold, -foot)]
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
