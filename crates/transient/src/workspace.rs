//! Buffers of the integrator.

use tidewall_devices::law::Modes;
use tidewall_ladder::{DevicePoint, Equations, Flat, Layout, Probe};
use tidewall_lanes::{Lane, Pack};

use crate::cubic::Cubic;
use crate::lu::Symbolic;
use crate::method::{Dense, STAGES};
use crate::problem::Options;
use crate::weights::Weights;

/// Corners in one bundle: one register of the widest kind that processors have.
pub(crate) const LANES: usize = 8;

/// Everything the integrator needs besides the circuits: the order of elimination and buffers.
///
/// The order of elimination is kept when the next circuit has the same pattern, as the corners of one port have.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    pub(crate) plan: Plan,
    pub(crate) single: Buffers<f64>,
    pub(crate) bundle: Buffers<Pack<LANES>>,
}

/// The order of elimination of one pattern of equations.
#[derive(Clone, Debug, Default)]
pub(crate) struct Plan {
    pub(crate) symbolic: Symbolic,
    places: Vec<(usize, usize)>,
    /// Slots of the rows of dynamic states.
    pub(crate) dynamic_slots: Vec<usize>,
}

impl Workspace {
    /// Buffers and elimination order for a circuit.
    pub fn new(equations: &Equations) -> Workspace {
        Workspace {
            plan: Plan::new(equations, pattern(equations)),
            single: Buffers::default(),
            bundle: Buffers::default(),
        }
    }

    /// Makes the workspace that of another circuit.
    pub fn set(&mut self, equations: &Equations) {
        if !self.plan.is_of(equations) {
            self.plan = Plan::new(equations, pattern(equations));
        }
    }
}

impl Plan {
    fn new(equations: &Equations, places: Vec<(usize, usize)>) -> Plan {
        let symbolic = Symbolic::new(equations.len(), &places);
        let mut dynamic_slots: Vec<usize> = places
            .iter()
            .filter(|&&(row, _)| equations.dynamic()[row])
            .map(|&(row, column)| symbolic.slot(symbolic.place(row), symbolic.place(column)))
            .collect();
        dynamic_slots.sort_unstable();
        dynamic_slots.dedup();
        Plan {
            symbolic,
            places,
            dynamic_slots,
        }
    }

    /// True for equations of the same pattern.
    pub(crate) fn is_of(&self, equations: &Equations) -> bool {
        equations.len() == self.symbolic.len() && pattern(equations) == self.places
    }
}

fn pattern(equations: &Equations) -> Vec<(usize, usize)> {
    let (y, states) = equations.initial();
    let mut places = Vec::with_capacity(8 * y.len());
    equations.jacobian(&y, &states, |row, column, _| places.push((row, column)));
    places
}

/// What the steps of one bundle work on.
#[derive(Clone, Debug, Default)]
pub(crate) struct Buffers<T> {
    pub(crate) y: Vec<T>,
    pub(crate) modes: Vec<Modes<T>>,
    /// One for dynamic states, zero for algebraic ones.
    pub(crate) mass: Vec<T>,
    pub(crate) jacobian: Vec<T>,
    pub(crate) matrix: Vec<T>,
    pub(crate) f: Vec<T>,
    pub(crate) slopes: Vec<T>,
    /// Device laws at the start of the step, and at a stage.
    pub(crate) points: Vec<DevicePoint<T>>,
    pub(crate) stage_points: Vec<DevicePoint<T>>,
    pub(crate) stages: [Vec<T>; STAGES],
    pub(crate) argument: Vec<T>,
    pub(crate) dense: Dense<T>,
    /// Heat of each device's conduction, as one more state beside those of the circuit: stages and dense output.
    pub(crate) heat_stages: [Vec<T>; STAGES],
    pub(crate) heat: Dense<T>,
    pub(crate) weights: Weights<T>,
    /// Linear forms of the circuit within the step, then the probes.
    pub(crate) cubics: Vec<Cubic<T>>,
    /// Heat in joules, integral of the squared current and charge of each element in the step.
    pub(crate) step: Vec<[T; 3]>,
    /// Current of each element at the inner points of the step and its end.
    pub(crate) samples: Vec<[T; 4]>,
    pub(crate) single: Single,
}

/// What is worked out for one lane alone.
#[derive(Clone, Debug, Default)]
pub(crate) struct Single {
    pub(crate) y: Vec<f64>,
    pub(crate) f: Vec<f64>,
    pub(crate) matrix: Vec<f64>,
    pub(crate) points: Vec<DevicePoint>,
    pub(crate) modes: Vec<Modes<f64>>,
}

impl<T: Lane> Buffers<T> {
    /// Makes room for circuits like `flat`.
    pub(crate) fn fit(&mut self, flat: &Flat<T>, plan: &Plan, probes: &[Probe], options: &Options) {
        let (n, devices, slots) = (flat.len(), flat.devices(), plan.symbolic.slots());
        let (zero, forms) = (T::default(), flat.forms());
        let states = [&mut self.y, &mut self.f, &mut self.argument];
        for buffer in states.into_iter().chain(&mut self.stages) {
            buffer.clear();
            buffer.resize(n, zero);
        }
        for buffer in [&mut self.jacobian, &mut self.matrix] {
            buffer.clear();
            buffer.resize(slots, zero);
        }
        for buffer in &mut self.heat_stages {
            buffer.clear();
            buffer.resize(devices, zero);
        }
        self.mass.clear();
        let mass = |&dynamic: &bool| T::splat(f64::from(u8::from(dynamic)));
        self.mass.extend(flat.dynamic().iter().map(mass));
        self.weights.fit(flat, probes, options);
        self.slopes.resize(flat.drives(), zero);
        self.points.resize(devices, DevicePoint::default());
        self.stage_points.resize(devices, DevicePoint::default());
        self.modes.resize(devices, Modes::default());
        if self.dense.from.len() != n {
            self.dense = Dense::new(n);
        }
        if self.heat.from.len() != devices {
            self.heat = Dense::new(devices);
        }
        self.cubics.resize(forms.len() + probes.len(), Cubic::default());
        self.step.resize(forms.elements(), [zero; 3]);
        self.samples.resize(forms.elements(), [zero; 4]);
        let single = &mut self.single;
        single.y.resize(n, 0.0);
        single.f.resize(n, 0.0);
        single.matrix.resize(slots, 0.0);
        single.points.resize(devices, DevicePoint::default());
        single.modes.resize(devices, Modes::default());
    }
}
