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

use tidewall_ladder::{Flat, Probe, ProbeRole, StateKind};
use tidewall_lanes::Lane;

use crate::cubic::pick;
use crate::problem::Options;

/// What each state may err by, and what that follows from.
#[derive(Clone, Debug, Default)]
pub(crate) struct Weights<T> {
    /// Error that a step may make in each state, but for the share of its size.
    pub(crate) allowed: Vec<T>,
    pub(crate) absolute: Vec<T>,
    /// Largest size of each state up to now.
    pub(crate) tops: Vec<T>,
    /// Share of what has receded.
    passing: Vec<T>,
    /// One over the root of each state's capacitance or inductance; zero where none is held.
    per_root: Vec<T>,
    /// Voltages of pins and currents of devices, with capacitance or inductance.
    watched: Vec<(usize, T)>,
}

impl<T: Lane> Weights<T> {
    /// Makes room for the states of circuits like `flat`.
    pub(crate) fn fit(&mut self, flat: &Flat<T>, probes: &[Probe], options: &Options) {
        let (n, zero) = (flat.len(), T::default());
        for buffer in [&mut self.allowed, &mut self.tops, &mut self.per_root] {
            buffer.clear();
            buffer.resize(n, zero);
        }
        self.absolute.clear();
        self.absolute.extend(flat.kinds().iter().map(|kind| {
            T::splat(match kind {
                StateKind::Voltage => options.volts,
                StateKind::Current => options.amps,
                StateKind::Temperature => options.kelvins,
                StateKind::Inner => options.inner,
            })
        }));
        self.passing.clear();
        self.passing.resize(n, T::splat(options.passing));
        self.watched.clear();
        for probe in probes {
            if let (ProbeRole::Pin(_), Some(node)) = (probe.role, probe.plus) {
                let pin = flat.place()[node];
                self.passing[pin] = T::splat(options.receding);
                self.watched.push((pin, zero));
            }
        }
        self.watched.extend(flat.lead_currents().map(|row| (row, zero)));
    }

    /// Begins a run in one lane at the state `y`; `flat` is its circuit alone.
    pub(crate) fn begin(&mut self, lane: usize, flat: &Flat, options: &Options, y: &[T]) {
        let masses = flat.masses();
        for (per_root, &mass) in self.per_root.iter_mut().zip(&masses) {
            per_root.set(lane, if mass > 0.0 { 1.0 / mass.sqrt() } else { 0.0 });
        }
        for (row, mass) in &mut self.watched {
            mass.set(lane, masses[*row]);
        }
        for top in &mut self.tops {
            top.set(lane, 0.0);
        }
        let mut begun = T::default();
        begun.set(lane, 1.0);
        self.note(begun, options, y);
    }

    /// Follows the state to `y` in lanes whose `taken` is one.
    #[inline(always)]
    pub(crate) fn note(&mut self, taken: T, options: &Options, y: &[T]) {
        let n = y.len();
        let (absolute, passing, per_root) = (&self.absolute[..n], &self.passing[..n], &self.per_root[..n]);
        let (tops, allowed) = (&mut self.tops[..n], &mut self.allowed[..n]);
        let (relative, receding) = (T::splat(options.relative), T::splat(options.receding));
        for k in 0..n {
            T::one_by_one();
            tops[k] = pick(taken, tops[k].max(y[k].abs()), tops[k]);
        }
        let mut least = T::splat(f64::INFINITY);
        for &(k, mass) in &self.watched {
            let size = y[k].abs();
            let error = absolute[k] + relative * size + passing[k] * (tops[k] - size);
            // What holds no energy sets no bound to it.
            least = pick(mass, least.min(mass * error * error), least);
        }
        let reach = least.sqrt().min(T::splat(f64::MAX));
        for k in 0..n {
            T::one_by_one();
            let receded = tops[k] - y[k].abs();
            let strict = absolute[k] + receding * receded;
            let loose = absolute[k] + passing[k] * receded;
            let here = strict.max(loose.min(reach * per_root[k]));
            allowed[k] = pick(taken, here, allowed[k]);
        }
    }
}
