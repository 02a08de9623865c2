//! A generator's network run into a resistance, and what is read from the waveform there.

use tidewall_ladder::{Equations, Pin, Port, ProbeRole};
use tidewall_stress::measure::{Measures, grid_s, measure_samples};
use tidewall_stress::{Branch, Network, Node};
use tidewall_transient::{Options, Problem, Workspace, run};

use super::LAB_C;
use super::procedure::{Driven, driven};
use super::result::Verification;
use crate::text::ohms;

/// Loads in ohms that stand for an open and for a short circuit.
pub(super) const OPEN_OHM: f64 = 1e6;
pub(super) const SHORT_OHM: f64 = 1e-3;

/// Instants at which each waveform is computed at least.
const SAMPLES: usize = 400;
/// Absolute error in volts of the runs into a load.
const FINE: f64 = 1e-6;
/// Accuracy of a computed quantity: a model that is made to stand at a limit lies at it within this share.
const ACCURACY: f64 = 1e-3;

/// The waveform at a load.
struct Loaded {
    volts: Vec<(f64, f64)>,
    ohm: f64,
}

/// What is read from it.
#[derive(Clone, Copy)]
pub(super) enum Read {
    PeakVolts,
    PeakAmps,
    FrontVolts,
    FrontAmps,
    /// Width at half height times a factor.
    Width(f64),
    Rise,
    /// Current so many seconds after the first 10 % of the peak.
    AmpsAfter(f64),
    /// From the peak to 1/e of it.
    Decay,
}

/// One row to be verified: name, what is read, lowest and highest value.
pub(super) type Row = (&'static str, Read, Option<(f64, f64)>);

/// Runs a network into a resistance at each driven line, or between the lines, with an inductance from each line to earth
/// unless it is zero. A coupling arrester counts as struck.
fn into_load(network: &Network, ohm: f64, decoupling_h: f64) -> Option<Loaded> {
    let mut network = network.clone();
    for branch in &mut network.branches {
        branch.arrester = None;
        if branch.inductance_h == 0.0 {
            branch.resistance_ohm = branch.resistance_ohm.max(SHORT_OHM);
        }
    }
    let driven = driven(&network);
    let lines = if driven == Driven::One { 1 } else { 2 };
    let load = |from, to| Branch::resistor("load", from, to, ohm);
    match driven {
        Driven::One => network.branches.push(load(Node::Line(0), Node::Earth)),
        Driven::Between => network.branches.push(load(Node::Line(0), Node::Line(1))),
        Driven::Both => {
            network.branches.push(load(Node::Line(0), Node::Earth));
            network.branches.push(load(Node::Line(1), Node::Earth));
        }
    }
    if decoupling_h > 0.0 {
        let choke = |line| Branch::resistor("decoupling", Node::Line(line), Node::Earth, 0.0);
        network
            .branches
            .extend((0..lines).map(|line| choke(line).with_inductance(decoupling_h)));
    }
    let port = Port {
        conductors: lines,
        stages: Vec::new(),
        pin: Pin::default(),
        supply: None,
        ambient_c: LAB_C,
        track_ohm: crate::build::TRACK_OHM,
        loss_tangent: 0.0,
    };
    let assembly = port.assemble(&network).ok()?;
    let equations = Equations::new(assembly.circuit.clone()).ok()?;
    // A source behind nothing but resistances leaves the error control nothing to see: the grid keeps the steps short.
    let mut breakpoints_s = network.breakpoints_s();
    breakpoints_s.extend(
        grid_s(0.1 * network.finest_s, network.duration_s, SAMPLES)
            .iter()
            .skip(1),
    );
    // The last of the grid may lie a rounding before the end.
    breakpoints_s.retain(|instant| *instant < 0.999 * network.duration_s);
    breakpoints_s.sort_by(f64::total_cmp);
    breakpoints_s.dedup();
    let problem = Problem {
        equations: &equations,
        probes: &assembly.probes,
        levels: &[],
        breakpoints_s: &breakpoints_s,
        duration_s: network.duration_s,
        finest_s: network.finest_s,
    };
    // Ten amperes through the short circuit are ten millivolts.
    let options = Options {
        record: true,
        volts: FINE,
        ..Options::default()
    };
    let outcome = run(&problem, &options, &mut Workspace::new(&equations)).ok()?;
    let recording = outcome.recording.filter(|_| outcome.audit.holds())?;
    let probe = |line: usize| {
        let place = assembly
            .probes
            .iter()
            .position(|probe| probe.role == ProbeRole::Connector(line))?;
        Some(&recording.probes_v[place])
    };
    let first = probe(0)?;
    let second = (driven == Driven::Between).then(|| probe(1)).flatten();
    let mut volts: Vec<(f64, f64)> = Vec::with_capacity(first.len());
    for (k, &t) in recording.times_s.iter().enumerate() {
        if volts.last().is_some_and(|last| last.0 == t) {
            volts.pop();
        }
        volts.push((t, first[k] - second.map_or(0.0, |second| second[k])));
    }
    Some(Loaded { volts, ohm })
}

impl Loaded {
    fn read(&self, measures: &Measures, read: Read) -> Option<f64> {
        match read {
            Read::PeakVolts => Some(measures.peak.abs()),
            Read::PeakAmps => Some(measures.peak.abs() / self.ohm),
            Read::FrontVolts => measures.front_voltage_s,
            Read::FrontAmps => measures.front_current_s,
            Read::Width(factor) => measures.width_s.map(|width_s| factor * width_s),
            Read::Rise => measures.rise_s,
            Read::AmpsAfter(after_s) => {
                let start_s = self.crossing(measures, 0.1, 0.0)?;
                Some(self.at(start_s + after_s)?.abs() / self.ohm)
            }
            Read::Decay => {
                let end_s = self.crossing(measures, (-1.0f64).exp(), measures.peak_s)?;
                Some(end_s - measures.peak_s)
            }
        }
    }

    /// First time from `from_s` on at which the wave passes a share of its peak.
    fn crossing(&self, measures: &Measures, share: f64, from_s: f64) -> Option<f64> {
        let over = |value: f64| value / measures.peak - share;
        let mut pairs = self.volts.windows(2).filter(|pair| pair[1].0 > from_s);
        let pair = pairs.find(|pair| over(pair[0].1) * over(pair[1].1) <= 0.0 && pair[0].1 != pair[1].1)?;
        let (a, b) = (over(pair[0].1), over(pair[1].1));
        Some(pair[0].0 + (pair[1].0 - pair[0].0) * a / (a - b))
    }

    fn at(&self, t_s: f64) -> Option<f64> {
        let next = self.volts.partition_point(|point| point.0 <= t_s);
        let (from, to) = (self.volts.get(next.checked_sub(1)?)?, self.volts.get(next)?);
        Some(from.1 + (to.1 - from.1) * (t_s - from.0) / (to.0 - from.0))
    }
}

fn unit(read: Read) -> &'static str {
    match read {
        Read::PeakVolts => "V",
        Read::PeakAmps | Read::AmpsAfter(_) => "A",
        _ => "s",
    }
}

pub(super) fn around(nominal: f64, share: f64) -> Option<(f64, f64)> {
    Some((nominal * (1.0 - share), nominal * (1.0 + share)))
}

/// Rows of one network into one load, without decoupling.
pub(super) fn rows(
    network: &Network,
    ohm: f64,
    place: &str,
    mark: &'static str,
    rows: &[Row],
    list: &mut Vec<Verification>,
) {
    rows_beside(network, 0.0, ohm, place, mark, rows, list);
}

/// Rows of one network into one load beside a decoupling inductance.
pub(super) fn rows_beside(
    network: &Network,
    decoupling_h: f64,
    ohm: f64,
    place: &str,
    mark: &'static str,
    rows: &[Row],
    list: &mut Vec<Verification>,
) {
    let loaded = into_load(network, ohm, decoupling_h);
    let measures = loaded.as_ref().and_then(|loaded| measure_samples(&loaded.volts));
    let into = match ohm {
        OPEN_OHM => "open circuit".to_owned(),
        SHORT_OHM => "short circuit".to_owned(),
        _ => format!("into {}", ohms(ohm)),
    };
    for &(quantity, read, limits) in rows {
        let computed = loaded
            .as_ref()
            .zip(measures.as_ref())
            .and_then(|(loaded, measures)| loaded.read(measures, read));
        list.push(Verification {
            load: format!("{place}, {into}"),
            quantity,
            unit: unit(read),
            computed,
            lowest: limits.map(|limits| limits.0),
            highest: limits.map(|limits| limits.1),
            inside: computed.zip(limits).map(|(value, (low, high))| {
                value >= low * (1.0 - ACCURACY) && value <= high * (1.0 + ACCURACY)
            }),
            mark: if limits.is_some() { mark } else { "not known here" },
        });
    }
}
