//! Power and energy book-keeping of a circuit.

use tidewall_devices::law::State;

use crate::circuit::Side;
use crate::equations::Equations;

/// Voltage, current, dissipation and junction temperature of one element at one instant.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Reading {
    /// Voltage across the element without its lead inductance, in volts.
    pub volts: f64,
    /// Current through it in amperes.
    pub amps: f64,
    /// Power turned into heat in watts.
    pub watts: f64,
    /// Junction temperature in °C (ambient for elements without a thermal model).
    pub junction_c: f64,
}

/// Power flows at one instant, in watts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Power {
    /// Delivered by every source.
    pub delivered_w: f64,
    /// Turned into heat everywhere.
    pub dissipated_w: f64,
    /// Flowing through the connector into the port.
    pub into_port_w: f64,
    /// The same, counting only what flows in: what the generator sends in and the supply takes out counts here.
    pub entering_w: f64,
    /// Turned into heat in the port.
    pub dissipated_in_port_w: f64,
}

/// Energies in joules.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stored<T = f64> {
    /// In every capacitance and inductance.
    pub whole_j: T,
    /// In those of the port.
    pub port_j: T,
}

impl Equations {
    /// Voltage, current, heat and temperature of every element, and the power flows.
    pub fn readings(&self, t_s: f64, y: &[f64], states: &[State], readings: &mut [Reading]) -> Power {
        let mut power = Power::default();
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            let amps = self.branch_amps(k, t_s, y);
            let watts = branch.resistance_ohm * amps * amps;
            power.delivered_w += self.emf(k, t_s, y) * amps;
            self.book(branch.side, branch.from, branch.to, amps, watts, y, &mut power);
            let volts = Self::volts(y, branch.from) - Self::volts(y, branch.to);
            readings[k] = Reading {
                volts,
                amps,
                watts,
                junction_c: f64::NAN,
            };
        }
        for (k, device) in self.circuit.devices.iter().enumerate() {
            let amps = self.device_amps(k, y);
            let bias = self.bias(k, y);
            let conduction = device.law.conduction(states[k], &bias);
            let (lead, drive) = (self.lead_amps(k, y), self.device_drive(k, y));
            let watts = bias.volts * conduction.amps
                + device.series_ohm * lead * lead
                + self.loss_s(k) * drive * drive;
            self.book(device.side, device.from, device.to, amps, watts, y, &mut power);
            let volts = bias.volts + device.series_ohm * lead;
            readings[self.circuit.branches.len() + k] = Reading {
                volts,
                amps,
                watts,
                junction_c: bias.junction_c,
            };
        }
        power
    }

    #[allow(clippy::too_many_arguments)]
    fn book(
        &self,
        side: Side,
        from: Option<usize>,
        to: Option<usize>,
        amps: f64,
        watts: f64,
        y: &[f64],
        power: &mut Power,
    ) {
        power.dissipated_w += watts;
        if side == Side::Port {
            power.dissipated_in_port_w += watts;
            return;
        }
        for (node, sign) in [(from, -1.0), (to, 1.0)] {
            if let Some(node) = node
                && self.circuit.nodes[node].side == Side::Port
            {
                let watts = sign * y[node] * amps;
                power.into_port_w += watts;
                power.entering_w += watts.max(0.0);
            }
        }
    }

    /// Energy stored in capacitances and inductances.
    pub fn stored(&self, t_s: f64, y: &[f64]) -> Stored {
        let mut stored = Stored::default();
        let mut book = |side: Side, joules: f64| {
            stored.whole_j += joules;
            if side == Side::Port {
                stored.port_j += joules;
            }
        };
        for (k, node) in self.circuit.nodes.iter().enumerate() {
            book(node.side, 0.5 * node.capacitance_f * y[k] * y[k]);
        }
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            if branch.inductance.henries > 0.0 {
                book(
                    branch.side,
                    branch.inductance.stored_j(self.branch_amps(k, t_s, y)),
                );
            }
            if let (Some(row), Some((farads, _))) = (self.branch_rows[k].capacitor, branch.capacitor) {
                book(branch.side, 0.5 * farads * y[row] * y[row]);
            }
        }
        for (k, device) in self.circuit.devices.iter().enumerate() {
            let amps = self.lead_amps(k, y);
            book(device.side, 0.5 * device.lead_h * amps * amps);
            book(device.side, device.law.stored_j(y[self.device_rows[k].voltage]));
        }
        stored
    }
}
