//! The integration of one transient.

use tidewall_devices::law::{MAX_EVENTS, State};
use tidewall_ladder::{Equations, Power, Probe, Reading, StateKind, Stored};

use crate::audit::Audit;
use crate::lu::Symbolic;
use crate::method::{Dense, ORDER, RODAS, STAGES};
use crate::peak::{Extremes, PeakTracker};
use crate::recording::Recording;

/// Accuracy and limits of the integrator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Relative error per step (default 5e-5). Smaller: more steps, about as the fourth root.
    pub relative: f64,
    /// Absolute error of a voltage in volts (default 0.5 mV).
    pub volts: f64,
    /// Absolute error of a current in amperes (default 0.5 mA).
    pub amps: f64,
    /// Absolute error of a temperature in kelvins (default 5 mK).
    pub kelvins: f64,
    /// Absolute error of a device's inner state (default 5e-5).
    pub inner: f64,
    /// Most steps, accepted and rejected, before the run is given up (default 400 000).
    pub max_steps: u64,
    /// Whether waveforms are kept.
    pub record: bool,
    /// A fixed step in seconds instead of error control, for convergence studies.
    pub fixed_step_s: Option<f64>,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            relative: 5e-5,
            volts: 5e-4,
            amps: 5e-4,
            kelvins: 5e-3,
            inner: 5e-5,
            max_steps: 400_000,
            record: false,
            fixed_step_s: None,
        }
    }
}

impl Options {
    /// Options with the relative error `relative` and every absolute error scaled along.
    pub fn with_relative(relative: f64) -> Options {
        let base = Options::default();
        let factor = relative / base.relative;
        Options {
            relative,
            volts: base.volts * factor,
            amps: base.amps * factor,
            kelvins: base.kelvins * factor,
            inner: base.inner * factor,
            ..base
        }
    }
}

/// What the integrator did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counters {
    /// Accepted steps.
    pub steps: u64,
    /// Rejected steps.
    pub rejections: u64,
    /// Factorisations of the step matrix.
    pub factorisations: u64,
    /// Evaluations of the right-hand side.
    pub evaluations: u64,
    /// Changes of a device's discrete state.
    pub events: u64,
}

/// Why a transient could not be finished.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TransientError {
    /// The error control asks for a step below the resolution of the time.
    #[error("no convergence at {at_s:.6e} s: the step has shrunk to {step_s:.3e} s")]
    StepTooSmall {
        /// Time reached in seconds.
        at_s: f64,
        /// Step asked for in seconds.
        step_s: f64,
    },
    /// More steps than allowed.
    #[error("given up at {at_s:.6e} s after {steps} steps")]
    TooManySteps {
        /// Time reached in seconds.
        at_s: f64,
        /// Steps taken.
        steps: u64,
    },
    /// A device changes its state again and again without time passing.
    #[error("`{device}` changes its state without end at {at_s:.6e} s")]
    Chatter {
        /// Time reached in seconds.
        at_s: f64,
        /// The device.
        device: String,
    },
    /// The equations before the stress have no solution.
    #[error("the state before the stress has no solution")]
    NoInitialState,
}

/// What is to be integrated.
#[derive(Clone, Copy, Debug)]
pub struct Problem<'a> {
    /// The equations.
    pub equations: &'a Equations,
    /// Voltages to watch.
    pub probes: &'a [Probe],
    /// Levels whose exceedance is timed: probe number and volts; a negative level counts below it.
    pub levels: &'a [(usize, f64)],
    /// Instants at which a source has a corner, rising.
    pub breakpoints_s: &'a [f64],
    /// End of the run in seconds.
    pub duration_s: f64,
    /// Shortest time scale of the stress in seconds.
    pub finest_s: f64,
}

/// Extremes of a probe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProbeOutcome {
    /// Extremes of the voltage in volts.
    pub volts: Extremes,
}

/// What one element went through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ElementOutcome {
    /// Extremes of the voltage across it in volts.
    pub volts: Extremes,
    /// Extremes of the current in amperes.
    pub amps: Extremes,
    /// Voltage across it at the instant of the largest sampled current, in volts.
    pub volts_at_peak_current: f64,
    /// Energy turned into heat in joules.
    pub energy_j: f64,
    /// Integral of the squared current in A²s.
    pub i2t_a2s: f64,
    /// Integral of the size of the current in coulombs.
    pub charge_c: f64,
    /// Highest junction temperature in °C; `None` for elements without a junction.
    pub peak_junction_c: Option<f64>,
    /// Current at the end of the run in amperes.
    pub final_a: f64,
    /// Voltage at the end of the run in volts.
    pub final_v: f64,
}

/// The result of one transient.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// One per probe.
    pub probes: Vec<ProbeOutcome>,
    /// One per element, numbered as in [`Equations::element_name`].
    pub elements: Vec<ElementOutcome>,
    /// Time in seconds spent beyond each level of [`Problem::levels`].
    pub beyond_s: Vec<f64>,
    /// How often each device changed its discrete state.
    pub switched: Vec<u64>,
    /// When each device last did, in seconds; zero if it never did.
    pub last_switch_s: Vec<f64>,
    /// Discrete state of each device at the end.
    pub final_states: Vec<State>,
    /// State vector at the end.
    pub final_y: Vec<f64>,
    /// Energy audit.
    pub audit: Audit,
    /// Counters.
    pub counters: Counters,
    /// Waveforms, if asked for.
    pub recording: Option<Recording>,
}

/// Buffers of the integrator; made once per circuit, used for any number of runs of that circuit.
#[derive(Clone, Debug)]
pub struct Workspace {
    symbolic: Symbolic,
    jacobian: Vec<f64>,
    matrix: Vec<f64>,
    f: Vec<f64>,
    f_t: Vec<f64>,
    stages: Vec<Vec<f64>>,
    argument: Vec<f64>,
    scratch: Vec<f64>,
    dense: Dense,
    sample: Vec<f64>,
    readings: Vec<Reading>,
    weights: Vec<f64>,
    /// States, readings and power flows at the quadrature points of a step.
    quadrature: [(Vec<f64>, Vec<Reading>, Power); 3],
}

impl Workspace {
    /// Buffers and elimination order for a circuit.
    pub fn new(equations: &Equations) -> Workspace {
        let n = equations.len();
        let (y, states) = equations.initial();
        let mut places = Vec::new();
        equations.jacobian(&y, &states, |row, column, _| places.push((row, column)));
        let zeros = || vec![0.0; n];
        Workspace {
            symbolic: Symbolic::new(n, &places),
            jacobian: vec![0.0; n * n],
            matrix: vec![0.0; n * n],
            f: zeros(),
            f_t: zeros(),
            stages: (0..STAGES).map(|_| zeros()).collect(),
            argument: zeros(),
            scratch: zeros(),
            dense: Dense::new(n),
            sample: zeros(),
            readings: vec![Reading::default(); equations.elements()],
            weights: vec![1.0; n],
            quadrature: std::array::from_fn(|_| {
                (
                    zeros(),
                    vec![Reading::default(); equations.elements()],
                    Power::default(),
                )
            }),
        }
    }
}

/// Largest energy residual of one step as a share of the energy that flows in it; beyond it the step is shortened,
/// because the interpolation inside it (across the corner of a clamp, say) cannot be trusted.
const STEP_RESIDUAL: f64 = 5e-5;
/// Residual of the run up to now, as a share of the energy that has entered, below which no step is refused.
const RUN_RESIDUAL: f64 = 2e-4;
/// How often one step may be refused for its energy residual before it is taken all the same (the audit of the
/// whole run still judges the result).
const MOST_REFUSALS: u32 = 7;
/// Length of the next try over that of a step refused for its energy residual.
const REFUSED: f64 = 0.4;
/// Share of the stored energy that the arithmetic itself may lose in a step.
const ROUNDING: f64 = 1e-15;
/// Residual in joules of one step that is never worth a refusal: the first instants, when nothing has happened yet.
const NEGLIGIBLE_J: f64 = 1e-16;

/// Three-point Gauss quadrature on 0 to 1: places and weights.
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

/// Integrates a transient.
pub fn run(
    problem: &Problem,
    options: &Options,
    workspace: &mut Workspace,
) -> Result<Outcome, TransientError> {
    Integrator::new(problem, options, workspace).run()
}

/// Running sums and extremes of one element.
#[derive(Clone, Copy, Default)]
struct ElementLog {
    volts: PeakTracker,
    amps: PeakTracker,
    largest_a: f64,
    volts_at_largest: f64,
    energy_j: f64,
    i2t_a2s: f64,
    charge_c: f64,
    junction: PeakTracker,
    last: Reading,
}

struct Integrator<'a> {
    problem: &'a Problem<'a>,
    options: &'a Options,
    work: &'a mut Workspace,
    y: Vec<f64>,
    states: Vec<State>,
    armed: Vec<[bool; MAX_EVENTS]>,
    switched: Vec<u64>,
    last_switch_s: Vec<f64>,
    t: f64,
    h: f64,
    counters: Counters,
    probe_logs: Vec<PeakTracker>,
    element_logs: Vec<ElementLog>,
    level_last: Vec<(f64, f64)>,
    beyond_s: Vec<f64>,
    recording: Option<Recording>,
    /// Energies in joules: delivered, dissipated, into port, dissipated in port, entered port, gross delivered.
    energies: [f64; 6],
    /// Energy stored at the start.
    start: Stored,
    /// Energy residuals up to now in joules, of the port and of the whole circuit, and those of the step tried last.
    residuals: [f64; 2],
    step_residuals: [f64; 2],
}

impl<'a> Integrator<'a> {
    fn new(problem: &'a Problem<'a>, options: &'a Options, work: &'a mut Workspace) -> Self {
        let (y, states) = problem.equations.initial();
        let devices = states.len();
        let elements = problem.equations.elements();
        for (weight, kind) in work.weights.iter_mut().zip(problem.equations.kinds()) {
            *weight = match kind {
                StateKind::Voltage => options.volts,
                StateKind::Current => options.amps,
                StateKind::Temperature => options.kelvins,
                StateKind::Inner => options.inner,
            };
        }
        let recording = options
            .record
            .then(|| Recording::with_capacity(problem.probes.len(), elements, 2048));
        Integrator {
            problem,
            options,
            work,
            y,
            states,
            armed: vec![[false; MAX_EVENTS]; devices],
            switched: vec![0; devices],
            last_switch_s: vec![0.0; devices],
            t: 0.0,
            h: 0.0,
            counters: Counters::default(),
            probe_logs: vec![PeakTracker::default(); problem.probes.len()],
            element_logs: vec![ElementLog::default(); elements],
            level_last: vec![(0.0, 0.0); problem.levels.len()],
            beyond_s: vec![0.0; problem.levels.len()],
            recording,
            energies: [0.0; 6],
            start: Stored::default(),
            residuals: [0.0; 2],
            step_residuals: [0.0; 2],
        }
    }

    fn run(mut self) -> Result<Outcome, TransientError> {
        let end = self.problem.duration_s;
        let equations = self.problem.equations;
        self.make_consistent()?;
        self.start = equations.stored(0.0, &self.y);
        self.settle_states()?;
        self.take_sample_at_y(true);
        let first = (self.problem.finest_s * 1e-3).max(end * 1e-12);
        self.restart(first);
        let mut corner = 0;
        while self.t < end {
            while corner < self.problem.breakpoints_s.len()
                && self.problem.breakpoints_s[corner] <= self.t * (1.0 + 1e-14)
            {
                corner += 1;
            }
            let stop = self
                .problem
                .breakpoints_s
                .get(corner)
                .copied()
                .unwrap_or(end)
                .min(end);
            let reached = self.advance(stop)?;
            if reached && self.t < end {
                // A source has a corner here: start again small, from algebraic variables that fit.
                self.make_consistent()?;
                self.restart(first);
                self.take_sample_at_y(true);
            }
        }
        Ok(self.finish())
    }

    /// One accepted step (or part of one up to an event); true when `stop` has been reached.
    fn advance(&mut self, stop: f64) -> Result<bool, TransientError> {
        let equations = self.problem.equations;
        equations.rhs(self.t, &self.y, &self.states, &mut self.work.f);
        equations.rhs_per_time(self.t, &mut self.work.f_t);
        self.work.jacobian.fill(0.0);
        {
            let Workspace {
                symbolic, jacobian, ..
            } = &mut *self.work;
            equations.jacobian(&self.y, &self.states, |row, column, value| {
                jacobian[symbolic.index(row, column)] += value;
            });
        }
        self.counters.evaluations += 1;
        let stored = equations.stored(self.t, &self.y);
        let mut rejected = false;
        let mut refusals = 0;
        let wanted = self.h;
        loop {
            let total = self.counters.steps + self.counters.rejections;
            if total >= self.options.max_steps {
                return Err(TransientError::TooManySteps {
                    at_s: self.t,
                    steps: total,
                });
            }
            let left = stop - self.t;
            let last = self.h * 1.05 >= left;
            let h = if last {
                left
            } else if self.h * 2.0 > left {
                0.5 * left
            } else {
                self.h
            };
            if self.t + h * 0.01 == self.t {
                return Err(TransientError::StepTooSmall {
                    at_s: self.t,
                    step_s: h,
                });
            }
            let mut error = self.try_step(h);
            if self.options.fixed_step_s.is_some() && error.is_finite() {
                error = 1.0;
            }
            if error <= 1.0 {
                let growth = (0.9 * error.powf(-1.0 / f64::from(ORDER))).clamp(0.2, 6.0);
                let growth = match (rejected, refusals) {
                    (true, _) => growth.min(1.0),
                    (false, 0) => growth,
                    // Back to the length before one refusal.
                    (false, _) => growth.min(1.0 / REFUSED),
                };
                self.work.dense.start_s = self.t;
                self.work.dense.step_s = h;
                let (done, event) = self.find_event();
                let refusable = refusals < MOST_REFUSALS && self.options.fixed_step_s.is_none();
                if !self.balances(h, done, stored) && refusable {
                    refusals += 1;
                    self.counters.rejections += 1;
                    self.h = REFUSED * h;
                    continue;
                }
                self.take_step(h, done);
                self.counters.steps += 1;
                if let Some((device, watch)) = event {
                    self.t += done * h;
                    self.switch(device, watch);
                    self.settle_states()?;
                    self.make_consistent()?;
                    self.restart((done * h).max(self.problem.finest_s * 1e-3) * 0.02);
                    self.take_sample_at_y(true);
                    return Ok(false);
                }
                self.t = if last { stop } else { self.t + h };
                // Where shorter steps did not help, going on with ever shorter ones would not either.
                let next = if refusals == MOST_REFUSALS {
                    wanted
                } else {
                    h * growth
                };
                self.h = self.options.fixed_step_s.unwrap_or(next);
                self.arm();
                return Ok(last);
            }
            self.counters.rejections += 1;
            rejected = true;
            let shrink = if error.is_finite() {
                (0.9 * error.powf(-1.0 / f64::from(ORDER))).clamp(0.1, 0.9)
            } else {
                0.1
            };
            self.h = h * shrink;
        }
    }

    fn restart(&mut self, h: f64) {
        self.h = self.options.fixed_step_s.unwrap_or(h);
    }

    /// Tries a step from `self.y`; returns its scaled error, leaving the result in the dense output.
    fn try_step(&mut self, h: f64) -> f64 {
        let equations = self.problem.equations;
        let n = equations.len();
        let work = &mut *self.work;
        let diagonal = 1.0 / (RODAS.gamma * h);
        for (out, value) in work.matrix.iter_mut().zip(&work.jacobian) {
            *out = -value;
        }
        for k in 0..n {
            if equations.dynamic()[k] {
                work.matrix[work.symbolic.index(k, k)] += diagonal;
            }
        }
        self.counters.factorisations += 1;
        if !work.symbolic.factor(&mut work.matrix) {
            return f64::INFINITY;
        }
        for stage in 0..STAGES {
            if stage > 0 {
                for k in 0..n {
                    let mut sum = self.y[k];
                    for j in 0..stage {
                        sum += RODAS.a[stage][j] * work.stages[j][k];
                    }
                    work.argument[k] = sum;
                }
                equations.rhs(
                    self.t + RODAS.alpha[stage] * h,
                    &work.argument,
                    &self.states,
                    &mut work.scratch,
                );
                self.counters.evaluations += 1;
            }
            let (before, rest) = work.stages.split_at_mut(stage);
            let out = &mut rest[0];
            for k in 0..n {
                let mut sum = if stage == 0 { work.f[k] } else { work.scratch[k] };
                if equations.dynamic()[k] {
                    let mut coupling = 0.0;
                    for (j, earlier) in before.iter().enumerate() {
                        coupling += RODAS.c[stage][j] * earlier[k];
                    }
                    sum += coupling / h;
                }
                out[k] = sum + RODAS.gamma_sum[stage] * h * work.f_t[k];
            }
            work.symbolic.solve(&work.matrix, out, &mut work.sample);
        }
        // Stiffly accurate: the last argument plus the last stage is the result, the last stage its error.
        let mut error = 0.0f64;
        for k in 0..n {
            let difference = work.stages[STAGES - 1][k];
            let new = work.argument[k] + difference;
            let size = self.y[k].abs().max(new.abs());
            let scaled = difference.abs() / (work.weights[k] + self.options.relative * size);
            if !scaled.is_finite() {
                return f64::INFINITY;
            }
            error = error.max(scaled);
            let (mut c3, mut c4) = (0.0, 0.0);
            for j in 0..STAGES - 1 {
                c3 += RODAS.d2[j] * work.stages[j][k];
                c4 += RODAS.d3[j] * work.stages[j][k];
            }
            work.dense.from[k] = self.y[k];
            work.dense.to[k] = new;
            work.dense.c3[k] = c3;
            work.dense.c4[k] = c4;
        }
        error.max(1e-10)
    }

    /// The first watch that comes true within the step in the dense output: fraction of the step, and which.
    fn find_event(&mut self) -> (f64, Option<(usize, usize)>) {
        let equations = self.problem.equations;
        let mut earliest = 1.0;
        let mut found = None;
        for device in 0..self.states.len() {
            if !equations.circuit().devices[device].law.switches() {
                continue;
            }
            for place in [0.5, 1.0] {
                if place > earliest {
                    break;
                }
                self.work.dense.at(place, &mut self.work.sample);
                let watches = equations.watches(device, &self.work.sample, self.states[device]);
                for (k, watch) in watches.iter().enumerate() {
                    let Some(watch) = watch else { continue };
                    if watch.value < 0.0 || !(watch.at_once || self.armed[device][k]) {
                        continue;
                    }
                    let at = self.locate(device, k, place);
                    if at < earliest || found.is_none() {
                        earliest = at.min(earliest);
                        found = Some((device, k));
                    }
                }
            }
        }
        (earliest, found)
    }

    /// Bisection for the instant at which watch `k` of `device` turns non-negative, as a fraction of the step.
    fn locate(&mut self, device: usize, k: usize, upper: f64) -> f64 {
        let (mut low, mut high) = (0.0, upper);
        for _ in 0..40 {
            if high - low < 1e-10 {
                break;
            }
            let middle = 0.5 * (low + high);
            self.work.dense.at(middle, &mut self.work.sample);
            let watches = self
                .problem
                .equations
                .watches(device, &self.work.sample, self.states[device]);
            if watches[k].is_some_and(|watch| watch.value >= 0.0) {
                high = middle;
            } else {
                low = middle;
            }
        }
        high
    }

    /// Evaluates the part `0..done` of the step at its quadrature points; true when its energy balance closes.
    fn balances(&mut self, h: f64, done: f64, before: Stored) -> bool {
        let equations = self.problem.equations;
        let [
            mut into_port,
            mut in_port,
            mut delivered,
            mut dissipated,
            mut entering,
        ] = [0.0; 5];
        for (k, (place, weight)) in GAUSS.into_iter().enumerate() {
            let s = place * done;
            let (sample, readings, power) = &mut self.work.quadrature[k];
            self.work.dense.at(s, sample);
            *power = equations.readings(self.t + s * h, sample, &self.states, readings);
            let dt = weight * done * h;
            into_port += power.into_port_w * dt;
            in_port += power.dissipated_in_port_w * dt;
            delivered += power.delivered_w * dt;
            dissipated += power.dissipated_w * dt;
            entering += power.entering_w * dt;
        }
        self.work.dense.at(done, &mut self.work.sample);
        let after = equations.stored(self.t + done * h, &self.work.sample);
        self.step_residuals = [
            into_port - in_port - (after.port_j - before.port_j),
            delivered - dissipated - (after.whole_j - before.whole_j),
        ];
        let whole_flow = delivered.abs() + dissipated.abs();
        // In, out again, and into heat.
        let flow = entering + (entering - into_port) + in_port.abs();
        let entered = self.energies[4] + entering + (self.start.port_j - after.port_j).max(0.0);
        let gross = self.start.whole_j + self.energies[5] + delivered.abs();
        let fits = |which: usize, step_scale: f64, run_scale: f64, held: f64| {
            let least = NEGLIGIBLE_J + ROUNDING * held;
            let step = self.step_residuals[which];
            let sum = self.residuals[which] + step;
            step.abs() <= STEP_RESIDUAL * step_scale + least || sum.abs() <= RUN_RESIDUAL * run_scale
        };
        fits(0, flow, entered, after.port_j) && fits(1, whole_flow, gross, gross)
    }

    /// Books the part `0..done` of the step, as [`Self::balances`] has just evaluated it, and moves `y` to its end.
    fn take_step(&mut self, h: f64, done: f64) {
        let equations = self.problem.equations;
        for (k, (place, weight)) in GAUSS.into_iter().enumerate() {
            let t = self.t + place * done * h;
            let dt = weight * done * h;
            {
                let (sample, readings, power) = &mut self.work.quadrature[k];
                let flows = [
                    power.delivered_w,
                    power.dissipated_w,
                    power.into_port_w,
                    power.dissipated_in_port_w,
                    power.entering_w,
                    power.delivered_w.abs(),
                ];
                for (sum, flow) in self.energies.iter_mut().zip(flows) {
                    *sum += flow * dt;
                }
                for (log, reading) in self.element_logs.iter_mut().zip(readings.iter()) {
                    log.energy_j += reading.watts * dt;
                    log.i2t_a2s += reading.amps * reading.amps * dt;
                    log.charge_c += reading.amps.abs() * dt;
                }
                std::mem::swap(sample, &mut self.work.sample);
                std::mem::swap(readings, &mut self.work.readings);
            }
            self.log_sample(t);
        }
        for (sum, step) in self.residuals.iter_mut().zip(self.step_residuals) {
            *sum += step;
        }
        if done < 1.0 {
            self.work.dense.at(done, &mut self.y);
        } else {
            self.y.copy_from_slice(&self.work.dense.to);
        }
        let t = self.t + done * h;
        self.work.sample.copy_from_slice(&self.y);
        equations.readings(t, &self.work.sample, &self.states, &mut self.work.readings);
        self.log_sample(t);
    }

    /// Samples the present state, after a jump or at the start.
    fn take_sample_at_y(&mut self, jump: bool) {
        if jump {
            self.probe_logs.iter_mut().for_each(PeakTracker::break_here);
            for log in &mut self.element_logs {
                log.volts.break_here();
                log.amps.break_here();
                log.junction.break_here();
            }
        }
        self.work.sample.copy_from_slice(&self.y);
        self.problem
            .equations
            .readings(self.t, &self.work.sample, &self.states, &mut self.work.readings);
        self.log_sample(self.t);
    }

    /// Logs `work.sample` and `work.readings` at time `t`.
    fn log_sample(&mut self, t: f64) {
        let sample = &self.work.sample;
        let volts = |probe: &Probe| {
            probe.plus.map_or(0.0, |node| sample[node]) - probe.minus.map_or(0.0, |node| sample[node])
        };
        for (log, probe) in self.probe_logs.iter_mut().zip(self.problem.probes) {
            log.take(t, volts(probe));
        }
        for (k, &(probe, level)) in self.problem.levels.iter().enumerate() {
            let value = volts(&self.problem.probes[probe]);
            let over = if level < 0.0 { level - value } else { value - level };
            let (last_t, last_over) = self.level_last[k];
            let dt = t - last_t;
            self.beyond_s[k] += match (last_over > 0.0, over > 0.0) {
                (true, true) => dt,
                (false, false) => 0.0,
                (false, true) => dt * over / (over - last_over),
                (true, false) => dt * last_over / (last_over - over),
            };
            self.level_last[k] = (t, over);
        }
        for (log, reading) in self.element_logs.iter_mut().zip(&self.work.readings) {
            log.volts.take(t, reading.volts);
            log.amps.take(t, reading.amps);
            if reading.amps.abs() > log.largest_a {
                log.largest_a = reading.amps.abs();
                log.volts_at_largest = reading.volts;
            }
            log.junction.take(t, reading.junction_c);
            log.last = *reading;
        }
        if let Some(recording) = &mut self.recording {
            recording.times_s.push(t);
            for (series, probe) in recording.probes_v.iter_mut().zip(self.problem.probes) {
                series.push(volts(probe));
            }
            for (k, reading) in self.work.readings.iter().enumerate() {
                recording.elements_a[k].push(reading.amps);
                recording.elements_v[k].push(reading.volts);
                recording.junctions_c[k].push(reading.junction_c);
            }
        }
    }

    fn switch(&mut self, device: usize, watch: usize) {
        self.problem
            .equations
            .switch(device, watch, &mut self.y, &mut self.states[device]);
        self.armed[device] = [false; MAX_EVENTS];
        self.switched[device] += 1;
        self.last_switch_s[device] = self.t;
        self.counters.events += 1;
    }

    /// Arms watches whose value is negative now.
    fn arm(&mut self) {
        for device in 0..self.states.len() {
            if !self.problem.equations.circuit().devices[device].law.switches() {
                continue;
            }
            let watches = self
                .problem
                .equations
                .watches(device, &self.y, self.states[device]);
            for (armed, watch) in self.armed[device].iter_mut().zip(watches) {
                *armed |= watch.is_some_and(|watch| watch.value < 0.0);
            }
        }
    }

    /// Carries out every change of state that is due at this very instant.
    fn settle_states(&mut self) -> Result<(), TransientError> {
        const MOST: usize = 64;
        for _ in 0..MOST {
            let mut changed = None;
            'search: for device in 0..self.states.len() {
                let watches = self
                    .problem
                    .equations
                    .watches(device, &self.y, self.states[device]);
                for (k, watch) in watches.iter().enumerate() {
                    if watch.is_some_and(|watch| watch.at_once && watch.value >= 0.0) {
                        changed = Some((device, k));
                        break 'search;
                    }
                }
            }
            match changed {
                None => {
                    self.arm();
                    return Ok(());
                }
                Some((device, k)) => self.switch(device, k),
            }
        }
        let device = self.problem.equations.circuit().devices.first();
        let device = device.map_or_else(String::new, |device| device.name.clone());
        Err(TransientError::Chatter { at_s: self.t, device })
    }

    /// Solves the algebraic equations for the algebraic variables, leaving the dynamic ones as they are.
    fn make_consistent(&mut self) -> Result<(), TransientError> {
        let equations = self.problem.equations;
        if equations.dynamic().iter().all(|&dynamic| dynamic) {
            return Ok(());
        }
        for _ in 0..20 {
            equations.rhs(self.t, &self.y, &self.states, &mut self.work.f);
            let work = &mut *self.work;
            work.matrix.fill(0.0);
            let Workspace {
                symbolic,
                matrix,
                f,
                sample,
                ..
            } = work;
            equations.jacobian(&self.y, &self.states, |row, column, value| {
                if !equations.dynamic()[row] {
                    matrix[symbolic.index(row, column)] -= value;
                }
            });
            for k in 0..equations.len() {
                if equations.dynamic()[k] {
                    matrix[symbolic.index(k, k)] = 1.0;
                    f[k] = 0.0;
                }
            }
            self.counters.factorisations += 1;
            if !symbolic.factor(matrix) {
                return Err(TransientError::NoInitialState);
            }
            symbolic.solve(matrix, f, sample);
            let mut size = 0.0f64;
            for (y, change) in self.y.iter_mut().zip(f.iter()) {
                *y += change;
                size = size.max(change.abs() / (1.0 + y.abs()));
            }
            if !size.is_finite() {
                return Err(TransientError::NoInitialState);
            }
            if size < 1e-12 {
                return Ok(());
            }
        }
        Err(TransientError::NoInitialState)
    }

    fn finish(self) -> Outcome {
        let before = self.start;
        let after = self.problem.equations.stored(self.t, &self.y);
        let [delivered, dissipated, into_port, in_port, entered, gross] = self.energies;
        let stored_port = after.port_j - before.port_j;
        let stored_whole = after.whole_j - before.whole_j;
        let input = entered + (-stored_port).max(0.0);
        let port_residual = (into_port - in_port - stored_port).abs() / input.max(f64::MIN_POSITIVE);
        let scale = (before.whole_j + gross).max(f64::MIN_POSITIVE);
        let whole_residual = (delivered - dissipated - stored_whole).abs() / scale;
        let audit = Audit {
            delivered_j: into_port,
            dissipated_j: in_port,
            stored_j: stored_port,
            entered_j: entered,
            residual: port_residual.max(whole_residual),
        };
        let elements = self
            .element_logs
            .iter()
            .map(|log| ElementOutcome {
                volts: log.volts.extremes(),
                amps: log.amps.extremes(),
                volts_at_peak_current: log.volts_at_largest,
                energy_j: log.energy_j,
                i2t_a2s: log.i2t_a2s,
                charge_c: log.charge_c,
                peak_junction_c: Some(log.junction.extremes().max).filter(|peak| peak.is_finite()),
                final_a: log.last.amps,
                final_v: log.last.volts,
            })
            .collect();
        Outcome {
            probes: self
                .probe_logs
                .iter()
                .map(|log| ProbeOutcome {
                    volts: log.extremes(),
                })
                .collect(),
            elements,
            beyond_s: self.beyond_s,
            switched: self.switched,
            last_switch_s: self.last_switch_s,
            final_states: self.states,
            final_y: self.y,
            audit,
            counters: self.counters,
            recording: self.recording,
        }
    }
}
