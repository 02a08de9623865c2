//! What error a step may make in each state.
//!
//! Every state may err by its absolute tolerance, by `relative` of its size and by `receding` of what it has receded from
//! its crest. Beyond that, ringing that makes no peak that is asked for need not be followed so closely: a state other
//! than the voltage of a pin may err by `passing` of what it has receded, as long as the energy of that error is below
//! the energy of the error that every pin's voltage and every device's current is allowed, `½ C ΔV²` and `½ L ΔI²`.
//!
//! In a network of resistances, inductances and capacitances the energy of the difference of two solutions never grows,
//! and a rising characteristic only takes from it: the error of one step, wherever it is made, never moves a pin or the
//! current of a device by more than the step might have erred there directly. A falling characteristic or a change of
//! state may add to a difference; the comparisons with a tight tolerance judge that.

use tidewall_ladder::{Flat, ProbeRole, StateKind};

use crate::problem::{Options, Problem};

/// What each state may err by, and what that follows from.
#[derive(Clone, Debug, Default)]
pub(crate) struct Weights {
    /// Error that a step may make in each state, but for the share of its size.
    pub(crate) allowed: Vec<f64>,
    pub(crate) absolute: Vec<f64>,
    /// Largest size of each state up to now.
    pub(crate) tops: Vec<f64>,
    /// Share of what has receded.
    passing: Vec<f64>,
    /// One over the root of each state's capacitance or inductance; zero where none is held.
    per_root: Vec<f64>,
    /// Voltages of pins and currents of devices, with capacitance or inductance.
    watched: Vec<(usize, f64)>,
}

impl Weights {
    /// Room for the states of a circuit.
    pub(crate) fn new(flat: &Flat) -> Weights {
        let zeros = || vec![0.0; flat.len()];
        let per_root = |mass: f64| if mass > 0.0 { 1.0 / mass.sqrt() } else { 0.0 };
        Weights {
            allowed: zeros(),
            absolute: zeros(),
            tops: zeros(),
            passing: zeros(),
            per_root: flat.masses().into_iter().map(per_root).collect(),
            watched: Vec::new(),
        }
    }

    /// Begins a run at the state `y`.
    pub(crate) fn begin(&mut self, flat: &Flat, problem: &Problem, options: &Options, y: &[f64]) {
        for (absolute, kind) in self.absolute.iter_mut().zip(flat.kinds()) {
            *absolute = match kind {
                StateKind::Voltage => options.volts,
                StateKind::Current => options.amps,
                StateKind::Temperature => options.kelvins,
                StateKind::Inner => options.inner,
            };
        }
        self.tops.fill(0.0);
        self.passing.fill(options.passing);
        self.watched.clear();
        let masses = flat.masses();
        for probe in problem.probes {
            if let (ProbeRole::Pin(_), Some(node)) = (probe.role, probe.plus) {
                let pin = flat.place()[node];
                self.passing[pin] = options.receding;
                self.watched.push((pin, masses[pin]));
            }
        }
        self.watched
            .extend(flat.lead_currents().map(|row| (row, masses[row])));
        self.watched.retain(|(_, mass)| *mass > 0.0);
        self.note(options, y);
    }

    /// Follows the state to `y`.
    pub(crate) fn note(&mut self, options: &Options, y: &[f64]) {
        let n = y.len();
        let (absolute, passing, per_root) = (&self.absolute[..n], &self.passing[..n], &self.per_root[..n]);
        let (tops, allowed) = (&mut self.tops[..n], &mut self.allowed[..n]);
        for (top, y) in tops.iter_mut().zip(y) {
            *top = top.max(y.abs());
        }
        let mut least = f64::INFINITY;
        for &(k, mass) in &self.watched {
            let size = y[k].abs();
            let error = absolute[k] + options.relative * size + passing[k] * (tops[k] - size);
            least = least.min(mass * error * error);
        }
        let reach = least.sqrt().min(f64::MAX);
        for k in 0..n {
            let receded = tops[k] - y[k].abs();
            let strict = absolute[k] + options.receding * receded;
            let loose = absolute[k] + passing[k] * receded;
            allowed[k] = strict.max(loose.min(reach * per_root[k]));
        }
    }
}
