//! Flat clamps: trigger, delay, straight on-branch.

use super::{Built, KNEE_V, LEAST_OHM, MissingDatum, Notes, assemble, fit_line};
use crate::datasheet::{Datasheet, PartCorner};
use crate::law::{FlatClamp, Law, Trigger};

/// On-branch `(V0, R)` from `on_voltage` and `dynamic_resistance`, or from a line through the clamping points.
///
/// Makers rarely guarantee a lowest on-voltage. The low corner then takes the typical or the highest one, which lets
/// more through; what holds the part on is judged from its holding data.
pub(super) fn on_branch(
    sheet: &Datasheet,
    corner: PartCorner,
    notes: &mut Notes,
) -> Result<(f64, f64), MissingDatum> {
    let exact = branch_at(sheet, corner, notes);
    if exact.is_ok() || corner != PartCorner::Low {
        return exact;
    }
    for other in [PartCorner::Typical, PartCorner::High] {
        if let Ok((volts, ohm)) = branch_at(sheet, other, notes) {
            notes.add(
                "lowest on-voltage in V",
                volts,
                "not given: a higher one of the part, which lets more through",
            );
            return Ok((volts, ohm));
        }
    }
    exact
}

fn branch_at(sheet: &Datasheet, corner: PartCorner, notes: &mut Notes) -> Result<(f64, f64), MissingDatum> {
    let points: Vec<(f64, f64)> = sheet
        .clamp
        .iter()
        .filter_map(|p| Some((p.current_a, sheet.at_corner(&p.voltage_v, corner, notes)?)))
        .collect();
    let ohm = sheet.dynamic_ohm.filter(|r| *r >= 0.0).map(|r| r.max(LEAST_OHM));
    let volts = sheet.at_corner(&sheet.on_v, corner, notes);
    if let (Some(v), Some(r)) = (volts, ohm) {
        return Ok((v, r));
    }
    // One datum and the highest point give the other.
    let highest = points.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0));
    match (volts, ohm, highest) {
        (Some(v), None, Some((i, at))) if at > v => return Ok((v, (at - v) / i)),
        (None, Some(r), Some((i, at))) if at > r * i => return Ok((at - r * i, r)),
        _ => {}
    }
    if let Some((r, v)) = fit_line(&points).filter(|(r, v)| *r > 0.0 && *v > 0.0) {
        return Ok((v, r));
    }
    if volts.is_none() && (ohm.is_some() || points.is_empty()) {
        return Err(sheet.missing(
            "on-state voltage at zero current, or clamping voltages at two currents",
            "it is the level the clamp holds",
            "on_voltage",
        ));
    }
    Err(sheet.missing(
        "dynamic resistance, or clamping voltages at two currents",
        "it decides how far the let-through rises with the surge current",
        "dynamic_resistance",
    ))
}

pub(super) fn build(sheet: &Datasheet, corner: PartCorner, ambient_c: f64) -> Result<Built, MissingDatum> {
    let mut notes = Notes::default();
    let trigger_v = sheet
        .at_corner(&sheet.breakdown_v, corner, &mut notes)
        .filter(|v| *v > 0.0)
        .ok_or_else(|| {
            sheet.missing(
                "trigger voltage, minimum and maximum",
                "below it the clamp does nothing",
                "breakdown",
            )
        })?;
    let bidirectional = sheet.bidirectional.ok_or_else(|| {
        sheet.missing(
            "whether the part is symmetrical",
            "a unidirectional part conducts forward below zero",
            "bidirectional",
        )
    })?;
    let (on_v, r_ohm) = on_branch(sheet, corner, &mut notes)?;
    let need = |datum: Option<f64>, what, why, key| {
        datum
            .filter(|x| x.is_finite())
            .ok_or_else(|| sheet.missing(what, why, key))
    };
    let alpha_per_k = need(
        sheet.alpha_per_k,
        "temperature coefficient of the trigger voltage",
        "the clamping level at the ends of the ambient range follows it",
        "temperature_coefficient",
    )?;
    let delay_s = need(
        sheet.turn_on_s,
        "turn-on delay",
        "until it has run off the voltage rises unclamped",
        "turn_on_delay",
    )?
    .max(1e-12);
    let off_v = need(
        sheet.turn_off_v,
        "turn-off voltage",
        "a clamp that stays on at the working voltage shorts the supply",
        "turn_off_voltage",
    )?;
    let saturation_a = need(
        sheet.saturation_a,
        "highest current of the on-branch",
        "above it the voltage rises to the breakdown of the transistor",
        "saturation_current",
    )?
    .max(1e-6);
    let breakdown_v = need(
        sheet.transistor_breakdown_v,
        "breakdown voltage of the power transistor",
        "it limits the voltage during the delay and beyond the highest current",
        "transistor_breakdown",
    )?;
    let trigger = match sheet.detector_s {
        None => Trigger::Voltage,
        Some(rc_s) => Trigger::Slope {
            rc_s: rc_s.max(1e-12),
            hold_s: need(
                sheet.time_out_s,
                "time-out of the slope-triggered clamp",
                "after it the clamp lets go even if the surge is still there",
                "time_out",
            )?
            .max(1e-12),
        },
    };
    let (forward_v, forward_ohm) = if bidirectional {
        (breakdown_v, r_ohm)
    } else {
        sheet.forward(&mut notes)?
    };
    let junction = sheet.junction(&mut notes);
    let settle_s = (0.2 * delay_s).max(1e-12);
    notes.add(
        "time constant of the turn-on itself in s",
        settle_s,
        "a fifth of the delay; numerical choice",
    );
    let breakdown_ohm = 10.0 * r_ohm;
    notes.add(
        "slope of the transistor's breakdown in Ω",
        breakdown_ohm,
        "outside the model; numerical choice",
    );
    // With a wide corner a small current would already leave the on-branch below the turn-off level (numerical choice).
    let knee_v = KNEE_V.min(0.03 * (on_v - off_v)).max(1e-3);
    notes.add("rounding of the corners in V", knee_v, "numerical choice");
    let law = Law::FlatClamp(FlatClamp {
        trigger_v,
        on_v,
        alpha_per_k,
        reference_c: ambient_c,
        r_ohm,
        delay_s,
        settle_s,
        off_v,
        saturation_a,
        breakdown_v,
        breakdown_ohm,
        trigger,
        bidirectional,
        forward_v,
        forward_ohm,
        knee_v,
        c0_f: junction.c0_f,
        built_in_v: junction.built_in_v,
        grading: junction.grading,
    });
    let heating = sheet.plain_heating(on_v, r_ohm);
    Ok(assemble(sheet, law, 0.0, heating, notes))
}
