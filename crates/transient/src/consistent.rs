//! Algebraic variables that fit the dynamic ones, of one lane.

use tidewall_devices::law::Modes;
use tidewall_lanes::Lane;

use crate::engine::Engine;
use crate::problem::TransientError;

impl<T: Lane> Engine<'_, T> {
    /// Solves the algebraic equations for the algebraic variables, leaving the dynamic ones as they are.
    pub(crate) fn make_consistent(&mut self, lane: usize) -> Result<(), TransientError> {
        let run = &mut self.runs[lane];
        let (flat, work) = (&run.flat, &mut self.work.single);
        if flat.dynamic().iter().all(|&dynamic| dynamic) {
            return Ok(());
        }
        let t = self.t.lane(lane);
        for (modes, &state) in work.modes.iter_mut().zip(&run.states) {
            *modes = Modes::of(state);
        }
        for (one, y) in work.y.iter_mut().zip(&self.work.y) {
            *one = y.lane(lane);
        }
        let mut found = false;
        for _ in 0..20 {
            flat.rhs(t, &work.y, &work.modes, &mut work.points, &mut work.f);
            flat.negative_jacobian(&work.y, &work.f, &work.points, &mut work.matrix);
            run.counters.evaluations += 1;
            for &slot in &self.plan.dynamic_slots {
                work.matrix[slot] = 0.0;
            }
            for (k, &slot) in flat.diagonal().iter().enumerate() {
                if flat.dynamic()[k] {
                    work.matrix[slot] = 1.0;
                    work.f[k] = 0.0;
                }
            }
            run.counters.factorisations += 1;
            if self.plan.symbolic.factor(&mut work.matrix) != 0.0 {
                break;
            }
            self.plan.symbolic.solve(&work.matrix, &mut work.f);
            let mut size = 0.0f64;
            for (y, change) in work.y.iter_mut().zip(work.f.iter()) {
                *y += change;
                size = size.max(change.abs() / (1.0 + y.abs()));
            }
            if !size.is_finite() {
                break;
            }
            if size < 1e-12 {
                found = true;
                break;
            }
        }
        if !found {
            return Err(TransientError::NoInitialState);
        }
        for (y, &one) in self.work.y.iter_mut().zip(&self.work.single.y) {
            y.set(lane, one);
        }
        Ok(())
    }
}
