//! The circuits integrated by a general-purpose library, `diffsol`: the same equations, another method.
//!
//! It is given what it can use: the analytic Jacobian (a product with a unit vector costs one column), the singular mass
//! matrix, the corners of the sources as stop times. Changes of state are looked for in its own continuous extension, and
//! the integration starts anew after one. Peaks and energies are read as Tidewall reads them: at three Gauss points of
//! each step and its end, with parabolas between.

use std::cell::RefCell;

use diffsol::{
    NalgebraLU, NalgebraMat, NalgebraVec, OdeBuilder, OdeEquations, OdeSolverMethod, OdeSolverStopReason,
    Vector,
};
use tidewall_devices::law::{MAX_EVENTS, State};
use tidewall_ladder::{Equations, Reading, StateKind};
use tidewall_transient::PeakTracker;

use crate::measure::{Places, Quantities};
use crate::suite::Assembled;

/// A method of the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Backward differentiation formulae of variable order.
    Bdf,
    /// TR-BDF2.
    TrBdf2,
    /// ESDIRK of order 3 with an estimate of order 4.
    Esdirk34,
}

impl Method {
    /// Name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Method::Bdf => "diffsol BDF",
            Method::TrBdf2 => "diffsol TR-BDF2",
            Method::Esdirk34 => "diffsol ESDIRK34",
        }
    }
}

/// Relative tolerance of [`independent`].
pub const INDEPENDENT: f64 = 1e-8;

/// What a run yields.
#[derive(Clone, Debug)]
pub struct Run {
    /// Peaks and energies.
    pub quantities: Quantities,
    /// Accepted steps.
    pub steps: u64,
}

/// Three-point Gauss quadrature on 0 to 1.
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

/// Peaks and energies while they are gathered.
struct Log<'a> {
    assembled: &'a Assembled,
    places: &'a Places,
    readings: Vec<Reading>,
    volts: Vec<PeakTracker>,
    amps: Vec<PeakTracker>,
    joules: Vec<f64>,
    steps: u64,
    most_steps: u64,
}

impl<'a> Log<'a> {
    fn new(assembled: &'a Assembled, places: &'a Places, most_steps: u64) -> Log<'a> {
        Log {
            most_steps,
            assembled,
            places,
            readings: vec![Reading::default(); assembled.equations.elements()],
            volts: vec![PeakTracker::default(); places.probes.len()],
            amps: vec![PeakTracker::default(); places.elements.len()],
            joules: vec![0.0; places.elements.len()],
            steps: 0,
        }
    }

    /// Takes a sample that stands for `weight_s` seconds in the energies.
    fn take(&mut self, t: f64, y: &[f64], states: &[State], weight_s: f64) {
        self.assembled
            .equations
            .readings(t, y, states, &mut self.readings);
        for (log, &probe) in self.volts.iter_mut().zip(&self.places.probes) {
            let probe = &self.assembled.assembly.probes[probe];
            let volts = |node: Option<usize>| node.map_or(0.0, |node| y[node]);
            log.take(t, volts(probe.plus) - volts(probe.minus));
        }
        for (k, &element) in self.places.elements.iter().enumerate() {
            let reading = &self.readings[element];
            self.amps[k].take(t, reading.amps);
            self.joules[k] += weight_s * reading.watts;
        }
    }

    fn break_here(&mut self) {
        let all = self.volts.iter_mut().chain(&mut self.amps);
        all.for_each(PeakTracker::break_here);
    }

    fn finish(self) -> Run {
        let sizes =
            |logs: &[PeakTracker]| -> Vec<f64> { logs.iter().map(|log| log.extremes().size()).collect() };
        Run {
            quantities: Quantities {
                volts: sizes(&self.volts),
                amps: sizes(&self.amps),
                joules: self.joules,
            },
            steps: self.steps,
        }
    }
}

/// A tight run with the library's one-step method, to hold Tidewall's tight run against.
///
/// # Errors
/// As [`run`].
pub fn independent(assembled: &Assembled, places: &Places) -> Result<Quantities, String> {
    const MOST_STEPS: u64 = 1_000_000;
    Ok(run(assembled, places, Method::Esdirk34, INDEPENDENT, MOST_STEPS)?.quantities)
}

/// The discrete states while they change.
struct Switches<'a> {
    equations: &'a Equations,
    states: Vec<State>,
    armed: Vec<[bool; MAX_EVENTS]>,
    any: bool,
}

impl Switches<'_> {
    /// The first watch that is true at `y` and counts.
    fn fired(&self, y: &[f64]) -> Option<(usize, usize)> {
        if !self.any {
            return None;
        }
        (0..self.states.len()).find_map(|device| {
            let watches = self.equations.watches(device, y, self.states[device]);
            let counts = |k: usize| {
                watches[k].is_some_and(|watch| watch.value >= 0.0 && (watch.at_once || self.armed[device][k]))
            };
            (0..MAX_EVENTS).find(|&k| counts(k)).map(|k| (device, k))
        })
    }

    fn arm(&mut self, y: &[f64]) {
        if !self.any {
            return;
        }
        for (device, armed) in self.armed.iter_mut().enumerate() {
            let watches = self.equations.watches(device, y, self.states[device]);
            for (armed, watch) in armed.iter_mut().zip(watches) {
                *armed |= watch.is_some_and(|watch| watch.value < 0.0);
            }
        }
    }

    fn switch(&mut self, (device, watch): (usize, usize), y: &mut [f64]) {
        self.equations.switch(device, watch, y, &mut self.states[device]);
        self.armed = vec![[false; MAX_EVENTS]; self.states.len()];
        // Watches that are true at once, one after the other.
        while let Some((device, watch)) = self.fired(y) {
            self.equations.switch(device, watch, y, &mut self.states[device]);
        }
    }
}

/// Runs a circuit at a relative tolerance; absolute ones stand to it as Tidewall's own do.
///
/// # Errors
/// What the library says, in words, or that the run takes too many steps.
pub fn run(
    assembled: &Assembled,
    places: &Places,
    method: Method,
    relative: f64,
    most_steps: u64,
) -> Result<Run, String> {
    let equations = &assembled.equations;
    let mut log = Log::new(assembled, places, most_steps);
    let (mut y, states) = equations.initial();
    let mut switches = Switches {
        equations,
        armed: vec![[false; MAX_EVENTS]; states.len()],
        states,
        any: equations
            .circuit()
            .devices
            .iter()
            .any(|device| device.law.switches()),
    };
    let mut stops = assembled.breakpoints_s.clone();
    stops.retain(|&stop| stop < assembled.duration_s);
    stops.push(assembled.duration_s);
    let first = 1e-3 * assembled.finest_s;
    let mut t = 0.0;
    for stop in stops {
        let mut step = first;
        while t < stop {
            let span = Span {
                from: t,
                to: stop,
                first: step,
            };
            let (reached, event) = segment(&span, method, relative, &mut y, &mut switches, &mut log)?;
            t = reached;
            if let Some(event) = event {
                switches.switch(event, &mut y);
                step = 1e-3 * first;
            }
        }
    }
    Ok(log.finish())
}

/// A piece of the run without a corner.
struct Span {
    from: f64,
    to: f64,
    first: f64,
}

type Reached = (f64, Option<(usize, usize)>);

/// Integrates to the end of the span or to the next change of state.
fn segment(
    span: &Span,
    method: Method,
    relative: f64,
    y: &mut [f64],
    switches: &mut Switches<'_>,
    log: &mut Log<'_>,
) -> Result<Reached, String> {
    let equations = switches.equations;
    let n = equations.len();
    let dynamic: Vec<f64> = equations
        .dynamic()
        .iter()
        .map(|&is| f64::from(u8::from(is)))
        .collect();
    let absolute: Vec<f64> = equations
        .kinds()
        .iter()
        .map(|kind| match kind {
            StateKind::Voltage | StateKind::Current => 10.0 * relative,
            StateKind::Temperature => 100.0 * relative,
            StateKind::Inner => relative,
        })
        .collect();
    // The Jacobian by columns, with the state it belongs to.
    let cache = RefCell::new((vec![f64::NAN; n], vec![0.0; n * n]));
    let states = switches.states.clone();
    let start = y.to_vec();
    let mut problem = OdeBuilder::<NalgebraMat<f64>>::new()
        .t0(span.from)
        .h0(span.first)
        .rtol(relative)
        .atol(absolute)
        .rhs_implicit(
            |x: &[f64], _p: &[f64], t: f64, f: &mut [f64]| equations.rhs(t, x, &states, f),
            |x: &[f64], _p: &[f64], _t: f64, v: &[f64], out: &mut [f64]| {
                let mut cache = cache.borrow_mut();
                let (at, matrix) = &mut *cache;
                if at.as_slice() != x {
                    at.copy_from_slice(x);
                    matrix.fill(0.0);
                    equations.jacobian(x, &states, |row, column, value| matrix[column * n + row] += value);
                }
                out.fill(0.0);
                for (column, &factor) in matrix.chunks_exact(n).zip(v) {
                    if factor != 0.0 {
                        for (out, entry) in out.iter_mut().zip(column) {
                            *out += factor * entry;
                        }
                    }
                }
            },
        )
        .mass(|v: &[f64], _p: &[f64], _t: f64, beta: f64, out: &mut [f64]| {
            for k in 0..n {
                out[k] = dynamic[k] * v[k] + beta * out[k];
            }
        })
        .init(
            move |_p: &[f64], _t: f64, y: &mut [f64]| y.copy_from_slice(&start),
            n,
        )
        .build()
        .map_err(|error| error.to_string())?;
    problem.ode_options.min_timestep = 1e-25;
    problem.ode_options.max_nonlinear_solver_failures = 500;
    problem.ode_options.max_error_test_failures = 500;
    macro_rules! march_with {
        ($solver:expr) => {
            march(
                $solver.map_err(|error| error.to_string())?,
                span,
                y,
                switches,
                log,
            )
        };
    }
    match method {
        Method::Bdf => march_with!(problem.bdf::<NalgebraLU<f64>>()),
        Method::TrBdf2 => march_with!(problem.tr_bdf2::<NalgebraLU<f64>>()),
        Method::Esdirk34 => march_with!(problem.esdirk34::<NalgebraLU<f64>>()),
    }
}

/// Steps a solver to the end of the span or to a change of state.
fn march<'a, E, S>(
    mut solver: S,
    span: &Span,
    y: &mut [f64],
    switches: &mut Switches<'_>,
    log: &mut Log<'_>,
) -> Result<Reached, String>
where
    E: OdeEquations<T = f64, V = NalgebraVec<f64>> + 'a,
    S: OdeSolverMethod<'a, E>,
{
    let text = |error: diffsol::error::DiffsolError| error.to_string();
    let mut inside = NalgebraVec::zeros(y.len(), *solver.state().y.context());
    let mut last = span.from;
    log.break_here();
    solver.set_stop_time(span.to).map_err(text)?;
    loop {
        log.steps += 1;
        if log.steps > log.most_steps {
            return Err(format!("given up at {last:.3e} s after {} steps", log.most_steps));
        }
        let reason = solver
            .step()
            .map_err(|error| format!("at {last:.3e} s: {error}"))?;
        let now = solver.state().t;
        let mut done = now;
        let mut event = switches.fired(solver.state().y.batch_as_slice(0));
        if event.is_some() {
            let (mut low, mut high) = (last, now);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                solver.interpolate_inplace(middle, &mut inside).map_err(text)?;
                match switches.fired(inside.batch_as_slice(0)) {
                    Some(found) => {
                        event = Some(found);
                        high = middle;
                    }
                    None => low = middle,
                }
            }
            done = high;
        }
        let length = done - last;
        for (place, weight) in GAUSS {
            let t = last + place * length;
            solver.interpolate_inplace(t, &mut inside).map_err(text)?;
            log.take(t, inside.batch_as_slice(0), &switches.states, weight * length);
        }
        solver.interpolate_inplace(done, &mut inside).map_err(text)?;
        y.copy_from_slice(inside.batch_as_slice(0));
        log.take(done, y, &switches.states, 0.0);
        last = done;
        if event.is_some() || matches!(reason, OdeSolverStopReason::TstopReached) {
            return Ok((done, event));
        }
        switches.arm(y);
    }
}
