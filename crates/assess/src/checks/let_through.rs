//! What reaches the pin: voltage by duration class, current and energy against its failure curve.

use tidewall_devices::pin::failure_current_a;
use tidewall_ladder::ProbeRole;
use tidewall_study::Withstand;

use super::{Context, Finding, NEXT_TO_NOTHING_V};
use crate::result::{CheckResult, Verdict};
use crate::simulate::{CaseOutcome, near};
use crate::text::{amps, joules, seconds, volts};

pub fn check(context: &Context, results: &mut Vec<CheckResult>) {
    for outcome in context.outcomes {
        voltage(context, outcome, results);
        current(context, outcome, results);
    }
}

fn finding<'a>(
    context: &'a Context,
    outcome: &CaseOutcome,
    check: &'static str,
    unit: &'static str,
) -> Finding<'a> {
    Finding {
        origin: Some(format!("pin, study, line {}", context.study.pin.line)),
        ..Finding::in_run(context, outcome, check, "pin", unit)
    }
}

fn voltage(context: &Context, outcome: &CaseOutcome, results: &mut Vec<CheckResult>) {
    let pin = &context.study.pin;
    let pair = context.study.port.lines == 2;
    for (probe, spec) in outcome.assembly.probes.iter().enumerate() {
        let extremes = outcome.outcome.probes[probe].volts;
        match spec.role {
            ProbeRole::PinPair => {
                let up = finding(context, outcome, "let-through-voltage", "V");
                if pin.negative_withstand.is_empty() {
                    // One list holds for either sign.
                    let peak = extremes.size();
                    results.push(judge(
                        &up,
                        outcome,
                        probe,
                        peak,
                        &pin.withstand,
                        "between the lines",
                        true,
                    ));
                } else {
                    let side = "from first to second line";
                    results.push(judge(
                        &up,
                        outcome,
                        probe,
                        extremes.max,
                        &pin.withstand,
                        side,
                        false,
                    ));
                    let down = finding(context, outcome, "let-through-negative-voltage", "V");
                    let (peak, side) = (-extremes.min.min(0.0), "from second to first line");
                    results.push(judge(
                        &down,
                        outcome,
                        probe,
                        peak,
                        &pin.negative_withstand,
                        side,
                        false,
                    ));
                }
            }
            ProbeRole::Pin(_) if pair => {
                let finding = finding(context, outcome, "let-through-common-voltage", "V");
                let peak = extremes.size();
                if pin.withstand_common.is_empty() {
                    results.push(finding.unknown(
                        Some(peak),
                        "`withstand_common` of the pin",
                        format!("{} reach {} to earth", volts(peak), spec.name),
                    ));
                } else {
                    results.push(judge(
                        &finding,
                        outcome,
                        probe,
                        peak,
                        &pin.withstand_common,
                        "to earth",
                        true,
                    ));
                }
            }
            ProbeRole::Pin(_) => {
                let up = finding(context, outcome, "let-through-voltage", "V");
                results.push(judge(
                    &up,
                    outcome,
                    probe,
                    extremes.max,
                    &pin.withstand,
                    "above the return",
                    false,
                ));
                let down = finding(context, outcome, "let-through-negative-voltage", "V");
                let peak = -extremes.min.min(0.0);
                if pin.negative_withstand.is_empty() {
                    // A line that never goes below the return needs no negative withstand.
                    if peak > NEXT_TO_NOTHING_V {
                        results.push(down.unknown(
                            Some(peak),
                            "`negative_withstand` of the pin",
                            format!("the pin goes to {} below the return", volts(peak)),
                        ));
                    }
                } else {
                    results.push(judge(
                        &down,
                        outcome,
                        probe,
                        peak,
                        &pin.negative_withstand,
                        "below the return",
                        false,
                    ));
                }
            }
            _ => {}
        }
    }
}

/// The peak against the withstand of its duration class: a level may be exceeded for as long as the next shorter
/// one allows.
fn judge(
    finding: &Finding,
    outcome: &CaseOutcome,
    probe: usize,
    peak: f64,
    list: &[Withstand],
    side: &str,
    either_sign: bool,
) -> CheckResult {
    // From the longest-lasting (lowest) level to the shortest (highest).
    let mut levels: Vec<&Withstand> = list.iter().collect();
    levels.sort_by(|a, b| b.lasts_s.total_cmp(&a.lasts_s));
    let Some(lowest) = levels.first() else {
        return finding.unknown(
            Some(peak),
            "`withstand` of the pin",
            format!("{} reach the pin {side}", volts(peak)),
        );
    };
    if lowest.lasts_s.is_finite() && peak <= lowest.voltage_v.abs() {
        // Only pulse levels are known; the run must stay within the longest of them.
        if outcome.duration_s > lowest.lasts_s {
            return finding.unknown(
                Some(peak),
                "a `withstand` with `lasts = \"any\"`",
                format!(
                    "the pin's withstand is only known for {}",
                    seconds(lowest.lasts_s)
                ),
            );
        }
    }
    let beyond = |level_v: f64| -> f64 {
        let timed = outcome.levels.iter().zip(&outcome.outcome.beyond_s);
        let same =
            |of: usize, volts: f64| of == probe && (volts == level_v || either_sign && volts == -level_v);
        timed
            .filter(|((of, volts), _)| same(*of, *volts))
            .map(|(_, beyond_s)| beyond_s)
            .sum()
    };
    for (index, level) in levels.iter().enumerate() {
        let size = level.voltage_v.abs();
        let near_v = near(level.voltage_v, finding.wanted);
        let shorter = levels.get(index + 1);
        if peak <= near_v.abs() {
            let why = format!("{} {side}, withstood for {}", volts(peak), seconds(level.lasts_s));
            return finding.at_most(peak, size, why);
        }
        // Short enough for the next level even with the margin: that one decides, so that a peak just below this
        // level is not judged more severely than one just above it.
        let allowed = shorter.map_or(0.0, |shorter| shorter.lasts_s);
        if shorter.is_some() && beyond(near_v) <= allowed {
            continue;
        }
        let over = beyond(level.voltage_v);
        if peak <= size {
            let why = format!("{} {side}, withstood for {}", volts(peak), seconds(level.lasts_s));
            return finding.at_most(peak, size, why);
        }
        let allowance = if allowed > 0.0 {
            format!("withstood for {}", seconds(allowed))
        } else {
            "which is not withstood".to_owned()
        };
        let why = format!(
            "{} {side}, beyond {} for {}, {allowance}",
            volts(peak),
            volts(size),
            seconds(over)
        );
        let mut result = finding.at_most(peak, size, why);
        if shorter.is_some() && over <= allowed {
            // Within the level's own time, but not by the margin: the next level must still hold the peak.
            let next = shorter.map_or(size, |shorter| shorter.voltage_v.abs());
            if peak <= next {
                result.verdict = Verdict::Marginal;
                return result;
            }
            continue;
        }
        result.verdict = Verdict::Fail;
        return result;
    }
    let highest = levels[levels.len() - 1].voltage_v.abs();
    finding.at_most(peak, highest, format!("{} {side}", volts(peak)))
}

fn current(context: &Context, outcome: &CaseOutcome, results: &mut Vec<CheckResult>) {
    let pin = &context.study.pin;
    if outcome.assembly.pin_elements.is_empty() {
        // Without its conduction no current flows into the pin in the model, whatever would in truth.
        for (given, check, unit) in [
            (pin.failure_current.is_some(), "let-through-current", "A"),
            (pin.failure_energy_j.is_some(), "let-through-energy", "J"),
        ] {
            if given {
                let why = "what flows into the pin is not known without its conduction";
                results.push(finding(context, outcome, check, unit).unknown(
                    None,
                    "`conduction` of the pin",
                    why,
                ));
            }
        }
    }
    for &element in &outcome.assembly.pin_elements {
        let log = &outcome.outcome.elements[element];
        let peak = log.amps.size();
        if let Some((failure_a, width_s)) = pin.failure_current {
            let finding = finding(context, outcome, "let-through-current", "A");
            // Width of the rectangle of equal charge and peak.
            let width = if peak > 0.0 { log.charge_c / peak } else { 0.0 };
            let limit = failure_current_a(failure_a, width_s, width);
            let why = format!(
                "{} into the pin for about {}; it fails at {} for {}",
                amps(peak),
                seconds(width),
                amps(failure_a),
                seconds(width_s)
            );
            results.push(finding.at_most(peak, limit, why));
        }
        if let Some(failure_j) = pin.failure_energy_j {
            let finding = finding(context, outcome, "let-through-energy", "J");
            let why = format!("{} into the pin", joules(log.energy_j));
            results.push(finding.at_most(log.energy_j, failure_j, why));
        }
    }
}
