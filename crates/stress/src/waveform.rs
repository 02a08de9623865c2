//! Shapes in time.
//!
//! Every shape is normalised numerically to a peak of one by its constructor in [`crate::fit`] or
//! [`crate::forms`]; a peak factor printed in a table is never trusted. Evaluation allocates nothing.

use std::f64::consts::TAU;
use std::sync::Arc;

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
        self.scale * self.step(t_s) * (-t_s / self.tail_s).exp()
    }

    /// Time derivative at `t_s ≥ 0`, per second.
    pub fn slope(&self, t_s: f64) -> f64 {
        if t_s <= 0.0 {
            return if self.exponent == 1.0 {
                self.scale / self.front_s
            } else {
                0.0
            };
        }
        // With s = x^n/(1+x^n), ds/dt = (n/t) s (1 − s); neither factor overflows.
        let step = self.step(t_s);
        let rest = 1.0 / (1.0 + (t_s / self.front_s).powf(self.exponent));
        self.scale * (-t_s / self.tail_s).exp() * step * (self.exponent / t_s * rest - 1.0 / self.tail_s)
    }

    fn step(&self, t_s: f64) -> f64 {
        // 1/(1 + x^−n) does not overflow for late times.
        if t_s <= 0.0 {
            0.0
        } else {
            1.0 / (1.0 + (t_s / self.front_s).powf(-self.exponent))
        }
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
        if t_s < 0.0 {
            return 0.0;
        }
        match self {
            Shape::Constant => 1.0,
            Shape::Sine {
                frequency_hz,
                phase_rad,
            } => (TAU * frequency_hz * t_s + phase_rad).sin(),
            Shape::DoubleExponential {
                scale,
                alpha_per_s,
                beta_per_s,
            } => scale * ((-alpha_per_s * t_s).exp() - (-beta_per_s * t_s).exp()),
            Shape::PowerExponential { exponent, tau_s } => {
                if t_s == 0.0 {
                    return 0.0;
                }
                let share = t_s / (exponent * tau_s);
                (exponent * (share.ln() + 1.0 - share)).exp()
            }
            Shape::Heidler(term) => term.value(t_s),
            Shape::HeidlerPair(first, second) => first.value(t_s) + second.value(t_s),
            Shape::DampedSine {
                scale,
                decay_per_s,
                omega_per_s,
            } => scale * (-decay_per_s * t_s).exp() * (omega_per_s * t_s).sin(),
            Shape::DampedCosine {
                scale,
                front_s,
                tail_s,
                omega_per_s,
            } => -scale * (-t_s / front_s).exp_m1() * (-t_s / tail_s).exp() * (omega_per_s * t_s).cos(),
            Shape::RampExponential {
                base,
                ramp_s,
                top_s,
                tau_s,
            } => {
                let part = if t_s < *ramp_s {
                    t_s / ramp_s
                } else {
                    (-(t_s - ramp_s - top_s).max(0.0) / tau_s).exp()
                };
                base + (1.0 - base) * part
            }
            Shape::Trapezoid {
                rise_s,
                top_s,
                fall_s,
            } => {
                let (top_from, top_to) = (*rise_s, rise_s + top_s);
                if t_s < top_from {
                    t_s / rise_s
                } else if t_s <= top_to {
                    1.0
                } else if t_s < top_to + fall_s {
                    1.0 - (t_s - top_to) / fall_s
                } else {
                    0.0
                }
            }
            Shape::Samples(points) => match segment(points, t_s) {
                Segment::Before => 0.0,
                Segment::Between(from, to) => from.1 + (to.1 - from.1) * ((t_s - from.0) / (to.0 - from.0)),
                Segment::After(last) => last,
            },
        }
    }

    /// Time derivative at `t_s` seconds after the start (from the right at a corner), per second.
    pub fn slope(&self, t_s: f64) -> f64 {
        if t_s < 0.0 {
            return 0.0;
        }
        match self {
            Shape::Constant => 0.0,
            Shape::Sine {
                frequency_hz,
                phase_rad,
            } => {
                let omega = TAU * frequency_hz;
                omega * (omega * t_s + phase_rad).cos()
            }
            Shape::DoubleExponential {
                scale,
                alpha_per_s,
                beta_per_s,
            } => scale * (beta_per_s * (-beta_per_s * t_s).exp() - alpha_per_s * (-alpha_per_s * t_s).exp()),
            Shape::PowerExponential { exponent, tau_s } => {
                if t_s == 0.0 {
                    // Zero above n = 1; the finite value e/τ at n = 1; unbounded below, where zero is given.
                    return if *exponent == 1.0 {
                        1.0_f64.exp() / tau_s
                    } else {
                        0.0
                    };
                }
                self.value(t_s) * (exponent / t_s - 1.0 / tau_s)
            }
            Shape::Heidler(term) => term.slope(t_s),
            Shape::HeidlerPair(first, second) => first.slope(t_s) + second.slope(t_s),
            Shape::DampedSine {
                scale,
                decay_per_s,
                omega_per_s,
            } => {
                let (sine, cosine) = (omega_per_s * t_s).sin_cos();
                scale * (-decay_per_s * t_s).exp() * (omega_per_s * cosine - decay_per_s * sine)
            }
            Shape::DampedCosine {
                scale,
                front_s,
                tail_s,
                omega_per_s,
            } => {
                let (sine, cosine) = (omega_per_s * t_s).sin_cos();
                let fast = (-t_s / front_s).exp();
                let front = -(-t_s / front_s).exp_m1();
                let tail = (-t_s / tail_s).exp();
                scale * tail * ((fast / front_s - front / tail_s) * cosine - front * omega_per_s * sine)
            }
            Shape::RampExponential {
                base,
                ramp_s,
                top_s,
                tau_s,
            } => {
                let tail_from = ramp_s + top_s;
                let part = if t_s < *ramp_s {
                    1.0 / ramp_s
                } else if t_s < tail_from {
                    0.0
                } else {
                    -(-(t_s - tail_from) / tau_s).exp() / tau_s
                };
                (1.0 - base) * part
            }
            Shape::Trapezoid {
                rise_s,
                top_s,
                fall_s,
            } => {
                let (top_from, top_to) = (*rise_s, rise_s + top_s);
                if t_s < top_from {
                    1.0 / rise_s
                } else if t_s >= top_to && t_s < top_to + fall_s {
                    -1.0 / fall_s
                } else {
                    0.0
                }
            }
            Shape::Samples(points) => match segment(points, t_s) {
                Segment::Between(from, to) => (to.1 - from.1) / (to.0 - from.0),
                Segment::Before | Segment::After(_) => 0.0,
            },
        }
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

enum Segment {
    Before,
    Between((f64, f64), (f64, f64)),
    After(f64),
}

/// The straight piece that holds from `t_s` on.
fn segment(points: &[(f64, f64)], t_s: f64) -> Segment {
    let next = points.partition_point(|point| point.0 <= t_s);
    match (
        next.checked_sub(1).and_then(|last| points.get(last)),
        points.get(next),
    ) {
        (None, _) => Segment::Before,
        (Some(from), Some(to)) => Segment::Between(*from, *to),
        (Some(last), None) => Segment::After(last.1),
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
