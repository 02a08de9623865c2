//! What a run is judged by, and how far two runs are apart.

use serde::{Deserialize, Serialize};
use tidewall_transient::Outcome;

use crate::suite::{Assembled, Circuit};

/// A quantity smaller than this share of the largest of its kind in the circuit (the part that hardly conducts) is
/// compared with that share of the largest instead of with itself; the share of the transient's own tests.
const MINOR: f64 = 0.05;

/// Largest voltages of the pins, largest currents and energies of the shunts, in the order of the circuit's lists.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Quantities {
    /// Largest size of each pin's voltage in volts.
    pub volts: Vec<f64>,
    /// Largest size of each shunt's current in amperes.
    pub amps: Vec<f64>,
    /// Energy turned into heat in each shunt in joules.
    pub joules: Vec<f64>,
}

/// Largest deviation of each kind, as a share.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Deviation {
    /// Of a voltage.
    pub volts: f64,
    /// Of a current.
    pub amps: f64,
    /// Of an energy.
    pub joules: f64,
}

impl Deviation {
    /// The largest of the three.
    pub fn worst(&self) -> f64 {
        self.volts.max(self.amps).max(self.joules)
    }
}

/// Where the watched probes and elements of a circuit stand.
#[derive(Clone, Debug)]
pub struct Places {
    /// Numbers of the probes.
    pub probes: Vec<usize>,
    /// Numbers of the elements.
    pub elements: Vec<usize>,
}

impl Places {
    /// Looks the watched names up; `None` if one is not there.
    pub fn of(circuit: &Circuit, assembled: &Assembled) -> Option<Places> {
        let probe = |name: &&str| {
            assembled
                .assembly
                .probes
                .iter()
                .position(|probe| probe.name == **name)
        };
        let element = |name: &&str| {
            let mut own = assembled.assembly.elements.iter().copied();
            let listed = own.find(|&k| assembled.equations.element_name(k) == *name);
            let mut pins = assembled.assembly.pin_elements.iter().copied();
            listed.or_else(|| pins.find(|&k| assembled.equations.element_name(k) == *name))
        };
        Some(Places {
            probes: circuit.pins.iter().map(probe).collect::<Option<_>>()?,
            elements: circuit.shunts.iter().map(element).collect::<Option<_>>()?,
        })
    }

    /// Reads the quantities off a result.
    pub fn read(&self, outcome: &Outcome) -> Quantities {
        let elements = || self.elements.iter().map(|&k| &outcome.elements[k]);
        Quantities {
            volts: self
                .probes
                .iter()
                .map(|&k| outcome.probes[k].volts.size())
                .collect(),
            amps: elements().map(|element| element.amps.size()).collect(),
            joules: elements().map(|element| element.energy_j).collect(),
        }
    }
}

impl Quantities {
    /// How far these are from a reference. Infinite for lists of unequal length and for what is not a number.
    pub fn deviation(&self, reference: &Quantities) -> Deviation {
        Deviation {
            volts: apart(&self.volts, &reference.volts),
            amps: apart(&self.amps, &reference.amps),
            joules: apart(&self.joules, &reference.joules),
        }
    }
}

fn apart(got: &[f64], wanted: &[f64]) -> f64 {
    if got.len() != wanted.len() {
        return f64::INFINITY;
    }
    let floor = MINOR * wanted.iter().copied().fold(0.0, f64::max);
    let shares = got.iter().zip(wanted).map(|(got, wanted)| {
        let share = (got - wanted).abs() / wanted.max(floor);
        if share.is_nan() { f64::INFINITY } else { share }
    });
    shares.fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_quantity_is_judged_by_a_share_of_the_largest() {
        let wanted = [100.0, 1.0];
        assert!((apart(&[100.0, 2.0], &wanted) - 0.2).abs() < 1e-12);
        assert!((apart(&[101.0, 1.0], &wanted) - 0.01).abs() < 1e-12);
    }

    #[test]
    fn what_is_not_a_number_is_infinitely_far() {
        assert_eq!(apart(&[f64::NAN], &[1.0]), f64::INFINITY);
        assert_eq!(apart(&[], &[1.0]), f64::INFINITY);
    }
}
