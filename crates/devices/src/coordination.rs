//! Stages working together, latch-up, and what a clamp absorbs of a source.

/// Least series resistance in ohms that makes the primary fire before the secondary is overloaded:
/// `R >= (Vfire,max − VC2(I2)) / I2,max` (V, V, A). Zero when the secondary clamps above the firing voltage.
pub fn resistance_to_fire_ohm(fire_max_v: f64, clamp_v: f64, secondary_max_a: f64) -> f64 {
    ((fire_max_v - clamp_v) / secondary_max_a).max(0.0)
}

/// Least series inductance in henries for the same on a ramp of `slope_v_per_s`, the secondary being flat:
/// `L >= (Vfire − VC2)² / (2 S I2)`.
pub fn inductance_to_fire_h(fire_max_v: f64, clamp_v: f64, slope_v_per_s: f64, secondary_max_a: f64) -> f64 {
    (fire_max_v - clamp_v).max(0.0).powi(2) / (2.0 * slope_v_per_s * secondary_max_a)
}

/// Least source resistance in ohms that lets a snapback part or thyristor go again on a direct supply:
/// `(Vs,max − Vh)/(Rs + Ron) < Ih,min`. Zero when the holding voltage is above the supply (V, V, Ω, A).
pub fn release_ohm(supply_max_v: f64, hold_v: f64, on_ohm: f64, hold_min_a: f64) -> f64 {
    if hold_v > supply_max_v {
        return 0.0;
    }
    ((supply_max_v - hold_v) / hold_min_a - on_ohm).max(0.0)
}

/// Current in amperes a supply keeps driving through a part that has folded back (V, V, Ω, Ω); zero when the
/// holding voltage is above the supply. It stays on if this is at least the lowest holding current over temperature.
pub fn follow_current_a(supply_max_v: f64, hold_v: f64, source_ohm: f64, on_ohm: f64) -> f64 {
    ((supply_max_v - hold_v) / (source_ohm + on_ohm)).max(0.0)
}

/// Energy in joules a constant clamp takes from a source whose voltage falls as `Vs exp(−t/τ)` behind `R`:
/// `E = VC τ/R [(Vs − VC) − VC ln(Vs/VC)]`, as in a load dump whose duration from 10 % to 10 % is `td = τ ln 10`
/// (V, V, Ω, s). Zero when the source stays below the clamp.
pub fn decaying_source_energy_j(source_v: f64, clamp_v: f64, source_ohm: f64, duration_s: f64) -> f64 {
    if source_v <= clamp_v {
        return 0.0;
    }
    let tau = duration_s / std::f64::consts::LN_10;
    clamp_v * tau / source_ohm * ((source_v - clamp_v) - clamp_v * (source_v / clamp_v).ln())
}

/// Energy factor `K` of a straight rise from zero in `E = K VC Ip t` (read in an application note on transient energy, 2000).
pub const RAMP_ENERGY: f64 = 0.5;
/// Energy factor of an exponential, `t` being the time to half value: exactly 1/ln 2 (the note rounds to 1.4).
pub const EXPONENTIAL_ENERGY: f64 = std::f64::consts::LOG2_E;

/// Energy in joules of current segments in a constant clamp: `Σ K VC Ip t`, each `(K, Ip in A, t in s)`.
pub fn clamp_energy_j(clamp_v: f64, segments: &[(f64, f64, f64)]) -> f64 {
    segments.iter().map(|(k, peak, t)| k * clamp_v * peak * t).sum()
}
