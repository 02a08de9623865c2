//! Circuits that differ by numbers alone, side by side.

use tidewall_devices::Law;
use tidewall_devices::law::Bank;
use tidewall_lanes::Lane;
use tidewall_stress::Waves;

use super::forms::Forms;
use super::stored::StoredForm;
use super::{DevicePlace, Drive, Entry, Flat, Saturating};

fn same_entries<T, U>(a: &[Entry<T>], b: &[Entry<U>]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.slot == b.slot)
}

fn entries<'a, T: Lane>(of: impl Fn(usize) -> &'a [Entry]) -> Vec<Entry<T>> {
    (0..of(0).len())
        .map(|j| Entry {
            slot: of(0)[j].slot,
            value: T::of(|k| of(k)[j].value),
        })
        .collect()
}

impl<T: Lane> Flat<T> {
    /// True when another circuit differs from this by numbers alone, so that both may stand side by side.
    pub fn differs_by_numbers<U: Lane>(&self, other: &Flat<U>) -> bool {
        self.place == other.place
            && self.kinds == other.kinds
            && self.dynamic == other.dynamic
            && self.row_start == other.row_start
            && self.columns == other.columns
            && self.diagonal == other.diagonal
            && self.base.len() == other.base.len()
            && self.in_port == other.in_port
            && self
                .drives
                .iter()
                .map(|drive| drive.row)
                .eq(other.drives.iter().map(|drive| drive.row))
            && self.saturating.len() == other.saturating.len()
            && self
                .saturating
                .iter()
                .zip(&other.saturating)
                .all(|(a, b)| a.row == b.row && a.own == b.own && same_entries(&a.entries, &b.entries))
            && self.devices.len() == other.devices.len()
            && self
                .devices
                .iter()
                .zip(&other.devices)
                .all(|(a, b)| a.slots == b.slots && same_entries(&a.entries, &b.entries))
            && self.stored.differ_by_numbers(&other.stored)
            && self.forms.differ_by_numbers(&other.forms)
    }

    /// Puts circuits that differ by numbers alone side by side, one per lane.
    pub fn pack(flats: &[&Flat]) -> Flat<T> {
        let first = flats[0];
        let each = |values: fn(&Flat) -> &[f64]| -> Vec<T> {
            (0..values(first).len())
                .map(|j| T::of(|k| values(flats[k])[j]))
                .collect()
        };
        let laws: Vec<Vec<Law>> = flats.iter().map(|flat| flat.laws[0].clone()).collect();
        let bank = |device: usize| {
            let laws: Vec<&Law> = laws.iter().map(|laws| &laws[device]).collect();
            Bank::new(&laws)
        };
        let drive = |(j, drive): (usize, &Drive)| {
            let waves: Vec<&Waves<f64>> = flats.iter().map(|flat| &flat.drives[j].wave).collect();
            Drive {
                row: drive.row,
                factor: T::of(|k| flats[k].drives[j].factor),
                wave: Waves::pack(&waves),
            }
        };
        let coil = |(j, coil): (usize, &Saturating)| Saturating {
            row: coil.row,
            per_a2: T::of(|k| flats[k].saturating[j].per_a2),
            own: coil.own,
            entries: entries(|k| &flats[k].saturating[j].entries),
        };
        let device = |(j, device): (usize, &DevicePlace)| DevicePlace {
            slots: device.slots,
            ambient_c: T::of(|k| flats[k].devices[j].ambient_c),
            kelvins_per_joule: T::of(|k| flats[k].devices[j].kelvins_per_joule),
            entries: entries(|k| &flats[k].devices[j].entries),
        };
        let stored: Vec<&StoredForm> = flats.iter().map(|flat| &flat.stored).collect();
        let forms: Vec<&Forms> = flats.iter().map(|flat| &flat.forms).collect();
        Flat {
            banks: (0..first.devices.len()).map(bank).collect(),
            laws,
            in_port: first.in_port.clone(),
            place: first.place.clone(),
            kinds: first.kinds.clone(),
            dynamic: first.dynamic.clone(),
            row_start: first.row_start.clone(),
            columns: first.columns.clone(),
            coefficients: each(|flat| &flat.coefficients),
            constant: each(|flat| &flat.constant),
            drives: first.drives.iter().enumerate().map(drive).collect(),
            saturating: first.saturating.iter().enumerate().map(coil).collect(),
            devices: first.devices.iter().enumerate().map(device).collect(),
            base: each(|flat| &flat.base),
            diagonal: first.diagonal.clone(),
            stored: StoredForm::pack(&stored),
            forms: Forms::pack(&forms),
        }
    }
}
