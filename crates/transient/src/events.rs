//! Changes of a device's discrete state: finding them inside a step and carrying them out, lane by lane.

use tidewall_devices::law::{MAX_EVENTS, Watch};
use tidewall_lanes::Lane;

use crate::engine::Engine;
use crate::problem::TransientError;

/// Changes of its state after which a device is taken to go on for ever, if these have already cost a share of the steps
/// allowed (1 over this).
const RESTLESS: u64 = 100;
const RESTLESS_SHARE: u64 = 5;

impl<T: Lane> Engine<'_, T> {
    /// The first watch that comes true within the step in the dense output: fraction of the step, and which.
    pub(crate) fn find_event(&self, lane: usize) -> (f64, Option<(usize, usize)>) {
        let run = &self.runs[lane];
        let mut earliest = 1.0;
        let mut found = None;
        for &device in &run.switching {
            for place in [0.5, 1.0] {
                if place > earliest {
                    break;
                }
                let watches = self.watches_in_step(lane, device, place);
                for (k, watch) in watches.iter().enumerate() {
                    let Some(watch) = watch else { continue };
                    if watch.value < 0.0 || !(watch.at_once || run.armed[device][k]) {
                        continue;
                    }
                    let at = self.locate(lane, device, k, place);
                    if at < earliest || found.is_none() {
                        earliest = at.min(earliest);
                        found = Some((device, k));
                    }
                }
            }
        }
        (earliest, found)
    }

    fn watches_in_step(&self, lane: usize, device: usize, place: f64) -> [Option<Watch>; MAX_EVENTS] {
        let dense = &self.work.dense;
        let state = self.runs[lane].states[device];
        self.flat
            .watches(lane, device, |row| dense.one_in(lane, row, place), state)
    }

    fn watches(&self, lane: usize, device: usize) -> [Option<Watch>; MAX_EVENTS] {
        let y = &self.work.y;
        let state = self.runs[lane].states[device];
        self.flat.watches(lane, device, |row| y[row].lane(lane), state)
    }

    /// Bisection for the instant at which watch `k` of `device` turns non-negative, as a fraction of the step.
    fn locate(&self, lane: usize, device: usize, k: usize, upper: f64) -> f64 {
        let (mut low, mut high) = (0.0, upper);
        for _ in 0..40 {
            if high - low < 1e-10 {
                break;
            }
            let middle = 0.5 * (low + high);
            let watches = self.watches_in_step(lane, device, middle);
            if watches[k].is_some_and(|watch| watch.value >= 0.0) {
                high = middle;
            } else {
                low = middle;
            }
        }
        high
    }

    pub(crate) fn switch(&mut self, lane: usize, device: usize, watch: usize) {
        let run = &mut self.runs[lane];
        let state = &mut run.states[device];
        self.flat.switch(lane, device, watch, &mut self.work.y, state);
        self.work.modes[device].set(lane, *state);
        run.armed[device] = [false; MAX_EVENTS];
        run.switched[device] += 1;
        run.last_switch_s[device] = self.t.lane(lane);
        run.counters.events += 1;
    }

    /// Fails once a device goes on changing its state long after any stress would have let it rest.
    pub(crate) fn comes_to_rest(&self, lane: usize, device: usize) -> Result<(), TransientError> {
        let run = &self.runs[lane];
        let steps = run.counters.steps + run.counters.rejections;
        let changes = run.switched[device];
        if changes < RESTLESS || steps < self.options.max_steps / RESTLESS_SHARE {
            return Ok(());
        }
        Err(TransientError::Oscillates {
            at_s: self.t.lane(lane),
            device: run.problem.equations.circuit().devices[device].name.clone(),
            changes,
        })
    }

    /// Arms watches whose value is negative now.
    pub(crate) fn arm(&mut self, lane: usize) {
        for number in 0..self.runs[lane].switching.len() {
            let device = self.runs[lane].switching[number];
            let watches = self.watches(lane, device);
            for (armed, watch) in self.runs[lane].armed[device].iter_mut().zip(watches) {
                *armed |= watch.is_some_and(|watch| watch.value < 0.0);
            }
        }
    }

    /// Carries out every change of state that is due at this very instant.
    pub(crate) fn settle_states(&mut self, lane: usize) -> Result<(), TransientError> {
        const MOST: usize = 64;
        let mut changes = 0;
        while let Some((device, k)) = self.due(lane) {
            if changes == MOST {
                let circuit = self.runs[lane].problem.equations.circuit();
                return Err(TransientError::Chatter {
                    at_s: self.t.lane(lane),
                    device: circuit.devices[device].name.clone(),
                });
            }
            self.switch(lane, device, k);
            changes += 1;
        }
        self.arm(lane);
        Ok(())
    }

    /// The first device, and its watch, whose change of state is due at this very instant.
    fn due(&self, lane: usize) -> Option<(usize, usize)> {
        self.runs[lane].switching.iter().find_map(|&device| {
            let watches = self.watches(lane, device);
            let due = |watch: &Option<Watch>| watch.is_some_and(|watch| watch.at_once && watch.value >= 0.0);
            Some((device, watches.iter().position(due)?))
        })
    }
}
