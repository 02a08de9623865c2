//! What is noted of one lane: samples after a jump, times beyond levels, waveforms, the result.

use tidewall_ladder::{Forms, Stored};
use tidewall_lanes::Lane;

use crate::audit::Audit;
use crate::booking::{GAUSS, NEGLIGIBLE_J};
use crate::cubic::Cubic;
use crate::engine::Engine;
use crate::problem::{ElementOutcome, Outcome, ProbeOutcome};

/// Pieces in which a step is searched for the crossing of a level.
const PIECES: usize = 8;

impl<T: Lane> Engine<'_, T> {
    fn cubic(&self, k: usize, lane: usize) -> Cubic {
        let cubic = &self.work.cubics[k];
        Cubic {
            from: cubic.from.lane(lane),
            to: cubic.to.lane(lane),
            c3: cubic.c3.lane(lane),
            c4: cubic.c4.lane(lane),
        }
    }

    /// Adds the time beyond each level.
    pub(crate) fn log_levels(&mut self, lane: usize, done: f64) {
        let probes = self.flat.forms().len();
        let h = self.h.lane(lane);
        let levels = self.runs[lane].problem.levels;
        for (k, &(probe, level)) in levels.iter().enumerate() {
            let cubic = self.cubic(probes + probe, lane);
            let (low, high) = cubic.bounds();
            let over = |value: f64| if level < 0.0 { level - value } else { value - level };
            let (a, b) = (over(low), over(high));
            if a.max(b) <= 0.0 {
                continue;
            }
            let beyond_s = &mut self.runs[lane].beyond_s[k];
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

    /// Keeps the waveforms within the step just taken, whose start is still the lane's time.
    pub(crate) fn record(&mut self, lane: usize, done: f64) {
        let Some(mut recording) = self.runs[lane].recording.take() else {
            return;
        };
        let (t, h) = (self.t.lane(lane), self.h.lane(lane));
        let forms = self.flat.forms();
        let first = if self.options.record {
            0
        } else {
            forms.elements() - self.flat.devices()
        };
        let places = GAUSS.map(|(place, _)| place * done);
        for (j, s) in places.into_iter().chain([done]).enumerate() {
            recording.times_s.push(t + s * h);
            for k in first..forms.elements() {
                recording.elements_a[k].push(self.work.samples[k][j].lane(lane));
            }
            if !self.options.record {
                continue;
            }
            for (probe, series) in recording.probes_v.iter_mut().enumerate() {
                series.push(self.cubic(forms.len() + probe, lane).at(s));
            }
            for k in 0..forms.elements() {
                recording.elements_v[k].push(self.cubic(Forms::volts(k), lane).at(s));
                let junction = forms.junction(k).map(|row| self.work.dense.one_in(lane, row, s));
                recording.junctions_c[k].push(junction.unwrap_or(forms.ambient_c(k).lane(lane)));
            }
        }
        self.runs[lane].recording = Some(recording);
    }

    /// Brings the present state of a lane where it can be looked at alone.
    fn gather(&mut self, lane: usize) {
        let work = &mut *self.work;
        for (one, y) in work.single.y.iter_mut().zip(&work.y) {
            *one = y.lane(lane);
        }
    }

    /// Energy stored now.
    pub(crate) fn stored(&mut self, lane: usize) -> Stored {
        self.gather(lane);
        self.runs[lane].flat.stored(&self.work.single.y)
    }

    /// Value of a linear form at the state that was gathered last.
    fn form(&self, lane: usize, k: usize) -> f64 {
        let terms = self.runs[lane].flat.forms().terms(k);
        terms
            .map(|(column, factor)| factor * self.work.single.y[column])
            .sum()
    }

    /// Notes the present state, after a jump or at the start.
    pub(crate) fn take_sample(&mut self, lane: usize) {
        let stored = self.stored(lane);
        self.now.whole_j.set(lane, stored.whole_j);
        self.now.port_j.set(lane, stored.port_j);
        let t = self.t.lane(lane);
        let mut recording = self.runs[lane].recording.take();
        let volts = |node: Option<usize>| node.map_or(0.0, |node| self.work.single.y[node]);
        for (k, (log, &(plus, minus))) in self.probe_logs.iter_mut().zip(&self.probes).enumerate() {
            let value = volts(plus) - volts(minus);
            log.note_one(lane, t, value);
            if let Some(recording) = recording.as_mut().filter(|_| self.options.record) {
                recording.probes_v[k].push(value);
            }
        }
        for k in 0..self.element_logs.len() {
            let (volts, amps) = (self.form(lane, Forms::volts(k)), self.form(lane, Forms::amps(k)));
            let forms = self.runs[lane].flat.forms();
            let y = &self.work.single.y;
            let junction = forms.junction(k).map_or(forms.ambient_c(k), |row| y[row]);
            let log = &mut self.element_logs[k];
            log.volts.note_one(lane, t, volts);
            log.amps.note_one(lane, t, amps);
            if amps.abs() > log.largest_a.lane(lane) {
                log.largest_a.set(lane, amps.abs());
                log.volts_at_largest.set(lane, volts);
                self.top_a.set(lane, self.top_a.lane(lane).max(amps.abs()));
            }
            log.junction.note_one(lane, t, junction);
            if let Some(recording) = &mut recording {
                recording.elements_a[k].push(amps);
                if self.options.record {
                    recording.elements_v[k].push(volts);
                    recording.junctions_c[k].push(junction);
                }
            }
        }
        if let Some(recording) = &mut recording {
            recording.times_s.push(t);
        }
        self.runs[lane].recording = recording;
    }

    /// The result of a run that has reached its end.
    pub(crate) fn outcome(&mut self, lane: usize) -> Outcome {
        let after = self.stored(lane);
        let before = Stored {
            whole_j: self.start.whole_j.lane(lane),
            port_j: self.start.port_j.lane(lane),
        };
        let sum = |of: T| of.lane(lane);
        let sums = &self.energies;
        let (into_port, in_port, entering) = (sum(sums.into_port), sum(sums.in_port), sum(sums.entering));
        let stored_port = after.port_j - before.port_j;
        let stored_whole = after.whole_j - before.whole_j;
        let least = sum(sums.least).max(NEGLIGIBLE_J / Audit::LIMIT);
        let input = (entering + (-stored_port).max(0.0)).max(least);
        let port_residual = (into_port - in_port - stored_port).abs() / input;
        let scale = (before.whole_j + sum(sums.gross)).max(least);
        let whole = sum(sums.delivered) - sum(sums.dissipated) - stored_whole;
        let audit = Audit {
            delivered_j: into_port,
            dissipated_j: in_port,
            stored_j: stored_port,
            entered_j: entering,
            residual: port_residual.max(whole.abs() / scale),
        };
        let element = |k: usize| {
            let log = &self.element_logs[k];
            ElementOutcome {
                volts: log.volts.one(lane),
                amps: log.amps.one(lane),
                volts_at_peak_current: sum(log.volts_at_largest),
                energy_j: sum(log.energy_j),
                i2t_a2s: sum(log.i2t_a2s),
                charge_c: sum(log.charge_c),
                peak_junction_c: Some(sum(log.junction.max)).filter(|peak| peak.is_finite()),
                final_a: self.form(lane, Forms::amps(k)),
                final_v: self.form(lane, Forms::volts(k)),
            }
        };
        let elements = (0..self.element_logs.len()).map(element).collect();
        let run = &mut self.runs[lane];
        Outcome {
            probes: self
                .probe_logs
                .iter()
                .map(|log| ProbeOutcome { volts: log.one(lane) })
                .collect(),
            elements,
            final_y: run.flat.in_order(&self.work.single.y),
            beyond_s: std::mem::take(&mut run.beyond_s),
            switched: std::mem::take(&mut run.switched),
            last_switch_s: std::mem::take(&mut run.last_switch_s),
            final_states: std::mem::take(&mut run.states),
            audit,
            counters: run.counters,
            recording: run.recording.take(),
        }
    }
}
