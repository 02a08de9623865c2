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
