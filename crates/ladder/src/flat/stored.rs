//! Energy stored in a circuit, from the state vector in the order of elimination.

use super::Flat;
use crate::circuit::Inductance;
use crate::power::Stored;

/// What holds energy.
#[derive(Clone, Debug, Default)]
pub(super) struct StoredForm {
    /// State variable, half its capacitance or inductance, and whether it is the port's.
    pub(super) squares: Vec<(usize, f64, bool)>,
    /// Current of an inductance that saturates.
    pub(super) coils: Vec<(usize, Inductance, bool)>,
}

impl Flat {
    /// Capacitance in farads of each voltage and inductance in henries of each current that holds energy, both as they are
    /// without bias; zero for other states.
    pub fn masses(&self) -> Vec<f64> {
        let mut masses = vec![0.0; self.len()];
        for &(column, half, _) in &self.stored.squares {
            masses[column] = 2.0 * half;
        }
        for &(column, inductance, _) in &self.stored.coils {
            masses[column] = inductance.henries;
        }
        for ((law, _), place) in self.laws.iter().zip(&self.devices) {
            masses[place.voltage] = law.capacitance(0.0).0;
        }
        masses
    }

    /// State variables of the currents through the leads of devices, where those have an inductance.
    pub fn lead_currents(&self) -> impl Iterator<Item = usize> + '_ {
        self.devices.iter().filter_map(|device| device.lead)
    }

    /// Energy stored in capacitances and inductances.
    pub fn stored(&self, y: &[f64]) -> Stored {
        let mut stored = Stored::default();
        let mut book = |in_port: bool, joules: f64| {
            stored.whole_j += joules;
            if in_port {
                stored.port_j += joules;
            }
        };
        for &(column, half, in_port) in &self.stored.squares {
            book(in_port, half * y[column] * y[column]);
        }
        for &(column, inductance, in_port) in &self.stored.coils {
            book(in_port, inductance.stored_j(y[column]));
        }
        for ((law, in_port), place) in self.laws.iter().zip(&self.devices) {
            book(*in_port, law.stored_j(y[place.voltage]));
        }
        stored
    }
}
