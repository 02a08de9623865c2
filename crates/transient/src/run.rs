//! The integration of one transient.

use tidewall_devices::law::{MAX_EVENTS, State};
use tidewall_ladder::{Equations, Power, Reading, StateKind, Stored};

use crate::lu::Symbolic;
use crate::method::{Dense, ORDER, RODAS, STAGES};
use crate::peak::PeakTracker;
use crate::problem::{Counters, Options, Outcome, Problem, TransientError};
use crate::recording::Recording;

/// Buffers of the integrator; made once per circuit, used for any number of runs of that circuit.
#[derive(Clone, Debug)]
pub struct Workspace {
    pub(crate) symbolic: Symbolic,
    pub(crate) jacobian: Vec<f64>,
    pub(crate) matrix: Vec<f64>,
    pub(crate) f: Vec<f64>,
    pub(crate) f_t: Vec<f64>,
    pub(crate) stages: Vec<Vec<f64>>,
    pub(crate) argument: Vec<f64>,
    pub(crate) scratch: Vec<f64>,
    pub(crate) dense: Dense,
    pub(crate) sample: Vec<f64>,
    pub(crate) readings: Vec<Reading>,
    pub(crate) weights: Vec<f64>,
    /// States, readings and power flows at the quadrature points of a step.
    pub(crate) quadrature: [(Vec<f64>, Vec<Reading>, Power); 3],
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

/// How often one step may be refused for its energy residual before it is taken all the same (the audit of the
/// whole run still judges the result).
const MOST_REFUSALS: u32 = 7;
/// Length of the next try over that of a step refused for its energy residual.
const REFUSED: f64 = 0.4;

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
pub(crate) struct ElementLog {
    pub(crate) volts: PeakTracker,
    pub(crate) amps: PeakTracker,
    pub(crate) largest_a: f64,
    pub(crate) volts_at_largest: f64,
    pub(crate) energy_j: f64,
    pub(crate) i2t_a2s: f64,
    pub(crate) charge_c: f64,
    pub(crate) junction: PeakTracker,
    pub(crate) last: Reading,
}

pub(crate) struct Integrator<'a> {
    pub(crate) problem: &'a Problem<'a>,
    pub(crate) options: &'a Options,
    pub(crate) work: &'a mut Workspace,
    pub(crate) y: Vec<f64>,
    pub(crate) states: Vec<State>,
    /// Numbers of the devices that have discrete states.
    pub(crate) switching: Vec<usize>,
    pub(crate) armed: Vec<[bool; MAX_EVENTS]>,
    pub(crate) switched: Vec<u64>,
    pub(crate) last_switch_s: Vec<f64>,
    pub(crate) t: f64,
    pub(crate) h: f64,
    pub(crate) counters: Counters,
    pub(crate) probe_logs: Vec<PeakTracker>,
    pub(crate) element_logs: Vec<ElementLog>,
    pub(crate) level_last: Vec<(f64, f64)>,
    pub(crate) beyond_s: Vec<f64>,
    pub(crate) recording: Option<Recording>,
    /// Energies in joules: delivered, dissipated, into port, dissipated in port, entered port, gross delivered.
    pub(crate) energies: [f64; 6],
    /// Energy stored at the start.
    pub(crate) start: Stored,
    /// Energy residuals up to now in joules, of the port and of the whole circuit, and those of the step tried last.
    pub(crate) residuals: [f64; 2],
    pub(crate) step_residuals: [f64; 2],
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
        let laws = problem.equations.circuit().devices.iter().enumerate();
        Integrator {
            problem,
            options,
            work,
            y,
            states,
            switching: laws
                .filter(|(_, device)| device.law.switches())
                .map(|(k, _)| k)
                .collect(),
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
}
