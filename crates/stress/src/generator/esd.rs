//! Electrostatic discharge: IEC 61000-4-2, ISO 10605, the human-body model, transmission-line pulses.

use super::thevenin::LARGE_COMPLIANCE_OHM;
use crate::forms;
use crate::network::{Branch, Network, Node};
use crate::waveform::Waveform;

/// A contact-discharge generator as two series branches, both charged to the test voltage.
///
/// The slow branch is the storage capacitor behind its discharge resistor, the fast one the tip and its
/// stray capacitance. The elements are derived: they give 3.75 A/kV and 0.8 ns into 2 Ω and the late
/// currents of the standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DischargeNetwork {
    /// Storage capacitance in farads.
    pub storage_f: f64,
    /// Discharge resistance in ohms.
    pub discharge_ohm: f64,
    /// Inductance of the slow branch in henries.
    pub discharge_h: f64,
    /// Tip capacitance in farads.
    pub tip_f: f64,
    /// Resistance of the fast branch in ohms.
    pub tip_ohm: f64,
    /// Inductance of the fast branch in henries.
    pub tip_h: f64,
}

/// 150 pF / 330 Ω: IEC 61000-4-2, and ISO 10605 outside the vehicle with a metal tip. Fitted to the current table, itself
/// from memory (150 pF and 330 Ω read in a summary of a military standard with the same network).
pub const C150_R330: DischargeNetwork = DischargeNetwork {
    storage_f: 150e-12,
    discharge_ohm: 330.0,
    discharge_h: 1.7940e-6,
    tip_f: 6.0630e-12,
    tip_ohm: 181.91,
    tip_h: 167.76e-9,
};

/// 330 pF / 330 Ω: ISO 10605, inside the vehicle, metal tip (from memory, as the current table it is fitted to).
pub const C330_R330: DischargeNetwork = DischargeNetwork {
    storage_f: 330e-12,
    discharge_ohm: 330.0,
    discharge_h: 3.6022e-6,
    tip_f: 9.3444e-12,
    tip_ohm: 195.15,
    tip_h: 149.11e-9,
};

/// 150 pF / 2 kΩ: ISO 10605, outside the vehicle, skin (from memory, as the current table it is fitted to).
pub const C150_R2000: DischargeNetwork = DischargeNetwork {
    storage_f: 150e-12,
    discharge_ohm: 2000.0,
    discharge_h: 0.3271e-6,
    tip_f: 8.4427e-12,
    tip_ohm: 190.66,
    tip_h: 176.91e-9,
};

/// 330 pF / 2 kΩ: ISO 10605, inside the vehicle, skin (from memory, as the current table it is fitted to).
pub const C330_R2000: DischargeNetwork = DischargeNetwork {
    storage_f: 330e-12,
    discharge_ohm: 2000.0,
    discharge_h: 9.2535e-6,
    tip_f: 16.794e-12,
    tip_ohm: 213.72,
    tip_h: 132.92e-9,
};

/// The four networks.
pub const NETWORKS: [DischargeNetwork; 4] = [C150_R330, C330_R330, C150_R2000, C330_R2000];

/// Contact discharge of `level_v` volts into conductor `line` against earth.
pub fn discharge(network: &DischargeNetwork, level_v: f64, line: usize) -> Network {
    let slow = Branch::resistor(
        "discharge resistor",
        Node::Earth,
        Node::Line(line),
        network.discharge_ohm,
    )
    .with_inductance(network.discharge_h)
    .with_charged_capacitor(network.storage_f, -level_v);
    let fast = Branch::resistor("discharge tip", Node::Earth, Node::Line(line), network.tip_ohm)
        .with_inductance(network.tip_h)
        .with_charged_capacitor(network.tip_f, -level_v);
    Network {
        branches: vec![slow, fast],
        // Twelve time constants (numerical choice).
        duration_s: 12.0 * network.discharge_ohm * network.storage_f,
        finest_s: network.tip_h / network.tip_ohm,
        ..Network::default()
    }
}

/// The informative discharge current of IEC 61000-4-2 as a current source for conductor `line`.
///
/// It is defined for the 2 Ω target only and does not answer to the load: use it for comparison.
pub fn analytic_discharge(level_v: f64, line: usize) -> Network {
    let peak_a = forms::contact_discharge_peak_a_per_v() * level_v;
    let emf = Waveform::new(forms::contact_discharge_current(), peak_a * LARGE_COMPLIANCE_OHM);
    Network {
        branches: vec![
            Branch::resistor(
                "discharge current",
                Node::Earth,
                Node::Line(line),
                LARGE_COMPLIANCE_OHM,
            )
            .with_emf(emf),
        ],
        duration_s: 600e-9, // numerical choice
        finest_s: 0.8e-9,   // the rise of the current table (from memory)
        ..Network::default()
    }
}

/// Human-body model of ANSI/ESDA/JEDEC JS-001: 100 pF through 1500 Ω (read in the specification sheet of a tester); 5 µH
/// gives the rise time the standard asks into a short (derived: 0.624 A/kV, 6.1 ns).
pub fn human_body(level_v: f64, line: usize) -> Network {
    let body = Branch::resistor("human-body model", Node::Earth, Node::Line(line), 1500.0) // read in the same
        .with_inductance(5e-6)
        .with_charged_capacitor(100e-12, -level_v);
    Network {
        branches: vec![body],
        duration_s: 1.8e-6, // twelve time constants (numerical choice)
        finest_s: 5e-6 / 1500.0,
        ..Network::default()
    }
}

/// A rectangular pulse from a charged 50 Ω line (ANSI/ESD STM5.5.1, IEC 62615; from memory): `open_circuit_v` is the charge
/// voltage of the line.
pub fn transmission_line_pulse(
    open_circuit_v: f64,
    rise_10_90_s: f64,
    width_50_s: f64,
    line: usize,
) -> Network {
    let emf = Waveform::new(forms::rectangle(rise_10_90_s, width_50_s), open_circuit_v);
    Network {
        branches: vec![Branch::resistor("charged line", Node::Earth, Node::Line(line), 50.0).with_emf(emf)],
        // Numerical choice: until the pulse has died away.
        duration_s: 1.5 * width_50_s + 2.0 * rise_10_90_s,
        finest_s: rise_10_90_s,
        ..Network::default()
    }
}
