//! Electrical fast transients: IEC 61000-4-4.

use super::{CAPACITOR_OHM, Drive};
use crate::forms;
use crate::network::{Branch, Network, Node};
use crate::waveform::Waveform;

/// How the burst generator reaches the port.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BurstCoupling {
    /// Coupling network: 33 nF into every conductor at once.
    Network33Nf,
    /// Capacitive clamp as one lumped capacitance of 100 pF to the whole cable.
    Clamp100Pf,
    /// Capacitive clamp as one lumped capacitance of 200 pF to the whole cable.
    Clamp200Pf,
    /// The generator's output itself.
    Direct,
}

impl BurstCoupling {
    /// Coupling capacitance in farads into each of `lines` conductors (from memory); `None` for the bare output.
    fn capacitance_f(self, lines: usize) -> Option<f64> {
        match self {
            BurstCoupling::Network33Nf => Some(33e-9),
            // The clamp's capacitance to the cable is shared by its conductors.
            BurstCoupling::Clamp100Pf => Some(100e-12 / lines as f64),
            BurstCoupling::Clamp200Pf => Some(200e-12 / lines as f64),
            BurstCoupling::Direct => None,
        }
    }
}

/// Source resistance of the burst generator in ohms (read in a note on simulation models and a mailing-list archive).
pub const SOURCE_OHM: f64 = 50.0;

/// One pulse of the burst at the set voltage `level_v`.
///
/// The annex pulse is the generator's output, so the 10 nF block inside the generator is already part of
/// its shape and is not put in a second time.
pub fn burst_pulse(level_v: f64, coupling: BurstCoupling, drive: Drive) -> Network {
    let emf = Waveform::new(forms::burst_5_50(), level_v);
    let lines = drive.driven_lines();
    let back = drive.generator_return();
    let mut network = Network {
        // Inductance of the coupling network's decoupling chokes (above 100 µH: from memory).
        decoupling_h: 100e-6,
        duration_s: 8e-6, // numerical choice
        finest_s: 3.5e-9, // the front of the annex form (from memory)
        ..Network::default()
    };
    if lines == 1 {
        let mut branch = Branch::resistor("burst source", back, Node::Line(0), SOURCE_OHM).with_emf(emf);
        if let Some(capacitance_f) = coupling.capacitance_f(lines) {
            branch = branch.with_coupling_capacitor(capacitance_f);
        }
        network.branches.push(branch);
        return network;
    }
    let output = network.add_node();
    network
        .branches
        .push(Branch::resistor("burst source", back, Node::Inner(output), SOURCE_OHM).with_emf(emf));
    for line in 0..lines {
        let mut branch = Branch::resistor(
            "burst coupling",
            Node::Inner(output),
            Node::Line(line),
            CAPACITOR_OHM,
        );
        if let Some(capacitance_f) = coupling.capacitance_f(lines) {
            branch = branch.with_coupling_capacitor(capacitance_f);
        }
        network.branches.push(branch);
    }
    network
}
