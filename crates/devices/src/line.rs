//! What a protector's capacitance does to the signal of its line.

use std::f64::consts::PI;

/// Insertion loss in dB of a shunt capacitance (F) on a line of `z0_ohm` ohms at a frequency in Hz:
/// `10 log10(1 + (π f C Z0)²)`.
pub fn insertion_loss_db(frequency_hz: f64, capacitance_f: f64, z0_ohm: f64) -> f64 {
    10.0 * (PI * frequency_hz * capacitance_f * z0_ohm).powi(2).ln_1p() / std::f64::consts::LN_10
}

/// Rise time (10 % to 90 %) in seconds a shunt capacitance adds: `2.2 (Z0/2) C` (derived, ln 9); adds in squares to the signal's own.
pub fn added_rise_s(capacitance_f: f64, z0_ohm: f64) -> f64 {
    2.2 * 0.5 * z0_ohm * capacitance_f
}

/// Frequency in Hz at which a shunt capacitance costs 3 dB: `1/(2π (Z0/2) C)`.
pub fn bandwidth_hz(capacitance_f: f64, z0_ohm: f64) -> f64 {
    1.0 / (PI * z0_ohm * capacitance_f)
}

/// Constant of an open-drain bus: time from 30 % to 70 % of an exponential (derived, `ln(0.7/0.3)`).
const OPEN_DRAIN: f64 = 0.847_297_860_387_204;

/// Least pull-up in ohms of an open-drain bus: `(Vdd − VOL)/IOL` (V, V, A).
pub fn least_pull_up_ohm(supply_v: f64, low_v: f64, sink_a: f64) -> f64 {
    (supply_v - low_v) / sink_a
}

/// Highest pull-up in ohms for a rise time (30 % to 70 %) in seconds and a bus capacitance in farads:
/// `tr / (0.8473 Cb)` (bus specification of the two-wire bus, section 7).
pub fn highest_pull_up_ohm(rise_s: f64, capacitance_f: f64) -> f64 {
    rise_s / (OPEN_DRAIN * capacitance_f)
}

/// Highest bus capacitance in farads for a rise time in seconds and a pull-up in ohms.
pub fn highest_bus_f(rise_s: f64, pull_up_ohm: f64) -> f64 {
    rise_s / (OPEN_DRAIN * pull_up_ohm)
}

/// Length in metres of cable that loads a line as much as a capacitance does (F, F/m).
pub fn equivalent_cable_m(capacitance_f: f64, cable_f_per_m: f64) -> f64 {
    capacitance_f / cable_f_per_m
}
