//! From the readable equations to the flat ones.

use tidewall_devices::law::{Bank, MAX_INNER};
use tidewall_stress::{Shape, Waveform, Waves};

use super::forms::{Emf, Flow, Forms, Source};
use super::stored::StoredForm;
use super::{DevicePlace, DeviceSlots, Drive, Entry, Flat, Saturating};
use crate::circuit::Side;
use crate::equations::Equations;

/// Where states and matrix entries stand; made by the solver.
pub trait Layout {
    /// Position of state `k` of [`Equations`].
    fn place(&self, k: usize) -> usize;
    /// Place in the packed matrix of the entry at two positions.
    fn slot(&self, row: usize, column: usize) -> usize;
    /// Length of the packed matrix.
    fn slots(&self) -> usize;
}

type Terms = Vec<(usize, f64)>;

struct Compiler<'a, L: Layout> {
    equations: &'a Equations,
    layout: &'a L,
    /// Linear part by row, both in the flat order.
    rows: Vec<Terms>,
    constant: Vec<f64>,
    drives: Vec<Drive>,
    saturating: Vec<Saturating>,
    forms: Forms,
    extras: Vec<Terms>,
    stored: StoredForm,
}

fn scaled(terms: &[(usize, f64)], factor: f64) -> Terms {
    terms
        .iter()
        .map(|&(column, value)| (column, factor * value))
        .collect()
}

impl Flat {
    /// Lays out the equations of a circuit.
    pub fn new(equations: &Equations, layout: &impl Layout) -> Flat {
        let n = equations.len();
        let mut compiler = Compiler {
            equations,
            layout,
            rows: vec![Terms::new(); n],
            constant: vec![0.0; n],
            drives: Vec::new(),
            saturating: Vec::new(),
            forms: Forms::default(),
            extras: Vec::new(),
            stored: StoredForm::default(),
        };
        for k in 0..equations.circuit.nodes.len() {
            compiler.node(k);
        }
        for k in 0..equations.circuit.branches.len() {
            compiler.branch(k);
        }
        let devices: Vec<DevicePlace> = (0..equations.circuit.devices.len())
            .map(|k| compiler.device(k))
            .collect();
        compiler.finish(devices)
    }
}

impl<L: Layout> Compiler<'_, L> {
    fn at(&self, k: usize) -> usize {
        self.layout.place(k)
    }

    fn side_is_port(side: Side) -> bool {
        side == Side::Port
    }

    fn node(&mut self, k: usize) {
        let node = &self.equations.circuit.nodes[k];
        let square = (
            self.at(k),
            0.5 * node.capacitance_f,
            Self::side_is_port(node.side),
        );
        self.stored.squares.push(square);
    }

    /// Adds a current from → to into the node rows.
    fn join(&mut self, from: Option<usize>, to: Option<usize>, amps: &[(usize, f64)]) {
        for (node, sign) in [(from, -1.0), (to, 1.0)] {
            if let Some(node) = node {
                let farads = self.equations.circuit.nodes[node].capacitance_f;
                let scale = sign / if farads > 0.0 { farads } else { 1.0 };
                let row = self.at(node);
                self.rows[row].extend(scaled(amps, scale));
            }
        }
    }

    fn ends(&self, from: Option<usize>, to: Option<usize>) -> Terms {
        let mut terms = Terms::new();
        for (node, sign) in [(from, 1.0), (to, -1.0)] {
            terms.extend(node.map(|node| (self.at(node), sign)));
        }
        terms
    }

    fn source(&mut self, row: usize, factor: f64, wave: &Waveform) {
        if wave.shape == Shape::Constant && wave.delay_s <= 0.0 {
            self.constant[row] += factor * wave.amplitude;
        } else {
            let wave = Waves::from(wave);
            self.drives.push(Drive { row, factor, wave });
        }
    }

    /// Currents of an element on the generator's side that enter the port.
    fn flows(&mut self, side: Side, from: Option<usize>, to: Option<usize>, amps: usize) {
        if side == Side::Port {
            return;
        }
        for (node, sign) in [(from, -1.0), (to, 1.0)] {
            if let Some(node) = node
                && self.equations.circuit.nodes[node].side == Side::Port
            {
                let node = self.at(node);
                self.forms.flows.push(Flow { node, amps, sign });
            }
        }
    }

    /// Takes down a form that follows those of the elements; returns its number.
    fn extra(&mut self, terms: Terms) -> usize {
        self.extras.push(terms);
        2 * self.equations.elements() + self.extras.len() - 1
    }

    fn element(&mut self, volts: &[(usize, f64)], amps: &[(usize, f64)], side: Side) -> usize {
        self.forms.push(volts);
        self.forms.in_port.push(Self::side_is_port(side));
        self.forms.push(amps)
    }

    fn branch(&mut self, k: usize) {
        let branch = &self.equations.circuit.branches[k];
        let rows = self.equations.branch_rows[k];
        let port = Self::side_is_port(branch.side);
        let (current, capacitor, emf) = (
            rows.current.map(|row| self.at(row)),
            rows.capacitor.map(|row| self.at(row)),
            rows.emf.map(|row| self.at(row)),
        );
        let volts = self.ends(branch.from, branch.to);
        let mut drive = volts.clone();
        drive.extend(capacitor.map(|row| (row, -1.0)));
        drive.extend(emf.map(|row| (row, 1.0)));
        let amps = match current {
            Some(row) => vec![(row, 1.0)],
            None => scaled(&drive, 1.0 / branch.resistance_ohm),
        };
        if let (Some(row), Some(wave)) = (emf, &branch.emf) {
            self.rows[row].push((row, -1.0));
            self.source(row, 1.0, wave);
        }
        if let Some(row) = current {
            let henries = branch.inductance.henries;
            self.rows[row].extend(scaled(&drive, 1.0 / henries));
            self.rows[row].push((row, -branch.resistance_ohm / henries));
            if let (None, Some(wave)) = (emf, &branch.emf) {
                self.source(row, 1.0 / henries, wave);
            }
            match branch.inductance.saturation_a {
                None => self.stored.squares.push((row, 0.5 * henries, port)),
                Some(saturation) => {
                    self.stored.coils.push((row, vec![branch.inductance], port));
                    self.saturating.push(Saturating {
                        row,
                        per_a2: 1.0 / (saturation * saturation),
                        own: self.layout.slot(row, row),
                        entries: Vec::new(),
                    });
                }
            }
        }
        if let (Some(row), Some((farads, _))) = (capacitor, branch.capacitor) {
            self.rows[row].extend(scaled(&amps, 1.0 / farads));
            self.stored.squares.push((row, 0.5 * farads, port));
        }
        self.join(branch.from, branch.to, &amps);
        let form = self.element(&volts, &amps, branch.side);
        self.forms.resistors.push(vec![(branch.resistance_ohm, form)]);
        self.forms.junctions.push(None);
        self.forms.ambients.push(f64::NAN);
        self.flows(branch.side, branch.from, branch.to, form);
        if let Some(wave) = &branch.emf {
            let emf = emf.map_or_else(|| Emf::Wave(Waves::from(wave)), Emf::State);
            self.forms.sources.push(Source { emf, amps: form });
        }
    }

    fn device(&mut self, k: usize) -> DevicePlace {
        let device = &self.equations.circuit.devices[k];
        let rows = self.equations.device_rows[k];
        let voltage = self.at(rows.voltage);
        let current = rows.current.map(|row| self.at(row));
        let mut drive = self.ends(device.from, device.to);
        drive.push((voltage, -1.0));
        let lead = match current {
            Some(row) => vec![(row, 1.0)],
            None => scaled(&drive, 1.0 / device.series_ohm),
        };
        let mut amps = lead.clone();
        if let Some(row) = current {
            amps.extend(scaled(&drive, device.loss_s));
            self.rows[row].extend(scaled(&drive, 1.0 / device.lead_h));
            self.rows[row].push((row, -device.series_ohm / device.lead_h));
            let port = Self::side_is_port(device.side);
            self.stored.squares.push((row, 0.5 * device.lead_h, port));
        }
        self.join(device.from, device.to, &amps);
        self.rows[voltage].extend(&amps);
        let mut volts = vec![(voltage, 1.0)];
        volts.extend(scaled(&lead, device.series_ohm));
        let form = self.element(&volts, &amps, device.side);
        self.flows(device.side, device.from, device.to, form);
        let mut resistors = Vec::new();
        if device.series_ohm > 0.0 {
            let form = self.extra(lead.clone());
            resistors.push((device.series_ohm, form));
        }
        if current.is_some() && device.loss_s > 0.0 {
            // The losses beside the lead are a conductance: its heat is G v² = R i² with i = G v.
            let beside = scaled(&drive, device.loss_s);
            let form = self.extra(beside);
            resistors.push((1.0 / device.loss_s, form));
        }
        self.forms.resistors.push(resistors);
        let junction = (rows.thermal_count > 0).then(|| self.at(rows.thermal));
        self.forms.junctions.push(junction);
        self.forms.ambients.push(device.ambient_c);
        self.thermal(k);
        let inner: [usize; MAX_INNER] = std::array::from_fn(|j| {
            if j < rows.inner_count {
                self.at(rows.inner + j)
            } else {
                voltage
            }
        });
        let slot = |row: usize, column: usize| self.layout.slot(row, column);
        let used = |j: usize| j < rows.inner_count;
        let own = slot(voltage, voltage);
        let of_inner = |row: Option<usize>, j: usize| match row {
            Some(row) if used(j) => slot(row, inner[j]),
            _ => own,
        };
        let by_inner = |column: Option<usize>, j: usize| match column {
            Some(column) if used(j) => slot(inner[j], column),
            _ => own,
        };
        let both = rows.inner_count == 2;
        let slots = DeviceSlots {
            voltage,
            lead: current,
            inner,
            inner_count: rows.inner_count,
            junction,
            own,
            by_junction: junction.map_or(own, |column| slot(voltage, column)),
            by_inner: std::array::from_fn(|j| of_inner(Some(voltage), j)),
            inner_by_voltage: std::array::from_fn(|j| by_inner(Some(voltage), j)),
            inner_by_self: std::array::from_fn(|j| by_inner(Some(inner[j]), j)),
            inner_by_other: std::array::from_fn(|j| by_inner(both.then_some(inner[1 - j]), j)),
            inner_by_junction: std::array::from_fn(|j| by_inner(junction, j)),
            heat_by_voltage: junction.map_or(own, |row| slot(row, voltage)),
            heat_by_self: junction.map_or(own, |row| slot(row, row)),
            heat_by_inner: std::array::from_fn(|j| of_inner(junction, j)),
        };
        DevicePlace {
            slots,
            ambient_c: device.ambient_c,
            kelvins_per_joule: device.thermal.capacity_j_per_k.first().map_or(0.0, |c| 1.0 / c),
            entries: amps
                .iter()
                .map(|&(column, value)| Entry {
                    slot: slot(voltage, column),
                    value: -value,
                })
                .collect(),
        }
    }

    fn thermal(&mut self, k: usize) {
        let device = &self.equations.circuit.devices[k];
        let rows = self.equations.device_rows[k];
        for j in 0..rows.thermal_count {
            let row = self.at(rows.thermal + j);
            let rate = 1.0 / (device.thermal.resistance_k_per_w[j] * device.thermal.capacity_j_per_k[j]);
            self.rows[row].push((row, -rate));
            if j + 1 < rows.thermal_count {
                let next = self.at(rows.thermal + j + 1);
                let into =
                    1.0 / (device.thermal.resistance_k_per_w[j] * device.thermal.capacity_j_per_k[j + 1]);
                self.rows[row].push((next, rate));
                self.rows[next].extend([(row, into), (next, -into)]);
            } else {
                self.constant[row] += rate * device.ambient_c;
            }
        }
    }

    fn finish(mut self, devices: Vec<DevicePlace>) -> Flat {
        let (equations, layout) = (self.equations, self.layout);
        let n = equations.len();
        for terms in &self.extras {
            self.forms.push(terms);
        }
        let circuit = &equations.circuit;
        let laws = circuit.devices.iter().map(|device| &device.law);
        let mut out = Flat {
            laws: vec![laws.clone().cloned().collect()],
            banks: laws.map(|law| Bank::new(&[law])).collect(),
            in_port: circuit
                .devices
                .iter()
                .map(|device| Self::side_is_port(device.side))
                .collect(),
            place: (0..n).map(|k| layout.place(k)).collect(),
            kinds: equations.kinds().to_vec(),
            dynamic: vec![false; n],
            row_start: vec![0],
            columns: Vec::new(),
            coefficients: Vec::new(),
            constant: self.constant,
            drives: self.drives,
            saturating: Vec::new(),
            devices,
            base: vec![0.0; layout.slots()],
            diagonal: (0..n).map(|k| layout.slot(k, k)).collect(),
            stored: self.stored,
            forms: self.forms,
        };
        for k in 0..n {
            out.kinds[out.place[k]] = equations.kinds()[k];
            out.dynamic[out.place[k]] = equations.dynamic()[k];
        }
        let mut by_charge = vec![false; n];
        for device in &out.devices {
            by_charge[device.slots.voltage] = true;
        }
        for (row, terms) in self.rows.iter_mut().enumerate() {
            terms.sort_by_key(|term| term.0);
            let from = out.columns.len();
            for &(column, value) in terms.iter() {
                if out.columns.len() > from && out.columns.last() == Some(&column) {
                    *out.coefficients.last_mut().unwrap_or(&mut 0.0) += value;
                } else {
                    out.columns.push(column);
                    out.coefficients.push(value);
                }
            }
            let (columns, values) = (&out.columns[from..], &out.coefficients[from..]);
            let entries = columns.iter().zip(values).map(|(&column, &value)| Entry {
                slot: layout.slot(row, column),
                value: -value,
            });
            if let Some(coil) = self.saturating.iter_mut().find(|coil| coil.row == row) {
                coil.entries = entries.collect();
            } else if !by_charge[row] {
                for entry in entries {
                    out.base[entry.slot] += entry.value;
                }
            }
            out.row_start.push(out.columns.len());
        }
        out.saturating = self.saturating;
        out
    }
}
