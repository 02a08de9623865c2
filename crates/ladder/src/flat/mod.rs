//! The equations of one circuit laid out for speed.
//!
//! [`Equations`] is the readable form; this one holds the same numbers in the order in which the integrator wants them:
//! states in the order of elimination, the linear part as rows of coefficients, each device's law evaluated once per
//! state, the Jacobian's entries as numbers of places in the packed matrix. Everything that is read off a circuit
//! (voltages, currents) is a linear form of the state vector.

mod compile;
mod forms;
mod pack;
mod stored;

use tidewall_devices::Law;
use tidewall_devices::law::{Bank, Bias, MAX_EVENTS, MAX_INNER, Modes, Point, State, Watch};
use tidewall_lanes::{Job, Lane};
use tidewall_stress::Waves;

use crate::equations::{Equations, StateKind};

pub use compile::Layout;
pub use forms::{Emf, Flow, Forms, Source};
use stored::StoredForm;

/// A source that drives one row.
#[derive(Clone, Debug)]
struct Drive<T = f64> {
    row: usize,
    factor: T,
    wave: Waves<T>,
}

/// An entry of the packed matrix with the coefficient that belongs there.
#[derive(Clone, Copy, Debug)]
struct Entry<T = f64> {
    slot: usize,
    value: T,
}

/// The row of a current through an inductance that saturates: its linear part times `1 + (i / saturation)²`.
#[derive(Clone, Debug)]
struct Saturating<T = f64> {
    row: usize,
    per_a2: T,
    own: usize,
    entries: Vec<Entry<T>>,
}

/// The rows and entries of one device.
#[derive(Clone, Debug)]
struct DevicePlace<T = f64> {
    slots: DeviceSlots,
    ambient_c: T,
    /// One over the heat capacity of the junction node.
    kelvins_per_joule: T,
    /// The current into the device as entries of its voltage row, to be divided by the capacitance.
    entries: Vec<Entry<T>>,
}

/// Where the rows and entries of one device stand.
#[derive(Clone, Copy, Debug, PartialEq)]
struct DeviceSlots {
    voltage: usize,
    /// Current through the lead inductance.
    lead: Option<usize>,
    inner: [usize; MAX_INNER],
    inner_count: usize,
    junction: Option<usize>,
    own: usize,
    by_junction: usize,
    by_inner: [usize; MAX_INNER],
    inner_by_voltage: [usize; MAX_INNER],
    inner_by_self: [usize; MAX_INNER],
    inner_by_other: [usize; MAX_INNER],
    inner_by_junction: [usize; MAX_INNER],
    heat_by_voltage: usize,
    heat_by_self: usize,
    heat_by_inner: [usize; MAX_INNER],
}

/// A device's law at one state vector.
#[derive(Clone, Copy, Debug, Default)]
pub struct DevicePoint<T = f64> {
    point: Point<T>,
    volts: T,
    /// Current that charges the device's capacitance, in amperes.
    charging_a: T,
}

impl<T: Lane> DevicePoint<T> {
    /// Slope of the conduction in siemens.
    #[inline(always)]
    pub fn siemens(&self) -> T {
        self.point.conduction.per_volt
    }

    /// Power in watts that the conduction turns into heat.
    #[inline(always)]
    pub fn watts(&self) -> T {
        self.volts * self.point.conduction.amps
    }
}

/// `M y' = f(t, y)` in the order of elimination, of one circuit or of several that differ by numbers alone, one per lane.
#[derive(Clone, Debug)]
pub struct Flat<T = f64> {
    /// Law of each device, lane by lane.
    laws: Vec<Vec<Law>>,
    banks: Vec<Bank<T>>,
    /// Whether each device is the port's.
    in_port: Vec<bool>,
    place: Vec<usize>,
    kinds: Vec<StateKind>,
    dynamic: Vec<bool>,
    row_start: Vec<usize>,
    columns: Vec<usize>,
    coefficients: Vec<T>,
    constant: Vec<T>,
    drives: Vec<Drive<T>>,
    saturating: Vec<Saturating<T>>,
    devices: Vec<DevicePlace<T>>,
    /// Constant entries of `−J`.
    base: Vec<T>,
    diagonal: Vec<usize>,
    stored: StoredForm<T>,
    forms: Forms<T>,
}

impl Flat {
    /// State vector and discrete states before the stress.
    pub fn initial(&self, equations: &Equations) -> (Vec<f64>, Vec<State>) {
        let (y, states) = equations.initial();
        let mut here = vec![0.0; y.len()];
        for (value, &place) in y.iter().zip(&self.place) {
            here[place] = *value;
        }
        (here, states)
    }
}

impl<T: Lane> Flat<T> {
    /// Number of state variables.
    pub fn len(&self) -> usize {
        self.place.len()
    }

    /// True for a circuit without states.
    pub fn is_empty(&self) -> bool {
        self.place.is_empty()
    }

    /// Number of devices.
    pub fn devices(&self) -> usize {
        self.devices.len()
    }

    /// Where each state of [`Equations`] stands here.
    pub fn place(&self) -> &[usize] {
        &self.place
    }

    /// What each state variable is.
    pub fn kinds(&self) -> &[StateKind] {
        &self.kinds
    }

    /// The diagonal of `M`.
    pub fn dynamic(&self) -> &[bool] {
        &self.dynamic
    }

    /// Places of the diagonal in the packed matrix.
    pub fn diagonal(&self) -> &[usize] {
        &self.diagonal
    }

    /// What is read off the circuit.
    pub fn forms(&self) -> &Forms<T> {
        &self.forms
    }

    /// A state vector in the order of [`Equations`].
    pub fn in_order(&self, y: &[f64]) -> Vec<f64> {
        self.place.iter().map(|&place| y[place]).collect()
    }

    /// Right-hand side `f(t, y)`, leaving each device's law in `points`.
    pub fn rhs(&self, t_s: T, y: &[T], modes: &[Modes<T>], points: &mut [DevicePoint<T>], out: &mut [T]) {
        T::work(Rhs {
            flat: self,
            t_s,
            y,
            modes,
            points,
            out,
        });
    }

    /// Time derivative of the right-hand side at fixed `y`: adds `factor ∂f/∂t` to `out`.
    #[inline(always)]
    pub fn add_rhs_per_time(&self, slopes: &[T], factor: T, out: &mut [T]) {
        for (drive, slope) in self.drives.iter().zip(slopes) {
            out[drive.row] += factor * *slope;
        }
    }

    /// Source voltages that states carry: the state, and what it has to be at each lane's time, in volts.
    #[inline(always)]
    pub fn carried(&self, t_s: T) -> impl Iterator<Item = (usize, T)> {
        let drives = self.drives.iter().filter(|drive| !self.dynamic[drive.row]);
        drives.map(move |drive| (drive.row, drive.factor * drive.wave.value(t_s)))
    }

    /// How many rows a source drives.
    pub fn drives(&self) -> usize {
        self.drives.len()
    }

    /// Time derivatives of what the sources add to their rows.
    #[inline(always)]
    pub fn slopes(&self, t_s: T, slopes: &mut [T]) {
        for (drive, slope) in self.drives.iter().zip(slopes) {
            *slope = drive.factor * drive.wave.slope(t_s);
        }
    }

    /// The packed matrix `−∂f/∂y` where [`Flat::rhs`] has just left `points`.
    #[inline(always)]
    pub fn negative_jacobian(&self, y: &[T], f: &[T], points: &[DevicePoint<T>], out: &mut [T]) {
        let one = T::splat(1.0);
        out.copy_from_slice(&self.base);
        for coil in &self.saturating {
            let amps = y[coil.row];
            let gain = one + coil.per_a2 * amps * amps;
            for entry in &coil.entries {
                out[entry.slot] += gain * entry.value;
            }
            out[coil.own] -= f[coil.row] / gain * T::splat(2.0) * coil.per_a2 * amps;
        }
        for (device, at) in self.devices.iter().zip(points) {
            let slots = &device.slots;
            let (point, conduction) = (&at.point, &at.point.conduction);
            let per_farad = one / point.farads;
            for entry in &device.entries {
                T::one_by_one();
                out[entry.slot] += entry.value * per_farad;
            }
            out[slots.own] +=
                (conduction.per_volt + at.charging_a * point.farads_per_volt * per_farad) * per_farad;
            for j in 0..slots.inner_count {
                let rate = &point.rates[j];
                out[slots.by_inner[j]] += conduction.per_inner[j] * per_farad;
                out[slots.inner_by_self[j]] -= rate.per_self;
                out[slots.inner_by_voltage[j]] -= rate.per_volt;
                if slots.inner_count == 2 {
                    out[slots.inner_by_other[j]] -= rate.per_other;
                }
            }
            if slots.junction.is_none() {
                continue;
            }
            let heat = device.kelvins_per_joule;
            out[slots.by_junction] += conduction.per_kelvin * per_farad;
            out[slots.heat_by_voltage] -= heat * (conduction.amps + at.volts * conduction.per_volt);
            out[slots.heat_by_self] -= heat * at.volts * conduction.per_kelvin;
            for j in 0..slots.inner_count {
                out[slots.inner_by_junction[j]] -= point.rates[j].per_kelvin;
                out[slots.heat_by_inner[j]] -= heat * at.volts * conduction.per_inner[j];
            }
        }
    }

    /// Change in watts of a device's heat along the change `direction` of the state vector, to first order.
    #[inline(always)]
    pub fn watts_along(&self, k: usize, at: &DevicePoint<T>, direction: &[T]) -> T {
        let slots = &self.devices[k].slots;
        let conduction = &at.point.conduction;
        let mut amps = conduction.per_volt * direction[slots.voltage];
        if let Some(junction) = slots.junction {
            amps += conduction.per_kelvin * direction[junction];
        }
        for j in 0..slots.inner_count {
            amps += conduction.per_inner[j] * direction[slots.inner[j]];
        }
        conduction.amps * direction[slots.voltage] + at.volts * amps
    }

    /// The conditions that would end the discrete state of device `k` in one lane, at the state variables that `value`
    /// gives.
    pub fn watches(
        &self,
        lane: usize,
        k: usize,
        value: impl Fn(usize) -> f64,
        state: State,
    ) -> [Option<Watch>; MAX_EVENTS] {
        let bias = self.devices[k].bias_in(lane, value);
        let law = &self.laws[lane][k];
        let amps = if law.watches_current() {
            law.conduction(state, &bias).amps
        } else {
            0.0
        };
        law.watches(state, &bias, amps)
    }

    /// Carries out the change of state that watch `watch` of device `k` of one lane stands for.
    pub fn switch(&self, lane: usize, k: usize, watch: usize, y: &mut [T], state: &mut State) {
        let bias = self.devices[k].bias_in(lane, |row| y[row].lane(lane));
        let law = &self.laws[lane][k];
        let amps = law.conduction(*state, &bias).amps;
        let (next, inner) = law.after(*state, &bias, amps, watch);
        let slots = &self.devices[k].slots;
        for (&row, value) in slots.inner[..slots.inner_count].iter().zip(inner) {
            y[row].set(lane, value);
        }
        *state = next;
    }
}

struct Rhs<'a, T> {
    flat: &'a Flat<T>,
    t_s: T,
    y: &'a [T],
    modes: &'a [Modes<T>],
    points: &'a mut [DevicePoint<T>],
    out: &'a mut [T],
}

impl<T: Lane> Job for Rhs<'_, T> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let Rhs {
            flat,
            t_s,
            y,
            modes,
            points,
            out,
        } = self;
        let mut from = flat.row_start[0];
        for (row, out) in out.iter_mut().enumerate() {
            let to = flat.row_start[row + 1];
            let mut sum = flat.constant[row];
            for (&column, &coefficient) in flat.columns[from..to].iter().zip(&flat.coefficients[from..to]) {
                T::one_by_one();
                sum += coefficient * y[column];
            }
            *out = sum;
            from = to;
        }
        for drive in &flat.drives {
            out[drive.row] += drive.factor * drive.wave.value(t_s);
        }
        for coil in &flat.saturating {
            let amps = y[coil.row];
            out[coil.row] = out[coil.row] * (T::splat(1.0) + coil.per_a2 * amps * amps);
        }
        for (k, device) in flat.devices.iter().enumerate() {
            let (slots, at) = (&device.slots, &mut points[k]);
            let bias = device.bias(y);
            flat.banks[k].point(&modes[k], &bias, &mut at.point);
            at.volts = bias.volts;
            at.charging_a = out[slots.voltage] - at.point.conduction.amps;
            out[slots.voltage] = at.charging_a / at.point.farads;
            for j in 0..slots.inner_count {
                out[slots.inner[j]] = at.point.rates[j].per_s;
            }
            if let Some(junction) = slots.junction {
                out[junction] += at.watts() * device.kelvins_per_joule;
            }
        }
    }
}

impl<T: Lane> DevicePlace<T> {
    #[inline(always)]
    fn bias(&self, y: &[T]) -> Bias<T> {
        let slots = &self.slots;
        let mut inner = [T::default(); MAX_INNER];
        for (inner, &row) in inner.iter_mut().zip(&slots.inner[..slots.inner_count]) {
            *inner = y[row];
        }
        Bias {
            volts: y[slots.voltage],
            junction_c: slots.junction.map_or(self.ambient_c, |row| y[row]),
            inner,
        }
    }

    fn bias_in(&self, lane: usize, value: impl Fn(usize) -> f64) -> Bias {
        let slots = &self.slots;
        let mut inner = [0.0; MAX_INNER];
        for (inner, &row) in inner.iter_mut().zip(&slots.inner[..slots.inner_count]) {
            *inner = value(row);
        }
        Bias {
            volts: value(slots.voltage),
            junction_c: slots.junction.map_or(self.ambient_c.lane(lane), &value),
            inner,
        }
    }
}
