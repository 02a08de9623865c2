//! The integration of one transient.

use tidewall_devices::law::{MAX_EVENTS, State};
use tidewall_ladder::Stored;

use crate::cubic::{Cubic, Tracker};
use crate::method::ORDER;
use crate::problem::{Counters, Options, Outcome, Problem, TransientError};
use crate::recording::Recording;
use crate::workspace::Workspace;

/// How often one step may be refused for its energy residual or for an extreme inside it before it is taken all the
/// same (the audit of the whole run still judges the result).
const MOST_REFUSALS: u32 = 7;
/// Length of the next try over that of a step refused for its energy residual.
const REFUSED: f64 = 0.4;
/// Changes of its state after which a device is taken to go on for ever, if these have already cost a share of the steps
/// allowed (1 over this).
const RESTLESS: u64 = 100;
const RESTLESS_SHARE: u64 = 5;
/// Share of the error expected from the step before that a step's error is taken to have at least: where the error passes
/// through zero, as it does in every ringing, the next step would be too long.
const MEMORY: f64 = 0.6;

/// Integrates a transient; `workspace` must be that of the problem's equations.
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
    pub(crate) volts: Tracker,
    pub(crate) amps: Tracker,
    pub(crate) largest_a: f64,
    pub(crate) volts_at_largest: f64,
    pub(crate) energy_j: f64,
    pub(crate) i2t_a2s: f64,
    pub(crate) charge_c: f64,
    pub(crate) junction: Tracker,
}

/// Energies in joules of the whole run or of a step.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Energies {
    pub(crate) delivered: f64,
    pub(crate) dissipated: f64,
    pub(crate) into_port: f64,
    pub(crate) in_port: f64,
    pub(crate) entering: f64,
    /// What the absolute errors of current and voltage stand for at the connector.
    pub(crate) least: f64,
    /// Delivered, without what sources took back.
    pub(crate) gross: f64,
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
    /// Error of the step before over the fourth power of its length.
    expected: f64,
    /// A device that the run was to end with has changed its state.
    stopped: bool,
    pub(crate) counters: Counters,
    /// State variables between which each probe stands.
    pub(crate) probes: Vec<(Option<usize>, Option<usize>)>,
    pub(crate) probe_logs: Vec<Tracker>,
    pub(crate) element_logs: Vec<ElementLog>,
    pub(crate) beyond_s: Vec<f64>,
    pub(crate) recording: Option<Recording>,
    pub(crate) energies: Energies,
    pub(crate) step_energies: Energies,
    /// Energy stored at the start, now, and after the step tried last.
    pub(crate) start: Stored,
    pub(crate) now: Stored,
    pub(crate) after: Stored,
    /// Largest current of any element up to now.
    pub(crate) top_a: f64,
    /// Energy residuals up to now in joules, of the port and of the whole circuit, and those of the step tried last.
    pub(crate) residuals: [f64; 2],
    pub(crate) step_residuals: [f64; 2],
}

impl<'a> Integrator<'a> {
    fn new(problem: &'a Problem<'a>, options: &'a Options, work: &'a mut Workspace) -> Self {
        let (y, states) = work.flat.initial(problem.equations);
        let devices = states.len();
        let elements = problem.equations.elements();
        work.weights.begin(&work.flat, problem, options, &y);
        let place = |node: Option<usize>| node.map(|node| work.flat.place()[node]);
        let probes: Vec<_> = problem
            .probes
            .iter()
            .map(|probe| (place(probe.plus), place(probe.minus)))
            .collect();
        work.cubics
            .resize(work.flat.forms().len() + probes.len(), Cubic::default());
        let recording = match (options.record, options.device_currents) {
            (true, _) => Some(Recording::with_capacity(problem.probes.len(), elements, 2048)),
            (false, true) => Some(Recording::of_currents(elements, elements - devices, 2048)),
            (false, false) => None,
        };
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
            expected: 0.0,
            stopped: false,
            counters: Counters::default(),
            probe_logs: vec![Tracker::default(); problem.probes.len()],
            probes,
            element_logs: vec![ElementLog::default(); elements],
            beyond_s: vec![0.0; problem.levels.len()],
            recording,
            energies: Energies::default(),
            step_energies: Energies::default(),
            start: Stored::default(),
            now: Stored::default(),
            after: Stored::default(),
            top_a: 0.0,
            residuals: [0.0; 2],
            step_residuals: [0.0; 2],
        }
    }

    fn run(mut self) -> Result<Outcome, TransientError> {
        let end = self.problem.duration_s;
        self.make_consistent()?;
        self.start = self.work.flat.stored(&self.y);
        self.settle_states()?;
        self.take_sample_at_y();
        let first = (self.problem.finest_s * 1e-3).max(end * 1e-12);
        self.restart(first);
        let mut corner = 0;
        while self.t < end && !self.stopped {
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
                self.take_sample_at_y();
            }
        }
        Ok(self.finish())
    }

    /// One accepted step (or part of one up to an event); true when `stop` has been reached.
    fn advance(&mut self, stop: f64) -> Result<bool, TransientError> {
        self.linearise();
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
                let expected = self.expected * h.powi(ORDER);
                let smoothed = error.max(MEMORY * expected);
                let growth = (0.9 * smoothed.powf(-1.0 / f64::from(ORDER))).clamp(0.2, 6.0);
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
                if !self.is_sound(h, done) && refusable {
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
                    self.comes_to_rest(device)?;
                    self.settle_states()?;
                    self.make_consistent()?;
                    self.restart((done * h).max(self.problem.finest_s * 1e-3) * 0.02);
                    self.take_sample_at_y();
                    self.stopped = device < 64 && self.options.until_switched >> device & 1 == 1;
                    return Ok(false);
                }
                self.t = if last { stop } else { self.t + h };
                // Where shorter steps did not help, going on with ever shorter ones would not either.
                let next = if refusals == MOST_REFUSALS {
                    wanted
                } else {
                    h * growth
                };
                self.expected = error / h.powi(ORDER);
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

    /// Fails once a device goes on changing its state long after any stress would have let it rest.
    fn comes_to_rest(&self, device: usize) -> Result<(), TransientError> {
        let steps = self.counters.steps + self.counters.rejections;
        let changes = self.switched[device];
        if changes < RESTLESS || steps < self.options.max_steps / RESTLESS_SHARE {
            return Ok(());
        }
        Err(TransientError::Oscillates {
            at_s: self.t,
            device: self.problem.equations.circuit().devices[device].name.clone(),
            changes,
        })
    }

    fn restart(&mut self, h: f64) {
        self.expected = 0.0;
        self.h = self.options.fixed_step_s.unwrap_or(h);
    }

    /// Keeps the sizes that the error is measured by.
    pub(crate) fn note_sizes(&mut self) {
        self.work.weights.note(self.options, &self.y);
    }
}
