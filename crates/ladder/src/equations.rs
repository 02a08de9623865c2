//! State vector, right-hand side and Jacobian of a circuit.

use tidewall_devices::law::{Bias, Conduction, MAX_EVENTS, MAX_INNER, State, Watch};

use crate::circuit::{Circuit, LadderError};

/// What a state variable is; the integrator scales its error by it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StateKind {
    /// A voltage in volts.
    Voltage,
    /// A current in amperes.
    Current,
    /// A temperature in °C.
    Temperature,
    /// An inner state of a device law (volts, a conductance or a fraction of one).
    Inner,
}

/// Where the state variables of a device stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct DeviceRows {
    pub(crate) current: Option<usize>,
    pub(crate) voltage: usize,
    pub(crate) inner: usize,
    pub(crate) inner_count: usize,
    pub(crate) thermal: usize,
    pub(crate) thermal_count: usize,
}

/// Where the state variables of a branch stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct BranchRows {
    pub(crate) current: Option<usize>,
    pub(crate) capacitor: Option<usize>,
    /// The source voltage of a branch without inductance, as an algebraic state: between the ends of a step it is
    /// then interpolated like the node it drives, and the current, their small difference, stays right.
    pub(crate) emf: Option<usize>,
}

/// `M y' = f(t, y)` for a circuit, `M` diagonal with ones and zeros.
#[derive(Clone, Debug)]
pub struct Equations {
    pub(crate) circuit: Circuit,
    pub(crate) branch_rows: Vec<BranchRows>,
    pub(crate) device_rows: Vec<DeviceRows>,
    kinds: Vec<StateKind>,
    dynamic: Vec<bool>,
}

impl Equations {
    /// Numbers the states of a circuit, after checking it.
    pub fn new(circuit: Circuit) -> Result<Equations, LadderError> {
        circuit.validate()?;
        let mut kinds = Vec::new();
        let mut dynamic = Vec::new();
        for node in &circuit.nodes {
            kinds.push(StateKind::Voltage);
            dynamic.push(node.capacitance_f > 0.0);
        }
        let mut add = |kind, is_dynamic| {
            kinds.push(kind);
            dynamic.push(is_dynamic);
            kinds.len() - 1
        };
        let branch_rows = circuit
            .branches
            .iter()
            .map(|branch| {
                let inductive = branch.inductance.henries > 0.0;
                BranchRows {
                    current: inductive.then(|| add(StateKind::Current, true)),
                    capacitor: branch.capacitor.map(|_| add(StateKind::Voltage, true)),
                    emf: (!inductive && branch.emf.is_some()).then(|| add(StateKind::Voltage, false)),
                }
            })
            .collect();
        let device_rows = circuit
            .devices
            .iter()
            .map(|device| {
                let current = (device.lead_h > 0.0).then(|| add(StateKind::Current, true));
                let voltage = add(StateKind::Voltage, true);
                let inner_count = device.law.inner_count();
                let inner = voltage + 1;
                (0..inner_count).for_each(|_| {
                    add(StateKind::Inner, true);
                });
                let thermal = inner + inner_count;
                let thermal_count = device.thermal.len();
                (0..thermal_count).for_each(|_| {
                    add(StateKind::Temperature, true);
                });
                DeviceRows {
                    current,
                    voltage,
                    inner,
                    inner_count,
                    thermal,
                    thermal_count,
                }
            })
            .collect();
        Ok(Equations {
            circuit,
            branch_rows,
            device_rows,
            kinds,
            dynamic,
        })
    }

    /// The circuit these equations describe.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// Number of state variables.
    pub fn len(&self) -> usize {
        self.kinds.len()
    }

    /// True for a circuit without states.
    pub fn is_empty(&self) -> bool {
        self.kinds.is_empty()
    }

    /// What each state variable is.
    pub fn kinds(&self) -> &[StateKind] {
        &self.kinds
    }

    /// The diagonal of `M`: true for one, false for zero (an algebraic equation).
    pub fn dynamic(&self) -> &[bool] {
        &self.dynamic
    }

    /// Number of elements: all branches, then all devices.
    pub fn elements(&self) -> usize {
        self.circuit.branches.len() + self.circuit.devices.len()
    }

    /// Name of element `k`.
    pub fn element_name(&self, k: usize) -> &str {
        match k.checked_sub(self.circuit.branches.len()) {
            None => &self.circuit.branches[k].name,
            Some(device) => &self.circuit.devices[device].name,
        }
    }

    /// State vector and discrete states before the stress.
    pub fn initial(&self) -> (Vec<f64>, Vec<State>) {
        let mut y = vec![0.0; self.len()];
        for (k, node) in self.circuit.nodes.iter().enumerate() {
            y[k] = node.initial_v;
        }
        for (k, (branch, rows)) in self.circuit.branches.iter().zip(&self.branch_rows).enumerate() {
            if let Some(row) = rows.current {
                y[row] = branch.initial_a;
            }
            if let Some(row) = rows.emf {
                y[row] = self.source(k, 0.0);
            }
            if let (Some(row), Some((_, volts))) = (rows.capacitor, branch.capacitor) {
                y[row] = volts;
            }
        }
        for (device, rows) in self.circuit.devices.iter().zip(&self.device_rows) {
            y[rows.voltage] = device.initial_v;
            let inner = device.law.inner_initial(device.initial_v);
            y[rows.inner..rows.inner + rows.inner_count].copy_from_slice(&inner[..rows.inner_count]);
            y[rows.thermal..rows.thermal + rows.thermal_count].fill(device.ambient_c);
        }
        (y, vec![State::INITIAL; self.circuit.devices.len()])
    }

    pub(crate) fn volts(y: &[f64], node: Option<usize>) -> f64 {
        node.map_or(0.0, |node| y[node])
    }

    /// Source voltage of branch `k` as given.
    fn source(&self, k: usize, t_s: f64) -> f64 {
        self.circuit.branches[k]
            .emf
            .as_ref()
            .map_or(0.0, |emf| emf.value(t_s))
    }

    /// Source voltage of branch `k` as the states carry it.
    pub(crate) fn emf(&self, k: usize, t_s: f64, y: &[f64]) -> f64 {
        match self.branch_rows[k].emf {
            Some(row) => y[row],
            None => self.source(k, t_s),
        }
    }

    /// Voltage that drives current through branch `k`: ends, capacitor and source, without resistance.
    fn branch_drive(&self, k: usize, t_s: f64, y: &[f64]) -> f64 {
        let branch = &self.circuit.branches[k];
        let capacitor = self.branch_rows[k].capacitor.map_or(0.0, |row| y[row]);
        Self::volts(y, branch.from) - Self::volts(y, branch.to) - capacitor + self.emf(k, t_s, y)
    }

    pub(crate) fn branch_amps(&self, k: usize, t_s: f64, y: &[f64]) -> f64 {
        match self.branch_rows[k].current {
            Some(row) => y[row],
            None => self.branch_drive(k, t_s, y) / self.circuit.branches[k].resistance_ohm,
        }
    }

    pub(crate) fn device_drive(&self, k: usize, y: &[f64]) -> f64 {
        let device = &self.circuit.devices[k];
        Self::volts(y, device.from) - Self::volts(y, device.to) - y[self.device_rows[k].voltage]
    }

    /// Current through lead inductance and series resistance.
    pub(crate) fn lead_amps(&self, k: usize, y: &[f64]) -> f64 {
        match self.device_rows[k].current {
            Some(row) => y[row],
            None => self.device_drive(k, y) / self.circuit.devices[k].series_ohm,
        }
    }

    /// Current into the device: through the lead, and through the path's losses beside it.
    pub(crate) fn device_amps(&self, k: usize, y: &[f64]) -> f64 {
        self.lead_amps(k, y) + self.loss_s(k) * self.device_drive(k, y)
    }

    pub(crate) fn loss_s(&self, k: usize) -> f64 {
        if self.device_rows[k].current.is_some() {
            self.circuit.devices[k].loss_s
        } else {
            0.0
        }
    }

    fn junction_c(&self, k: usize, y: &[f64]) -> f64 {
        let rows = &self.device_rows[k];
        if rows.thermal_count > 0 {
            y[rows.thermal]
        } else {
            self.circuit.devices[k].ambient_c
        }
    }

    /// Voltage, temperature and inner states of device `k`.
    pub fn bias(&self, k: usize, y: &[f64]) -> Bias {
        let rows = &self.device_rows[k];
        let mut inner = [0.0; MAX_INNER];
        inner[..rows.inner_count].copy_from_slice(&y[rows.inner..rows.inner + rows.inner_count]);
        Bias {
            volts: y[rows.voltage],
            junction_c: self.junction_c(k, y),
            inner,
        }
    }

    /// Conduction of device `k`.
    pub fn conduction(&self, k: usize, y: &[f64], state: State) -> Conduction {
        self.circuit.devices[k].law.conduction(state, &self.bias(k, y))
    }

    /// The conditions that would end the discrete state of device `k`.
    pub fn watches(&self, k: usize, y: &[f64], state: State) -> [Option<Watch>; MAX_EVENTS] {
        let bias = self.bias(k, y);
        let law = &self.circuit.devices[k].law;
        law.watches(state, &bias, law.conduction(state, &bias).amps)
    }

    /// Carries out the change of state that watch `watch` of device `k` stands for.
    pub fn switch(&self, k: usize, watch: usize, y: &mut [f64], state: &mut State) {
        let bias = self.bias(k, y);
        let law = &self.circuit.devices[k].law;
        let amps = law.conduction(*state, &bias).amps;
        let (next, inner) = law.after(*state, &bias, amps, watch);
        let rows = &self.device_rows[k];
        y[rows.inner..rows.inner + rows.inner_count].copy_from_slice(&inner[..rows.inner_count]);
        *state = next;
    }

    /// Right-hand side `f(t, y)`.
    pub fn rhs(&self, t_s: f64, y: &[f64], states: &[State], out: &mut [f64]) {
        let nodes = self.circuit.nodes.len();
        out[..nodes].fill(0.0);
        let join = |out: &mut [f64], from: Option<usize>, to: Option<usize>, amps: f64| {
            if let Some(node) = from {
                out[node] -= amps;
            }
            if let Some(node) = to {
                out[node] += amps;
            }
        };
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            let rows = &self.branch_rows[k];
            let drive = self.branch_drive(k, t_s, y);
            let amps = match rows.current {
                Some(row) => {
                    let amps = y[row];
                    let (henries, _) = branch.inductance.incremental(amps);
                    out[row] = (drive - branch.resistance_ohm * amps) / henries;
                    amps
                }
                None => drive / branch.resistance_ohm,
            };
            if let (Some(row), Some((farads, _))) = (rows.capacitor, branch.capacitor) {
                out[row] = amps / farads;
            }
            if let Some(row) = rows.emf {
                out[row] = self.source(k, t_s) - y[row];
            }
            join(out, branch.from, branch.to, amps);
        }
        for (k, device) in self.circuit.devices.iter().enumerate() {
            let rows = &self.device_rows[k];
            if let Some(row) = rows.current {
                out[row] = (self.device_drive(k, y) - device.series_ohm * y[row]) / device.lead_h;
            }
            let amps = self.device_amps(k, y);
            join(out, device.from, device.to, amps);
            let bias = self.bias(k, y);
            let conduction = device.law.conduction(states[k], &bias);
            let (farads, _) = device.law.capacitance(bias.volts);
            out[rows.voltage] = (amps - conduction.amps) / farads;
            for j in 0..rows.inner_count {
                out[rows.inner + j] = device.law.inner_rate(states[k], &bias, j).per_s;
            }
            self.thermal_rhs(k, y, bias.volts * conduction.amps, out);
        }
        for (k, node) in self.circuit.nodes.iter().enumerate() {
            if node.capacitance_f > 0.0 {
                out[k] /= node.capacitance_f;
            }
        }
    }

    fn thermal_rhs(&self, k: usize, y: &[f64], watts: f64, out: &mut [f64]) {
        let rows = &self.device_rows[k];
        let device = &self.circuit.devices[k];
        let mut inflow = watts;
        for j in 0..rows.thermal_count {
            let here = y[rows.thermal + j];
            let next = if j + 1 < rows.thermal_count {
                y[rows.thermal + j + 1]
            } else {
                device.ambient_c
            };
            let outflow = (here - next) / device.thermal.resistance_k_per_w[j];
            out[rows.thermal + j] = (inflow - outflow) / device.thermal.capacity_j_per_k[j];
            inflow = outflow;
        }
    }

    /// Time derivative of the right-hand side at fixed `y`.
    pub fn rhs_per_time(&self, t_s: f64, out: &mut [f64]) {
        out.fill(0.0);
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            let Some(emf) = &branch.emf else { continue };
            let slope = emf.slope(t_s);
            let rows = &self.branch_rows[k];
            if let Some(row) = rows.emf {
                out[row] = slope;
            } else if let Some(row) = rows.current {
                // A saturating inductance never carries a source (generators are linear).
                out[row] = slope / branch.inductance.henries;
            }
        }
    }

    fn node_scale(&self, node: usize) -> f64 {
        let farads = self.circuit.nodes[node].capacitance_f;
        if farads > 0.0 { farads } else { 1.0 }
    }

    /// Hands every entry of the Jacobian `∂f/∂y` to `add(row, column, value)`; entries repeat and sum.
    ///
    /// The set of places does not depend on `t`, `y` or the discrete states.
    pub fn jacobian(&self, y: &[f64], states: &[State], mut add: impl FnMut(usize, usize, f64)) {
        for k in 0..self.circuit.branches.len() {
            self.branch_jacobian(k, y, &mut add);
        }
        for (k, &state) in states.iter().enumerate() {
            self.device_jacobian(k, y, state, &mut add);
        }
    }

    /// Adds the derivatives of a current from → to into the node rows: `column` and derivative pairs.
    fn join_jacobian(
        &self,
        ends: (Option<usize>, Option<usize>),
        derivatives: &[(usize, f64)],
        add: &mut impl FnMut(usize, usize, f64),
    ) {
        for (node, sign) in [(ends.0, -1.0), (ends.1, 1.0)] {
            if let Some(node) = node {
                let scale = sign / self.node_scale(node);
                for &(column, value) in derivatives {
                    add(node, column, scale * value);
                }
            }
        }
    }

    fn branch_jacobian(&self, k: usize, y: &[f64], add: &mut impl FnMut(usize, usize, f64)) {
        let branch = &self.circuit.branches[k];
        let rows = &self.branch_rows[k];
        // Columns the driving voltage depends on, with their signs.
        let mut drive = [(0, 0.0); 4];
        let mut count = 0;
        for (column, sign) in [
            (branch.from, 1.0),
            (branch.to, -1.0),
            (rows.capacitor, -1.0),
            (rows.emf, 1.0),
        ] {
            if let Some(column) = column {
                drive[count] = (column, sign);
                count += 1;
            }
        }
        let drive = &mut drive[..count];
        if let Some(row) = rows.emf {
            add(row, row, -1.0);
        }
        match rows.current {
            Some(row) => {
                let amps = y[row];
                let (henries, per_amp) = branch.inductance.incremental(amps);
                for &(column, sign) in drive.iter() {
                    add(row, column, sign / henries);
                }
                let mut own = -branch.resistance_ohm / henries;
                if per_amp != 0.0 {
                    let volts: f64 = drive.iter().map(|&(column, sign)| sign * y[column]).sum();
                    own -= (volts - branch.resistance_ohm * amps) * per_amp / (henries * henries);
                }
                add(row, row, own);
                self.join_jacobian((branch.from, branch.to), &[(row, 1.0)], add);
                if let (Some(cap_row), Some((farads, _))) = (rows.capacitor, branch.capacitor) {
                    add(cap_row, row, 1.0 / farads);
                }
            }
            None => {
                for entry in drive.iter_mut() {
                    entry.1 /= branch.resistance_ohm;
                }
                self.join_jacobian((branch.from, branch.to), drive, add);
                if let (Some(cap_row), Some((farads, _))) = (rows.capacitor, branch.capacitor) {
                    for &(column, value) in drive.iter() {
                        add(cap_row, column, value / farads);
                    }
                }
            }
        }
    }

    fn device_jacobian(&self, k: usize, y: &[f64], state: State, add: &mut impl FnMut(usize, usize, f64)) {
        let device = &self.circuit.devices[k];
        let rows = &self.device_rows[k];
        let bias = self.bias(k, y);
        let conduction = device.law.conduction(state, &bias);
        let (farads, farads_per_volt) = device.law.capacitance(bias.volts);
        let v = rows.voltage;
        let mut drive = [(v, -1.0), (0, 0.0), (0, 0.0)];
        let mut count = 1;
        for (column, sign) in [(device.from, 1.0), (device.to, -1.0)] {
            if let Some(column) = column {
                drive[count] = (column, sign);
                count += 1;
            }
        }
        let drive = &mut drive[..count];
        let amps = self.device_amps(k, y);
        if let Some(row) = rows.current {
            for &(column, sign) in drive.iter() {
                add(row, column, sign / device.lead_h);
            }
            add(row, row, -device.series_ohm / device.lead_h);
            self.join_jacobian((device.from, device.to), &[(row, 1.0)], add);
            add(v, row, 1.0 / farads);
        }
        // The part of the current that follows the driving voltage at once.
        let conductance = if rows.current.is_some() {
            device.loss_s
        } else {
            1.0 / device.series_ohm
        };
        for entry in drive.iter_mut() {
            entry.1 *= conductance;
        }
        self.join_jacobian((device.from, device.to), drive, add);
        for &(column, value) in drive.iter() {
            add(v, column, value / farads);
        }
        let charging = amps - conduction.amps;
        add(
            v,
            v,
            -conduction.per_volt / farads - charging * farads_per_volt / (farads * farads),
        );
        let junction = (rows.thermal_count > 0).then_some(rows.thermal);
        if let Some(column) = junction {
            add(v, column, -conduction.per_kelvin / farads);
        }
        for j in 0..rows.inner_count {
            add(v, rows.inner + j, -conduction.per_inner[j] / farads);
            let rate = device.law.inner_rate(state, &bias, j);
            add(rows.inner + j, rows.inner + j, rate.per_self);
            add(rows.inner + j, v, rate.per_volt);
            if rows.inner_count == 2 {
                add(rows.inner + j, rows.inner + 1 - j, rate.per_other);
            }
            if let Some(column) = junction {
                add(rows.inner + j, column, rate.per_kelvin);
            }
        }
        if let Some(first) = junction {
            let capacity = device.thermal.capacity_j_per_k[0];
            add(
                first,
                v,
                (conduction.amps + bias.volts * conduction.per_volt) / capacity,
            );
            add(first, first, bias.volts * conduction.per_kelvin / capacity);
            for j in 0..rows.inner_count {
                add(
                    first,
                    rows.inner + j,
                    bias.volts * conduction.per_inner[j] / capacity,
                );
            }
        }
        for j in 0..rows.thermal_count {
            let (row, capacity) = (rows.thermal + j, device.thermal.capacity_j_per_k[j]);
            let out = 1.0 / device.thermal.resistance_k_per_w[j];
            add(row, row, -out / capacity);
            if j + 1 < rows.thermal_count {
                add(row, row + 1, out / capacity);
                let next_capacity = device.thermal.capacity_j_per_k[j + 1];
                add(row + 1, row, out / next_capacity);
                add(row + 1, row + 1, -out / next_capacity);
            }
        }
    }
}
