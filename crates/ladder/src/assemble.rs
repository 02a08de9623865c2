//! From a port's ladder and a generator network to a circuit.

use tidewall_devices::law::{Diode, GasTube};
use tidewall_devices::{Law, Protector, ThermalLadder};
use tidewall_stress::{Network, Node as StressNode, Shape, Waveform};

use crate::circuit::{Branch, Circuit, Device, Inductance, LadderError, Side};
use crate::port::{
    Across, Assembly, Capacitor, Conductor, Port, Probe, ProbeRole, Series, SeriesKind, Shunt, Stage,
    Steering,
};

/// An inductance up to this size, in henries, is taken as track when a node's capacitance is derived from it.
const TRACK_LIMIT_H: f64 = 30e-9;
/// Time constant in seconds of an inductor with the losses of core and winding beside it: a quality factor of 160 at
/// 10 MHz and 16 at 100 MHz, the size usual for wound parts (from memory). Without it a choke would ring with the
/// picofarads behind it for ever.
const CHOKE_LOSS_S: f64 = 0.1e-9;
/// The least capacitance of a ladder node in farads: a pad and a via.
const NODE_FLOOR_F: f64 = 0.2e-12;

pub(crate) struct Builder<'a> {
    port: &'a Port,
    circuit: Circuit,
    probes: Vec<Probe>,
    /// The node each conductor has reached.
    at: Vec<usize>,
    working_v: f64,
    /// How long the run lasts, in seconds.
    duration_s: f64,
    /// Elements in ladder order, as (is device, index).
    order: Vec<(bool, usize)>,
    pins: Vec<usize>,
}

impl<'a> Builder<'a> {
    pub(crate) fn new(port: &'a Port) -> Self {
        Builder {
            port,
            circuit: Circuit::default(),
            probes: Vec::new(),
            at: Vec::new(),
            working_v: port.supply.map_or(0.0, |supply| supply.volts),
            duration_s: f64::INFINITY,
            order: Vec::new(),
            pins: Vec::new(),
        }
    }

    pub(crate) fn build(mut self, network: &Network) -> Result<Assembly, LadderError> {
        let port = self.port;
        self.duration_s = network.duration_s;
        if port.supply.is_none() {
            self.working_v = standing_v(network);
        }
        for conductor in 0..port.conductors {
            let name = self.numbered("connector", conductor);
            let node = self.circuit.node(
                name.clone(),
                NODE_FLOOR_F,
                self.conductor_v(conductor),
                Side::Port,
            );
            self.at.push(node);
            self.probe(name, ProbeRole::Connector(conductor), Some(node), None);
        }
        self.add_network(network)?;
        self.add_supply(network);
        for stage in &port.stages {
            match stage {
                Stage::Series(series) => self.add_series(series)?,
                Stage::Shunt(shunt) => self.add_shunt(shunt)?,
                Stage::Capacitor(capacitor) => self.add_capacitor(capacitor)?,
                Stage::Steering(steering) => self.add_steering(steering)?,
            }
        }
        self.add_pin();
        self.add_track_capacitance();
        let branches = self.circuit.branches.len();
        let number = |&(device, k): &(bool, usize)| if device { branches + k } else { k };
        let elements = self.order.iter().map(number).collect();
        let pin_elements = self.pins.iter().map(|&k| branches + k).collect();
        Ok(Assembly {
            circuit: self.circuit,
            probes: self.probes,
            elements,
            pin_elements,
        })
    }

    fn numbered(&self, what: &str, conductor: usize) -> String {
        if self.port.conductors == 1 {
            what.into()
        } else {
            format!("{what} {}", conductor + 1)
        }
    }

    /// Working voltage of a conductor.
    fn conductor_v(&self, conductor: usize) -> f64 {
        let on_both = self.port.supply.is_some_and(|supply| supply.on_both);
        if conductor == 0 || on_both {
            self.working_v
        } else {
            0.0
        }
    }

    fn probe(&mut self, name: String, role: ProbeRole, plus: Option<usize>, minus: Option<usize>) {
        self.probes.push(Probe {
            name,
            role,
            plus,
            minus,
        });
    }

    fn add_network(&mut self, network: &Network) -> Result<(), LadderError> {
        let conductors = self.at.len();
        let first = self.circuit.nodes.len();
        for k in 0..network.inner_nodes {
            self.circuit
                .node(format!("generator {}", k + 1), 0.0, 0.0, Side::Generator);
        }
        for capacitor in &network.capacitors {
            let node = &mut self.circuit.nodes[first + capacitor.node];
            node.capacitance_f += capacitor.capacitance_f;
            node.initial_v = capacitor.initial_v;
        }
        let at = self.at.clone();
        let place = |node: StressNode| match node {
            StressNode::Earth => Ok(None),
            StressNode::Inner(k) => Ok(Some(first + k)),
            StressNode::Line(k) if k < conductors => Ok(Some(at[k])),
            StressNode::Line(k) => Err(LadderError::NoConductor(k + 1, conductors)),
        };
        for branch in &network.branches {
            let (from, mut to) = (place(branch.from)?, place(branch.to)?);
            let working = |circuit: &Circuit, node: Option<usize>| {
                node.filter(|&node| circuit.nodes[node].side == Side::Port)
                    .map_or(0.0, |node| circuit.nodes[node].initial_v)
            };
            let taken = working(&self.circuit, from) - working(&self.circuit, to);
            let far = to;
            if let Some(arrester) = branch.arrester {
                let middle =
                    self.circuit
                        .node(format!("{} arrester", branch.name), 1e-12, 0.0, Side::Generator);
                to = Some(middle);
                self.circuit.devices.push(Device {
                    name: format!("{} arrester", branch.name),
                    from: Some(middle),
                    to: far,
                    law: Law::GasTube(coupling_arrester(&arrester)),
                    thermal: ThermalLadder::default(),
                    ambient_c: self.port.ambient_c,
                    series_ohm: 0.0,
                    lead_h: 20e-9,
                    loss_s: 0.0,
                    initial_v: 0.0,
                    side: Side::Generator,
                });
                if let Some(far) = far {
                    let volts = self.circuit.nodes[far].initial_v;
                    if let Some(device) = self.circuit.devices.last_mut() {
                        device.initial_v = -volts;
                    }
                }
            }
            let capacitor = branch.capacitor.map(|capacitor| {
                let extra = if capacitor.takes_up_working_voltage {
                    taken
                } else {
                    0.0
                };
                (capacitor.capacitance_f, capacitor.initial_v + extra)
            });
            self.circuit.branches.push(Branch {
                name: branch.name.into(),
                from,
                to,
                resistance_ohm: branch.resistance_ohm,
                inductance: Inductance::linear(branch.inductance_h),
                capacitor,
                initial_a: branch.initial_a,
                emf: branch.emf.clone(),
                side: Side::Generator,
            });
        }
        Ok(())
    }

    fn add_supply(&mut self, network: &Network) {
        let Some(supply) = self.port.supply else { return };
        for conductor in 0..self.port.conductors {
            let volts = self.conductor_v(conductor);
            self.circuit.branches.push(Branch {
                name: self.numbered("port supply", conductor),
                from: None,
                to: Some(self.at[conductor]),
                resistance_ohm: supply.source_ohm,
                inductance: Inductance::linear(network.decoupling_h.max(supply.cable_h)),
                capacitor: None,
                initial_a: 0.0,
                emf: Some(Waveform {
                    shape: Shape::Constant,
                    amplitude: volts,
                    delay_s: 0.0,
                }),
                side: Side::Generator,
            });
        }
    }

    fn reach(&self, conductor: Conductor, name: &str) -> Result<usize, LadderError> {
        self.at
            .get(conductor.index())
            .copied()
            .ok_or_else(|| LadderError::NoSecondConductor(name.into()))
    }

    fn add_series(&mut self, series: &Series) -> Result<(), LadderError> {
        let from = self.reach(series.conductor, &series.name)?;
        let index = series.conductor.index();
        let volts = self.circuit.nodes[from].initial_v;
        let after = format!("after {}", series.name);
        let to = self.circuit.node(after.clone(), NODE_FLOOR_F, volts, Side::Port);
        self.at[index] = to;
        self.probe(after, ProbeRole::Between, Some(from).and(Some(to)), None);
        let branch = |name: &str, resistance_ohm, inductance| Branch {
            name: name.into(),
            from: Some(from),
            to: Some(to),
            resistance_ohm,
            inductance,
            capacitor: None,
            initial_a: 0.0,
            emf: None,
            side: Side::Port,
        };
        match &series.kind {
            SeriesKind::Plain {
                resistance_ohm,
                inductance,
            } => {
                self.push_branch(branch(&series.name, *resistance_ohm, *inductance));
                if inductance.henries > 0.0 && self.port.loss_tangent > 0.0 {
                    let (loss_ohm, what) = if inductance.henries <= TRACK_LIMIT_H {
                        (self.port.track_ohm / self.port.loss_tangent, "laminate loss")
                    } else {
                        (inductance.henries / CHOKE_LOSS_S, "core loss")
                    };
                    let name = format!("{} ({what})", series.name);
                    self.circuit
                        .branches
                        .push(branch(&name, loss_ohm, Inductance::linear(0.0)));
                }
            }
            SeriesKind::Bead {
                winding_ohm,
                inductance,
                loss_ohm,
            } => {
                self.push_branch(branch(&series.name, *winding_ohm, *inductance));
                let loss = format!("{} (core loss)", series.name);
                self.push_branch(branch(&loss, *loss_ohm, Inductance::linear(0.0)));
            }
            SeriesKind::Device { protector, lead_h } => {
                self.push_device(&series.name, Some(from), Some(to), protector, *lead_h, 0.0);
            }
        }
        Ok(())
    }

    fn push_branch(&mut self, branch: Branch) {
        self.order.push((false, self.circuit.branches.len()));
        self.circuit.branches.push(branch);
    }

    fn push_device(
        &mut self,
        name: &str,
        from: Option<usize>,
        to: Option<usize>,
        protector: &Protector,
        lead_h: f64,
        initial_v: f64,
    ) {
        self.order.push((true, self.circuit.devices.len()));
        self.circuit.devices.push(Device {
            name: name.into(),
            from,
            to,
            law: protector.law.clone(),
            thermal: protector.thermal.within(self.duration_s),
            ambient_c: self.port.ambient_c,
            series_ohm: protector.series_ohm,
            lead_h,
            loss_s: self.port.loss_tangent / self.port.track_ohm,
            initial_v,
            side: Side::Port,
        });
    }

    fn initial(&self, node: Option<usize>) -> f64 {
        node.map_or(0.0, |node| self.circuit.nodes[node].initial_v)
    }

    /// The nodes between which a shunt stands.
    fn ends(&self, across: Across, name: &str) -> Result<(Option<usize>, Option<usize>), LadderError> {
        Ok(match across {
            Across::ToReturn(conductor) => (Some(self.reach(conductor, name)?), None),
            Across::LineToLine => (
                Some(self.reach(Conductor::First, name)?),
                Some(self.reach(Conductor::Second, name)?),
            ),
        })
    }

    fn add_capacitor(&mut self, capacitor: &Capacitor) -> Result<(), LadderError> {
        let (from, to) = self.ends(capacitor.across, &capacitor.name)?;
        let volts = self.initial(from) - self.initial(to);
        self.push_branch(Branch {
            name: capacitor.name.clone(),
            from,
            to,
            resistance_ohm: capacitor.esr_ohm,
            inductance: Inductance::linear(capacitor.lead_h),
            capacitor: Some((capacitor.capacitance_f, volts)),
            initial_a: 0.0,
            emf: None,
            side: Side::Port,
        });
        Ok(())
    }

    fn add_shunt(&mut self, shunt: &Shunt) -> Result<(), LadderError> {
        let (plus, minus) = self.ends(shunt.across, &shunt.name)?;
        let (from, to) = if shunt.reversed {
            (minus, plus)
        } else {
            (plus, minus)
        };
        let volts = self.initial(from) - self.initial(to);
        self.push_device(&shunt.name, from, to, &shunt.protector, shunt.lead_h, volts);
        Ok(())
    }

    fn add_steering(&mut self, steering: &Steering) -> Result<(), LadderError> {
        let line = Some(self.reach(steering.conductor, &steering.name)?);
        let rail_name = format!("{} rail", steering.name);
        let rail = self
            .circuit
            .node(rail_name.clone(), steering.rail_f, steering.rail_v, Side::Port);
        self.probe(rail_name, ProbeRole::Between, Some(rail), None);
        let diode = |law: Diode| Protector {
            law: Law::Diode(law),
            series_ohm: 0.0,
            package_h: 0.0,
            thermal: ThermalLadder::default(),
        };
        let volts = self.initial(line);
        let up = format!("{} (to rail)", steering.name);
        self.push_device(
            &up,
            line,
            Some(rail),
            &diode(steering.to_rail),
            steering.lead_h,
            volts - steering.rail_v,
        );
        let down = format!("{} (from return)", steering.name);
        self.push_device(
            &down,
            None,
            line,
            &diode(steering.from_return),
            steering.lead_h,
            -volts,
        );
        if let Some((clamp, lead_h)) = &steering.rail_clamp {
            let name = format!("{} (rail clamp)", steering.name);
            self.push_device(&name, Some(rail), None, clamp, *lead_h, steering.rail_v);
        }
        Ok(())
    }

    fn add_pin(&mut self) {
        let pin = self.port.pin;
        for conductor in 0..self.port.conductors {
            let node = self.at[conductor];
            let name = self.numbered("pin", conductor);
            let volts = self.circuit.nodes[node].initial_v;
            if pin.esr_ohm > 0.0 && pin.capacitance_f > 0.0 {
                self.push_branch(Branch {
                    name: format!("{name} capacitor"),
                    from: Some(node),
                    to: None,
                    resistance_ohm: pin.esr_ohm,
                    inductance: Inductance::linear(0.0),
                    capacitor: Some((pin.capacitance_f, volts)),
                    initial_a: 0.0,
                    emf: None,
                    side: Side::Port,
                });
            } else {
                self.circuit.nodes[node].capacitance_f += pin.capacitance_f;
            }
            self.circuit.nodes[node].name = name.clone();
            self.probes
                .retain(|probe| probe.role != ProbeRole::Between || probe.plus != Some(node));
            self.probe(name.clone(), ProbeRole::Pin(conductor), Some(node), None);
            if let Some(conduction) = pin.conduction {
                self.pins.push(self.circuit.devices.len());
                let protector = Protector {
                    law: Law::Pin(conduction),
                    // The bond wire's scale; keeps the pin's own capacitance apart from the node.
                    series_ohm: 0.01,
                    package_h: 0.0,
                    thermal: ThermalLadder::default(),
                };
                self.push_device(&name, Some(node), None, &protector, 0.0, volts);
            }
        }
        if self.port.conductors == 2 {
            self.probe(
                "pin 1 to pin 2".into(),
                ProbeRole::PinPair,
                Some(self.at[0]),
                Some(self.at[1]),
            );
        }
    }

    fn add_track_capacitance(&mut self) {
        let per_henry = 0.5 / (self.port.track_ohm * self.port.track_ohm);
        for branch in &self.circuit.branches {
            if branch.side != Side::Port || branch.inductance.henries <= 0.0 {
                continue;
            }
            let share = per_henry * branch.inductance.henries.min(TRACK_LIMIT_H);
            for node in [branch.from, branch.to].into_iter().flatten() {
                self.circuit.nodes[node].capacitance_f += share;
            }
        }
    }
}

/// Voltage in volts that a generator's own source puts on the first conductor before the stress begins, such as
/// the vehicle supply under a load dump.
fn standing_v(network: &Network) -> f64 {
    network
        .branches
        .iter()
        .filter(|branch| branch.capacitor.is_none() && branch.arrester.is_none())
        .find_map(|branch| match (branch.from, branch.to, &branch.emf) {
            (StressNode::Earth, StressNode::Line(0), Some(emf)) => Some(emf.value(0.0)),
            _ => None,
        })
        .unwrap_or(0.0)
}

/// A coupling arrester as a gas tube: glow and arc currents and the collapse time are usual values of small
/// tubes (from memory).
fn coupling_arrester(arrester: &tidewall_stress::Arrester) -> GasTube {
    GasTube {
        dc_v: arrester.nominal_v,
        slope_coefficient_v: arrester.slope_coefficient_v,
        slope_exponent: arrester.slope_exponent,
        glow_v: 70.0,
        glow_to_arc_a: 0.5,
        arc_v: arrester.arc_v,
        arc_ohm: 0.05,
        arc_to_glow_a: 0.1,
        extinction_a: 0.01,
        drop_s: 10e-9,
        c_f: 1e-12,
        insulation_ohm: 1e10,
    }
}
