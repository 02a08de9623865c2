//! Shapes in time.
//!
//! Every shape is normalised numerically to a peak of one by its constructor in [`crate::fit`] or
//! [`crate::forms`]; a peak factor printed in a table is never trusted. Evaluation allocates nothing.

use std::f64::consts::{E, TAU};
use std::sync::Arc;

use tidewall_lanes::{Lane, exp, ln, pow};

/// One term `scale x^n / (1 + x^n) exp(−t/tail_s)` with `x = t / front_s`.
///
/// The surge and burst annexes, the electrostatic discharge current and the lightning current of
/// IEC 62305-1 are all sums of such terms. The slope at time zero is zero for `exponent` above one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeidlerTerm {
    /// Factor on the term.
    pub scale: f64,
    /// Front constant in seconds, above zero.
    pub front_s: f64,
    /// Tail constant in seconds, above zero.
    pub tail_s: f64,
    /// Exponent, at least one.
    pub exponent: f64,
}

impl HeidlerTerm {
    /// Value at `t_s ≥ 0`.
    pub fn value(&self, t_s: f64) -> f64 {
        self.values(t_s)
    }

    /// Value at `t_s ≥ 0`, for each lane.
    #[inline(always)]
    fn values<T: Lane>(&self, t_s: T) -> T {
        T::splat(self.scale) * self.step(t_s).0 * exp(-t_s / T::splat(self.tail_s))
    }

    /// Time derivative at `t_s ≥ 0`, per second, for each lane.
    #[inline(always)]
    fn slopes<T: Lane>(&self, t_s: T) -> T {
        let c = T::splat;
        let start = if self.exponent == 1.0 {
            self.scale / self.front_s
        } else {
            0.0
        };
        // With s = x^n/(1+x^n), ds/dt = (n/t) s (1 − s); neither factor overflows.
        let (step, rest) = self.step(t_s);
        let slope = c(self.scale)
            * exp(-t_s / c(self.tail_s))
            * step
            * (c(self.exponent) / t_s * rest - c(1.0 / self.tail_s));
        c(0.0).below(t_s, slope, c(start))
    }

    /// The step `x^n / (1 + x^n)` and what it lacks to one.
    #[inline(always)]
    fn step<T: Lane>(&self, t_s: T) -> (T, T) {
        let c = T::splat;
        // 1/(1 + x^−n) does not overflow for late times, and for early ones not beyond what is left of the step.
        let inverse = pow(t_s / c(self.front_s), c(-self.exponent)).min(c(1e300));
        let step = c(1.0) / (c(1.0) + inverse);
        (c(0.0).below(t_s, step, c(0.0)), inverse * step)
    }
}

/// A shape in time, as defined by a standard or by samples.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// One from time zero on.
    Constant,
    /// `sin(2π f t + phase)`: a mains source.
    Sine {
        /// Frequency in hertz.
        frequency_hz: f64,
        /// Phase at time zero in radians.
        phase_rad: f64,
    },
    /// `scale (exp(−alpha t) − exp(−beta t))`, rates in 1/s.
    DoubleExponential {
        /// Factor that makes the peak one.
        scale: f64,
        /// Slow rate in 1/s.
        alpha_per_s: f64,
        /// Fast rate in 1/s.
        beta_per_s: f64,
    },
    /// `(t/(n τ))^n exp(n − t/τ)`: peak one at `n τ`. The aperiodic form of 8/20.
    PowerExponential {
        /// Exponent `n`, above zero.
        exponent: f64,
        /// Time constant `τ` in seconds.
        tau_s: f64,
    },
    /// One Heidler term.
    Heidler(HeidlerTerm),
    /// The sum of two Heidler terms (electrostatic discharge current).
    HeidlerPair(HeidlerTerm, HeidlerTerm),
    /// `scale exp(−decay t) sin(ω t)`.
    DampedSine {
        /// Factor that makes the first peak one.
        scale: f64,
        /// Decay rate in 1/s.
        decay_per_s: f64,
        /// Angular frequency in rad/s.
        omega_per_s: f64,
    },
    /// `scale (1 − exp(−t/front)) exp(−t/tail) cos(ω t)`: the 100 kHz ring wave; without oscillation
    /// (`omega_per_s` zero) the closed form of IEEE C62.41.2.
    DampedCosine {
        /// Factor that makes the first peak one.
        scale: f64,
        /// Front constant in seconds.
        front_s: f64,
        /// Tail constant in seconds.
        tail_s: f64,
        /// Angular frequency in rad/s.
        omega_per_s: f64,
    },
    /// From `base` straight to one within `ramp_s`, a flat top of `top_s`, then exponentially back to `base`.
    RampExponential {
        /// Share of the peak that is present before the ramp and after the tail (a supply voltage).
        base: f64,
        /// Length of the whole ramp in seconds.
        ramp_s: f64,
        /// Length of the flat top in seconds (zero for none).
        top_s: f64,
        /// Time constant of the tail in seconds.
        tau_s: f64,
    },
    /// Straight rise from zero to one, a flat top, straight fall to zero.
    Trapezoid {
        /// Length of the whole rise in seconds.
        rise_s: f64,
        /// Length of the flat top in seconds.
        top_s: f64,
        /// Length of the whole fall in seconds.
        fall_s: f64,
    },
    /// Sampled points `(t in seconds, value)`, times strictly ascending, straight lines between them,
    /// zero before the first and the last value held after the last. Build with [`crate::forms::samples`].
    Samples(Arc<[(f64, f64)]>),
}

impl Shape {
    /// Value at `t_s` seconds after the start, at unit amplitude. Zero before the start.
    pub fn value(&self, t_s: f64) -> f64 {
        self.values(t_s)
    }

    /// Time derivative at `t_s` seconds after the start (from the right at a corner), per second.
    pub fn slope(&self, t_s: f64) -> f64 {
        self.slopes(t_s)
    }

    /// Value at each lane's time in seconds after the start, at unit amplitude. Zero before the start.
    #[inline(always)]
    pub fn values<T: Lane>(&self, t_s: T) -> T {
        let c = T::splat;
        let (zero, one) = (c(0.0), c(1.0));
        // Before the start the value at the start is worked out and left.
        let t = t_s.max(zero);
        let value = match self {
            Shape::Constant => one,
            Shape::Sine {
                frequency_hz,
                phase_rad,
            } => t.map(|t| (TAU * frequency_hz * t + phase_rad).sin()),
            Shape::DoubleExponential {
                scale,
                alpha_per_s,
                beta_per_s,
            } => c(*scale) * (exp(c(-alpha_per_s) * t) - exp(c(-beta_per_s) * t)),
            Shape::PowerExponential { exponent, tau_s } => {
                let share = t / c(exponent * tau_s);
                zero.below(t, exp(c(*exponent) * (ln(share) + one - share)), zero)
            }
            Shape::Heidler(term) => term.values(t),
            Shape::HeidlerPair(first, second) => first.values(t) + second.values(t),
            Shape::DampedSine {
                scale,
                decay_per_s,
                omega_per_s,
            } => c(*scale) * exp(c(-decay_per_s) * t) * t.map(|t| (omega_per_s * t).sin()),
            Shape::DampedCosine {
                scale,
                front_s,
                tail_s,
                omega_per_s,
            } => {
                let front = (-t / c(*front_s)).map(f64::exp_m1);
                c(-scale) * front * exp(-t / c(*tail_s)) * t.map(|t| (omega_per_s * t).cos())
            }
            Shape::RampExponential {
                base,
                ramp_s,
                top_s,
                tau_s,
            } => {
                let tail = exp(-(t - c(ramp_s + top_s)).max(zero) / c(*tau_s));
                let part = t.below(c(*ramp_s), t / c(*ramp_s), tail);
                c(*base) + c(1.0 - base) * part
            }
            Shape::Trapezoid {
                rise_s,
                top_s,
                fall_s,
            } => {
                let (rise, top_to) = (c(*rise_s), c(rise_s + top_s));
                let falling = (one - (t - top_to) / c(*fall_s)).max(zero);
                t.below(rise, t / rise, top_to.below(t, falling, one))
            }
            Shape::Samples(points) => t.map(|t| sampled(points, t).0),
        };
        t_s.below(zero, zero, value)
    }

    /// Time derivative at each lane's time in seconds after the start (from the right at a corner), per second.
    #[inline(always)]
    pub fn slopes<T: Lane>(&self, t_s: T) -> T {
        let c = T::splat;
        let (zero, one) = (c(0.0), c(1.0));
        let t = t_s.max(zero);
        let slope = match self {
            Shape::Constant => zero,
            Shape::Sine {
                frequency_hz,
                phase_rad,
            } => {
                let omega = TAU * frequency_hz;
                t.map(|t| omega * (omega * t + phase_rad).cos())
            }
            Shape::DoubleExponential {
                scale,
                alpha_per_s,
                beta_per_s,
            } => {
                let (slow, fast) = (exp(c(-alpha_per_s) * t), exp(c(-beta_per_s) * t));
                c(*scale) * (c(*beta_per_s) * fast - c(*alpha_per_s) * slow)
            }
            Shape::PowerExponential { exponent, tau_s } => {
                // At zero: none above n = 1; the finite value e/τ at n = 1; unbounded below, where zero is given.
                let start = if *exponent == 1.0 { E / tau_s } else { 0.0 };
                let slope = self.values(t) * (c(*exponent) / t - c(1.0 / tau_s));
                zero.below(t, slope, c(start))
            }
            Shape::Heidler(term) => term.slopes(t),
            Shape::HeidlerPair(first, second) => first.slopes(t) + second.slopes(t),
            Shape::DampedSine {
                scale,
                decay_per_s,
                omega_per_s,
            } => {
                let swing = t.map(|t| {
                    let (sine, cosine) = (omega_per_s * t).sin_cos();
                    omega_per_s * cosine - decay_per_s * sine
                });
                c(*scale) * exp(c(-decay_per_s) * t) * swing
            }
            Shape::DampedCosine {
                scale,
                front_s,
                tail_s,
                omega_per_s,
            } => {
                let (fast, tail) = (exp(-t / c(*front_s)), exp(-t / c(*tail_s)));
                let front = -(-t / c(*front_s)).map(f64::exp_m1);
                let sine = t.map(|t| (omega_per_s * t).sin());
                let cosine = t.map(|t| (omega_per_s * t).cos());
                let rising = fast / c(*front_s) - front / c(*tail_s);
                c(*scale) * tail * (rising * cosine - front * c(*omega_per_s) * sine)
            }
            Shape::RampExponential {
                base,
                ramp_s,
                top_s,
                tau_s,
            } => {
                let tail_from = c(ramp_s + top_s);
                let tail = -exp(-(t - tail_from).max(zero) / c(*tau_s)) / c(*tau_s);
                let part = t.below(c(*ramp_s), one / c(*ramp_s), t.below(tail_from, zero, tail));
                c(1.0 - base) * part
            }
            Shape::Trapezoid {
                rise_s,
                top_s,
                fall_s,
            } => {
                let (rise, top_to, end) = (c(*rise_s), c(rise_s + top_s), c(rise_s + top_s + fall_s));
                let falling = t.below(end, -one / c(*fall_s), zero);
                t.below(rise, one / rise, t.below(top_to, zero, falling))
            }
            Shape::Samples(points) => t.map(|t| sampled(points, t).1),
        };
        t_s.below(zero, zero, slope)
    }

    /// Adds the instants, in seconds after `delay_s`'s origin, at which value or slope jumps.
    fn push_breakpoints_s(&self, delay_s: f64, instants: &mut Vec<f64>) {
        instants.push(delay_s);
        match self {
            Shape::RampExponential { ramp_s, top_s, .. } => {
                instants.push(delay_s + ramp_s);
                instants.push(delay_s + ramp_s + top_s);
            }
            Shape::Trapezoid {
                rise_s,
                top_s,
                fall_s,
            } => {
                instants.push(delay_s + rise_s);
                instants.push(delay_s + rise_s + top_s);
                instants.push(delay_s + rise_s + top_s + fall_s);
            }
            Shape::Samples(points) => instants.extend(points.iter().map(|point| delay_s + point.0)),
            Shape::Constant
            | Shape::Sine { .. }
            | Shape::DoubleExponential { .. }
            | Shape::PowerExponential { .. }
            | Shape::Heidler(_)
            | Shape::HeidlerPair(..)
            | Shape::DampedSine { .. }
            | Shape::DampedCosine { .. } => {}
        }
    }
}

/// Value and slope of straight lines between points, from `t_s` on.
fn sampled(points: &[(f64, f64)], t_s: f64) -> (f64, f64) {
    let next = points.partition_point(|point| point.0 <= t_s);
    match (
        next.checked_sub(1).and_then(|last| points.get(last)),
        points.get(next),
    ) {
        (None, _) => (0.0, 0.0),
        (Some(from), Some(to)) => {
            let rise = to.1 - from.1;
            let value = from.1 + rise * ((t_s - from.0) / (to.0 - from.0));
            (value, rise / (to.0 - from.0))
        }
        (Some(last), None) => (last.1, 0.0),
    }
}

/// A shape with its amplitude and start.
#[derive(Clone, Debug, PartialEq)]
pub struct Waveform {
    /// What it looks like at unit amplitude.
    pub shape: Shape,
    /// Factor on the shape, in the unit of the quantity (volts for a source voltage).
    pub amplitude: f64,
    /// When it starts, in seconds.
    pub delay_s: f64,
}

impl Waveform {
    /// A shape that starts at time zero.
    pub fn new(shape: Shape, amplitude: f64) -> Self {
        Waveform {
            shape,
            amplitude,
            delay_s: 0.0,
        }
    }

    /// Value at time `t_s` seconds, in the unit of `amplitude`.
    pub fn value(&self, t_s: f64) -> f64 {
        self.amplitude * self.shape.value(t_s - self.delay_s)
    }

    /// Time derivative at `t_s` seconds (from the right at a corner), per second.
    pub fn slope(&self, t_s: f64) -> f64 {
        self.amplitude * self.shape.slope(t_s - self.delay_s)
    }

    /// Adds the instants at which value or slope jumps.
    pub fn push_breakpoints_s(&self, instants: &mut Vec<f64>) {
        self.shape.push_breakpoints_s(self.delay_s, instants);
    }
}
