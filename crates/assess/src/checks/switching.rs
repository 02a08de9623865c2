//! Latch-up, hold and follow current of parts that break over, and the blind spot below their firing.

use tidewall_devices::coordination::follow_current_a;
use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_devices::law::Mode;
use tidewall_study::{PortKind, ShuntStage, Stage, Study};

use super::{Context, Finding};
use crate::build::shunt_places;
use crate::corners::{source_ohm, supply_voltages};
use crate::result::{CheckResult, Corner, Verdict};
use crate::text::{amps, celsius, ohms, seconds, volts};

/// A part that still changes its state beyond this share of a powered run has not recovered.
const SETTLED: f64 = 0.8;

pub fn check(context: &Context, results: &mut Vec<CheckResult>) {
    let study = context.study;
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        let sheet = &study.parts[&shunt.part];
        if !matches!(
            sheet.family,
            Family::Snapback | Family::Thyristor | Family::GasTube | Family::FlatClamp
        ) {
            continue;
        }
        if sheet.family != Family::FlatClamp {
            load_line(study, shunt, sheet, results);
        }
        for (name, _) in shunt_places(study, shunt) {
            still_on(context, shunt, sheet, &name, results);
        }
    }
}

fn finding<'a>(shunt: &'a ShuntStage, unit: &'static str, ambient_c: f64) -> Finding<'a> {
    Finding {
        corner: Some(Corner::at(ambient_c)),
        ..Finding::new("latch-up", &shunt.name, unit)
    }
}

/// Lowest voltage in volts that keeps the part in its conducting state, and the largest current in amperes at
/// which it is sure to let go, at a temperature.
fn hold(sheet: &Datasheet, temperature_c: f64) -> (Option<f64>, Option<f64>) {
    let volts = match sheet.family {
        Family::GasTube => sheet.arc_v,
        Family::FlatClamp => sheet.turn_off_v.or(sheet.on_v.min).or(sheet.on_v.typ),
        _ => sheet
            .hold_v
            .min
            .or(sheet.hold_v.typ)
            .or(sheet.on_v.min)
            .or(sheet.on_v.typ),
    };
    let amps = match sheet.family {
        Family::GasTube => sheet.glow_to_arc_a,
        _ => sheet.hold_a.min.and_then(|amps| {
            // The holding current falls with temperature; without its coefficient the hot value is not known.
            let rise = temperature_c - 25.0;
            if rise <= 0.0 {
                Some(amps)
            } else {
                Some(amps * (1.0 + sheet.hold_per_k? * rise).max(0.0))
            }
        }),
    };
    (volts, amps)
}

/// The source's load line against the holding point (voltage or current must be out of reach).
fn load_line(study: &Study, shunt: &ShuntStage, sheet: &Datasheet, results: &mut Vec<CheckResult>) {
    let hot = study.port.ambient_c.value.high;
    let highest = supply_voltages(study)
        .into_iter()
        .fold(None, |top: Option<f64>, volts| {
            Some(top.map_or(volts.abs(), |top| top.max(volts.abs())))
        });
    let Some(source_v) = highest else {
        results.push(finding(shunt, "V", hot).unknown(
            None,
            "`working` voltage of the port",
            "whether the line can keep the part on is not known",
        ));
        return;
    };
    let (hold_v, hold_a) = hold(sheet, hot);
    if let Some(holdover) = sheet.holdover_v.filter(|_| sheet.family == Family::GasTube)
        && source_v <= holdover
    {
        results.push(finding(shunt, "V", hot).at_most(
            source_v,
            holdover,
            format!(
                "the line's {} is below the holdover voltage of {}",
                volts(source_v),
                volts(holdover)
            ),
        ));
        return;
    }
    let Some(hold_v) = hold_v else {
        results.push(finding(shunt, "V", hot).unknown(
            Some(source_v),
            format!(
                "holding or on-state voltage of part `{}` (keys `hold_voltage`, `on_voltage`, `arc_voltage`)",
                sheet.name
            ),
            "a holding voltage above the line's cannot latch",
        ));
        return;
    };
    if hold_v > source_v {
        results.push(finding(shunt, "V", hot).at_least(
            hold_v,
            source_v,
            format!(
                "the part holds at {}, the line has at most {}",
                volts(hold_v),
                volts(source_v)
            ),
        ));
        return;
    }
    let Some(source) = source_ohm(study) else {
        results.push(finding(shunt, "A", hot).unknown(
            None,
            "`source_current` or `source_resistance` of the port",
            format!(
                "the part holds at {}, below the line's {}",
                volts(hold_v),
                volts(source_v)
            ),
        ));
        return;
    };
    let on_ohm = sheet.dynamic_ohm.unwrap_or(0.0);
    let follow = follow_current_a(source_v, hold_v, source, on_ohm);
    let Some(hold_a) = hold_a else {
        results.push(finding(shunt, "A", hot).unknown(
            Some(follow),
            match sheet.hold_a.min {
                None => format!("minimum of `hold_current` of part `{}`", sheet.name),
                Some(_) => format!("`hold_temperature_coefficient` of part `{}`", sheet.name),
            },
            format!("the line can feed {} into the part once it is on", amps(follow)),
        ));
        return;
    };
    let mut result = finding(shunt, "A", hot).at_most(
        follow,
        hold_a,
        format!(
            "once on, the line feeds {} ({} behind {}); the part lets go below {} at {}",
            amps(follow),
            volts(source_v),
            ohms(source + on_ohm),
            amps(hold_a),
            celsius(hot)
        ),
    );
    if study.port.kind == PortKind::Ac && result.margin.is_some_and(|margin| margin < 0.0) {
        result
            .why
            .push_str("; on an alternating line it lasts until the next zero of the current");
    }
    results.push(result);
}

/// In the powered runs: is the part still conducting when the run ends?
fn still_on(
    context: &Context,
    shunt: &ShuntStage,
    sheet: &Datasheet,
    name: &str,
    results: &mut Vec<CheckResult>,
) {
    for outcome in context
        .outcomes
        .iter()
        .filter(|outcome| outcome.case.supply_v.is_some())
    {
        let (Some((mode, last_s)), Some(element)) = (outcome.final_mode(name), outcome.element(name)) else {
            continue;
        };
        let current = outcome.outcome.elements[element].final_a.abs();
        let on = matches!(mode, Mode::On | Mode::Glow | Mode::Arc);
        let limit = match hold(sheet, outcome.case.ambient_c).1 {
            Some(hold) => hold,
            None if sheet.family == Family::FlatClamp => 1e-3,
            None => continue,
        };
        let finding = |unit| Finding {
            wanted: 0.0,
            ..Finding::in_run(context, outcome, "recovery", &shunt.name, unit)
        };
        let late = last_s > SETTLED * outcome.duration_s;
        let supply_v = outcome.case.supply_v.map_or(0.0, f64::abs);
        if let Some(hold_v) = hold(sheet, outcome.case.ambient_c)
            .0
            .filter(|hold| *hold > supply_v)
            && (on || late)
        {
            // What still flows is left over from the stress (the decoupling network's current, say) and ends.
            let why = format!(
                "conducting at the end of the run, but the part holds at {}, above the line's {}",
                volts(hold_v),
                volts(supply_v)
            );
            results.push(finding("V").at_least(hold_v, supply_v, why));
            continue;
        }
        let finding = finding("A");
        if late {
            // Off at this instant perhaps, but it breaks over again and again, fed by the line.
            let mut result = finding.at_most(
                current,
                limit,
                format!(
                    "still breaking over at {}, close to the end of the run: the line feeds it each time",
                    seconds(last_s)
                ),
            );
            result.verdict = Verdict::Fail;
            results.push(result);
            continue;
        }
        let value = if on { current } else { 0.0 };
        let why = if on {
            format!(
                "still conducting {} from the line at the end of the run",
                amps(current)
            )
        } else {
            "off again at the end of the powered run".to_owned()
        };
        results.push(finding.at_most(value, limit, why));
    }
}
