//! Gas discharge tubes.

use super::{Built, MissingDatum, Notes, assemble, fit_line};
use crate::datasheet::{Datasheet, PartCorner, Spread};
use crate::law::{GasTube, Law};

/// Slope law `Vs = Vdc + a (S / 1 V/µs)^b` through firing points `(slope in V/s, voltage in V)`: `(a in V, b)`.
///
/// Least squares of `log(Vs − Vdc)` on `log S`; exact for two points. `None` unless two points lie above the
/// direct spark-over voltage and rise with the slope, with `b` below one.
pub fn fit_slope_law(dc_v: f64, points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let logs: Vec<(f64, f64)> = points
        .iter()
        .filter(|(s, v)| *s > 0.0 && *v > dc_v)
        .map(|(s, v)| ((s * 1e-6).ln(), (v - dc_v).ln()))
        .collect();
    let (b, log_a) = fit_line(&logs)?;
    (b > 0.0 && b < 1.0 && log_a.is_finite()).then(|| (log_a.exp(), b))
}

fn dc_missing(sheet: &Datasheet) -> MissingDatum {
    sheet.missing(
        "direct spark-over voltage, minimum and maximum",
        "the tube must not fire at the working voltage, and fires late above it",
        "breakdown",
    )
}

fn firing_missing(sheet: &Datasheet) -> MissingDatum {
    sheet.missing(
        "firing voltages at two slopes, rising and above the direct spark-over voltage",
        "a fast surge passes until the tube has fired",
        "firing",
    )
}

pub(super) fn build(sheet: &Datasheet, corner: PartCorner) -> Result<Built, MissingDatum> {
    let mut notes = Notes::default();
    let dc_v = sheet
        .at_corner(&sheet.breakdown_v, corner, &mut notes)
        .filter(|v| *v > 0.0)
        .ok_or_else(|| dc_missing(sheet))?;
    let points = |kind: PartCorner, notes: &mut Notes| -> Vec<(f64, f64)> {
        let value = |s: &Spread, notes: &mut Notes| sheet.at_corner(s, kind, notes);
        sheet
            .firing
            .iter()
            .filter_map(|p| Some((p.slope_v_per_s, value(&p.voltage_v, notes)?)))
            .collect()
    };
    let mut law = fit_slope_law(dc_v, &points(corner, &mut notes));
    if law.is_none() && corner != PartCorner::High {
        // The excess over the direct voltage, as it is known for typical or late tubes, on the earlier direct
        // voltage: a tube that fires early on a ramp is no danger, but it must be placed somewhere.
        for kind in [PartCorner::Typical, PartCorner::High] {
            let Some(reference) = sheet.at_corner(&sheet.breakdown_v, kind, &mut notes) else {
                continue;
            };
            law = fit_slope_law(reference, &points(kind, &mut notes));
            if law.is_some() {
                notes.add(
                    "direct spark-over the firing points are set against in V",
                    reference,
                    "same excess taken at this corner",
                );
                break;
            }
        }
    }
    let (slope_coefficient_v, slope_exponent) = law.ok_or_else(|| firing_missing(sheet))?;
    let need = |datum: Option<f64>, what, why, key| {
        datum
            .filter(|x| *x > 0.0 && x.is_finite())
            .ok_or_else(|| sheet.missing(what, why, key))
    };
    let glow_v = need(
        sheet.glow_v,
        "glow voltage",
        "a supply above it can hold the glow after the surge",
        "glow_voltage",
    )?;
    let glow_to_arc_a = need(
        sheet.glow_to_arc_a,
        "current of the glow-to-arc transition",
        "below it the tube stays at its glow voltage",
        "glow_to_arc_current",
    )?;
    let arc_v = need(
        sheet.arc_v,
        "arc voltage",
        "it decides the follow current and what stays on the line",
        "arc_voltage",
    )?;
    let arc_ohm = sheet.dynamic_ohm.filter(|r| *r > 0.0).unwrap_or_else(|| {
        notes.add(
            "arc resistance in Ω",
            0.05,
            "not given: upper end of 10 to 50 mΩ, the family's usual range (from memory)",
        );
        0.05
    });
    let arc_to_glow_a = 0.2 * glow_to_arc_a;
    notes.add(
        "arc-to-glow current in A",
        arc_to_glow_a,
        "a fifth of the transition current (0.1 A of 0.5 A, from memory)",
    );
    let extinction_a = 0.01f64.min(0.5 * arc_to_glow_a);
    notes.add(
        "extinction current of the glow in A",
        extinction_a,
        "about 10 mA (two-pole tube datasheet: glow stated at 10 mA)",
    );
    let drop_s = sheet.turn_on_s.filter(|t| *t > 0.0).unwrap_or_else(|| {
        notes.add(
            "collapse time in s",
            20e-9,
            "not given: slow end of 1 to 20 ns, the family's usual range (from memory)",
        );
        20e-9
    });
    let insulation_ohm = sheet
        .leakage
        .iter()
        .filter(|p| p.current_a > 0.0 && p.voltage_v > 0.0)
        .map(|p| p.voltage_v / p.current_a)
        .reduce(f64::min)
        .unwrap_or_else(|| {
            notes.add(
                "insulation resistance in Ω",
                1e10,
                "usual guaranteed value (two-pole tube datasheet)",
            );
            1e10
        });
    let law = Law::GasTube(GasTube {
        dc_v,
        slope_coefficient_v,
        slope_exponent,
        glow_v,
        glow_to_arc_a,
        arc_v,
        arc_ohm,
        arc_to_glow_a,
        extinction_a,
        drop_s,
        c_f: sheet.constant_capacitance(&mut notes),
        insulation_ohm,
    });
    Ok(assemble(sheet, law, 0.0, None, notes))
}
