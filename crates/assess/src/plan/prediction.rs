//! What each shot will show, and how to set the oscilloscope.

use tidewall_ladder::{ProbeRole, Side};
use tidewall_stress::measure::measure_samples;
use tidewall_study::{Stage, Study};
use tidewall_transient::{Audit, Recording};

use super::result::{PlaceKind, Reading};
use crate::build::shunt_places;
use crate::simulate::CaseOutcome;

/// Divisions of a screen, upwards and along.
const DIVISIONS_UP: f64 = 8.0;
const DIVISIONS_ALONG: f64 = 10.0;
/// Room above a predicted peak: noise, errors, a model that is off (common practice, no source).
const ROOM: f64 = 1.25;
/// A trace is watched until it has come down to this share of its peak for good.
const QUIET: f64 = 0.1;
/// Rise time times bandwidth of a system of first order (0.35), and how many times faster than the signal the
/// measurement must be for an error of the rise time of about 5 % (common practice, no source).
const RISE_BANDWIDTH: f64 = 0.35;
const FASTER: f64 = 3.0;

/// One trace of one run.
struct Trace {
    kind: PlaceKind,
    place: String,
    unit: &'static str,
    values: Vec<f64>,
    /// Largest and smallest value with their times, refined between samples where the run has them.
    most: (f64, f64),
    least: (f64, f64),
}

impl Trace {
    fn peak(&self) -> (f64, f64) {
        if -self.least.0 > self.most.0 {
            self.least
        } else {
            self.most
        }
    }
}

/// Whether the energy of a run adds up well enough for its numbers to be told.
pub(super) fn adds_up(outcome: &CaseOutcome) -> bool {
    let audit: &Audit = &outcome.outcome.audit;
    audit.holds()
}

/// The readings of typical parts, with the span over `others`. All runs must be of one port and have recordings.
pub(super) fn readings(study: &Study, typical: &CaseOutcome, others: &[&CaseOutcome]) -> Vec<Reading> {
    let Some(recording) = &typical.outcome.recording else {
        return Vec::new();
    };
    let spans: Vec<Vec<Trace>> = others.iter().map(|outcome| traces(study, outcome)).collect();
    let all = traces(study, typical).into_iter().enumerate();
    all.map(|(k, trace)| {
        let same = || std::iter::once(&trace).chain(spans.iter().filter_map(|traces| traces.get(k)));
        reading(&trace, recording, same())
    })
    .collect()
}

fn reading<'a>(
    trace: &'a Trace,
    recording: &Recording,
    all: impl Iterator<Item = &'a Trace> + Clone,
) -> Reading {
    let (typical, at_s) = trace.peak();
    let lowest = |of: fn(&Trace) -> f64| all.clone().map(of).fold(f64::INFINITY, f64::min);
    let highest = |of: fn(&Trace) -> f64| all.clone().map(of).fold(f64::NEG_INFINITY, f64::max);
    let (least, most) = (lowest(|trace| trace.least.0), highest(|trace| trace.most.0));
    let rise_s = rise(&recording.times_s, &trace.values);
    Reading {
        kind: trace.kind,
        place: trace.place.clone(),
        unit: trace.unit,
        typical: typical + 0.0,
        low: lowest(|trace| trace.peak().0) + 0.0,
        high: highest(|trace| trace.peak().0) + 0.0,
        at_s,
        least: least + 0.0,
        most: most + 0.0,
        rise_s,
        per_division: setting(ROOM * most.max(-least) / (0.5 * DIVISIONS_UP)),
        time_per_division_s: setting(ROOM * busy(&recording.times_s, &trace.values) / DIVISIONS_ALONG),
        bandwidth_hz: rise_s.map(|rise_s| setting(FASTER * RISE_BANDWIDTH / rise_s)),
    }
}

/// The next of 1, 2, 5, 10, … at or above a value.
pub fn setting(value: f64) -> f64 {
    if !(value.is_finite() && value > 0.0) {
        return 1.0;
    }
    let decade = 10f64.powi(value.log10().floor() as i32);
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0];
    let found = steps
        .iter()
        .map(|step| step * decade)
        .find(|step| *step >= value * (1.0 - 1e-9));
    found.unwrap_or(20.0 * decade)
}

/// Time at which a trace last leaves the band about its value before the shot.
fn busy(times_s: &[f64], values: &[f64]) -> f64 {
    let Some(&before) = values.first() else { return 0.0 };
    let size = values
        .iter()
        .map(|value| (value - before).abs())
        .fold(0.0, f64::max);
    let last = values
        .iter()
        .rposition(|value| (value - before).abs() > QUIET * size);
    last.map_or(0.0, |last| times_s[(last + 1).min(times_s.len() - 1)])
}

/// Rise from 10 % to 90 % of the way to the peak.
fn rise(times_s: &[f64], values: &[f64]) -> Option<f64> {
    let before = *values.first()?;
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(values.len());
    for (&t, &value) in times_s.iter().zip(values) {
        // A time that stands twice is an event: what follows it counts.
        if points.last().is_some_and(|last| last.0 == t) {
            points.pop();
        }
        points.push((t, value - before));
    }
    measure_samples(&points)?.rise_s.filter(|rise_s| *rise_s > 0.0)
}

/// Extremes of samples with their times.
fn extremes(times_s: &[f64], values: &[f64]) -> ((f64, f64), (f64, f64)) {
    let pairs = || values.iter().copied().zip(times_s.iter().copied());
    let most = pairs().fold(
        (f64::NEG_INFINITY, 0.0),
        |top, one| if one.0 > top.0 { one } else { top },
    );
    let least = pairs().fold(
        (f64::INFINITY, 0.0),
        |low, one| if one.0 < low.0 { one } else { low },
    );
    (most, least)
}

/// Connector, shunts and pin of one run, in the order of the ladder.
fn traces(study: &Study, outcome: &CaseOutcome) -> Vec<Trace> {
    let Some(recording) = &outcome.outcome.recording else {
        return Vec::new();
    };
    let mut list = Vec::new();
    probes(outcome, recording, PlaceKind::Connector, &mut list);
    currents(study, outcome, recording, &mut list);
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        for (place, _) in shunt_places(study, shunt) {
            // Steering diodes are several elements under one name.
            let own = |name: &str| {
                name == place
                    || name
                        .strip_prefix(&place)
                        .is_some_and(|rest| rest.starts_with(' '))
            };
            let elements = outcome.assembly.elements.iter();
            for &element in elements.filter(|&&element| own(&outcome.names[element])) {
                let log = &outcome.outcome.elements[element];
                let name = &outcome.names[element];
                for (what, unit, values, of) in [
                    ("voltage", "V", &recording.elements_v[element], &log.volts),
                    ("current", "A", &recording.elements_a[element], &log.amps),
                ] {
                    list.push(Trace {
                        kind: PlaceKind::Shunt,
                        place: format!("{name} {what}"),
                        unit,
                        values: values.clone(),
                        most: (of.max, of.max_s),
                        least: (of.min, of.min_s),
                    });
                }
            }
        }
    }
    probes(outcome, recording, PlaceKind::Pin, &mut list);
    for (k, &element) in outcome.assembly.pin_elements.iter().enumerate() {
        let log = &outcome.outcome.elements[element];
        list.push(Trace {
            kind: PlaceKind::Pin,
            place: numbered("pin current", k, study.port.lines),
            unit: "A",
            values: recording.elements_a[element].clone(),
            most: (log.amps.max, log.amps.max_s),
            least: (log.amps.min, log.amps.min_s),
        });
    }
    list
}

fn numbered(name: &str, line: usize, lines: usize) -> String {
    if lines == 2 {
        format!("{name}, line {}", line + 1)
    } else {
        name.to_owned()
    }
}

/// Probes at the connector or at the pin.
fn probes(outcome: &CaseOutcome, recording: &Recording, kind: PlaceKind, list: &mut Vec<Trace>) {
    for (k, spec) in outcome.assembly.probes.iter().enumerate() {
        let wanted = match spec.role {
            ProbeRole::Connector(_) => kind == PlaceKind::Connector,
            ProbeRole::Pin(_) | ProbeRole::PinPair => kind == PlaceKind::Pin,
            ProbeRole::Between => false,
        };
        if wanted {
            let volts = &outcome.outcome.probes[k].volts;
            list.push(Trace {
                kind,
                place: format!("{} voltage", spec.name),
                unit: "V",
                values: recording.probes_v[k].clone(),
                most: (volts.max, volts.max_s),
                least: (volts.min, volts.min_s),
            });
        }
    }
}

/// Current out of the generator into each line of the connector: the sum of its branches and arresters there. The port's
/// own supply is left out.
fn currents(study: &Study, outcome: &CaseOutcome, recording: &Recording, list: &mut Vec<Trace>) {
    let circuit = &outcome.assembly.circuit;
    for probe in &outcome.assembly.probes {
        let (ProbeRole::Connector(line), Some(node)) = (probe.role, probe.plus) else {
            continue;
        };
        let branches = circuit.branches.iter().enumerate().map(|(k, branch)| {
            (
                k,
                branch.side,
                branch.from,
                branch.to,
                branch.name.starts_with("port supply"),
            )
        });
        let first = circuit.branches.len();
        let devices = circuit
            .devices
            .iter()
            .enumerate()
            .map(|(k, device)| (first + k, device.side, device.from, device.to, false));
        let mut values = vec![0.0; recording.times_s.len()];
        for (element, side, from, to, supply) in branches.chain(devices) {
            if side != Side::Generator || supply {
                continue;
            }
            let sign = f64::from(i8::from(to == Some(node)) - i8::from(from == Some(node)));
            if sign != 0.0 {
                let amps = &recording.elements_a[element];
                values
                    .iter_mut()
                    .zip(amps)
                    .for_each(|(sum, amps)| *sum += sign * amps);
            }
        }
        let (most, least) = extremes(&recording.times_s, &values);
        list.push(Trace {
            kind: PlaceKind::Connector,
            place: numbered("connector current", line, study.port.lines),
            unit: "A",
            values,
            most,
            least,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_are_the_next_of_one_two_five() {
        for (value, expected) in [
            (1.0, 1.0),
            (1.01, 2.0),
            (4.9, 5.0),
            (5.1, 10.0),
            (0.03, 0.05),
            (2.1e-9, 5e-9),
        ] {
            let found = setting(value);
            assert!((found / expected - 1.0).abs() < 1e-9, "{value}: {found}");
        }
    }

    #[test]
    fn a_trace_is_watched_until_it_is_quiet_for_good() {
        let (times, values) = ([0.0, 1.0, 2.0, 3.0, 4.0], [5.0, 25.0, 5.0, 8.0, 6.0]);
        assert_eq!(busy(&times, &values), 4.0);
        assert_eq!(busy(&times, &[5.0, 25.0, 6.0, 6.0, 6.0]), 2.0);
        assert_eq!(busy(&times, &[5.0; 5]), 0.0);
        // From 5 to 25: 10 % at 0.1 s, 90 % at 0.9 s.
        let rise_s = rise(&times, &[5.0, 25.0, 5.0, 5.0, 5.0]).unwrap();
        assert!((rise_s - 0.8).abs() < 1e-6, "{rise_s}");
    }
}
