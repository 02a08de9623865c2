//! Varistors.

use super::{Built, MissingDatum, Notes, assemble};
use crate::datasheet::{Datasheet, PartCorner};
use crate::heating::root;
use crate::law::{Law, Varistor};

/// Current in amperes at which the nominal voltage of a varistor is stated (read in reliability data of surface-mount
/// varistors).
const NOMINAL_A: f64 = 1e-3;

/// Exponent `alpha = log(I / 1 mA) / log(V / V1mA)` that carries the power law through a clamping point; volts and
/// amperes. Not a number unless `V` is above `V1mA`.
pub fn exponent_through(v1ma_v: f64, current_a: f64, voltage_v: f64) -> f64 {
    if voltage_v > v1ma_v {
        (current_a / NOMINAL_A).ln() / (voltage_v / v1ma_v).ln()
    } else {
        f64::NAN
    }
}

/// Exponent and bulk resistance in ohms from `V = V1mA (I / 1 mA)^(1/alpha) + R I`.
fn curve(
    sheet: &Datasheet,
    v1ma_v: f64,
    corner: PartCorner,
    notes: &mut Notes,
) -> Result<(f64, f64), MissingDatum> {
    let mut points: Vec<(f64, f64)> = sheet
        .clamp
        .iter()
        .filter_map(|p| Some((p.current_a, sheet.at_corner(&p.voltage_v, corner, notes)?)))
        .filter(|(i, v)| *i > NOMINAL_A && *v > v1ma_v)
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let bulk_through = |alpha: f64, (i, v): (f64, f64)| (v - v1ma_v * (i / NOMINAL_A).powf(1.0 / alpha)) / i;
    let exponent = sheet.exponent.filter(|a| *a > 1.0);
    let bulk = sheet.dynamic_ohm.filter(|r| *r >= 0.0);
    if let (Some(alpha), Some(r)) = (exponent, bulk) {
        return Ok((alpha, r));
    }
    let Some(&highest) = points.last() else {
        return Err(if exponent.is_none() {
            sheet.missing(
                "non-linearity exponent, or a clamping voltage (maximum) at a current",
                "it decides how far the voltage rises with the current",
                "exponent",
            )
        } else {
            sheet.missing(
                "clamping voltage (maximum) at the rated current, or the bulk resistance",
                "at high current the bulk raises the voltage above the power law",
                "clamp",
            )
        });
    };
    if let Some(alpha) = exponent {
        return Ok((alpha, bulk_through(alpha, highest).max(0.0)));
    }
    if let Some(r) = bulk {
        let alpha = exponent_through(v1ma_v, highest.0, highest.1 - r * highest.0);
        return if alpha > 1.0 {
            Ok((alpha, r))
        } else {
            Err(sheet.missing(
                "clamping voltage that exceeds the drop of the bulk resistance",
                "the two contradict each other",
                "clamp",
            ))
        };
    }
    let lowest = points[0];
    if lowest.0 < highest.0 {
        // A bulk below which the lower point still fits: the exponent through both points (bounds: numerical choice).
        let both = root(2.0, 200.0, |alpha| {
            bulk_through(alpha, highest) - bulk_through(alpha, lowest)
        });
        if let Some(alpha) = both.filter(|alpha| bulk_through(*alpha, highest) >= 0.0) {
            return Ok((alpha, bulk_through(alpha, highest)));
        }
    }
    let alpha = exponent_through(v1ma_v, highest.0, highest.1);
    notes.add(
        "bulk resistance in Ω",
        0.0,
        "contained in the exponent through the one clamping point",
    );
    Ok((alpha, 0.0))
}

pub(super) fn build(sheet: &Datasheet, corner: PartCorner) -> Result<Built, MissingDatum> {
    let mut notes = Notes::default();
    let v1ma_v = sheet
        .at_corner(&sheet.breakdown_v, corner, &mut notes)
        .filter(|v| *v > 0.0)
        .ok_or_else(|| {
            sheet.missing(
                "voltage at 1 mA, minimum and maximum",
                "its tolerance moves the whole curve",
                "breakdown",
            )
        })?;
    // The shape of the curve is that of the maximum curve unless values of the corner's own kind are given.
    let own = sheet
        .clamp
        .iter()
        .any(|p| sheet.at_corner(&p.voltage_v, corner, &mut notes).is_some());
    let (kind, reference) = if own || corner == PartCorner::High {
        (corner, v1ma_v)
    } else {
        match sheet.at_corner(&sheet.breakdown_v, PartCorner::High, &mut notes) {
            Some(v) => (PartCorner::High, v),
            None => (corner, v1ma_v),
        }
    };
    let (alpha, bulk_ohm) = curve(sheet, reference, kind, &mut notes)?;
    // Read in a terminology page on varistors.
    let v1ma_per_k = sheet.alpha_per_k.unwrap_or_else(|| {
        notes.add(
            "temperature coefficient of the voltage at 1 mA in 1/K",
            -5e-4,
            "zinc-oxide value of a terminology page on varistors",
        );
        -5e-4
    });
    let linear_above_a = 1e5;
    notes.add(
        "current above which the power law is straight in A",
        linear_above_a,
        "beyond any rating; numerical choice",
    );
    let law = Law::Varistor(Varistor {
        v1ma_v,
        alpha,
        v1ma_per_k,
        linear_above_a,
        c_f: sheet.constant_capacitance(&mut notes),
    });
    Ok(assemble(sheet, law, bulk_ohm, None, notes))
}
