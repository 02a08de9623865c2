//! A port at one corner: ladder, pin, supply.

use tidewall_devices::Protector;
use tidewall_devices::law::{Diode, PinClamp};
use tidewall_stress::Network;

use crate::assemble::Builder;
use crate::circuit::{Circuit, Inductance, LadderError};

/// A conductor of the port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Conductor {
    /// The only conductor of a port with one, or the first of a pair.
    First,
    /// The second of a pair.
    Second,
}

impl Conductor {
    pub(crate) fn index(self) -> usize {
        match self {
            Conductor::First => 0,
            Conductor::Second => 1,
        }
    }
}

/// Between what a shunt stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Across {
    /// A conductor and the return or earth.
    ToReturn(Conductor),
    /// The two conductors of a pair, first to second.
    LineToLine,
}

/// What a series element is.
#[derive(Clone, Debug, PartialEq)]
pub enum SeriesKind {
    /// Resistance and inductance in series: resistor, fuse, PTC, inductor, track.
    Plain {
        /// Resistance in ohms.
        resistance_ohm: f64,
        /// Inductance.
        inductance: Inductance,
    },
    /// Ferrite bead: winding in parallel to a resistance.
    Bead {
        /// Winding resistance in ohms.
        winding_ohm: f64,
        /// Inductance of the winding.
        inductance: Inductance,
        /// Parallel (loss) resistance in ohms.
        loss_ohm: f64,
    },
    /// A device in series (blocking current limiter).
    Device {
        /// The device.
        protector: Protector,
        /// Inductance of its path in henries.
        lead_h: f64,
    },
}

/// A series element of one conductor.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Name.
    pub name: String,
    /// Which conductor it is in.
    pub conductor: Conductor,
    /// What it is.
    pub kind: SeriesKind,
}

/// A shunt protector.
#[derive(Clone, Debug, PartialEq)]
pub struct Shunt {
    /// Name.
    pub name: String,
    /// Between what it stands.
    pub across: Across,
    /// The part at its corner.
    pub protector: Protector,
    /// Inductance in henries of the shunt's own path, package included.
    pub lead_h: f64,
    /// True when the part's positive side is at the return.
    pub reversed: bool,
}

/// Two steering diodes to a rail that has its own capacitance and clamp.
#[derive(Clone, Debug, PartialEq)]
pub struct Steering {
    /// Name.
    pub name: String,
    /// Conductor it protects.
    pub conductor: Conductor,
    /// Diode from the conductor to the rail.
    pub to_rail: Diode,
    /// Diode from the return to the conductor.
    pub from_return: Diode,
    /// Inductance in henries of the path from conductor to diodes.
    pub lead_h: f64,
    /// Capacitance in farads at the rail.
    pub rail_f: f64,
    /// Voltage of the rail before the stress in volts.
    pub rail_v: f64,
    /// Clamp on the rail, with the inductance of its path in henries.
    pub rail_clamp: Option<(Protector, f64)>,
}

/// A shunt capacitor.
#[derive(Clone, Debug, PartialEq)]
pub struct Capacitor {
    /// Name.
    pub name: String,
    /// Between what it stands.
    pub across: Across,
    /// Capacitance in farads, above zero.
    pub capacitance_f: f64,
    /// Series resistance in ohms.
    pub esr_ohm: f64,
    /// Inductance of its path in henries; resistance or inductance must be above zero.
    pub lead_h: f64,
}

/// One rung of the ladder.
#[derive(Clone, Debug, PartialEq)]
pub enum Stage {
    /// In a conductor.
    Series(Box<Series>),
    /// Across conductors.
    Shunt(Box<Shunt>),
    /// Shunt capacitor.
    Capacitor(Capacitor),
    /// Steering diodes.
    Steering(Box<Steering>),
}

/// What stands at the protected end.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pin {
    /// Capacitance in farads from each conductor to the return.
    pub capacitance_f: f64,
    /// Resistance in ohms in series with that capacitance.
    pub esr_ohm: f64,
    /// Resistance in ohms between pin node and the pin's own conduction; 0 when there is none.
    pub conduction: Option<PinClamp>,
}

/// The port's own source, which stays connected through the stress.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Voltage in volts at the instant of the stress.
    pub volts: f64,
    /// Source resistance in ohms, above zero.
    pub source_ohm: f64,
    /// Inductance in henries of the cable to the source, for generators without a decoupling network.
    pub cable_h: f64,
    /// On a pair: true when the voltage stands on both conductors against the return, false when it stands between
    /// them and the second one rests at the return.
    pub on_both: bool,
}

/// A port at one corner: everything from connector to pin.
#[derive(Clone, Debug, PartialEq)]
pub struct Port {
    /// Number of conductors besides the return: 1 or 2.
    pub conductors: usize,
    /// The ladder from the connector inwards.
    pub stages: Vec<Stage>,
    /// The protected pin.
    pub pin: Pin,
    /// The port's own source; `None` for an unpowered port.
    pub supply: Option<Supply>,
    /// Ambient temperature in °C.
    pub ambient_c: f64,
    /// Characteristic impedance in ohms of the board's tracks; gives each ladder node its capacitance
    /// `C = ½ Σ L / Z0²` from the track inductances that meet there (lossless line).
    pub track_ohm: f64,
    /// Loss tangent of the board's laminate, zero for none: each track and lead inductance gets `Z0 / tan δ` in
    /// parallel, the quality factor of a line whose capacitance has that loss, and each larger inductance a core loss.
    pub loss_tangent: f64,
}

/// What a probe watches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProbeRole {
    /// Voltage at the connector, conductor to return.
    Connector(usize),
    /// Voltage at the pin, conductor to return.
    Pin(usize),
    /// Voltage between the two pins of a pair.
    PinPair,
    /// Voltage at a node between stages.
    Between,
}

/// A voltage worth watching: between two nodes (`None` is the return).
#[derive(Clone, Debug, PartialEq)]
pub struct Probe {
    /// Name.
    pub name: String,
    /// What it is.
    pub role: ProbeRole,
    /// Positive node.
    pub plus: Option<usize>,
    /// Negative node.
    pub minus: Option<usize>,
}

/// A circuit with the places to look at.
#[derive(Clone, Debug, PartialEq)]
pub struct Assembly {
    /// The circuit.
    pub circuit: Circuit,
    /// Voltages worth watching.
    pub probes: Vec<Probe>,
    /// Numbers (as in `Equations::element_name`) of the elements of the ladder and pin, in ladder order.
    pub elements: Vec<usize>,
    /// Element numbers of the pin's conduction, per conductor.
    pub pin_elements: Vec<usize>,
}

impl Port {
    /// Joins the port to a generator network.
    pub fn assemble(&self, network: &Network) -> Result<Assembly, LadderError> {
        Builder::new(self).build(network)
    }
}
