//! What each shot will show, and how to set the oscilloscope.

use tidewall_ladder::{Across, ProbeRole, Side, Stage as LadderStage};
use tidewall_stress::measure::measure_samples;
use tidewall_study::{Stage, Study};
use tidewall_transient::{Options, Recording};

use super::result::{Peak, PlaceKind, Reading};
use crate::build::shunt_places;
use crate::simulate::{CaseOutcome, breaks_over};

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
/// Bandwidth in hertz that measures a discharge (IEC 61000-4-2 Ed.2, from memory): no more is asked for, since a circuit of
/// lumped elements says nothing about what is faster.
const WIDEST_HZ: f64 = 2e9;
/// The rise in seconds that this bandwidth still shows.
const FASTEST_S: f64 = RISE_BANDWIDTH / WIDEST_HZ;
/// A place whose voltage or current changes by less than this share of its size has no front to be measured.
const STILL: f64 = 0.05;

/// One trace of one run.
struct Trace {
    kind: PlaceKind,
    place: String,
    unit: &'static str,
    /// From the first line of a pair to the second: turned round when the lines are exchanged.
    between: bool,
    values: Vec<f64>,
    /// Largest and smallest value with their times, refined between samples where the run has them.
    most: (f64, f64),
    least: (f64, f64),
}

/// Where a shot goes: its sign, and whether the lines of the pair are exchanged.
#[derive(Clone, Copy, Debug)]
pub(super) struct Direction {
    pub sign: f64,
    pub exchanged: bool,
}

impl Direction {
    /// Sign of the first peak of a trace.
    fn of(self, trace: &Trace) -> f64 {
        if self.exchanged && trace.between {
            -self.sign
        } else {
            self.sign
        }
    }
}

/// The readings of typical parts, with the span over `others`. All runs must be of one port and have recordings.
pub(super) fn readings(
    study: &Study,
    direction: Direction,
    typical: &CaseOutcome,
    others: &[&CaseOutcome],
) -> Vec<Reading> {
    let Some(recording) = &typical.outcome.recording else {
        return Vec::new();
    };
    let spans: Vec<Vec<Trace>> = others.iter().map(|outcome| traces(study, outcome)).collect();
    let mut list: Vec<Reading> = Vec::new();
    for (k, trace) in traces(study, typical).iter().enumerate() {
        let others = spans.iter().filter_map(|traces| traces.get(k)).collect();
        list.push(reading(recording, direction.of(trace), trace, others));
    }
    // The lumped generator begins with its steepest slope, so an inductance at the connector shows a front that no
    // generator of the standard has: nothing there need be measured faster than the current.
    let at_connector =
        |unit: &'static str| move |one: &Reading| one.kind == PlaceKind::Connector && one.unit == unit;
    let currents = list.iter().filter(|one| at_connector("A")(one));
    if let Some(slowest) = currents
        .filter_map(|reading| reading.bandwidth_hz)
        .reduce(f64::max)
    {
        for reading in list.iter_mut().filter(|one| at_connector("V")(one)) {
            reading.bandwidth_hz = reading.bandwidth_hz.map(|hertz| hertz.min(slowest));
        }
    }
    list
}

/// Shunts that fire with some of the parts only, in words; the outcomes stand in the order of [`super::SETS`].
pub(super) fn differs(outcomes: &[&CaseOutcome]) -> Vec<String> {
    let Some(first) = outcomes.first() else {
        return Vec::new();
    };
    let mut list = Vec::new();
    for stage in &first.port.stages {
        let LadderStage::Shunt(shunt) = stage else {
            continue;
        };
        if !breaks_over(&shunt.protector.law) {
            continue;
        }
        let fired = outcomes
            .iter()
            .filter(|outcome| outcome.has_switched(&shunt.name));
        let sets: Vec<&str> = fired.map(|outcome| outcome.case.parts.word()).collect();
        if !sets.is_empty() && sets.len() < outcomes.len() {
            list.push(format!(
                "{} fires with parts {} only",
                shunt.name,
                sets.join(" and ")
            ));
        }
    }
    list
}

fn bandwidth(rise_s: f64) -> f64 {
    setting(FASTER * RISE_BANDWIDTH / rise_s).min(WIDEST_HZ)
}

/// The reading of a trace, with the span over it and others.
fn reading(recording: &Recording, direction: f64, trace: &Trace, others: Vec<&Trace>) -> Reading {
    // What lies below the integrator's accuracy is no value.
    let accuracy = if trace.unit == "V" {
        Options::default().volts
    } else {
        Options::default().amps
    };
    let shown = |value: f64| if value.abs() < accuracy { 0.0 } else { value };
    let peak = |up: bool| {
        let of = |trace: &Trace| if up { trace.most } else { trace.least };
        let typical = shown(of(trace).0);
        let values = || others.iter().map(|trace| shown(of(trace).0));
        Peak {
            typical,
            low: values().fold(typical, f64::min),
            high: values().fold(typical, f64::max),
            at_s: of(trace).1,
        }
    };
    let (peak, back) = (peak(direction > 0.0), peak(direction < 0.0));
    let ends = [peak.low, peak.high, back.low, back.high];
    let size = ends.map(f64::abs).into_iter().fold(0.0, f64::max);
    let before = trace.values.first().copied().map_or(0.0, shown);
    let moves = (peak.typical - before).abs() > STILL * size;
    let front_s = rise(&recording.times_s, &trace.values, direction).filter(|_| moves);
    Reading {
        kind: trace.kind,
        place: trace.place.clone(),
        unit: trace.unit,
        before,
        peak,
        back,
        rise_s: front_s.filter(|front_s| *front_s >= FASTEST_S),
        // A millivolt or milliampere is about the finest setting there is.
        per_division: setting((ROOM * size / (0.5 * DIVISIONS_UP)).max(1e-3)),
        time_per_division_s: setting(ROOM * busy(&recording.times_s, &trace.values) / DIVISIONS_ALONG),
        bandwidth_hz: front_s.map(bandwidth),
    }
}

/// The next of 1, 2, 5, 10, … at or above a value; zero for what is not above zero.
pub fn setting(value: f64) -> f64 {
    if !(value.is_finite() && value > 0.0) {
        return 0.0;
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

/// Rise from 10 % to 90 % of the way to the peak in a direction.
fn rise(times_s: &[f64], values: &[f64], direction: f64) -> Option<f64> {
    let before = *values.first()?;
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(values.len());
    for (&t, &value) in times_s.iter().zip(values) {
        // A time that stands twice is an event: what follows it counts.
        if points.last().is_some_and(|last| last.0 == t) {
            points.pop();
        }
        points.push((t, (direction * (value - before)).max(0.0)));
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
        for (place, across) in shunt_places(study, shunt) {
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
                        between: across == Across::LineToLine,
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
            between: false,
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
                between: spec.role == ProbeRole::PinPair,
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
            between: false,
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
        let rise_s = rise(&times, &[5.0, 25.0, 5.0, -95.0, 5.0], 1.0).unwrap();
        assert!((rise_s - 0.8).abs() < 1e-6, "{rise_s}");
        assert_eq!(rise(&times, &[5.0; 5], 1.0), None);
    }
}
