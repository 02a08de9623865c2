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

impl Flat {
    /// Capacitance in farads of each voltage and inductance in henries of each current that holds energy, both as they are
    /// without bias; zero for other states.
    pub fn masses(&self) -> Vec<f64> {
        let mut masses = vec![0.0; self.len()];
        for &(column, half, _) in &self.stored.squares {
            masses[column] = 2.0 * half;
        }
        for (column, inductances, _) in &self.stored.coils {
            masses[*column] = inductances[0].henries;
        }
        for (law, place) in self.laws[0].iter().zip(&self.devices) {
            masses[place.slots.voltage] = law.capacitance(0.0).0;
        }
        masses
    }
}

impl<T: Lane> Flat<T> {
    /// State variables of the currents through the leads of devices, where those have an inductance.
    pub fn lead_currents(&self) -> impl Iterator<Item = usize> + '_ {
        self.devices.iter().filter_map(|device| device.slots.lead)
    }

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
