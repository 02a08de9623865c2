//! Sources that a standard defines by a shape, a peak and a source resistance.

use super::Drive;
use crate::network::{Branch, Network, Node};
use crate::waveform::{Shape, Waveform};

/// Resistance in ohms behind which a pure current source is represented: `emf = I × 10 kΩ`. Into a load of
/// Z ohms it falls short of the nominal current by the share `Z / (10 kΩ + Z)`, 0.1 % at 10 Ω (numerical choice).
pub const LARGE_COMPLIANCE_OHM: f64 = 10e3;

/// A shape at `peak_v` volts behind `source_ohm`, directly on the driven conductors; with both conductors
/// driven, each has its own source of `source_ohm`.
pub fn source(
    shape: &Shape,
    peak_v: f64,
    source_ohm: f64,
    drive: Drive,
    duration_s: f64,
    finest_s: f64,
) -> Network {
    let back = drive.generator_return();
    let branches = (0..drive.driven_lines())
        .map(|line| {
            Branch::resistor("source", back, Node::Line(line), source_ohm)
                .with_emf(Waveform::new(shape.clone(), peak_v))
        })
        .collect();
    Network {
        branches,
        duration_s,
        finest_s,
        ..Network::default()
    }
}

/// The same network standing on the port's working voltage: the source is in series with the supply, so the
/// working voltage appears as the start voltage of a capacitor too large for the pulse to charge (`lasts_s`
/// is the pulse's length: a thousandth of the peak is lost), and `decoupling_h` keeps the supply from loading
/// the pulse.
pub fn superimposed(mut network: Network, lasts_s: f64, decoupling_h: f64) -> Network {
    for branch in &mut network.branches {
        let capacitance_f = 1000.0 * lasts_s / branch.resistance_ohm;
        *branch = branch.clone().with_coupling_capacitor(capacitance_f);
    }
    network.decoupling_h = decoupling_h;
    network
}
