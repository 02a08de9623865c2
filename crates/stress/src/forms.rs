//! Named shapes of the standards, each with a peak of one.

use std::f64::consts::TAU;
use std::sync::Arc;

use crate::waveform::{HeidlerTerm, Shape};

/// Why samples do not make a waveform.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SamplesError {
    /// Fewer than two points.
    #[error("a sampled waveform needs at least two points, {count} given")]
    TooFew {
        /// How many were given.
        count: usize,
    },
    /// A time or a value is not finite.
    #[error("point {index} (counted from 0) is not a finite number")]
    NotFinite {
        /// Place in the list, from 0.
        index: usize,
    },
    /// A time is negative.
    #[error("point {index} (counted from 0) lies before time zero")]
    BeforeZero {
        /// Place in the list, from 0.
        index: usize,
    },
    /// The times do not ascend strictly.
    #[error("point {index} (counted from 0) is not later than the one before it")]
    NotAscending {
        /// Place in the list, from 0.
        index: usize,
    },
    /// Every value is zero.
    #[error("every value is zero")]
    AllZero,
}

/// A waveform from points `(t in seconds, value)`, as they are (not normalised).
///
/// # Errors
/// [`SamplesError`] names the first point that is out of order, not finite or before time zero.
pub fn samples(points: &[(f64, f64)]) -> Result<Shape, SamplesError> {
    if points.len() < 2 {
        return Err(SamplesError::TooFew { count: points.len() });
    }
    let mut last_s = f64::NEG_INFINITY;
    for (index, &(t_s, value)) in points.iter().enumerate() {
        if !t_s.is_finite() || !value.is_finite() {
            return Err(SamplesError::NotFinite { index });
        }
        if t_s < 0.0 {
            return Err(SamplesError::BeforeZero { index });
        }
        if t_s <= last_s {
            return Err(SamplesError::NotAscending { index });
        }
        last_s = t_s;
    }
    if points.iter().all(|point| point.1 == 0.0) {
        return Err(SamplesError::AllZero);
    }
    Ok(Shape::Samples(Arc::from(points)))
}

/// Open-circuit voltage 1.2/50: constants of the annex of IEC 61000-4-5 Ed.3 (from memory; checked to
/// reproduce the nominal times).
pub fn surge_1p2_50() -> Shape {
    heidler(0.356e-6, 65.845e-6, 1.852)
}

/// Short-circuit current 8/20: annex of IEC 61000-4-5 Ed.3 (from memory; checked).
pub fn surge_8_20() -> Shape {
    heidler(47.52e-6, 4.296e-6, 2.741)
}

/// Open-circuit voltage 10/700: annex of IEC 61000-4-5 Ed.3 (from memory; checked).
pub fn surge_10_700() -> Shape {
    heidler(2.574e-6, 945.1e-6, 1.749)
}

/// Short-circuit current 5/320: annex of IEC 61000-4-5 Ed.3 (from memory; checked).
pub fn surge_5_320() -> Shape {
    heidler(1.355e-6, 429.1e-6, 1.556)
}

/// Lightning current 10/350: IEC 62305-1 constants (from memory; checked).
pub fn lightning_10_350() -> Shape {
    heidler(19e-6, 485e-6, 10.0)
}

/// Fast transient 5/50 ns: annex of IEC 61000-4-4 Ed.3 (from memory; checked).
pub fn burst_5_50() -> Shape {
    heidler(3.5e-9, 51e-9, 1.8)
}

/// Contact discharge current of IEC 61000-4-2 Ed.2 clause 6 (informative formula; constants from memory,
/// checked against the current table of the standard), as a share of its own peak.
pub fn contact_discharge_current() -> Shape {
    let (first, second) = contact_discharge_terms(1.0);
    let peak = peak_of(|t| first.value(t) + second.value(t), 5e-9).1;
    let (first, second) = contact_discharge_terms(1.0 / peak);
    Shape::HeidlerPair(first, second)
}

/// Peak of the informative contact discharge current in amperes per volt of charge (0.00373 A/V; constants from memory).
pub fn contact_discharge_peak_a_per_v() -> f64 {
    let (first, second) = contact_discharge_terms(1.0);
    peak_of(|t| first.value(t) + second.value(t), 5e-9).1 / 4000.0
}

/// The two terms at 4 kV in amperes times `factor` (IEC 61000-4-2 Ed.2 clause 6, from memory; checked).
fn contact_discharge_terms(factor: f64) -> (HeidlerTerm, HeidlerTerm) {
    let term = |current_a: f64, front_s: f64, tail_s: f64, exponent: f64| {
        // The factor k of the standard's formula.
        let k = (-(front_s / tail_s) * (exponent * tail_s / front_s).powf(1.0 / exponent)).exp();
        HeidlerTerm {
            scale: factor * current_a / k,
            front_s,
            tail_s,
            exponent,
        }
    };
    (term(16.6, 1.1e-9, 2e-9, 1.8), term(9.3, 12e-9, 37e-9, 1.8))
}

/// The 8/20 current as a damped sine (derived: front 8 µs and tail 20 µs are met exactly); it undershoots by a
/// third like the generator's circuit.
pub fn damped_8_20() -> Shape {
    damped_sine(0.041628e6, 0.120023e6)
}

/// The 100 kHz ring wave of IEEE C62.41.2 and IEC 61000-4-12 (constants from memory; rise and successive
/// peaks checked).
pub fn ring_wave_100_khz() -> Shape {
    damped_cosine(0.533e-6, 9.788e-6, TAU * 100e3)
}

/// A damped sine that keeps `share` of its amplitude over four cycles (RTCA DO-160 section 22 waveform 3 asks
/// 25 % to 75 % at the fourth, from memory; half gives a decrement of 0.1733 per cycle).
pub fn damped_sine_over_four_cycles(frequency_hz: f64, share: f64) -> Shape {
    damped_sine(frequency_hz * (1.0 / share).ln() / 4.0, TAU * frequency_hz)
}

/// `exp(−decay t) sin(ω t)` with its first peak at one.
pub fn damped_sine(decay_per_s: f64, omega_per_s: f64) -> Shape {
    let peak_s = omega_per_s.atan2(decay_per_s) / omega_per_s;
    let peak = (-decay_per_s * peak_s).exp() * (omega_per_s * peak_s).sin();
    Shape::DampedSine {
        scale: 1.0 / peak,
        decay_per_s,
        omega_per_s,
    }
}

/// `(1 − exp(−t/front)) exp(−t/tail) cos(ω t)` with its first peak at one; `omega_per_s` may be zero.
pub fn damped_cosine(front_s: f64, tail_s: f64, omega_per_s: f64) -> Shape {
    let unit = Shape::DampedCosine {
        scale: 1.0,
        front_s,
        tail_s,
        omega_per_s,
    };
    // The first peak lies before the first zero of the cosine and before that of the aperiodic form.
    let aperiodic = front_s * (1.0 + tail_s / front_s).ln();
    // Derived: a quarter of a period.
    let quarter = if omega_per_s > 0.0 {
        0.25 * TAU / omega_per_s
    } else {
        f64::INFINITY
    };
    let peak = peak_of(|t| unit.value(t), (2.0 * aperiodic).min(quarter)).1;
    Shape::DampedCosine {
        scale: 1.0 / peak,
        front_s,
        tail_s,
        omega_per_s,
    }
}

/// One Heidler term with its peak at one.
pub fn heidler(front_s: f64, tail_s: f64, exponent: f64) -> Shape {
    let term = HeidlerTerm {
        scale: 1.0,
        front_s,
        tail_s,
        exponent,
    };
    // The slope is zero where n τ2 / t = 1 + (t/τ1)^n, so the peak lies below n τ2.
    let peak_s = crate::fit::bisect(0.0, exponent * tail_s, |t| {
        if t > 0.0 {
            exponent * tail_s / t - 1.0 - (t / front_s).powf(exponent)
        } else {
            1.0
        }
    });
    Shape::Heidler(HeidlerTerm {
        scale: 1.0 / term.value(peak_s),
        ..term
    })
}

/// A rectangular pulse by its 10–90 % rise and its width between the half points; rise and fall are straight
/// and equal.
pub fn rectangle(rise_10_90_s: f64, width_50_s: f64) -> Shape {
    // Derived: 10 % to 90 % of a straight edge.
    let edge_s = rise_10_90_s / 0.8;
    Shape::Trapezoid {
        rise_s: edge_s,
        top_s: (width_50_s - edge_s).max(0.0),
        fall_s: edge_s,
    }
}

/// Time and value of the only maximum of `value` between 0 and `until_s` (derived by golden section).
fn peak_of(value: impl Fn(f64) -> f64, until_s: f64) -> (f64, f64) {
    let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut low, mut high) = (0.0, until_s);
    let (mut left, mut right) = (high - ratio * (high - low), low + ratio * (high - low));
    let (mut at_left, mut at_right) = (value(left), value(right));
    for _ in 0..90 {
        if at_left < at_right {
            low = left;
            (left, at_left) = (right, at_right);
            right = low + ratio * (high - low);
            at_right = value(right);
        } else {
            high = right;
            (right, at_right) = (left, at_left);
            left = high - ratio * (high - low);
            at_left = value(left);
        }
    }
    let peak_s = 0.5 * (low + high);
    (peak_s, value(peak_s))
}
