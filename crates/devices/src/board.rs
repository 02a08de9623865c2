//! Inductance of board structures, in henries; all lengths in metres.

use std::f64::consts::PI;

/// Vacuum permeability in H/m (from memory; to the digits these formulas deserve).
const MU0: f64 = 4e-7 * PI;

/// Via of length `h_m` and diameter `d_m`: `L = 5.08 h [ln(4h/d) + 1]` nH, inches (read in a published design rule); leaves the
/// return path out.
pub fn via_h(h_m: f64, d_m: f64) -> f64 {
    200e-9 * h_m * ((4.0 * h_m / d_m).ln() + 1.0)
}

/// Round wire of length `l_m` and diameter `d_m`, low frequency: `0.2 l [ln(4l/d) − 0.75]` nH, mm (Grover; Terman;
/// from memory).
pub fn wire_h(l_m: f64, d_m: f64) -> f64 {
    200e-9 * l_m * ((4.0 * l_m / d_m).ln() - 0.75)
}

/// Free flat strip of length `l_m`, width `w_m` and thickness `t_m`: `0.2 l [ln(2l/(w+t)) + 0.5 + 0.2235 (w+t)/l]`
/// nH, mm (from memory).
pub fn strip_h(l_m: f64, w_m: f64, t_m: f64) -> f64 {
    let edge = w_m + t_m;
    200e-9 * l_m * ((2.0 * l_m / edge).ln() + 0.5 + 0.2235 * edge / l_m)
}

/// Narrow trace of length `l_m` and width `w_m` at height `h_m` over its plane: `5 ln(2πh/w)` nH/inch (read in a
/// post on signal integrity, 1998). For `w` up to about `h`.
pub fn narrow_trace_h(l_m: f64, w_m: f64, h_m: f64) -> f64 {
    5e-9 / 0.0254 * l_m * (2.0 * PI * h_m / w_m).ln()
}

/// Microstrip of length `l_m`, width `w_m`, thickness `t_m` at height `h_m`: `5.08 ln(5.98h/(0.8w+t))` nH/inch, the
/// product of impedance and delay of IPC-2141 (from memory), independent of the dielectric. For `0.1 < w/h < 3`.
pub fn microstrip_h(l_m: f64, w_m: f64, t_m: f64, h_m: f64) -> f64 {
    200e-9 * l_m * (5.98 * h_m / (0.8 * w_m + t_m)).ln()
}

/// Impedance in ohms of that microstrip in a dielectric of relative permittivity `er` (IPC-2141, from memory).
pub fn microstrip_ohm(w_m: f64, t_m: f64, h_m: f64, er: f64) -> f64 {
    87.0 / (er + 1.41).sqrt() * (5.98 * h_m / (0.8 * w_m + t_m)).ln()
}

/// Wide trace over its plane, `w` far above `h`: `μ0 h l / w`.
pub fn wide_trace_h(l_m: f64, w_m: f64, h_m: f64) -> f64 {
    MU0 * h_m * l_m / w_m
}

/// Loop of two vias of height `h_m` and diameter `d_m`, `s_m` apart: `(μ0/π) h ln(2s/d)` (derived).
pub fn via_pair_h(h_m: f64, d_m: f64, s_m: f64) -> f64 {
    MU0 / PI * h_m * (2.0 * s_m / d_m).ln()
}

/// Voltage in volts an inductance adds in a shunt path: `L di/dt` (H, A/s).
pub fn overshoot_v(inductance_h: f64, slope_a_per_s: f64) -> f64 {
    inductance_h * slope_a_per_s
}
