//! Snapback clamps and thyristors.

use super::{Built, KNEE_V, MissingDatum, Notes, assemble, flat_clamp::on_branch};
use crate::datasheet::{Datasheet, Family, PartCorner};
use crate::law::{Crowbar, Law, hold_at_a};

pub(super) fn build(sheet: &Datasheet, corner: PartCorner, ambient_c: f64) -> Result<Built, MissingDatum> {
    let mut notes = Notes::default();
    let mut trigger = sheet.at_corner(&sheet.breakdown_v, corner, &mut notes);
    if trigger.is_none() && corner == PartCorner::Low {
        trigger = sheet.stand_off_v;
        if let Some(v) = trigger {
            notes.add(
                "lowest trigger voltage in V",
                v,
                "guaranteed not to trigger at its stand-off voltage",
            );
        }
    }
    let trigger_v = trigger.filter(|v| *v > 0.0).ok_or_else(|| {
        sheet.missing(
            "trigger (breakover) voltage, minimum and maximum",
            "the line sees it before the part folds back",
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
    let alpha_per_k = match sheet.alpha_per_k {
        Some(alpha) => alpha,
        None if ambient_c == 25.0 => {
            notes.add(
                "temperature coefficient of the trigger voltage in 1/K",
                0.0,
                "ambient is 25 °C",
            );
            0.0
        }
        None => {
            return Err(sheet.missing(
                "temperature coefficient of the trigger voltage",
                "the trigger voltage at the ends of the ambient range follows it",
                "temperature_coefficient",
            ));
        }
    };
    let (on_v, on_ohm) = on_branch(sheet, corner, &mut notes)?;
    // The lowest holding current decides whether the part lets go again, whatever the corner.
    let hold_v = sheet.hold_v.min.or(sheet.hold_v.typ);
    let from_voltage = hold_v.map(|v| (v - on_v) / on_ohm).filter(|i| *i > 0.0);
    let hold_a = sheet
        .hold_a
        .min
        .or(sheet.hold_a.typ)
        .or(from_voltage)
        .filter(|i| *i > 0.0)
        .ok_or_else(|| {
            sheet.missing(
                "holding current, minimum",
                "below it the part lets go; above it the supply keeps it on",
                "hold_current",
            )
        })?;
    let hold_per_k = sheet.hold_per_k.unwrap_or_else(|| {
        notes.add(
            "temperature coefficient of the holding current in 1/K",
            0.0,
            "not given; it falls with temperature, so a hot latch-up verdict needs hold_temperature_coefficient",
        );
        0.0
    });
    let hold_here_a = hold_at_a(hold_a, hold_per_k, ambient_c);
    let trigger_a = match sheet.breakdown_at_a.filter(|i| *i > 0.0) {
        Some(stated) if stated >= hold_here_a => stated,
        stated => {
            let why = if stated.is_some() {
                "raised to the holding current: fed in between, the part would break over and let go for ever; standing \
                 at its trigger voltage it lets as much through and gets hotter"
            } else {
                "not given: the holding current, so that a source that triggers the part also holds it"
            };
            notes.add("current at the trigger point in A", hold_here_a, why);
            hold_here_a
        }
    };
    let transition_s = sheet.turn_on_s.filter(|t| *t > 0.0).unwrap_or_else(|| {
        let (slow, why) = if sheet.family == Family::Thyristor {
            (
                1e-6,
                "not given: slow end of 0.1 to 1 µs, the family's usual range (from memory)",
            )
        } else {
            (
                1e-9,
                "not given: slow end of 0.2 to 1 ns, the family's usual range (from memory)",
            )
        };
        notes.add("transition time in s", slow, why);
        slow
    });
    let (forward_v, forward_ohm) = if bidirectional {
        (trigger_v, on_ohm)
    } else {
        sheet.forward(&mut notes)?
    };
    // The avalanche branch below the trigger point rises over 3 % of the trigger voltage.
    let off_ohm = 0.03 * trigger_v / trigger_a;
    notes.add(
        "slope of the branch below the trigger point in Ω",
        off_ohm,
        "3 % of the trigger voltage; numerical choice",
    );
    let knee_v = KNEE_V.min(0.005 * trigger_v);
    notes.add("rounding of the corners in V", knee_v, "numerical choice");
    let law = Law::Crowbar(Crowbar {
        trigger_v,
        trigger_a,
        alpha_per_k,
        off_ohm,
        on_v,
        on_ohm,
        hold_a,
        hold_per_k,
        transition_s,
        bidirectional,
        forward_v,
        forward_ohm,
        knee_v,
        c_f: sheet.constant_capacitance(&mut notes),
    });
    let heating = sheet.plain_heating(on_v, on_ohm);
    Ok(assemble(sheet, law, 0.0, heating, notes))
}
