//! Generators of the standards as networks, in their positive polarity.
//!
//! Charged generators of this kind can kill: what is modelled here belongs in the hands of trained people.

pub mod automotive;
pub mod burst;
pub mod esd;
pub mod surge;
pub mod telecom;
pub mod thevenin;

use crate::network::{Arrester, Branch, Network, Node, ShuntCapacitor};

/// Which conductors of the port the generator drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Drive {
    /// Conductor 0 against the reference (the return of a one-line port, protective earth otherwise).
    LineToEarth,
    /// Conductor 0 against conductor 1: the generator floats and its return is conductor 1.
    LineToLine,
    /// Both conductors at once against the reference.
    BothToEarth,
}

impl Drive {
    /// Where the generator's return is connected.
    pub fn generator_return(self) -> Node {
        match self {
            Drive::LineToEarth | Drive::BothToEarth => Node::Earth,
            Drive::LineToLine => Node::Line(1),
        }
    }

    /// How many conductors the generator drives.
    pub fn driven_lines(self) -> usize {
        if self == Drive::BothToEarth { 2 } else { 1 }
    }
}

/// The gas arrester of the coupling network: 90 V tube; slope law through 300 V at 100 V/µs and 550 V at
/// 1 kV/µs (read in a family datasheet of two-electrode 5 mm tubes, typical); arc voltage 15 V (from memory).
pub fn coupling_arrester() -> Arrester {
    Arrester {
        nominal_v: 90.0,           // read in the datasheet
        slope_coefficient_v: 43.8, // derived from its two points
        slope_exponent: 0.3404,    // derived from its two points
        arc_v: 15.0,
    }
}

/// Series resistance given to a capacitor that stands alone in a branch, in ohms (numerical choice).
pub(crate) const CAPACITOR_OHM: f64 = 1e-3;

impl Network {
    /// Takes the next inner node.
    pub(crate) fn add_node(&mut self) -> usize {
        self.inner_nodes += 1;
        self.inner_nodes - 1
    }

    /// Joins a capacitor of `capacitance_f` charged to `initial_v` to an inner node. Returns the series
    /// resistance it was given: none against earth, [`CAPACITOR_OHM`] where the generator floats.
    pub(crate) fn add_capacitor(
        &mut self,
        name: &'static str,
        node: usize,
        generator_return: Node,
        capacitance_f: f64,
        initial_v: f64,
    ) -> f64 {
        if generator_return == Node::Earth {
            self.capacitors.push(ShuntCapacitor {
                node,
                capacitance_f,
                initial_v,
            });
            0.0
        } else {
            // Counted from the return to the node, a source that drives out of the node reads −initial_v.
            self.branches.push(
                Branch::resistor(name, generator_return, Node::Inner(node), CAPACITOR_OHM)
                    .with_charged_capacitor(capacitance_f, -initial_v),
            );
            CAPACITOR_OHM
        }
    }
}
