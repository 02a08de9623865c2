//! Stress of series elements: energy in resistors, I²t of fuses, saturation of inductors.

/// Energy in joules in `r_ohm` ohms of an exponential voltage pulse of peak `peak_v` volts and time constant `tau_s`
/// seconds: `E = V² τ / (2R)`. The rectangle of full peak and width `τ/2` holds as much.
pub fn exponential_energy_j(peak_v: f64, tau_s: f64, r_ohm: f64) -> f64 {
    0.5 * peak_v * peak_v * tau_s / r_ohm
}

/// Shapes whose I²t fuse makers tabulate (fuse catalogue, wave-shape chart, 2017). Currents in A, times in s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FuseWave {
    /// Constant current.
    Rectangle,
    /// Half a sine.
    HalfSine,
    /// Rises or falls in a straight line from or to zero.
    Triangle,
    /// `ip exp(−t/τ)`; the duration is τ.
    Exponential,
    /// Straight from the peak to a final value in amperes.
    Trapezoid {
        /// Current at the end in amperes.
        end_a: f64,
    },
    /// Parabola that touches zero with level slope.
    Parabola,
}

/// I²t in A²s of a wave of peak `peak_a` amperes and duration `duration_s` seconds (read in a fuse catalogue, 2017).
pub fn square_time_a2s(wave: FuseWave, peak_a: f64, duration_s: f64) -> f64 {
    let square = peak_a * peak_a;
    duration_s
        * match wave {
            FuseWave::Rectangle => square,
            FuseWave::HalfSine | FuseWave::Exponential => 0.5 * square,
            FuseWave::Triangle => square / 3.0,
            FuseWave::Trapezoid { end_a } => (square + peak_a * end_a + end_a * end_a) / 3.0,
            FuseWave::Parabola => 0.2 * square,
        }
}

/// Pulses and the part of the melting I²t that each may have, at least 10 s apart (read in a fuse catalogue,
/// pulse-cycle chart, 2017).
const FUSE_LIFE: [(f64, f64); 4] = [(1e2, 0.48), (1e3, 0.38), (1e4, 0.29), (1e5, 0.22)];

/// Part of a fuse's melting I²t that a pulse may have if it comes `pulses` times, at least 10 s apart.
///
/// Straight in a log-log plot between the tabulated counts. Fewer than 100 pulses keep the value for 100 (the chart
/// begins there); above 100 000 there is no datum and `None` is returned.
pub fn fuse_life_factor(pulses: u32) -> Option<f64> {
    let n = f64::from(pulses);
    if n <= FUSE_LIFE[0].0 {
        return Some(FUSE_LIFE[0].1);
    }
    let k = FUSE_LIFE.iter().position(|p| p.0 >= n)?;
    let (a, b) = (FUSE_LIFE[k - 1], FUSE_LIFE[k]);
    Some(a.1 * (n / a.0).powf((b.1 / a.1).ln() / (b.0 / a.0).ln()))
}

/// Melting I²t in A²s a fuse needs to stand `pulses` pulses of `pulse_a2s`; `None` above 100 000 pulses.
pub fn melting_needed_a2s(pulse_a2s: f64, pulses: u32) -> Option<f64> {
    Some(pulse_a2s / fuse_life_factor(pulses)?)
}

/// Inductance in henries left at a current: `L0 / (1 + (I/Isat)^2)`, half of it at `saturation_a` (from memory;
/// exponents of 2 to 4 are usual).
pub fn saturated_h(inductance_h: f64, saturation_a: f64, current_a: f64) -> f64 {
    inductance_h / (1.0 + (current_a / saturation_a).powi(2))
}
