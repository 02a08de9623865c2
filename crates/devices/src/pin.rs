//! The protected pin: static share of the current, failure current by width, published equivalents of stresses.

use crate::curve::ClampLine;

/// Current in amperes into a pin behind `series_ohm` ohms, next to a protector that has its line and takes the
/// rest of `total_a`: `I = (V0t + Rt Itot − V0p)/(Rt + Rs + Rp)` (method of JEP161, from memory), within zero and
/// the total.
///
/// `pin.v0_v` is the conduction threshold: the rail plus a diode for a diode to a rail. Static: run the transient
/// for the first peak.
pub fn static_pin_current_a(protector: ClampLine, pin: ClampLine, series_ohm: f64, total_a: f64) -> f64 {
    let over = protector.v0_v + protector.r_ohm * total_a - pin.v0_v;
    (over / (protector.r_ohm + series_ohm + pin.r_ohm)).clamp(0.0, total_a.max(0.0))
}

/// Least series resistance in ohms that keeps the pin at or below `pin_max_a` amperes.
pub fn series_for_pin_ohm(protector: ClampLine, pin: ClampLine, total_a: f64, pin_max_a: f64) -> f64 {
    let over = protector.v0_v + protector.r_ohm * total_a - pin.v0_v;
    (over / pin_max_a - protector.r_ohm - pin.r_ohm).max(0.0)
}

/// Failure current in amperes at a width in seconds, from one known at another width.
///
/// Longer pulses: `I ∝ t^−1/2`, the diffusion regime of Wunsch and Bell at constant voltage. Shorter ones keep the
/// known value, which is pessimistic.
pub fn failure_current_a(known_a: f64, known_s: f64, width_s: f64) -> f64 {
    known_a * (known_s / width_s.max(known_s)).sqrt()
}

/// Voltage in the table of an IBIS \[POWER Clamp\] for a pad voltage: `Vcc − Vpad`, both in volts (IBIS,
/// IEC 62014-1).
pub fn ibis_power_clamp_v(supply_v: f64, pad_v: f64) -> f64 {
    supply_v - pad_v
}

/// Currents in amperes of a contact discharge of `kilovolts` kV (IEC 61000-4-2, from memory): first peak, at 30 ns, at 60 ns.
pub fn contact_discharge_a(kilovolts: f64) -> [f64; 3] {
    [3.75 * kilovolts, 2.0 * kilovolts, kilovolts]
}

/// Peak current in amperes of a human-body-model pulse of `volts` V into a low resistance: through 1.5 kΩ (read in
/// the specification sheet of a tester).
pub fn human_body_a(volts: f64) -> f64 {
    volts / 1500.0
}
