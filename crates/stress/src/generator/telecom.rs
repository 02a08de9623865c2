//! The 10/700 generator: IEC 61000-4-5 for outdoor telecommunication lines, ITU-T K.44, TIA-968 type B.

use super::{Drive, coupling_arrester};
use crate::network::{Branch, Network, Node};

/// Open-circuit peak per volt of charge (derived from the elements below, which are from memory).
pub const OPEN_CIRCUIT_PER_CHARGE: f64 = 0.9732;

/// How the 10/700 generator reaches the wires.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TelecomCoupling {
    /// Resistance in series with each wire in ohms: `n × 25` for n wires in IEC 61000-4-5, 25 in ITU-T K.44.
    pub wire_ohm: f64,
    /// True where a gas arrester follows the resistor.
    pub arrester: bool,
}

/// The 10/700 generator charged to `charge_v`: 20 µF with 50 Ω across it, 15 Ω, 0.2 µF to the return, then
/// one resistor for each wire (elements from memory, checked to give 10/700 and 5/320).
pub fn wave_10_700(charge_v: f64, coupling: TelecomCoupling, drive: Drive) -> Network {
    let back = drive.generator_return();
    let mut network = Network {
        duration_s: 6e-3,
        finest_s: 3e-6,
        ..Network::default()
    };
    let storage = network.add_node();
    let output = network.add_node();
    let first_ohm = network.add_capacitor("storage capacitor", storage, back, 20e-6, charge_v);
    network.branches.push(Branch::resistor(
        "charge resistor",
        Node::Inner(storage),
        back,
        50.0,
    ));
    network.branches.push(Branch::resistor(
        "front resistor",
        Node::Inner(storage),
        Node::Inner(output),
        15.0 - first_ohm,
    ));
    network.add_capacitor("front capacitor", output, back, 0.2e-6, 0.0);
    for line in 0..drive.driven_lines() {
        let mut branch = Branch::resistor(
            "wire resistor",
            Node::Inner(output),
            Node::Line(line),
            coupling.wire_ohm,
        );
        if coupling.arrester {
            branch = branch.with_arrester(coupling_arrester());
        }
        network.branches.push(branch);
    }
    network
}
