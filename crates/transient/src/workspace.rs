//! Buffers of the integrator.

use tidewall_ladder::{DevicePoint, Equations, Flat, Layout};

use crate::cubic::Cubic;
use crate::lu::Symbolic;
use crate::method::{Dense, STAGES};
use crate::weights::Weights;

/// Everything the integrator needs of one circuit: its equations laid out flat, the order of elimination, buffers.
///
/// The order of elimination is kept when the next circuit has the same pattern, as the corners of one port have.
#[derive(Clone, Debug)]
pub struct Workspace {
    pub(crate) symbolic: Symbolic,
    places: Vec<(usize, usize)>,
    pub(crate) flat: Flat,
    /// Slots of the rows of dynamic states.
    pub(crate) dynamic_slots: Vec<usize>,
    /// One for dynamic states, zero for algebraic ones.
    pub(crate) mass: Vec<f64>,
    pub(crate) jacobian: Vec<f64>,
    pub(crate) matrix: Vec<f64>,
    pub(crate) f: Vec<f64>,
    pub(crate) slopes: Vec<f64>,
    /// Device laws at the start of the step, and at a stage.
    pub(crate) points: Vec<DevicePoint>,
    pub(crate) stage_points: Vec<DevicePoint>,
    pub(crate) stages: [Vec<f64>; STAGES],
    pub(crate) argument: Vec<f64>,
    pub(crate) dense: Dense,
    /// Heat of each device's conduction, as one more state beside those of the circuit: stages and dense output.
    pub(crate) heat_stages: [Vec<f64>; STAGES],
    pub(crate) heat: Dense,
    pub(crate) weights: Weights,
    /// Linear forms of the circuit within the step, then the probes.
    pub(crate) cubics: Vec<Cubic>,
    /// Heat in joules, integral of the squared current and charge of each element in the step.
    pub(crate) step: Vec<[f64; 3]>,
}

impl Workspace {
    /// Buffers and elimination order for a circuit.
    pub fn new(equations: &Equations) -> Workspace {
        let places = pattern(equations);
        let symbolic = Symbolic::new(equations.len(), &places);
        Workspace::with(equations, places, symbolic)
    }

    /// Makes the workspace that of another circuit.
    pub fn set(&mut self, equations: &Equations) {
        let places = pattern(equations);
        if places == self.places && equations.len() == self.symbolic.len() {
            // The same elimination with other values; buffers keep their sizes.
            self.flat = Flat::new(equations, &self.symbolic);
            self.size();
        } else {
            *self = Workspace::new(equations);
        }
    }

    fn with(equations: &Equations, places: Vec<(usize, usize)>, symbolic: Symbolic) -> Workspace {
        let n = equations.len();
        let flat = Flat::new(equations, &symbolic);
        let slots = symbolic.slots();
        let zeros = || vec![0.0; n];
        let mut dynamic_slots: Vec<usize> = places
            .iter()
            .filter(|&&(row, _)| equations.dynamic()[row])
            .map(|&(row, column)| symbolic.slot(symbolic.place(row), symbolic.place(column)))
            .collect();
        dynamic_slots.sort_unstable();
        dynamic_slots.dedup();
        let mut made = Workspace {
            mass: flat.dynamic().iter().map(|&d| f64::from(u8::from(d))).collect(),
            symbolic,
            places,
            flat,
            dynamic_slots,
            jacobian: vec![0.0; slots],
            matrix: vec![0.0; slots],
            f: zeros(),
            slopes: Vec::new(),
            points: Vec::new(),
            stage_points: Vec::new(),
            stages: std::array::from_fn(|_| zeros()),
            argument: zeros(),
            dense: Dense::new(n),
            heat_stages: Default::default(),
            heat: Dense::new(0),
            weights: Weights::default(),
            cubics: Vec::new(),
            step: Vec::new(),
        };
        made.size();
        made
    }

    fn size(&mut self) {
        let devices = self.flat.devices();
        self.slopes.resize(self.flat.drives(), 0.0);
        self.points.resize(devices, DevicePoint::default());
        self.stage_points.resize(devices, DevicePoint::default());
        for stage in &mut self.heat_stages {
            stage.resize(devices, 0.0);
        }
        if self.heat.from.len() != devices {
            self.heat = Dense::new(devices);
        }
        self.step.resize(self.flat.forms().elements(), [0.0; 3]);
        self.weights = Weights::new(&self.flat);
    }
}

fn pattern(equations: &Equations) -> Vec<(usize, usize)> {
    let (y, states) = equations.initial();
    let mut places = Vec::with_capacity(8 * y.len());
    equations.jacobian(&y, &states, |row, column, _| places.push((row, column)));
    places
}
