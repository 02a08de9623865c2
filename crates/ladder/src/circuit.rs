//! The circuit a port and a generator make together.

use tidewall_devices::{Law, ThermalLadder};
use tidewall_stress::Waveform;

/// Why a circuit cannot be simulated.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LadderError {
    /// A branch has neither resistance nor inductance.
    #[error("`{0}` has neither resistance nor inductance: a loop of zero ohms has no solution")]
    ZeroBranch(String),
    /// A value is negative, infinite or not a number.
    #[error("`{element}`: {quantity} must be a finite number {bound}, got {value}")]
    Value {
        /// The element.
        element: String,
        /// Which of its quantities.
        quantity: &'static str,
        /// What it must be.
        bound: &'static str,
        /// What it is.
        value: f64,
    },
    /// A node that only inductances reach and that has no capacitance.
    #[error("node `{0}` is reached by inductances only and has no capacitance")]
    FloatingNode(String),
    /// The ladder has a second-conductor element on a port with one conductor, or similar.
    #[error("`{0}` refers to a second conductor, but the port has one")]
    NoSecondConductor(String),
    /// The generator drives a conductor that the port does not have.
    #[error("the stress drives conductor {0}, but the port has {1}")]
    NoConductor(usize, usize),
}

/// On which side of the connector an element stands; the energy audit keeps the two apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Generator, coupling and the port's own supply.
    Generator,
    /// The ladder and the pin.
    Port,
}

/// A node; its voltage is counted from earth.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Name for messages and traces.
    pub name: String,
    /// Capacitance to earth in farads; zero makes the node's equation algebraic.
    pub capacitance_f: f64,
    /// Voltage before the stress in volts.
    pub initial_v: f64,
    /// Side of the connector.
    pub side: Side,
}

/// Inductance with saturation: incremental `L(i) = L0 / (1 + (i / Isat)²)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inductance {
    /// Inductance at small current in henries.
    pub henries: f64,
    /// Current in amperes at which the incremental inductance has halved; `None` for an air path.
    pub saturation_a: Option<f64>,
}

impl Inductance {
    /// An inductance that does not saturate.
    pub fn linear(henries: f64) -> Inductance {
        Inductance {
            henries,
            saturation_a: None,
        }
    }

    /// Incremental inductance in henries at a current, and its derivative in H/A.
    pub fn incremental(&self, amps: f64) -> (f64, f64) {
        match self.saturation_a {
            None => (self.henries, 0.0),
            Some(saturation) => {
                let x = amps / saturation;
                let l = self.henries / (1.0 + x * x);
                (l, -2.0 * x / saturation * l / (1.0 + x * x))
            }
        }
    }

    /// Energy in joules held at a current: the integral of `L(i) i di`.
    pub fn stored_j(&self, amps: f64) -> f64 {
        match self.saturation_a {
            None => 0.5 * self.henries * amps * amps,
            Some(saturation) => {
                0.5 * self.henries * saturation * saturation * (amps / saturation).powi(2).ln_1p()
            }
        }
    }
}

/// Linear series branch between two nodes (`None` is earth).
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// Name for messages and traces.
    pub name: String,
    /// Node the current leaves.
    pub from: Option<usize>,
    /// Node the current enters.
    pub to: Option<usize>,
    /// Resistance in ohms.
    pub resistance_ohm: f64,
    /// Inductance.
    pub inductance: Inductance,
    /// Series capacitor: farads, initial volts.
    pub capacitor: Option<(f64, f64)>,
    /// Current before the stress in amperes (inductive branches).
    pub initial_a: f64,
    /// Source voltage driving current from → to.
    pub emf: Option<Waveform>,
    /// Side of the connector.
    pub side: Side,
}

/// A device in series with its lead inductance and resistance, between two nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Device {
    /// Name for messages and traces.
    pub name: String,
    /// Node at the positive side.
    pub from: Option<usize>,
    /// Node at the negative side.
    pub to: Option<usize>,
    /// Conduction, capacitance, switching.
    pub law: Law,
    /// Heating of the junction.
    pub thermal: ThermalLadder,
    /// Ambient temperature in °C.
    pub ambient_c: f64,
    /// Linear series resistance in ohms.
    pub series_ohm: f64,
    /// Inductance of leads and package in henries.
    pub lead_h: f64,
    /// Conductance in siemens across lead and series resistance: the losses of the path at high frequency. Only with a
    /// lead inductance.
    pub loss_s: f64,
    /// Voltage across the device before the stress in volts.
    pub initial_v: f64,
    /// Side of the connector.
    pub side: Side,
}

/// Nodes, branches and devices.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Circuit {
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Linear branches.
    pub branches: Vec<Branch>,
    /// Devices.
    pub devices: Vec<Device>,
}

impl Circuit {
    /// Adds a node and returns its number.
    pub fn node(&mut self, name: impl Into<String>, capacitance_f: f64, initial_v: f64, side: Side) -> usize {
        self.nodes.push(Node {
            name: name.into(),
            capacitance_f,
            initial_v,
            side,
        });
        self.nodes.len() - 1
    }

    /// Checks every value and that the equations will have a solution.
    pub fn validate(&self) -> Result<(), LadderError> {
        let at_least_zero = |element: &str, quantity, value: f64| {
            if value.is_finite() && value >= 0.0 {
                Ok(())
            } else {
                Err(LadderError::Value {
                    element: element.into(),
                    quantity,
                    bound: "of zero or more",
                    value,
                })
            }
        };
        let above_zero = |element: &str, quantity, value: f64| {
            if value.is_finite() && value > 0.0 {
                Ok(())
            } else {
                Err(LadderError::Value {
                    element: element.into(),
                    quantity,
                    bound: "above zero",
                    value,
                })
            }
        };
        let mut held = vec![false; self.nodes.len()];
        for (k, node) in self.nodes.iter().enumerate() {
            at_least_zero(&node.name, "capacitance in F", node.capacitance_f)?;
            held[k] = node.capacitance_f > 0.0;
        }
        for branch in &self.branches {
            at_least_zero(&branch.name, "resistance in Ω", branch.resistance_ohm)?;
            at_least_zero(&branch.name, "inductance in H", branch.inductance.henries)?;
            if let Some(saturation) = branch.inductance.saturation_a {
                above_zero(&branch.name, "saturation current in A", saturation)?;
            }
            if let Some((farads, _)) = branch.capacitor {
                above_zero(&branch.name, "capacitance in F", farads)?;
            }
            if branch.inductance.henries == 0.0 {
                if branch.resistance_ohm == 0.0 {
                    return Err(LadderError::ZeroBranch(branch.name.clone()));
                }
                branch
                    .from
                    .into_iter()
                    .chain(branch.to)
                    .for_each(|node| held[node] = true);
            }
        }
        for device in &self.devices {
            at_least_zero(&device.name, "series resistance in Ω", device.series_ohm)?;
            at_least_zero(&device.name, "lead inductance in H", device.lead_h)?;
            at_least_zero(&device.name, "loss conductance in S", device.loss_s)?;
            if device.lead_h == 0.0 {
                if device.series_ohm == 0.0 {
                    return Err(LadderError::ZeroBranch(device.name.clone()));
                }
                device
                    .from
                    .into_iter()
                    .chain(device.to)
                    .for_each(|node| held[node] = true);
            }
        }
        match held.iter().position(|held| !held) {
            Some(node) => Err(LadderError::FloatingNode(self.nodes[node].name.clone())),
            None => Ok(()),
        }
    }
}
