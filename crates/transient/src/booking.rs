//! Book-keeping of a run: energy balance of each step, peaks, times beyond levels, waveforms, the result.

use tidewall_ladder::{Emf, Forms};

use crate::audit::Audit;
use crate::cubic::{Cubic, Tracker};
use crate::problem::{ElementOutcome, Outcome, ProbeOutcome};
use crate::run::{Energies, Integrator};

/// Largest energy residual of one step as a share of the energy that flows in it; beyond it the step is shortened,
/// because the interpolation inside it (across the corner of a clamp, say) cannot be trusted.
const STEP_RESIDUAL: f64 = 5e-5;
/// Residual of the run up to now, as a share of the energy that has entered, below which no step is refused.
const RUN_RESIDUAL: f64 = 2e-4;
/// Share of the stored energy that the arithmetic itself may lose in a step.
const ROUNDING: f64 = 1e-15;
/// Residual in joules that is never worth a refusal, of a step or of the run: half a millivolt beside half a volt on a picofarad.
const NEGLIGIBLE_J: f64 = 1e-16;
/// Residual of one step that is never worth a refusal, as a share of what the run may have in all: so small that the most
/// steps allowed would not use up half of it. Without it, a run that has used up its share stands still in the
/// ringing of a few picojoules.
const SMALL_SHARE: f64 = 1e-6;
/// How far an extreme inside a step may lie beyond both its ends, as a share of the quantity's size, if it lies beyond
/// everything that came before: the interpolation is off by a small part of that bump.
const BUMP: f64 = 0.02;
/// A current below this share of the largest in the circuit is judged by that share.
const MINOR: f64 = 0.05;
/// Pieces in which a step is searched for the crossing of a level.
const PIECES: usize = 8;

/// Three-point Gauss quadrature on 0 to 1: places and weights.
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

impl Integrator<'_> {
    /// Evaluates the part `0..done` of the step; true when its energy balance closes and no extreme in it rests on the
    /// interpolation alone.
    pub(crate) fn is_sound(&mut self, h: f64, done: f64) -> bool {
        self.interpolate();
        self.sum_energies(h, done);
        self.balances(done) && self.extremes_hold(done)
    }

    /// The linear forms within the step.
    fn interpolate(&mut self) {
        let work = &mut *self.work;
        let (dense, forms) = (&work.dense, work.flat.forms());
        let add = |cubic: &mut Cubic, column: usize, factor: f64| {
            cubic.from += factor * dense.from[column];
            cubic.to += factor * dense.to[column];
            cubic.c3 += factor * dense.c3[column];
            cubic.c4 += factor * dense.c4[column];
        };
        let (elements, probes) = work.cubics.split_at_mut(forms.len());
        for (k, cubic) in elements.iter_mut().enumerate() {
            *cubic = Cubic::default();
            for (column, factor) in forms.terms(k) {
                add(cubic, column, factor);
            }
        }
        for (cubic, &(plus, minus)) in probes.iter_mut().zip(&self.probes) {
            *cubic = Cubic::default();
            if let Some(column) = plus {
                add(cubic, column, 1.0);
            }
            if let Some(column) = minus {
                add(cubic, column, -1.0);
            }
        }
    }

    fn sum_energies(&mut self, h: f64, done: f64) {
        let work = &mut *self.work;
        let (forms, cubics) = (work.flat.forms(), &work.cubics);
        let points = GAUSS.map(|(place, weight)| (place * done, weight * done * h));
        let mut sums = Energies::default();
        let first_device = forms.elements() - work.heat.to.len();
        for (k, out) in work.step.iter_mut().enumerate() {
            let amps = &cubics[Forms::amps(k)];
            let (mut square, mut charge) = (0.0, 0.0);
            for (s, dt) in points {
                let amps = amps.at(s);
                square += amps * amps * dt;
                charge += amps.abs() * dt;
            }
            let mut joules = 0.0;
            for &(ohm, form) in forms.resistors(k) {
                let square = if form == Forms::amps(k) {
                    square
                } else {
                    let part = &cubics[form];
                    points.iter().map(|(s, dt)| part.at(*s).powi(2) * dt).sum()
                };
                joules += ohm * square;
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
        for flow in forms.flows() {
            for (s, dt) in points {
                let (volts, amps) = (work.dense.one(flow.node, s), cubics[flow.amps].at(s));
                let joules = flow.sign * volts * amps * dt;
                sums.into_port += joules;
                sums.entering += joules.max(0.0);
                sums.least += (volts.abs() * self.options.amps + amps.abs() * self.options.volts) * dt;
            }
        }
        let mut gross = [0.0; 3];
        for source in forms.sources() {
            for ((s, dt), gross) in points.into_iter().zip(&mut gross) {
                let volts = match &source.emf {
                    Emf::State(row) => work.dense.one(*row, s),
                    Emf::Wave(wave) => wave.value(self.t + s * h),
                };
                *gross += volts * cubics[source.amps].at(s) * dt;
            }
        }
        for joules in gross {
            sums.delivered += joules;
            sums.gross += joules.abs();
        }
        self.step_energies = sums;
    }

    fn balances(&mut self, done: f64) -> bool {
        let work = &mut *self.work;
        // The argument's buffer is free between two steps.
        work.dense.at(done, &mut work.argument);
        let (before, after) = (self.now, work.flat.stored(&work.argument));
        let step = &self.step_energies;
        self.step_residuals = [
            step.into_port - step.in_port - (after.port_j - before.port_j),
            step.delivered - step.dissipated - (after.whole_j - before.whole_j),
        ];
        let whole_flow = step.delivered.abs() + step.dissipated.abs();
        // In, out again, and into heat.
        let flow = step.entering + (step.entering - step.into_port) + step.in_port.abs();
        let entered = self.energies.entering + step.entering + (self.start.port_j - after.port_j).max(0.0);
        let gross = self.start.whole_j + self.energies.gross + step.gross;
        let least = self.energies.least + step.least;
        let fits = |which: usize, step_scale: f64, run_scale: f64, held: f64| {
            let least = NEGLIGIBLE_J + ROUNDING * held + SMALL_SHARE * RUN_RESIDUAL * run_scale;
            let step = self.step_residuals[which];
            let sum = self.residuals[which] + step;
            step.abs() <= STEP_RESIDUAL * step_scale + least || sum.abs() <= RUN_RESIDUAL * run_scale
        };
        let sound =
            fits(0, flow, entered.max(least), after.port_j) && fits(1, whole_flow, gross.max(least), gross);
        self.after = after;
        sound
    }

    /// False when a new extreme of a probe or a current lies well beyond both ends of the step.
    fn extremes_hold(&self, done: f64) -> bool {
        let cubics = &self.work.cubics;
        let (elements, probes) = cubics.split_at(self.work.flat.forms().len());
        let currents = self.element_logs.iter().enumerate();
        let least_a = BUMP * MINOR * self.top_a + self.options.amps;
        let currents = currents.map(|(k, log)| (&log.amps, &elements[Forms::amps(k)], least_a));
        let voltages = self.probe_logs.iter().zip(probes);
        let voltages = voltages.map(|(log, cubic)| (log, cubic, self.options.volts));
        voltages.chain(currents).all(|(log, cubic, least)| {
            let bounds = cubic.bounds();
            if log.covers(bounds) {
                return true;
            }
            let end = cubic.at(done);
            let (low, high) = (cubic.from.min(end), cubic.from.max(end));
            cubic.inner(done).into_iter().flatten().all(|inner| {
                let bump = (inner.value - high).max(low - inner.value);
                let size = inner.value.abs().max(log.0.size());
                log.beyond(inner.value) <= 0.0 || bump <= BUMP * size + least
            })
        })
    }

    /// Books the part `0..done` of the step, as [`Self::is_sound`] has just evaluated it, and moves `y` to its end.
    pub(crate) fn take_step(&mut self, h: f64, done: f64) {
        let step = self.step_energies;
        let sum = &mut self.energies;
        sum.delivered += step.delivered;
        sum.dissipated += step.dissipated;
        sum.into_port += step.into_port;
        sum.in_port += step.in_port;
        sum.entering += step.entering;
        sum.least += step.least;
        sum.gross += step.gross;
        for (sum, step) in self.residuals.iter_mut().zip(self.step_residuals) {
            *sum += step;
        }
        self.now = self.after;
        self.log_step(h, done);
        self.log_levels(h, done);
        self.record(h, done);
        if done < 1.0 {
            self.work.dense.at(done, &mut self.y);
        } else {
            self.y.copy_from_slice(&self.work.dense.to);
        }
        self.note_sizes();
    }

    fn log_step(&mut self, h: f64, done: f64) {
        let work = &*self.work;
        let forms = work.flat.forms();
        let (elements, probes) = work.cubics.split_at(forms.len());
        let end = self.t + done * h;
        let follow = |log: &mut Tracker, cubic: &Cubic| {
            if !log.covers(cubic.bounds()) {
                for inner in cubic.inner(done).into_iter().flatten() {
                    log.note(self.t + inner.at * h, inner.value);
                }
                log.note(end, cubic.at(done));
            }
        };
        for (log, cubic) in self.probe_logs.iter_mut().zip(probes) {
            follow(log, cubic);
        }
        for (k, log) in self.element_logs.iter_mut().enumerate() {
            let [joules, square, charge] = work.step[k];
            log.energy_j += joules;
            log.i2t_a2s += square;
            log.charge_c += charge;
            let (volts, amps) = (&elements[Forms::volts(k)], &elements[Forms::amps(k)]);
            follow(&mut log.volts, volts);
            if !log.amps.covers(amps.bounds()) {
                follow(&mut log.amps, amps);
                let inner = amps.inner(done).into_iter().flatten().map(|inner| inner.at);
                for s in inner.chain([done]) {
                    let size = amps.at(s).abs();
                    if size > log.largest_a {
                        log.largest_a = size;
                        log.volts_at_largest = volts.at(s);
                        self.top_a = self.top_a.max(size);
                    }
                }
            }
            if let Some(row) = forms.junction(k) {
                let cubic = Cubic {
                    from: work.dense.from[row],
                    to: work.dense.to[row],
                    c3: work.dense.c3[row],
                    c4: work.dense.c4[row],
                };
                follow(&mut log.junction, &cubic);
            }
        }
    }

    /// Adds the time beyond each level.
    fn log_levels(&mut self, h: f64, done: f64) {
        let probes = &self.work.cubics[self.work.flat.forms().len()..];
        for (&(probe, level), beyond_s) in self.problem.levels.iter().zip(&mut self.beyond_s) {
            let cubic = &probes[probe];
            let (low, high) = cubic.bounds();
            let over = |value: f64| if level < 0.0 { level - value } else { value - level };
            let (a, b) = (over(low), over(high));
            if a.max(b) <= 0.0 {
                continue;
            }
            if a.min(b) > 0.0 {
                *beyond_s += done * h;
                continue;
            }
            // Straight between the ends of short pieces.
            let piece = done / PIECES as f64;
            let dt = piece * h;
            let mut last = over(cubic.from);
            for k in 1..=PIECES {
                let here = over(cubic.at(piece * k as f64));
                *beyond_s += match (last > 0.0, here > 0.0) {
                    (true, true) => dt,
                    (false, false) => 0.0,
                    (false, true) => dt * here / (here - last),
                    (true, false) => dt * last / (last - here),
                };
                last = here;
            }
        }
    }

    fn record(&mut self, h: f64, done: f64) {
        let Some(recording) = &mut self.recording else {
            return;
        };
        let work = &*self.work;
        let forms = work.flat.forms();
        let (elements, probes) = work.cubics.split_at(forms.len());
        for s in GAUSS.map(|(place, _)| place * done).into_iter().chain([done]) {
            recording.times_s.push(self.t + s * h);
            for (series, cubic) in recording.probes_v.iter_mut().zip(probes) {
                series.push(cubic.at(s));
            }
            let first = if self.options.record {
                0
            } else {
                forms.elements() - self.states.len()
            };
            for k in first..forms.elements() {
                recording.elements_a[k].push(elements[Forms::amps(k)].at(s));
                if !self.options.record {
                    continue;
                }
                recording.elements_v[k].push(elements[Forms::volts(k)].at(s));
                let junction = forms.junction(k).map(|row| work.dense.one(row, s));
                recording.junctions_c[k].push(junction.unwrap_or(forms.ambient_c(k)));
            }
        }
    }

    /// Value of a linear form at the present state.
    fn form(&self, k: usize) -> f64 {
        let terms = self.work.flat.forms().terms(k);
        terms.map(|(column, factor)| factor * self.y[column]).sum()
    }

    /// Notes the present state, after a jump or at the start.
    pub(crate) fn take_sample_at_y(&mut self) {
        self.now = self.work.flat.stored(&self.y);
        let volts = |node: Option<usize>| node.map_or(0.0, |node| self.y[node]);
        for (log, &(plus, minus)) in self.probe_logs.iter_mut().zip(&self.probes) {
            log.note(self.t, volts(plus) - volts(minus));
        }
        for k in 0..self.element_logs.len() {
            let (volts, amps) = (self.form(Forms::volts(k)), self.form(Forms::amps(k)));
            let forms = self.work.flat.forms();
            let junction = forms.junction(k).map_or(forms.ambient_c(k), |row| self.y[row]);
            let log = &mut self.element_logs[k];
            log.volts.note(self.t, volts);
            log.amps.note(self.t, amps);
            if amps.abs() > log.largest_a {
                log.largest_a = amps.abs();
                log.volts_at_largest = volts;
                self.top_a = self.top_a.max(log.largest_a);
            }
            log.junction.note(self.t, junction);
            if let Some(recording) = &mut self.recording {
                recording.elements_a[k].push(amps);
                if !self.options.record {
                    continue;
                }
                recording.elements_v[k].push(volts);
                recording.junctions_c[k].push(junction);
            }
        }
        if let Some(recording) = &mut self.recording {
            recording.times_s.push(self.t);
            let volts = |node: Option<usize>| node.map_or(0.0, |node| self.y[node]);
            for (series, &(plus, minus)) in recording.probes_v.iter_mut().zip(&self.probes) {
                series.push(volts(plus) - volts(minus));
            }
        }
    }

    pub(crate) fn finish(self) -> Outcome {
        let before = self.start;
        let after = self.work.flat.stored(&self.y);
        let sums = self.energies;
        let stored_port = after.port_j - before.port_j;
        let stored_whole = after.whole_j - before.whole_j;
        let least = sums.least.max(NEGLIGIBLE_J / Audit::LIMIT);
        let input = (sums.entering + (-stored_port).max(0.0)).max(least);
        let port_residual = (sums.into_port - sums.in_port - stored_port).abs() / input;
        let scale = (before.whole_j + sums.gross).max(least);
        let whole_residual = (sums.delivered - sums.dissipated - stored_whole).abs() / scale;
        let audit = Audit {
            delivered_j: sums.into_port,
            dissipated_j: sums.in_port,
            stored_j: stored_port,
            entered_j: sums.entering,
            residual: port_residual.max(whole_residual),
        };
        let element = |k: usize| {
            let log = &self.element_logs[k];
            ElementOutcome {
                volts: log.volts.0,
                amps: log.amps.0,
                volts_at_peak_current: log.volts_at_largest,
                energy_j: log.energy_j,
                i2t_a2s: log.i2t_a2s,
                charge_c: log.charge_c,
                peak_junction_c: Some(log.junction.0.max).filter(|peak| peak.is_finite()),
                final_a: self.form(Forms::amps(k)),
                final_v: self.form(Forms::volts(k)),
            }
        };
        Outcome {
            probes: self
                .probe_logs
                .iter()
                .map(|log| ProbeOutcome { volts: log.0 })
                .collect(),
            elements: (0..self.element_logs.len()).map(element).collect(),
            final_y: self.work.flat.in_order(&self.y),
            beyond_s: self.beyond_s,
            switched: self.switched,
            last_switch_s: self.last_switch_s,
            final_states: self.states,
            audit,
            counters: self.counters,
            recording: self.recording,
        }
    }
}
