//! Book-keeping of a run: energy balance of each step, peaks, times beyond levels, waveforms, the result.

use tidewall_ladder::{Probe, Stored};

use crate::audit::Audit;
use crate::peak::PeakTracker;
use crate::problem::{ElementOutcome, Outcome, ProbeOutcome};
use crate::run::Integrator;

/// Largest energy residual of one step as a share of the energy that flows in it; beyond it the step is shortened,
/// because the interpolation inside it (across the corner of a clamp, say) cannot be trusted.
const STEP_RESIDUAL: f64 = 5e-5;
/// Residual of the run up to now, as a share of the energy that has entered, below which no step is refused.
const RUN_RESIDUAL: f64 = 2e-4;
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

impl Integrator<'_> {
    /// Evaluates the part `0..done` of the step at its quadrature points; true when its energy balance closes.
    pub(crate) fn balances(&mut self, h: f64, done: f64, before: Stored) -> bool {
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
    pub(crate) fn take_step(&mut self, h: f64, done: f64) {
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
    pub(crate) fn take_sample_at_y(&mut self, jump: bool) {
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

    pub(crate) fn finish(self) -> Outcome {
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
