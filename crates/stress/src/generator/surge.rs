//! Combination wave generator and coupling networks: IEC 61000-4-5.

use super::{CAPACITOR_OHM, Drive, coupling_arrester};
use crate::network::{Branch, Network, Node};

/// Elements of the combination wave generator. The standard gives none.
///
/// Topology: the storage capacitor with `storage_ohm` across it is switched onto `inductance_h` and
/// `series_ohm` in series; `output_ohm` lies across the output.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CombinationSet {
    /// Short name of the set.
    pub name: &'static str,
    /// Storage capacitance in farads.
    pub storage_f: f64,
    /// Series inductance in henries.
    pub inductance_h: f64,
    /// Resistance across the storage capacitor in ohms.
    pub storage_ohm: f64,
    /// Series resistance in ohms.
    pub series_ohm: f64,
    /// Resistance across the output in ohms.
    pub output_ohm: f64,
    /// Charge voltage per volt of open-circuit peak.
    pub charge_ratio: f64,
}

/// Inside every tolerance of the standard, undershoot included, at the price of a 1.47 µs front.
/// Hesterman and Powell 2007 (from memory).
pub const SET_H: CombinationSet = CombinationSet {
    name: "H",
    storage_f: 6.038e-6,
    inductance_h: 10.37e-6,
    storage_ohm: 25.105,
    series_ohm: 0.941,
    output_ohm: 19.80,
    charge_ratio: 1.082,
};

/// Carobbi 2013 (from memory; rounds the exact solution D2).
pub const SET_K: CombinationSet = CombinationSet {
    name: "K",
    storage_f: 5.93e-6,
    inductance_h: 10.9e-6,
    storage_ohm: 20.2,
    series_ohm: 0.814,
    output_ohm: 26.1,
    charge_ratio: 1.061,
};

/// Derived: exact for T1 1.2 µs, T2 50 µs, 8 µs, 20 µs by virtual origin, and 2 Ω.
pub const SET_D2: CombinationSet = CombinationSet {
    name: "D2",
    storage_f: 5.92928e-6,
    inductance_h: 10.87200e-6,
    storage_ohm: 20.18708,
    series_ohm: 0.81425,
    output_ohm: 26.09658,
    charge_ratio: 1.06056,
};

/// Derived: exact for the third edition's definitions (width 50 µs; 1.18 × width 20 µs; from memory) at the bare output.
pub const SET_D3: CombinationSet = CombinationSet {
    name: "D3",
    storage_f: 6.09391e-6,
    inductance_h: 10.80567e-6,
    storage_ohm: 19.67118,
    series_ohm: 0.84231,
    output_ohm: 25.92179,
    charge_ratio: 1.06166,
};

/// Derived: as D3, but with the current met through 18 µF, which is how the third edition calibrates (from memory).
pub const SET_D18: CombinationSet = CombinationSet {
    name: "D18",
    storage_f: 10.3841e-6,
    inductance_h: 10.7333e-6,
    storage_ohm: 8.8659,
    series_ohm: 0.8262,
    output_ohm: 25.7316,
    charge_ratio: 1.0623,
};

/// Every set.
pub const SETS: [CombinationSet; 5] = [SET_H, SET_K, SET_D2, SET_D3, SET_D18];

/// What a symmetrical line is reached through, after its resistor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Through {
    /// A gas arrester.
    Arrester,
    /// 0.5 µF.
    Capacitor,
    /// Nothing.
    Direct,
}

/// How the combination wave reaches the port.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SurgeCoupling {
    /// The generator's output with a further resistance in ohms (zero for none): 2 Ω and more.
    Series {
        /// Further resistance in ohms, zero or above.
        resistance_ohm: f64,
    },
    /// Power port, line to line: 18 µF, 2 Ω.
    PowerLineLine,
    /// Power port, line to earth: 10 Ω and 9 µF, 12 Ω.
    PowerLineEarth,
    /// Unsymmetrical signal line: 40 Ω and 0.5 µF, 42 Ω.
    SignalCapacitor,
    /// Fast or DC-sensitive signal line: 40 Ω and a 90 V gas arrester, 42 Ω.
    SignalArrester,
    /// Symmetrical signal line, all n conductors at once to earth: n × 40 Ω in each.
    Symmetrical {
        /// Resistance in series with each conductor in ohms.
        wire_ohm: f64,
        /// What follows the resistor.
        through: Through,
    },
    /// Shield of a cable bonded at both ends: 2 Ω, direct.
    Shield,
}

/// Decoupling inductance of power ports in henries (annex of IEC 61000-4-5, up to 16 A: from memory).
pub const POWER_DECOUPLING_H: f64 = 1.5e-3;
/// Decoupling inductance of signal ports in henries (from memory).
pub const SIGNAL_DECOUPLING_H: f64 = 20e-3;

impl SurgeCoupling {
    /// Resistance, capacitance and arrester of one conductor's coupling branch (IEC 61000-4-5: capacitors of supply ports
    /// from memory); `None` where the output is the conductor itself.
    fn branch(self) -> Option<(f64, Option<f64>, bool)> {
        match self {
            SurgeCoupling::Series { resistance_ohm } if resistance_ohm > 0.0 => {
                Some((resistance_ohm, None, false))
            }
            SurgeCoupling::Series { .. } | SurgeCoupling::Shield => None,
            SurgeCoupling::PowerLineLine => Some((CAPACITOR_OHM, Some(18e-6), false)),
            SurgeCoupling::PowerLineEarth => Some((10.0, Some(9e-6), false)),
            // Read in the manual of a coupling network: 40 Ω with 0.5 µF or with a gas discharge tube.
            SurgeCoupling::SignalCapacitor => Some((40.0, Some(0.5e-6), false)),
            // Read in the same.
            SurgeCoupling::SignalArrester => Some((40.0, None, true)),
            SurgeCoupling::Symmetrical {
                wire_ohm,
                through: Through::Arrester,
            } => Some((wire_ohm, None, true)),
            SurgeCoupling::Symmetrical {
                wire_ohm,
                through: Through::Capacitor,
            } => Some((wire_ohm, Some(0.5e-6), false)),
            SurgeCoupling::Symmetrical {
                wire_ohm,
                through: Through::Direct,
            } => Some((wire_ohm, None, false)),
        }
    }

    /// Decoupling inductance in henries between a powered line and its source.
    pub fn decoupling_h(self) -> f64 {
        match self {
            SurgeCoupling::Series { .. } | SurgeCoupling::PowerLineLine | SurgeCoupling::PowerLineEarth => {
                POWER_DECOUPLING_H
            }
            SurgeCoupling::Shield => 0.0,
            SurgeCoupling::SignalCapacitor
            | SurgeCoupling::SignalArrester
            | SurgeCoupling::Symmetrical { .. } => SIGNAL_DECOUPLING_H,
        }
    }

    /// Resistance in ohms that the standard's effective impedance of this coupling adds to the generator's
    /// 2 Ω, for one conductor of the port.
    pub fn added_ohm(self) -> f64 {
        match self {
            SurgeCoupling::PowerLineLine => 0.0,
            _ => self.branch().map_or(0.0, |branch| branch.0),
        }
    }
}

/// The combination wave at open-circuit peak `level_v`, coupled into the port.
pub fn combination_wave(
    set: &CombinationSet,
    level_v: f64,
    coupling: SurgeCoupling,
    drive: Drive,
) -> Network {
    let back = drive.generator_return();
    let mut network = Network {
        decoupling_h: coupling.decoupling_h(),
        // Long enough for the ring of the coupling capacitor with the decoupling inductance.
        duration_s: 1e-3,
        finest_s: 0.4e-6, // a third of the front (numerical choice)
        ..Network::default()
    };
    let storage = network.add_node();
    let storage_series_ohm = network.add_capacitor(
        "storage capacitor",
        storage,
        back,
        set.storage_f,
        set.charge_ratio * level_v,
    );
    network.branches.push(Branch::resistor(
        "charge resistor",
        Node::Inner(storage),
        back,
        set.storage_ohm,
    ));

    let coupled = coupling.branch();
    let output = if coupled.is_some() || drive == Drive::BothToEarth {
        Node::Inner(network.add_node())
    } else {
        Node::Line(0)
    };
    network.branches.push(
        Branch::resistor(
            "wave-shaping coil",
            Node::Inner(storage),
            output,
            set.series_ohm - storage_series_ohm,
        )
        .with_inductance(set.inductance_h),
    );
    network
        .branches
        .push(Branch::resistor("output resistor", output, back, set.output_ohm));

    if output != Node::Line(0) {
        let (resistance_ohm, capacitance_f, arrester) = coupled.unwrap_or((CAPACITOR_OHM, None, false));
        for line in 0..drive.driven_lines() {
            let mut branch = Branch::resistor("coupling", output, Node::Line(line), resistance_ohm);
            if let Some(capacitance_f) = capacitance_f {
                branch = branch.with_coupling_capacitor(capacitance_f);
            }
            if arrester {
                branch = branch.with_arrester(coupling_arrester());
            }
            network.branches.push(branch);
        }
    }
    network
}
