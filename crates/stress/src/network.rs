//! The linear network between a generator's stored energy and the port.

use crate::waveform::Waveform;

/// A point of a generator network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Node {
    /// The reference: the port's return or protective earth.
    Earth,
    /// A point inside the generator or coupling network, counted from 0.
    Inner(usize),
    /// Conductor 0 or 1 of the port, at the connector.
    Line(usize),
}

/// A capacitor in series with a branch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeriesCapacitor {
    /// Capacitance in farads, above zero.
    pub capacitance_f: f64,
    /// Voltage from the branch's `from` side to its `to` side before the stress, in volts.
    pub initial_v: f64,
    /// True for a coupling capacitor: before the stress it has taken up whatever direct voltage the
    /// powered port puts across it, on top of `initial_v`.
    pub takes_up_working_voltage: bool,
}

/// A gas arrester in series with a coupling branch (IEC 61000-4-5 coupling to fast or DC-sensitive lines).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrester {
    /// Nominal direct spark-over voltage in volts (90 for the usual coupling arrester).
    pub nominal_v: f64,
    /// Rise of the firing voltage with slope: `Vs = nominal + coefficient (S / 1 V/µs)^exponent`, volts.
    pub slope_coefficient_v: f64,
    /// Exponent of the slope law, between 0 and 1.
    pub slope_exponent: f64,
    /// Arc voltage in volts.
    pub arc_v: f64,
}

/// A series branch: `v_from − v_to + emf = L di/dt + R i + v_C (+ arrester)`, current counted from → to.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// What the branch is, for messages and traces ("discharge resistor").
    pub name: &'static str,
    /// Where the current comes from.
    pub from: Node,
    /// Where the current goes to.
    pub to: Node,
    /// Series resistance in ohms; must be above zero where `inductance_h` is zero.
    pub resistance_ohm: f64,
    /// Series inductance in henries; zero for a purely resistive branch.
    pub inductance_h: f64,
    /// Series capacitor, if any.
    pub capacitor: Option<SeriesCapacitor>,
    /// Current before the stress in amperes (inductive branches only).
    pub initial_a: f64,
    /// Source voltage that drives current from → to.
    pub emf: Option<Waveform>,
    /// Series gas arrester, if any.
    pub arrester: Option<Arrester>,
}

impl Branch {
    /// A resistive branch without source or capacitor.
    pub fn resistor(name: &'static str, from: Node, to: Node, resistance_ohm: f64) -> Self {
        Branch {
            name,
            from,
            to,
            resistance_ohm,
            inductance_h: 0.0,
            capacitor: None,
            initial_a: 0.0,
            emf: None,
            arrester: None,
        }
    }

    /// The same branch with a series inductance in henries.
    pub fn with_inductance(mut self, inductance_h: f64) -> Self {
        self.inductance_h = inductance_h;
        self
    }

    /// The same branch with a series capacitor charged to `initial_v` (generator storage).
    pub fn with_charged_capacitor(mut self, capacitance_f: f64, initial_v: f64) -> Self {
        self.capacitor = Some(SeriesCapacitor {
            capacitance_f,
            initial_v,
            takes_up_working_voltage: false,
        });
        self
    }

    /// The same branch with a coupling capacitor that takes up the port's working voltage.
    pub fn with_coupling_capacitor(mut self, capacitance_f: f64) -> Self {
        self.capacitor = Some(SeriesCapacitor {
            capacitance_f,
            initial_v: 0.0,
            takes_up_working_voltage: true,
        });
        self
    }

    /// The same branch driven by a source voltage.
    pub fn with_emf(mut self, emf: Waveform) -> Self {
        self.emf = Some(emf);
        self
    }

    /// The same branch with a series gas arrester.
    pub fn with_arrester(mut self, arrester: Arrester) -> Self {
        self.arrester = Some(arrester);
        self
    }
}

/// A capacitor from an inner node to earth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShuntCapacitor {
    /// Inner node number.
    pub node: usize,
    /// Capacitance in farads, above zero.
    pub capacitance_f: f64,
    /// Voltage before the stress in volts.
    pub initial_v: f64,
}

/// Generator and coupling, ready to be joined to a port. Time zero is the closing of the generator's switch.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Network {
    /// How many inner nodes the network has.
    pub inner_nodes: usize,
    /// Series branches.
    pub branches: Vec<Branch>,
    /// Capacitors to earth at inner nodes.
    pub capacitors: Vec<ShuntCapacitor>,
    /// Inductance in henries between each powered line and the port's own source (decoupling network);
    /// zero where the standard has none.
    pub decoupling_h: f64,
    /// How long the run must last to show undershoot and recovery, in seconds.
    pub duration_s: f64,
    /// The shortest time scale of the network, in seconds; the integrator starts well below it.
    pub finest_s: f64,
}

impl Network {
    /// The same network with every source and every initial charge multiplied by `factor`
    /// (−1 turns the polarity; the arresters are symmetrical and stay as they are).
    pub fn scaled(&self, factor: f64) -> Network {
        let mut scaled = self.clone();
        for branch in &mut scaled.branches {
            branch.initial_a *= factor;
            if let Some(capacitor) = &mut branch.capacitor {
                capacitor.initial_v *= factor;
            }
            if let Some(emf) = &mut branch.emf {
                emf.amplitude *= factor;
            }
        }
        for capacitor in &mut scaled.capacitors {
            capacitor.initial_v *= factor;
        }
        scaled
    }

    /// Every instant at which some source has a corner, in ascending order, without repeats.
    pub fn breakpoints_s(&self) -> Vec<f64> {
        let mut instants = Vec::new();
        for emf in self.branches.iter().filter_map(|branch| branch.emf.as_ref()) {
            emf.push_breakpoints_s(&mut instants);
        }
        instants.retain(|instant| instant.is_finite() && *instant > 0.0);
        instants.sort_by(f64::total_cmp);
        instants.dedup();
        instants
    }
}
