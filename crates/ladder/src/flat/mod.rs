//! The equations of one circuit laid out for speed.
//!
//! [`Equations`] is the readable form; this one holds the same numbers in the order in which the integrator wants them:
//! states in the order of elimination, the linear part as rows of coefficients, each device's law evaluated once per
//! state, the Jacobian's entries as numbers of places in the packed matrix. Everything that is read off a circuit
//! (voltages, currents) is a linear form of the state vector.

mod compile;
mod forms;
mod stored;

use tidewall_devices::Law;
use tidewall_devices::law::{Bias, MAX_EVENTS, MAX_INNER, Point, State, Watch};
use tidewall_stress::Waveform;

use crate::equations::{Equations, StateKind};

pub use compile::Layout;
pub use forms::{Emf, Flow, Forms, Source};
use stored::StoredForm;

/// A source that drives one row.
#[derive(Clone, Debug)]
struct Drive {
    row: usize,
    factor: f64,
    wave: Waveform,
}

/// An entry of the packed matrix with the coefficient that belongs there.
#[derive(Clone, Copy, Debug)]
struct Entry {
    slot: usize,
    value: f64,
}

/// The row of a current through an inductance that saturates: its linear part times `1 + (i / saturation)²`.
#[derive(Clone, Debug)]
struct Saturating {
    row: usize,
    per_a2: f64,
    own: usize,
    entries: Vec<Entry>,
}

/// The rows and entries of one device.
#[derive(Clone, Debug)]
struct DevicePlace {
    voltage: usize,
    /// Current through the lead inductance.
    lead: Option<usize>,
    inner: [usize; MAX_INNER],
    inner_count: usize,
    junction: Option<usize>,
    ambient_c: f64,
    /// One over the heat capacity of the junction node.
    kelvins_per_joule: f64,
    /// The current into the device as entries of its voltage row, to be divided by the capacitance.
    entries: Vec<Entry>,
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
pub struct DevicePoint {
    point: Point,
    volts: f64,
    /// Current that charges the device's capacitance, in amperes.
    charging_a: f64,
}

impl DevicePoint {
    /// Slope of the conduction in siemens.
    pub fn siemens(&self) -> f64 {
        self.point.conduction.per_volt
    }

    /// Power in watts that the conduction turns into heat.
    pub fn watts(&self) -> f64 {
        self.volts * self.point.conduction.amps
    }
}

/// `M y' = f(t, y)` in the order of elimination.
#[derive(Clone, Debug)]
pub struct Flat {
    /// Law of each device, and whether it is the port's.
    laws: Vec<(Law, bool)>,
    place: Vec<usize>,
    kinds: Vec<StateKind>,
    dynamic: Vec<bool>,
    row_start: Vec<usize>,
    columns: Vec<usize>,
    coefficients: Vec<f64>,
    constant: Vec<f64>,
    drives: Vec<Drive>,
    saturating: Vec<Saturating>,
    devices: Vec<DevicePlace>,
    /// Constant entries of `−J`.
    base: Vec<f64>,
    diagonal: Vec<usize>,
    stored: StoredForm,
    forms: Forms,
}

impl Flat {
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
    pub fn forms(&self) -> &Forms {
        &self.forms
    }

    /// State vector and discrete states before the stress.
    pub fn initial(&self, equations: &Equations) -> (Vec<f64>, Vec<State>) {
        let (y, states) = equations.initial();
        let mut here = vec![0.0; y.len()];
        for (value, &place) in y.iter().zip(&self.place) {
            here[place] = *value;
        }
        (here, states)
    }

    /// A state vector in the order of [`Equations`].
    pub fn in_order(&self, y: &[f64]) -> Vec<f64> {
        self.place.iter().map(|&place| y[place]).collect()
    }

    /// Right-hand side `f(t, y)`, leaving each device's law in `points`.
    pub fn rhs(&self, t_s: f64, y: &[f64], states: &[State], points: &mut [DevicePoint], out: &mut [f64]) {
        let mut from = self.row_start[0];
        for (row, out) in out.iter_mut().enumerate() {
            let to = self.row_start[row + 1];
            let mut sum = self.constant[row];
            for (&column, &coefficient) in self.columns[from..to].iter().zip(&self.coefficients[from..to]) {
                sum += coefficient * y[column];
            }
            *out = sum;
            from = to;
        }
        for drive in &self.drives {
            out[drive.row] += drive.factor * drive.wave.value(t_s);
        }
        for coil in &self.saturating {
            let amps = y[coil.row];
            out[coil.row] *= 1.0 + coil.per_a2 * amps * amps;
        }
        for (k, device) in self.devices.iter().enumerate() {
            let bias = self.bias(k, y);
            let point = self.laws[k].0.point(states[k], &bias);
            let charging_a = out[device.voltage] - point.conduction.amps;
            out[device.voltage] = charging_a / point.farads;
            for j in 0..device.inner_count {
                out[device.inner[j]] = point.rates[j].per_s;
            }
            let at = DevicePoint {
                point,
                volts: bias.volts,
                charging_a,
            };
            if let Some(junction) = device.junction {
                out[junction] += at.watts() * device.kelvins_per_joule;
            }
            points[k] = at;
        }
    }

    /// Time derivative of the right-hand side at fixed `y`: adds `factor ∂f/∂t` to `out`.
    pub fn add_rhs_per_time(&self, slopes: &[f64], factor: f64, out: &mut [f64]) {
        for (drive, slope) in self.drives.iter().zip(slopes) {
            out[drive.row] += factor * slope;
        }
    }

    /// Source voltages that states carry: the state, and what it has to be at a time, in volts.
    pub fn carried(&self, t_s: f64) -> impl Iterator<Item = (usize, f64)> {
        let drives = self.drives.iter().filter(|drive| !self.dynamic[drive.row]);
        drives.map(move |drive| (drive.row, drive.factor * drive.wave.value(t_s)))
    }

    /// How many rows a source drives.
    pub fn drives(&self) -> usize {
        self.drives.len()
    }

    /// Time derivatives of what the sources add to their rows.
    pub fn slopes(&self, t_s: f64, slopes: &mut [f64]) {
        for (drive, slope) in self.drives.iter().zip(slopes) {
            *slope = drive.factor * drive.wave.slope(t_s);
        }
    }

    /// The packed matrix `−∂f/∂y` where [`Flat::rhs`] has just left `points`.
    pub fn negative_jacobian(&self, y: &[f64], f: &[f64], points: &[DevicePoint], out: &mut [f64]) {
        out.copy_from_slice(&self.base);
        for coil in &self.saturating {
            let amps = y[coil.row];
            let gain = 1.0 + coil.per_a2 * amps * amps;
            for entry in &coil.entries {
                out[entry.slot] += gain * entry.value;
            }
            out[coil.own] -= f[coil.row] / gain * 2.0 * coil.per_a2 * amps;
        }
        for (device, at) in self.devices.iter().zip(points) {
            let (point, conduction) = (&at.point, &at.point.conduction);
            let per_farad = 1.0 / point.farads;
            for entry in &device.entries {
                out[entry.slot] += entry.value * per_farad;
            }
            out[device.own] +=
                (conduction.per_volt + at.charging_a * point.farads_per_volt * per_farad) * per_farad;
            for j in 0..device.inner_count {
                let rate = &point.rates[j];
                out[device.by_inner[j]] += conduction.per_inner[j] * per_farad;
                out[device.inner_by_self[j]] -= rate.per_self;
                out[device.inner_by_voltage[j]] -= rate.per_volt;
                if device.inner_count == 2 {
                    out[device.inner_by_other[j]] -= rate.per_other;
                }
            }
            if device.junction.is_none() {
                continue;
            }
            let heat = device.kelvins_per_joule;
            out[device.by_junction] += conduction.per_kelvin * per_farad;
            out[device.heat_by_voltage] -= heat * (conduction.amps + at.volts * conduction.per_volt);
            out[device.heat_by_self] -= heat * at.volts * conduction.per_kelvin;
            for j in 0..device.inner_count {
                out[device.inner_by_junction[j]] -= point.rates[j].per_kelvin;
                out[device.heat_by_inner[j]] -= heat * at.volts * conduction.per_inner[j];
            }
        }
    }

    /// Change in watts of a device's heat along the change `direction` of the state vector, to first order.
    pub fn watts_along(&self, k: usize, at: &DevicePoint, direction: &[f64]) -> f64 {
        let device = &self.devices[k];
        let conduction = &at.point.conduction;
        let mut amps = conduction.per_volt * direction[device.voltage];
        if let Some(junction) = device.junction {
            amps += conduction.per_kelvin * direction[junction];
        }
        for j in 0..device.inner_count {
            amps += conduction.per_inner[j] * direction[device.inner[j]];
        }
        conduction.amps * direction[device.voltage] + at.volts * amps
    }

    fn bias(&self, k: usize, y: &[f64]) -> Bias {
        self.bias_by(k, |row| y[row])
    }

    fn bias_by(&self, k: usize, value: impl Fn(usize) -> f64) -> Bias {
        let device = &self.devices[k];
        let mut inner = [0.0; MAX_INNER];
        for (inner, &row) in inner.iter_mut().zip(&device.inner[..device.inner_count]) {
            *inner = value(row);
        }
        Bias {
            volts: value(device.voltage),
            junction_c: device.junction.map_or(device.ambient_c, &value),
            inner,
        }
    }

    /// The conditions that would end the discrete state of device `k`, at the state variables that `value` gives.
    pub fn watches(
        &self,
        k: usize,
        value: impl Fn(usize) -> f64,
        state: State,
    ) -> [Option<Watch>; MAX_EVENTS] {
        let bias = self.bias_by(k, value);
        let law = &self.laws[k].0;
        let amps = if law.watches_current() {
            law.conduction(state, &bias).amps
        } else {
            0.0
        };
        law.watches(state, &bias, amps)
    }

    /// Carries out the change of state that watch `watch` of device `k` stands for.
    pub fn switch(&self, k: usize, watch: usize, y: &mut [f64], state: &mut State) {
        let bias = self.bias(k, y);
        let law = &self.laws[k].0;
        let amps = law.conduction(*state, &bias).amps;
        let (next, inner) = law.after(*state, &bias, amps, watch);
        let device = &self.devices[k];
        for (&row, value) in device.inner[..device.inner_count].iter().zip(inner) {
            y[row] = value;
        }
        *state = next;
    }
}
