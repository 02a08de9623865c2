//! Series elements: fuse, resistor, inductor, limiter, PTC.

use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_devices::series::fuse_life_factor;
use tidewall_study::{SeriesElement, SeriesStage, Stage, Study};

use super::{Context, Finding, impulses};
use crate::build::series_places;
use crate::result::{CheckResult, Verdict};
use crate::simulate::CaseOutcome;
use crate::text::{amps, joules, volts};

/// A series resistance from this size on, in ohms, is a component that needs a pulse rating, not a track.
const COMPONENT_OHM: f64 = 0.5;

pub fn check(context: &Context, results: &mut Vec<CheckResult>) {
    let study = context.study;
    for stage in &study.ladder {
        let Stage::Series(series) = stage else { continue };
        for (name, _) in series_places(study, series) {
            for outcome in context.outcomes {
                let Some(element) = outcome.element(&name) else {
                    continue;
                };
                judge(context, series, &name, outcome, element, results);
            }
        }
    }
}

fn judge(
    context: &Context,
    series: &SeriesStage,
    name: &str,
    outcome: &CaseOutcome,
    element: usize,
    results: &mut Vec<CheckResult>,
) {
    let study = context.study;
    let case = &study.stresses[outcome.case.stress];
    let log = &outcome.outcome.elements[element];
    let finding = |check, unit, origin: Option<String>| Finding {
        origin,
        ..Finding::in_run(context, outcome, check, name, unit)
    };
    let saturation = |saturation_a: Option<f64>, origin: Option<String>, results: &mut Vec<CheckResult>| {
        let Some(limit) = saturation_a.filter(|limit| limit.is_finite()) else {
            return;
        };
        let peak = log.amps.size();
        let why = format!(
            "{} against {} at which half the inductance is left",
            amps(peak),
            amps(limit)
        );
        let mut result = finding("inductor-saturation", "A", origin).at_most(peak, limit, why);
        if result.verdict == Verdict::Fail {
            // Saturation is part of the model; what it lets through is judged at the pin.
            result.verdict = Verdict::Marginal;
            result
                .why
                .push_str("; what it then lets through is in the other checks");
        }
        results.push(result);
    };
    let part = match &series.element {
        SeriesElement::Passive {
            resistance_ohm,
            saturation_a,
            ..
        } => {
            saturation(*saturation_a, None, results);
            if *resistance_ohm >= COMPONENT_OHM {
                let why = format!(
                    "{} in one pulse; a resistor given by its value alone has no rating",
                    joules(log.energy_j)
                );
                results.push(finding("resistor-pulse", "J", None).unknown(
                    Some(log.energy_j),
                    format!("a resistor part with a pulse energy for `{name}`"),
                    why,
                ));
            }
            return;
        }
        SeriesElement::Part(part) => part,
    };
    let sheet = &study.parts[part];
    let origin = Some(format!("part `{}`: {}", sheet.name, sheet.source));
    match sheet.family {
        Family::Fuse => fuse(
            sheet,
            log.i2t_a2s,
            impulses(case),
            &finding("fuse-i2t", "A²s", origin.clone()),
            results,
        ),
        Family::Resistor => {
            let finding = finding("resistor-pulse", "J", origin.clone());
            let rating = sheet
                .ratings
                .iter()
                .filter_map(|rating| rating.energy_j)
                .reduce(f64::min);
            results.push(match rating {
                Some(limit) => finding.at_most(
                    log.energy_j,
                    limit,
                    format!("{} in one pulse", joules(log.energy_j)),
                ),
                None => finding.unknown(
                    Some(log.energy_j),
                    format!("pulse energy of part `{}` (key `rating`)", sheet.name),
                    format!("{} in one pulse", joules(log.energy_j)),
                ),
            });
        }
        Family::Inductor | Family::Bead => saturation(sheet.inductor_saturation_a, origin.clone(), results),
        _ => {}
    }
    // A limiter and a resistor must stand the surge itself; a fuse or PTC, which only conducts in it, must interrupt
    // what the line can feed.
    let (stands, why) = match sheet.family {
        Family::Limiter => (Some(log.volts.size()), "across it in the surge"),
        Family::Resistor => (
            sheet.resistance_ohm.map(|ohm| ohm * log.amps.size()),
            "across it in the surge",
        ),
        Family::Fuse | Family::Ptc => (
            highest_line_v(study),
            "is the most the line can put across it once it opens",
        ),
        _ => return,
    };
    let finding = finding("series-voltage", "V", origin);
    let Some(value) = stands else {
        let why = "what it has to interrupt is not known";
        results.push(finding.unknown(None, "`working` voltage of the port", why));
        return;
    };
    let why = format!("{} {why}", volts(value));
    results.push(match sheet.voltage_max_v {
        Some(limit) => finding.at_most(value, limit, why),
        None => finding.unknown(
            Some(value),
            format!("`voltage_max` of part `{}`", sheet.name),
            why,
        ),
    });
}

/// Highest voltage, normal or abnormal, that the port's source puts on the line.
fn highest_line_v(study: &Study) -> Option<f64> {
    let working = study.port.working_v.as_ref()?.value;
    let abnormal = study.port.abnormal.iter().map(|level| level.value.level_v.abs());
    Some(abnormal.fold(working.high.abs().max(working.low.abs()), f64::max))
}

/// The surge must not melt the fuse, nor wear it out.
fn fuse(
    sheet: &Datasheet,
    i2t_a2s: f64,
    pulses: Option<u32>,
    finding: &Finding,
    results: &mut Vec<CheckResult>,
) {
    let (Some(melting), Some(pulses)) = (sheet.melting_a2s, pulses) else {
        results.push(finding.unknown(
            Some(i2t_a2s),
            format!(
                "`melting_i2t` of part `{}` and `pulses` of the stress",
                sheet.name
            ),
            "whether the surge melts the fuse is not known",
        ));
        return;
    };
    let Some(factor) = fuse_life_factor(pulses) else {
        results.push(finding.unknown(
            Some(i2t_a2s),
            "pulse life of the fuse beyond 100 000 pulses",
            format!("{pulses} pulses are more than the fuse's pulse-life chart covers"),
        ));
        return;
    };
    let why = format!(
        "{i2t_a2s:.3} A²s in one surge; {pulses} of them leave {:.0} % of the melting {melting:.3} A²s",
        100.0 * factor
    );
    results.push(finding.at_most(i2t_a2s, melting * factor, why));
}
