//! Several transients side by side: each lane has a time, steps, states and events of its own.
//!
//! The method has no iteration, so that a try of a step is the same chain of operations for every corner of a port. All
//! lanes go through it together; what follows from it is decided for each by itself. So a lane's result does not depend
//! on what stands beside it.

use tidewall_devices::law::{MAX_EVENTS, State};
use tidewall_ladder::{Flat, Stored};
use tidewall_lanes::Lane;

use crate::booking::Book;
use crate::control::{MOST_REFUSALS, REFUSED, fitted, growth, shrink};
use crate::cubic::Tracker;
use crate::problem::{Counters, Options, Outcome, Problem, TransientError};
use crate::recording::Recording;
use crate::step::Try;
use crate::workspace::{Buffers, Plan};

/// Running sums and extremes of one element.
#[derive(Clone, Copy, Default)]
pub(crate) struct ElementLog<T: Lane> {
    pub(crate) volts: Tracker<T>,
    pub(crate) amps: Tracker<T>,
    pub(crate) largest_a: T,
    pub(crate) volts_at_largest: T,
    pub(crate) energy_j: T,
    pub(crate) i2t_a2s: T,
    pub(crate) charge_c: T,
    pub(crate) junction: Tracker<T>,
}

/// Energies in joules of the whole run or of a step.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Energies<T> {
    pub(crate) delivered: T,
    pub(crate) dissipated: T,
    pub(crate) into_port: T,
    pub(crate) in_port: T,
    pub(crate) entering: T,
    /// Delivered, without what sources took back.
    pub(crate) gross: T,
}

/// What each lane has for itself.
pub(crate) struct Run<'a> {
    pub(crate) problem: &'a Problem<'a>,
    /// Which of the problems it is.
    number: usize,
    /// Its equations alone.
    pub(crate) flat: Flat,
    pub(crate) states: Vec<State>,
    /// Numbers of the devices that have discrete states.
    pub(crate) switching: Vec<usize>,
    pub(crate) armed: Vec<[bool; MAX_EVENTS]>,
    pub(crate) switched: Vec<u64>,
    pub(crate) last_switch_s: Vec<f64>,
    pub(crate) counters: Counters,
    pub(crate) beyond_s: Vec<f64>,
    pub(crate) recording: Option<Recording>,
    /// Where the present step must end at the latest, and the first corner of a source that lies ahead.
    stop: f64,
    corner: usize,
    /// Length of the next try, and what it was when the present step was begun.
    next: f64,
    wanted: f64,
    rejected: bool,
    refusals: u32,
    /// The present try ends at `stop`.
    last: bool,
    /// A step is to be begun, with derivatives at a new state.
    fresh: bool,
    /// A device that the run was to end with has changed its state.
    stopped: bool,
    /// False once the run has ended.
    active: bool,
}

pub(crate) struct Engine<'a, T: Lane> {
    pub(crate) options: &'a Options,
    pub(crate) plan: &'a Plan,
    pub(crate) flat: Flat<T>,
    pub(crate) work: &'a mut Buffers<T>,
    pub(crate) runs: Vec<Run<'a>>,
    /// Present time, length and scaled error of the try.
    pub(crate) t: T,
    pub(crate) h: T,
    pub(crate) error: T,
    /// State variables between which each probe stands.
    pub(crate) probes: Vec<(Option<usize>, Option<usize>)>,
    pub(crate) probe_logs: Vec<Tracker<T>>,
    pub(crate) element_logs: Vec<ElementLog<T>>,
    pub(crate) energies: Energies<T>,
    pub(crate) step_energies: Energies<T>,
    /// Energy stored at the start, now, and after the step tried last.
    pub(crate) start: Stored<T>,
    pub(crate) now: Stored<T>,
    pub(crate) after: Stored<T>,
    /// Largest current of any element up to now.
    pub(crate) top_a: T,
    /// Energy residuals up to now in joules, of the port and of the whole circuit, and those of the step tried last.
    pub(crate) residuals: [T; 2],
    pub(crate) step_residuals: [T; 2],
}

/// A problem with its equations laid out, and its number.
pub(crate) struct Corner<'a> {
    pub(crate) number: usize,
    pub(crate) problem: &'a Problem<'a>,
    pub(crate) flat: Flat,
}

type Results = Vec<Option<Result<Outcome, TransientError>>>;

impl<'a, T: Lane> Engine<'a, T> {
    /// Integrates corners that differ by numbers alone, putting each result where its number says.
    pub(crate) fn integrate(
        corners: Vec<Corner<'a>>,
        options: &'a Options,
        plan: &'a Plan,
        work: &'a mut Buffers<T>,
        results: &mut Results,
    ) {
        let mut queue = corners.into_iter();
        let runs: Vec<Run> = queue
            .by_ref()
            .take(T::LANES)
            .map(|corner| Run::new(corner, options))
            .collect();
        let Some(first) = runs.first() else { return };
        let problem = first.problem;
        let flat = side_by_side(&runs);
        work.fit(&flat, plan, problem.probes.len(), options);
        let place = |node: Option<usize>| node.map(|node| flat.place()[node]);
        let probes = problem.probes.iter();
        let mut engine = Engine {
            probes: probes
                .map(|probe| (place(probe.plus), place(probe.minus)))
                .collect(),
            probe_logs: vec![Tracker::default(); problem.probes.len()],
            element_logs: vec![ElementLog::default(); flat.forms().elements()],
            options,
            plan,
            flat,
            work,
            runs,
            t: T::default(),
            h: T::splat(problem.duration_s),
            error: T::default(),
            energies: Energies::default(),
            step_energies: Energies::default(),
            start: Stored::default(),
            now: Stored::default(),
            after: Stored::default(),
            top_a: T::default(),
            residuals: Default::default(),
            step_residuals: Default::default(),
        };
        for lane in 0..engine.runs.len() {
            engine.begin(lane, results);
        }
        loop {
            // A lane that has ended makes room for the next corner.
            let mut repack = false;
            for lane in 0..engine.runs.len() {
                while !engine.runs[lane].active {
                    let Some(corner) = queue.next() else { break };
                    engine.runs[lane] = Run::new(corner, options);
                    engine.begin(lane, results);
                    repack = true;
                }
            }
            if repack {
                engine.flat = side_by_side(&engine.runs);
            }
            if !engine.runs.iter().any(|run| run.active) {
                return;
            }
            engine.round(results);
        }
    }

    /// Puts a run into a lane, at its beginning.
    fn begin(&mut self, lane: usize, results: &mut Results) {
        let run = &self.runs[lane];
        let (y, states) = run.flat.initial(run.problem.equations);
        for (k, &value) in y.iter().enumerate() {
            self.work.y[k].set(lane, value);
            self.work.tops[k].set(lane, value.abs());
        }
        for (modes, &state) in self.work.modes.iter_mut().zip(&states) {
            modes.set(lane, state);
        }
        self.runs[lane].states = states;
        self.t.set(lane, 0.0);
        self.top_a.set(lane, 0.0);
        for log in &mut self.probe_logs {
            log.clear(lane);
        }
        for log in &mut self.element_logs {
            for tracker in [&mut log.volts, &mut log.amps, &mut log.junction] {
                tracker.clear(lane);
            }
            for sum in [
                &mut log.largest_a,
                &mut log.volts_at_largest,
                &mut log.energy_j,
                &mut log.i2t_a2s,
                &mut log.charge_c,
            ] {
                sum.set(lane, 0.0);
            }
        }
        let energies = &mut self.energies;
        for sum in [
            &mut energies.delivered,
            &mut energies.dissipated,
            &mut energies.into_port,
            &mut energies.in_port,
            &mut energies.entering,
            &mut energies.gross,
        ] {
            sum.set(lane, 0.0);
        }
        for sum in &mut self.residuals {
            sum.set(lane, 0.0);
        }
        if let Err(error) = self.start(lane) {
            self.end(lane, Err(error), results);
        }
    }

    fn start(&mut self, lane: usize) -> Result<(), TransientError> {
        self.make_consistent(lane)?;
        let stored = self.stored(lane);
        self.start.whole_j.set(lane, stored.whole_j);
        self.start.port_j.set(lane, stored.port_j);
        self.settle_states(lane)?;
        self.take_sample(lane);
        let first = self.runs[lane].first();
        self.restart(lane, first);
        Ok(())
    }

    /// One try of a step by every lane.
    fn round(&mut self, results: &mut Results) {
        let mut linearise = false;
        for lane in 0..self.runs.len() {
            if !self.runs[lane].active {
                continue;
            }
            if self.runs[lane].fresh {
                linearise = true;
                self.begin_step(lane);
            }
            if let Err(error) = self.begin_try(lane) {
                self.end(lane, Err(error), results);
            }
        }
        let job = Try {
            engine: self,
            linearise,
        };
        T::work(job);
        let (mut within, mut refusable, mut done) = (T::default(), T::default(), T::splat(1.0));
        let mut events = [None; MOST_LANES];
        for (lane, found) in events.iter_mut().enumerate().take(self.runs.len()) {
            let run = &mut self.runs[lane];
            if !run.active {
                continue;
            }
            run.counters.factorisations += 1;
            run.counters.evaluations += 5;
            if self.options.fixed_step_s.is_some() && self.error.lane(lane).is_finite() {
                self.error.set(lane, 1.0);
            }
            if self.error.lane(lane) > 1.0 {
                continue;
            }
            let may_be_refused = run.refusals < MOST_REFUSALS && self.options.fixed_step_s.is_none();
            within.set(lane, 1.0);
            refusable.set(lane, f64::from(u8::from(may_be_refused)));
            let (at, event) = self.find_event(lane);
            done.set(lane, at);
            *found = event;
        }
        let taken = if T::default().any_below(within) {
            let job = Book {
                engine: self,
                within,
                refusable,
                done,
            };
            T::work(job)
        } else {
            within
        };
        for (lane, event) in events.into_iter().enumerate().take(self.runs.len()) {
            if !self.runs[lane].active {
                continue;
            }
            if taken.lane(lane) > 0.0 {
                self.log_levels(lane, done.lane(lane));
                self.record(lane, done.lane(lane));
                if let Err(error) = self.after_step(lane, done.lane(lane), event) {
                    self.end(lane, Err(error), results);
                } else if self.runs[lane].stopped || self.t.lane(lane) >= self.runs[lane].end() {
                    let outcome = self.outcome(lane);
                    self.end(lane, Ok(outcome), results);
                }
            } else {
                self.after_failure(lane, within.lane(lane) > 0.0);
            }
        }
    }

    fn end(&mut self, lane: usize, result: Result<Outcome, TransientError>, results: &mut Results) {
        let run = &mut self.runs[lane];
        run.active = false;
        results[run.number] = Some(result);
    }

    fn begin_step(&mut self, lane: usize) {
        let (t, run) = (self.t.lane(lane), &mut self.runs[lane]);
        let corners = run.problem.breakpoints_s;
        while run.corner < corners.len() && corners[run.corner] <= t * (1.0 + 1e-14) {
            run.corner += 1;
        }
        run.stop = corners
            .get(run.corner)
            .copied()
            .unwrap_or(run.end())
            .min(run.end());
        run.wanted = run.next;
        run.rejected = false;
        run.refusals = 0;
        run.fresh = false;
        run.counters.evaluations += 1;
    }

    fn begin_try(&mut self, lane: usize) -> Result<(), TransientError> {
        let (at_s, run) = (self.t.lane(lane), &mut self.runs[lane]);
        let steps = run.counters.steps + run.counters.rejections;
        if steps >= self.options.max_steps {
            return Err(TransientError::TooManySteps { at_s, steps });
        }
        let (h, last) = fitted(run.next, run.stop - at_s);
        if at_s + h * 0.01 == at_s {
            return Err(TransientError::StepTooSmall { at_s, step_s: h });
        }
        run.last = last;
        self.h.set(lane, h);
        Ok(())
    }

    /// What follows a step that was taken, the part `done` of it up to an event.
    fn after_step(
        &mut self,
        lane: usize,
        done: f64,
        event: Option<(usize, usize)>,
    ) -> Result<(), TransientError> {
        let (h, t, error) = (self.h.lane(lane), self.t.lane(lane), self.error.lane(lane));
        let run = &mut self.runs[lane];
        run.counters.steps += 1;
        run.fresh = true;
        if let Some((device, watch)) = event {
            let finest_s = run.problem.finest_s;
            self.t.set(lane, t + done * h);
            self.switch(lane, device, watch);
            self.settle_states(lane)?;
            self.make_consistent(lane)?;
            self.restart(lane, (done * h).max(finest_s * 1e-3) * 0.02);
            self.take_sample(lane);
            self.runs[lane].stopped = device < 64 && self.options.until_switched >> device & 1 == 1;
            return Ok(());
        }
        // Where shorter steps did not help, going on with ever shorter ones would not either.
        let next = if run.refusals == MOST_REFUSALS {
            run.wanted
        } else {
            h * growth(error, run.rejected, run.refusals)
        };
        let (last, stop, end) = (run.last, run.stop, run.end());
        self.t.set(lane, if last { stop } else { t + h });
        self.restart(lane, next);
        self.arm(lane);
        if last && stop < end {
            // A source has a corner here: start again small, from algebraic variables that fit.
            self.make_consistent(lane)?;
            let first = self.runs[lane].first();
            self.restart(lane, first);
            self.take_sample(lane);
        }
        Ok(())
    }

    /// What follows a try whose error was too large, or that was refused though it was `within` its error.
    fn after_failure(&mut self, lane: usize, within: bool) {
        let (h, error) = (self.h.lane(lane), self.error.lane(lane));
        let run = &mut self.runs[lane];
        run.counters.rejections += 1;
        if within {
            run.refusals += 1;
            run.next = REFUSED * h;
        } else {
            run.rejected = true;
            run.next = h * shrink(error);
        }
    }

    fn restart(&mut self, lane: usize, h: f64) {
        self.runs[lane].next = self.options.fixed_step_s.unwrap_or(h);
    }
}

/// Most lanes that a bundle may have.
const MOST_LANES: usize = 16;

/// The equations of the runs, one per lane; lanes without a run have those of the first.
fn side_by_side<T: Lane>(runs: &[Run]) -> Flat<T> {
    let flats: Vec<&Flat> = (0..T::LANES)
        .map(|lane| &runs.get(lane).unwrap_or(&runs[0]).flat)
        .collect();
    Flat::pack(&flats)
}

impl<'a> Run<'a> {
    fn new(corner: Corner<'a>, options: &Options) -> Run<'a> {
        let problem = corner.problem;
        let circuit = problem.equations.circuit();
        let (elements, devices) = (problem.equations.elements(), circuit.devices.len());
        let recording = match (options.record, options.device_currents) {
            (true, _) => Some(Recording::with_capacity(problem.probes.len(), elements, 2048)),
            (false, true) => Some(Recording::of_currents(elements, elements - devices, 2048)),
            (false, false) => None,
        };
        let laws = circuit.devices.iter().enumerate();
        Run {
            problem,
            number: corner.number,
            flat: corner.flat,
            states: Vec::new(),
            switching: laws
                .filter(|(_, device)| device.law.switches())
                .map(|(k, _)| k)
                .collect(),
            armed: vec![[false; MAX_EVENTS]; devices],
            switched: vec![0; devices],
            last_switch_s: vec![0.0; devices],
            counters: Counters::default(),
            beyond_s: vec![0.0; problem.levels.len()],
            recording,
            stop: 0.0,
            corner: 0,
            next: 0.0,
            wanted: 0.0,
            rejected: false,
            refusals: 0,
            last: false,
            fresh: true,
            stopped: false,
            active: true,
        }
    }

    fn end(&self) -> f64 {
        self.problem.duration_s
    }

    /// Length in seconds of the first step, and of that after a corner of a source.
    fn first(&self) -> f64 {
        (self.problem.finest_s * 1e-3).max(self.end() * 1e-12)
    }
}
