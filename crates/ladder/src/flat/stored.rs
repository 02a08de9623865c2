//! Energy stored in a circuit, from the state vector in the order of elimination.

use tidewall_lanes::Lane;

use super::Flat;
use crate::circuit::Inductance;
use crate::power::Stored;

/// What holds energy.
#[derive(Clone, Debug, Default)]
pub(super) struct StoredForm<T = f64> {
    /// State variable, half its capacitance or inductance, and whether it is the port's.
    pub(super) squares: Vec<(usize, T, bool)>,
    /// Current of an inductance that saturates, with the inductance of each lane.
    pub(super) coils: Vec<(usize, Vec<Inductance>, bool)>,
}

impl<T: Lane> StoredForm<T> {
    pub(super) fn differ_by_numbers<U>(&self, other: &StoredForm<U>) -> bool {
        self.squares.len() == other.squares.len()
            && self.coils.len() == other.coils.len()
            && self
                .squares
                .iter()
                .zip(&other.squares)
                .all(|(a, b)| (a.0, a.2) == (b.0, b.2))
            && self
                .coils
                .iter()
                .zip(&other.coils)
                .all(|(a, b)| (a.0, a.2) == (b.0, b.2))
    }

    pub(super) fn pack(forms: &[&StoredForm]) -> StoredForm<T> {
        let squares = forms[0].squares.iter().enumerate();
        let coils = forms[0].coils.iter().enumerate();
        StoredForm {
            squares: squares
                .map(|(j, &(column, _, port))| (column, T::of(|k| forms[k].squares[j].1), port))
                .collect(),
            coils: coils
                .map(|(j, &(column, _, port))| {
                    let each = forms.iter().map(|form| form.coils[j].1[0]);
                    (column, each.collect(), port)
                })
                .collect(),
        }
    }
}

impl<T: Lane> Flat<T> {
    /// Energy stored in capacitances and inductances.
    #[inline(always)]
    pub fn stored(&self, y: &[T]) -> Stored<T> {
        let mut stored = Stored::<T>::default();
        for &(column, half, in_port) in &self.stored.squares {
            T::one_by_one();
            stored.book(in_port, half * y[column] * y[column]);
        }
        for (column, inductances, in_port) in &self.stored.coils {
            let amps = y[*column];
            stored.book(*in_port, T::of(|k| inductances[k].stored_j(amps.lane(k))));
        }
        for ((bank, in_port), place) in self.banks.iter().zip(&self.in_port).zip(&self.devices) {
            stored.book(*in_port, bank.stored_j(y[place.slots.voltage]));
        }
        stored
    }
}

impl<T: Lane> Stored<T> {
    #[inline(always)]
    fn book(&mut self, in_port: bool, joules: T) {
        self.whole_j += joules;
        if in_port {
            self.port_j += joules;
        }
    }
}
