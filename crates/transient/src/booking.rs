//! Book-keeping of a step: its energy balance, extremes, and what is summed up.

use tidewall_ladder::{Emf, Forms};
use tidewall_lanes::{Job, Lane};

use crate::cubic::{Cubic, Tracker, pick};
use crate::engine::{ElementLog, Energies, Engine};

/// Largest energy residual of one step as a share of the energy that flows in it; beyond it the step is shortened,
/// because the interpolation inside it (across the corner of a clamp, say) cannot be trusted.
const STEP_RESIDUAL: f64 = 5e-5;
/// Residual of the run up to now, as a share of the energy that has entered, below which no step is refused.
const RUN_RESIDUAL: f64 = 2e-4;
/// Share of the stored energy that the arithmetic itself may lose in a step.
const ROUNDING: f64 = 1e-15;
/// Residual in joules that is never worth a refusal, of a step or of the run: half a millivolt beside half a volt on a picofarad.
pub(crate) const NEGLIGIBLE_J: f64 = 1e-16;
/// Residual of one step that is never worth a refusal, as a share of what the run may have in all: so small that the most
/// steps allowed would not use up half of it. Without it, a run that has used up its share stands still in the
/// ringing of a few picojoules.
const SMALL_SHARE: f64 = 1e-6;
/// How far an extreme inside a step may lie beyond both its ends, as a share of the quantity's size, if it lies beyond
/// everything that came before: the interpolation is off by a small part of that bump.
const BUMP: f64 = 0.02;
/// A current below this share of the largest in the circuit is judged by that share.
const MINOR: f64 = 0.05;

/// Three-point Gauss quadrature on 0 to 1: places and weights.
pub(crate) const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

/// Judges the step just tried by every lane, the part `done` of it, and books it where it is taken.
pub(crate) struct Book<'e, 'a, T: Lane> {
    pub(crate) engine: &'e mut Engine<'a, T>,
    /// One for lanes whose step is within its error, and for those that may be refused for other reasons.
    pub(crate) within: T,
    pub(crate) refusable: T,
    pub(crate) done: T,
}

impl<T: Lane> Job for Book<'_, '_, T> {
    /// One for lanes whose step was taken.
    type Output = T;

    #[inline(always)]
    fn run(self) -> T {
        let Book {
            engine,
            within,
            refusable,
            done,
        } = self;
        engine.interpolate();
        engine.sum_energies(done);
        let sound = engine.balance(done) * engine.extremes_hold(done);
        let taken = within * pick(refusable, sound, T::splat(1.0));
        engine.take_step(taken, done);
        taken
    }
}

impl<T: Lane> Engine<'_, T> {
    /// The linear forms within the step.
    #[inline(always)]
    fn interpolate(&mut self) {
        let work = &mut *self.work;
        let (dense, forms) = (&work.dense, self.flat.forms());
        let (elements, probes) = work.cubics.split_at_mut(forms.len());
        for (k, out) in elements.iter_mut().enumerate() {
            let mut cubic = Cubic::default();
            for (column, factor) in forms.terms(k) {
                T::one_by_one();
                cubic.add(dense, column, factor);
            }
            *out = cubic;
        }
        for (out, &(plus, minus)) in probes.iter_mut().zip(&self.probes) {
            let mut cubic = Cubic::default();
            if let Some(column) = plus {
                cubic.add(dense, column, T::splat(1.0));
            }
            if let Some(column) = minus {
                cubic.add(dense, column, T::splat(-1.0));
            }
            *out = cubic;
        }
    }

    #[inline(always)]
    fn sum_energies(&mut self, done: T) {
        let h = self.h;
        let work = &mut *self.work;
        let (forms, cubics) = (self.flat.forms(), &work.cubics);
        let mut points = [(done, done); GAUSS.len()];
        for (point, (place, weight)) in points.iter_mut().zip(GAUSS) {
            *point = (T::splat(place) * done, T::splat(weight) * done * h);
        }
        let mut sums = Energies::<T>::default();
        let first_device = forms.elements() - work.heat.to.len();
        for (k, (out, samples)) in work.step.iter_mut().zip(&mut work.samples).enumerate() {
            T::one_by_one();
            let cubic = &cubics[Forms::amps(k)];
            let (mut square, mut charge) = (T::default(), T::default());
            for ((s, dt), sample) in points.into_iter().zip(samples.iter_mut()) {
                let amps = cubic.at(s);
                *sample = amps;
                square += amps * amps * dt;
                charge += amps.abs() * dt;
            }
            samples[GAUSS.len()] = cubic.at(done);
            let mut joules = T::default();
            for &(ohm, form) in forms.resistors(k) {
                let mut own = square;
                if form != Forms::amps(k) {
                    own = T::default();
                    for (s, dt) in points {
                        let amps = cubics[form].at(s);
                        own += amps * amps * dt;
                    }
                }
                joules += ohm * own;
            }
            if let Some(device) = k.checked_sub(first_device) {
                joules += work.heat.one(device, done);
            }
            *out = [joules, square, charge];
            sums.dissipated += joules;
            if forms.in_port(k) {
                sums.in_port += joules;
            }
        }
        let (least_v, least_a) = (T::splat(self.options.volts), T::splat(self.options.amps));
        for flow in forms.flows() {
            for (j, (s, dt)) in points.into_iter().enumerate() {
                // The form of a flow is the current of an element, sampled just now.
                let amps = work.samples[flow.amps / 2][j];
                let volts = work.dense.one(flow.node, s);
                let joules = T::splat(flow.sign) * volts * amps * dt;
                sums.into_port += joules;
                sums.entering += joules.max(T::default());
                sums.least += (volts.abs() * least_a + amps.abs() * least_v) * dt;
            }
        }
        let mut gross = [T::default(); 3];
        for source in forms.sources() {
            for (j, (s, dt)) in points.into_iter().enumerate() {
                let volts = match &source.emf {
                    Emf::State(row) => work.dense.one(*row, s),
                    Emf::Wave(wave) => wave.value(self.t + s * h),
                };
                gross[j] += volts * work.samples[source.amps / 2][j] * dt;
            }
        }
        for joules in gross {
            sums.delivered += joules;
            sums.gross += joules.abs();
        }
        self.step_energies = sums;
    }

    /// One in lanes where the energy balance of the step closes.
    #[inline(always)]
    fn balance(&mut self, done: T) -> T {
        let zero = T::default();
        let work = &mut *self.work;
        // The argument's buffer is free between two steps.
        work.dense.at(done, &mut work.argument);
        let (before, after) = (self.now, self.flat.stored(&work.argument));
        let step = &self.step_energies;
        self.step_residuals = [
            step.into_port - step.in_port - (after.port_j - before.port_j),
            step.delivered - step.dissipated - (after.whole_j - before.whole_j),
        ];
        let whole_flow = step.delivered.abs() + step.dissipated.abs();
        // In, out again, and into heat.
        let flow = step.entering + (step.entering - step.into_port) + step.in_port.abs();
        let entered = self.energies.entering + step.entering + (self.start.port_j - after.port_j).max(zero);
        let gross = self.start.whole_j + self.energies.gross + step.gross;
        let least = self.energies.least + step.least;
        let of_port = self.fits(0, flow, entered.max(least), after.port_j);
        let of_whole = self.fits(1, whole_flow, gross.max(least), gross);
        self.after = after;
        of_port * of_whole
    }

    /// One in lanes where a residual of the step is small in the step or in the run.
    #[inline(always)]
    fn fits(&self, which: usize, step_scale: T, run_scale: T, held: T) -> T {
        let (zero, one) = (T::default(), T::splat(1.0));
        let least = T::splat(NEGLIGIBLE_J)
            + T::splat(ROUNDING) * held
            + T::splat(SMALL_SHARE * RUN_RESIDUAL) * run_scale;
        let step = self.step_residuals[which];
        let sum = self.residuals[which] + step;
        let by_run = sum.abs().below(T::splat(RUN_RESIDUAL) * run_scale, one, zero);
        step.abs()
            .below(T::splat(STEP_RESIDUAL) * step_scale + least, one, by_run)
    }

    /// Zero in lanes where a new extreme of a probe or a current lies well beyond both ends of the step.
    #[inline(always)]
    fn extremes_hold(&self, done: T) -> T {
        let (elements, probes) = self.work.cubics.split_at(self.flat.forms().len());
        let least_a = T::splat(BUMP * MINOR) * self.top_a + T::splat(self.options.amps);
        let mut holds = T::splat(1.0);
        for (log, cubic) in self.probe_logs.iter().zip(probes) {
            holds = holds * bump_holds(log, cubic, done, T::splat(self.options.volts));
        }
        for (k, log) in self.element_logs.iter().enumerate() {
            holds = holds * bump_holds(&log.amps, &elements[Forms::amps(k)], done, least_a);
        }
        holds
    }

    /// Books the part `0..done` of the step in lanes whose `taken` is one, and moves `y` to its end.
    #[inline(always)]
    fn take_step(&mut self, taken: T, done: T) {
        let one = T::splat(1.0);
        let step = self.step_energies;
        let sum = &mut self.energies;
        add(taken, &mut sum.delivered, step.delivered);
        add(taken, &mut sum.dissipated, step.dissipated);
        add(taken, &mut sum.into_port, step.into_port);
        add(taken, &mut sum.in_port, step.in_port);
        add(taken, &mut sum.entering, step.entering);
        add(taken, &mut sum.least, step.least);
        add(taken, &mut sum.gross, step.gross);
        for (sum, step) in self.residuals.iter_mut().zip(self.step_residuals) {
            add(taken, sum, step);
        }
        self.now.whole_j = pick(taken, self.after.whole_j, self.now.whole_j);
        self.now.port_j = pick(taken, self.after.port_j, self.now.port_j);
        self.log_step(taken, done);
        let work = &mut *self.work;
        for (k, y) in work.y.iter_mut().enumerate() {
            T::one_by_one();
            let end = done.below(one, work.argument[k], work.dense.to[k]);
            *y = pick(taken, end, *y);
        }
        work.weights.note(taken, self.options, &work.y);
    }

    #[inline(always)]
    fn log_step(&mut self, taken: T, done: T) {
        let work = &*self.work;
        let forms = self.flat.forms();
        let (elements, probes) = work.cubics.split_at(forms.len());
        let step = (self.t, self.h, done);
        for (log, cubic) in self.probe_logs.iter_mut().zip(probes) {
            log.follow(taken, cubic, step);
        }
        for (k, log) in self.element_logs.iter_mut().enumerate() {
            let [joules, square, charge] = work.step[k];
            log.energy_j = pick(taken, log.energy_j + joules, log.energy_j);
            log.i2t_a2s = pick(taken, log.i2t_a2s + square, log.i2t_a2s);
            log.charge_c = pick(taken, log.charge_c + charge, log.charge_c);
            let (volts, amps) = (&elements[Forms::volts(k)], &elements[Forms::amps(k)]);
            log.volts.follow(taken, volts, step);
            let bounds = amps.bounds();
            if !log.amps.covers_all(bounds) {
                let uncovered = taken * log.amps.uncovered(bounds);
                log.amps.follow(taken, amps, step);
                for inner in amps.inner(done) {
                    log.note_largest(uncovered * inner.there, inner.value, volts.at(inner.at));
                }
                log.note_largest(uncovered, amps.at(done), volts.at(done));
                self.top_a = self.top_a.max(log.largest_a);
            }
            if let Some(row) = forms.junction(k) {
                let cubic = Cubic {
                    from: work.dense.from[row],
                    to: work.dense.to[row],
                    c3: work.dense.c3[row],
                    c4: work.dense.c4[row],
                };
                log.junction.follow(taken, &cubic, step);
            }
        }
    }
}

/// Adds in lanes whose `mask` is one.
#[inline(always)]
fn add<T: Lane>(mask: T, sum: &mut T, step: T) {
    *sum = pick(mask, *sum + step, *sum);
}

/// Zero in lanes where a quantity has a new extreme within the step that lies well beyond both ends of it.
#[inline(always)]
fn bump_holds<T: Lane>(log: &Tracker<T>, cubic: &Cubic<T>, done: T, least: T) -> T {
    let (zero, one) = (T::default(), T::splat(1.0));
    let bounds = cubic.bounds();
    if log.covers_all(bounds) {
        return one;
    }
    let uncovered = log.uncovered(bounds);
    let end = cubic.at(done);
    let (low, high) = (cubic.from.min(end), cubic.from.max(end));
    let mut holds = one;
    for inner in cubic.inner(done) {
        let bump = (inner.value - high).max(low - inner.value);
        let size = inner.value.abs().max(log.size());
        let too_far = (T::splat(BUMP) * size + least).below(bump, one, zero);
        let new = zero.below(log.beyond(inner.value), one, zero);
        holds = pick(uncovered * inner.there * new * too_far, zero, holds);
    }
    holds
}

impl<T: Lane> ElementLog<T> {
    /// Notes a current, and the voltage at that instant, in lanes whose `mask` is one.
    #[inline(always)]
    fn note_largest(&mut self, mask: T, amps: T, volts: T) {
        let size = pick(mask, amps.abs(), self.largest_a);
        self.volts_at_largest = self.largest_a.below(size, volts, self.volts_at_largest);
        self.largest_a = self.largest_a.max(size);
    }
}
