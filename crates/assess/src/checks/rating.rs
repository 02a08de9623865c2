//! Does each protector survive: surge current, junction rise, repetition, coordination.

use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_study::{Stage, StressCase};

use super::{Context, Finding, datum, impulses, part_origin};
use crate::build::shunt_places;
use crate::result::{CheckResult, StressSet};
use crate::simulate::CaseOutcome;
use crate::text::{amps, celsius, joules, kelvins, seconds, watts};

pub fn check(context: &Context, results: &mut Vec<CheckResult>) {
    let study = context.study;
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        let sheet = &study.parts[&shunt.part];
        if sheet.family == Family::Steering {
            for (name, _) in shunt_places(study, shunt) {
                steering(context, sheet, &name, results);
            }
            continue;
        }
        for (name, _) in shunt_places(study, shunt) {
            for outcome in context.outcomes {
                let Some(element) = outcome.element(&name) else {
                    continue;
                };
                let view = View {
                    context,
                    sheet,
                    name: &name,
                    outcome,
                    element,
                };
                view.surge_current(results);
                view.junction_rise(results);
                view.repetition(results);
            }
        }
    }
}

/// Current in amperes below which a rail clamp carries no more than leakage.
const CLAMP_CONDUCTS_A: f64 = 10e-3;

/// The clamp that holds the rail takes what the diodes steer into it; the parts file has no rating for it.
fn rail_clamp(context: &Context, outcome: &CaseOutcome, name: &str, results: &mut Vec<CheckResult>) {
    let clamp = format!("{name} (rail clamp)");
    let Some(element) = outcome.element(&clamp) else {
        return;
    };
    let peak = outcome.outcome.elements[element].amps.size();
    if peak < CLAMP_CONDUCTS_A {
        return;
    }
    let finding = Finding::in_run(context, outcome, "surge-current", &clamp, "A");
    results.push(finding.unknown(
        Some(peak),
        "a study of the rail with its clamp as a part: steering parts carry no rating for it",
        format!("the rail's clamp takes {}", amps(peak)),
    ));
}

/// Steering diodes are judged by a current rating on a wave that carries at least as much charge per ampere.
fn steering(context: &Context, sheet: &Datasheet, name: &str, results: &mut Vec<CheckResult>) {
    for outcome in context.outcomes {
        rail_clamp(context, outcome, name, results);
        for diode in ["to rail", "from return"] {
            let diode = format!("{name} ({diode})");
            let Some(element) = outcome.element(&diode) else {
                continue;
            };
            let Some(shape) = &outcome.shapes[element] else {
                continue;
            };
            let peak = outcome.outcome.elements[element].amps.size();
            let case = &context.study.stresses[outcome.case.stress];
            let finding = Finding {
                origin: part_origin(sheet),
                ..Finding::in_run(context, outcome, "surge-current", &diode, "A")
            };
            // A rating without the number of pulses, or one for fewer than the test has, covers nothing.
            let needed = impulses(case);
            let covering = sheet.ratings.iter().filter(|rating| {
                needed.is_some_and(|needed| rating.pulses >= needed)
                    && UnitWave::of(rating.wave).is_some_and(|wave| wave.charge_s() >= 0.98 * shape.charge_s)
            });
            let limit = covering.filter_map(|rating| rating.current_a).reduce(f64::max);
            results.push(match limit {
                Some(limit) => finding.at_most(
                    peak,
                    limit,
                    format!("{} against a rating on a wave at least as long", amps(peak)),
                ),
                None => finding.unknown(
                    Some(peak),
                    format!(
                        "current `rating` of part `{}` on a wave at least as long",
                        sheet.name
                    ),
                    format!(
                        "{} through the diode; none of its ratings covers this wave",
                        amps(peak)
                    ),
                ),
            });
        }
    }
}

/// One protector in one transient.
struct View<'a> {
    context: &'a Context<'a>,
    sheet: &'a Datasheet,
    name: &'a str,
    outcome: &'a CaseOutcome,
    element: usize,
}

impl View<'_> {
    fn case(&self) -> &StressCase {
        &self.context.study.stresses[self.outcome.case.stress]
    }

    fn finding(&self, check: &'static str, unit: &'static str) -> Finding<'_> {
        Finding {
            origin: part_origin(self.sheet),
            ..Finding::in_run(self.context, self.outcome, check, self.name, unit)
        }
    }

    fn surge_current(&self, results: &mut Vec<CheckResult>) {
        let log = &self.outcome.outcome.elements[self.element];
        if self.sheet.family == Family::GasTube && !self.outcome.has_switched(self.name) {
            // A tube that does not fire carries the charging current of its picofarad and is not stressed.
            return;
        }
        // A unidirectional part is rated in its breakdown direction; the forward lobe heats it far less per ampere,
        // and the junction check sees it.
        let one_sided = self
            .outcome
            .protector(self.name)
            .is_some_and(|part| part.law.is_one_sided());
        let peak = if one_sided {
            log.amps.max.max(0.0)
        } else {
            log.amps.size()
        };
        // Below the firing of the first stage everything is left to the ones behind it: that is coordination.
        let check = if self.outcome.case.tolerance == StressSet::BlindSpot {
            "coordination"
        } else {
            "surge-current"
        };
        let finding = self.finding(check, "A");
        let Some(shape) = &self.outcome.shapes[self.element] else {
            results.push(finding.at_most(0.0, 1.0, "no current flows".to_owned()));
            return;
        };
        let ambient_c = self.outcome.case.ambient_c;
        // Only varistors and gas tubes are rated by number of pulses.
        let counted = matches!(self.sheet.family, Family::Varistor | Family::GasTube);
        let pulses = match impulses(self.case()) {
            Some(pulses) => pulses,
            None if counted => {
                results.push(finding.unknown(
                    Some(peak),
                    format!("`pulses` of stress `{}`", self.case().id),
                    "how often the part must stand it is not known",
                ));
                return;
            }
            None => 1,
        };
        match self.sheet.allowed_current(shape, pulses, ambient_c) {
            Ok(allowed) => {
                let forward = if one_sided && -log.amps.min > peak {
                    format!(
                        ", beside {} forward, which the junction's rise judges",
                        amps(-log.amps.min)
                    )
                } else {
                    String::new()
                };
                let why = format!(
                    "{} with a heating width of {}{forward}; the part stands {} there at {} ({})",
                    amps(peak),
                    seconds(shape.equivalent_s()),
                    amps(allowed.current_a),
                    celsius(ambient_c),
                    allowed.rule
                );
                results.push(finding.at_most(peak, allowed.current_a, why));
            }
            Err(missing) => results.push(finding.unknown(Some(peak), datum(&missing), missing.why)),
        }
    }

    /// The rise of the simulated junction against the rise that the part's own ratings mean in the same model.
    fn junction_rise(&self, results: &mut Vec<CheckResult>) {
        let log = &self.outcome.outcome.elements[self.element];
        let Some(protector) = self.outcome.protector(self.name) else {
            return;
        };
        if protector.thermal.is_empty() {
            if protector.law.is_one_sided() && -log.amps.min > log.amps.max {
                let why = "the forward lobe is the larger one, and the part has no model of its heating";
                let missing = format!(
                    "`junction_max` and a power `rating` of part `{}`",
                    self.sheet.name
                );
                results.push(self.finding("junction-rise", "K").unknown(None, missing, why));
            }
            return;
        }
        let Some(peak_c) = log.peak_junction_c else { return };
        let ambient_c = self.outcome.case.ambient_c;
        let finding = self.finding("junction-rise", "K");
        let rise = peak_c - ambient_c;
        let rated = self
            .outcome
            .rated_rises_k
            .iter()
            .find(|(name, _)| name == self.name);
        let Some(rated_k) = rated.and_then(|(_, rise)| *rise) else {
            results.push(finding.unknown(
                Some(rise),
                format!("pulse `rating` and `junction_max` of part `{}`", self.sheet.name),
                "how far the junction may rise is not known",
            ));
            return;
        };
        match self.sheet.derating_at(ambient_c) {
            Ok(derating) => {
                let limit = rated_k * derating;
                let why = format!(
                    "the junction rises by {} from {}; a rated pulse from there would raise it by {}",
                    kelvins(rise),
                    celsius(ambient_c),
                    kelvins(limit)
                );
                results.push(finding.at_most(rise, limit, why));
            }
            Err(missing) => results.push(finding.unknown(Some(rise), datum(&missing), missing.why)),
        }
    }

    /// Mean power of repeated pulses against what the part gets rid of.
    fn repetition(&self, results: &mut Vec<CheckResult>) {
        let log = &self.outcome.outcome.elements[self.element];
        if self.sheet.family == Family::GasTube {
            // Gas tubes are rated by number of pulses, which the surge-current check counts.
            return;
        }
        let disturbance = &self.case().disturbance;
        let rate_hz = match (&disturbance.train, disturbance.interval_s) {
            (Some(train), _) => train.average_rate_hz(),
            (None, Some(interval_s)) if interval_s > 0.0 => 1.0 / interval_s,
            // A single impulse, or one of unknown interval: judged as a pulse by the other checks.
            _ => return,
        };
        let mean = log.energy_j * rate_hz;
        let ambient_c = self.outcome.case.ambient_c;
        let finding = self.finding("repetition", "W");
        let by_junction = self
            .sheet
            .thermal_k_per_w
            .zip(self.sheet.junction_max_c)
            .map(|(resistance, junction)| (junction - ambient_c) / resistance);
        match by_junction.or(self.sheet.power_w) {
            Some(limit) => {
                let why = format!(
                    "{} a pulse, {:.3} pulses per second: {} on average",
                    joules(log.energy_j),
                    rate_hz,
                    watts(mean)
                );
                results.push(finding.at_most(mean, limit, why));
            }
            None => results.push(finding.unknown(
                Some(mean),
                format!(
                    "`thermal_resistance` and `junction_max`, or `power`, of part `{}`",
                    self.sheet.name
                ),
                format!(
                    "{} on average; what the part gets rid of is not known",
                    watts(mean)
                ),
            )),
        }
    }
}
