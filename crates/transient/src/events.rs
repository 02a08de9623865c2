//! Changes of a device's discrete state: finding them inside a step and carrying them out.

use tidewall_devices::law::{MAX_EVENTS, Watch};

use crate::problem::TransientError;
use crate::run::Integrator;

impl Integrator<'_> {
    /// The first watch that comes true within the step in the dense output: fraction of the step, and which.
    pub(crate) fn find_event(&self) -> (f64, Option<(usize, usize)>) {
        let mut earliest = 1.0;
        let mut found = None;
        for number in 0..self.switching.len() {
            let device = self.switching[number];
            for place in [0.5, 1.0] {
                if place > earliest {
                    break;
                }
                let watches = self.watches_in_step(device, place);
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

    fn watches_in_step(&self, device: usize, place: f64) -> [Option<Watch>; MAX_EVENTS] {
        let dense = &self.work.dense;
        let flat = &self.work.flat;
        flat.watches(device, |row| dense.one(row, place), self.states[device])
    }

    fn watches(&self, device: usize) -> [Option<Watch>; MAX_EVENTS] {
        let flat = &self.work.flat;
        flat.watches(device, |row| self.y[row], self.states[device])
    }

    /// Bisection for the instant at which watch `k` of `device` turns non-negative, as a fraction of the step.
    fn locate(&self, device: usize, k: usize, upper: f64) -> f64 {
        let (mut low, mut high) = (0.0, upper);
        for _ in 0..40 {
            if high - low < 1e-10 {
                break;
            }
            let middle = 0.5 * (low + high);
            let watches = self.watches_in_step(device, middle);
            if watches[k].is_some_and(|watch| watch.value >= 0.0) {
                high = middle;
            } else {
                low = middle;
            }
        }
        high
    }

    pub(crate) fn switch(&mut self, device: usize, watch: usize) {
        let state = &mut self.states[device];
        self.work.flat.switch(device, watch, &mut self.y, state);
        self.armed[device] = [false; MAX_EVENTS];
        self.switched[device] += 1;
        self.last_switch_s[device] = self.t;
        self.counters.events += 1;
    }

    /// Arms watches whose value is negative now.
    pub(crate) fn arm(&mut self) {
        for number in 0..self.switching.len() {
            let device = self.switching[number];
            let watches = self.watches(device);
            for (armed, watch) in self.armed[device].iter_mut().zip(watches) {
                *armed |= watch.is_some_and(|watch| watch.value < 0.0);
            }
        }
    }

    /// Carries out every change of state that is due at this very instant.
    pub(crate) fn settle_states(&mut self) -> Result<(), TransientError> {
        const MOST: usize = 64;
        let mut changes = 0;
        while let Some((device, k)) = self.due() {
            if changes == MOST {
                return Err(TransientError::Chatter {
                    at_s: self.t,
                    device: self.problem.equations.circuit().devices[device].name.clone(),
                });
            }
            self.switch(device, k);
            changes += 1;
        }
        self.arm();
        Ok(())
    }

    /// The first device, and its watch, whose change of state is due at this very instant.
    fn due(&self) -> Option<(usize, usize)> {
        self.switching.iter().find_map(|&device| {
            let watches = self.watches(device);
            let due = |watch: &Option<Watch>| watch.is_some_and(|watch| watch.at_once && watch.value >= 0.0);
            Some((device, watches.iter().position(due)?))
        })
    }
}
