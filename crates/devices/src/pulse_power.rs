//! Pulses and what they heat: unit waves, the √t kernel, equivalent widths, second-breakdown laws.
//!
//! Over the widths of surges the heat of a die spreads as `Zth = K √t`. A current wave under a constant clamping
//! voltage then heats the junction by `K V Ip θ(t)` with `θ(t) = ∫ i(s)/Ip d√(t − s)`, and two waves are equally
//! hard on a part when `V Ip θ_pk` is the same. The rectangle of width `t_eq = θ_pk²` stands for the wave.

use crate::datasheet::RatingWave;

/// A current wave of peak one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UnitWave {
    /// `scale (exp(−alpha t) − exp(−beta t))`, rates in 1/s.
    DoubleExponential {
        /// Factor that makes the peak one.
        scale: f64,
        /// Slow rate in 1/s.
        alpha_per_s: f64,
        /// Fast rate in 1/s.
        beta_per_s: f64,
    },
    /// `(t/t_peak)^power exp(power (1 − t/t_peak))`.
    Humped {
        /// Exponent of the rise.
        power: f64,
        /// Time of the peak in seconds.
        peak_s: f64,
    },
    /// `exp(−t/tau)` from time zero.
    Exponential {
        /// Time constant in seconds.
        tau_s: f64,
    },
    /// One from zero to the width.
    Rectangle {
        /// Width in seconds.
        width_s: f64,
    },
}

/// Time constant in seconds of the usual 8/20 µs form `t³ exp(−t/τ)` (IEEE C62.45, from memory).
const SURGE_TAU_S: f64 = 3.911e-6;

impl UnitWave {
    /// The wave a rating is given for. `None` when front or tail are not positive or the tail is shorter than
    /// 1.7 fronts (no smooth single hump is).
    ///
    /// Front and tail by the current definition: front = 1.25 (t90 − t10). Tails above 3.76 fronts are double
    /// exponentials with the half value counted from time zero; shorter ones are of the family `t^p exp(−t/τ)`,
    /// to which the usual 8/20 µs form (p = 3) belongs, with the half value counted from the virtual origin.
    pub fn of(wave: RatingWave) -> Option<UnitWave> {
        match wave {
            RatingWave::Surge8x20 => Some(UnitWave::Humped {
                power: 3.0,                // IEEE C62.45 (from memory)
                peak_s: 3.0 * SURGE_TAU_S, // IEEE C62.45 (from memory)
            }),
            RatingWave::Long10x1000 => front_tail(10e-6, 1e-3),
            RatingWave::FrontTail { front_s, tail_s } => front_tail(front_s, tail_s),
            RatingWave::Rectangle { width_s } => {
                (width_s > 0.0 && width_s.is_finite()).then_some(UnitWave::Rectangle { width_s })
            }
        }
    }

    /// Value at `t_s` seconds.
    pub fn value(&self, t_s: f64) -> f64 {
        if t_s < 0.0 {
            return 0.0;
        }
        match *self {
            UnitWave::DoubleExponential {
                scale,
                alpha_per_s,
                beta_per_s,
            } => scale * ((-alpha_per_s * t_s).exp() - (-beta_per_s * t_s).exp()),
            UnitWave::Humped { power, peak_s } => {
                let x = t_s / peak_s;
                if x > 0.0 {
                    (power * (x.ln() + 1.0 - x)).exp()
                } else {
                    0.0
                }
            }
            UnitWave::Exponential { tau_s } => (-t_s / tau_s).exp(),
            UnitWave::Rectangle { width_s } => f64::from(t_s <= width_s),
        }
    }

    /// Time of the peak in seconds (the start for an exponential or a rectangle).
    pub fn peak_s(&self) -> f64 {
        match *self {
            UnitWave::DoubleExponential {
                alpha_per_s,
                beta_per_s,
                ..
            } => (beta_per_s / alpha_per_s).ln() / (beta_per_s - alpha_per_s),
            UnitWave::Humped { peak_s, .. } => peak_s,
            UnitWave::Exponential { .. } | UnitWave::Rectangle { .. } => 0.0,
        }
    }

    /// Time in seconds after which the wave is below half of its peak for good.
    pub fn half_s(&self) -> f64 {
        match *self {
            UnitWave::Rectangle { width_s } => width_s,
            UnitWave::Exponential { tau_s } => tau_s * std::f64::consts::LN_2,
            _ => {
                let peak = self.peak_s();
                let mut late = 2.0 * peak;
                while self.value(late) > 0.5 {
                    late *= 2.0;
                }
                bisect(peak, late, |t| self.value(t) - 0.5)
            }
        }
    }

    /// Charge in coulombs for a peak of one ampere (length and panels of the quadrature: numerical choice).
    pub fn charge_s(&self) -> f64 {
        match *self {
            UnitWave::DoubleExponential {
                scale,
                alpha_per_s,
                beta_per_s,
            } => scale * (1.0 / alpha_per_s - 1.0 / beta_per_s),
            UnitWave::Exponential { tau_s } => tau_s,
            UnitWave::Rectangle { width_s } => width_s,
            UnitWave::Humped { peak_s, .. } => integrate(0.0, 40.0 * peak_s, 800, |t| self.value(t)),
        }
    }

    /// `∫ i² dt` in A²s for a peak of one ampere (length and panels of the quadrature: numerical choice).
    pub fn square_s(&self) -> f64 {
        match *self {
            UnitWave::DoubleExponential {
                scale,
                alpha_per_s: a,
                beta_per_s: b,
            } => scale * scale * (0.5 / a - 2.0 / (a + b) + 0.5 / b),
            UnitWave::Exponential { tau_s } => 0.5 * tau_s,
            UnitWave::Rectangle { width_s } => width_s,
            UnitWave::Humped { peak_s, .. } => integrate(0.0, 40.0 * peak_s, 800, |t| self.value(t).powi(2)),
        }
    }

    /// `θ(t)` in √s: the √t kernel applied to the wave, at `t_s` seconds.
    pub fn theta(&self, t_s: f64) -> f64 {
        if t_s <= 0.0 {
            return 0.0;
        }
        match *self {
            UnitWave::DoubleExponential {
                scale,
                alpha_per_s,
                beta_per_s,
            } => {
                let part = |rate: f64| dawson((rate * t_s).sqrt()) / rate.sqrt();
                scale * (part(alpha_per_s) - part(beta_per_s))
            }
            UnitWave::Exponential { tau_s } => dawson((t_s / tau_s).sqrt()) * tau_s.sqrt(),
            UnitWave::Rectangle { width_s } => t_s.sqrt() - (t_s - width_s).max(0.0).sqrt(),
            // s = t − u² takes the singularity of the kernel away (40 panels: numerical choice).
            UnitWave::Humped { .. } => integrate(0.0, t_s.sqrt(), 40, |u| self.value(t_s - u * u)),
        }
    }

    /// Largest `θ(t)` in √s.
    pub fn theta_peak(&self) -> f64 {
        if let UnitWave::Rectangle { width_s } = *self {
            return width_s.sqrt();
        }
        // The peak of θ lies within four half times (numerical choice).
        let (mut low, mut high) = (0.0, 4.0 * self.half_s());
        // Derived: θ has one maximum: golden section.
        let ratio = 0.5 * (5f64.sqrt() - 1.0);
        for _ in 0..40 {
            let (a, b) = (high - ratio * (high - low), low + ratio * (high - low));
            if self.theta(a) > self.theta(b) {
                high = b;
            } else {
                low = a;
            }
        }
        self.theta(0.5 * (low + high))
    }

    /// Width in seconds of the rectangle of equal peak that heats as much: `θ_pk²`.
    pub fn equivalent_s(&self) -> f64 {
        self.theta_peak().powi(2)
    }
}

/// `θ_pk` in √s of a sampled current: largest value over the sample instants (with many samples: over some fifty of them
/// and the neighbours of the best) of `∫ |i(s)|/Ip d√(t − s)`, the
/// current being straight between samples (s, A; time rising). `None` with fewer than two samples, unordered
/// times, values that are not finite, or no current at all.
pub fn theta_peak_of_samples(t_s: &[f64], current_a: &[f64]) -> Option<f64> {
    let n = t_s.len();
    if n < 2 || current_a.len() != n {
        return None;
    }
    if !t_s.iter().chain(current_a).all(|x| x.is_finite()) || t_s.windows(2).any(|w| w[1] < w[0]) {
        return None;
    }
    let peak = current_a.iter().fold(0.0f64, |m, i| m.max(i.abs()));
    if peak <= 0.0 {
        return None;
    }
    // Slopes against x = t − s, the time before the instant looked at; a piece of no width adds nothing.
    let slopes: Vec<f64> = (1..n)
        .map(|j| {
            let width = t_s[j] - t_s[j - 1];
            let fall = current_a[j - 1].abs() - current_a[j].abs();
            if width > 0.0 { fall / width } else { 0.0 }
        })
        .collect();
    let theta = |k: usize| {
        let t = t_s[k];
        let mut from = t - t_s[0];
        let mut root_from = from.sqrt();
        let mut sum = 0.0;
        for j in 0..k {
            let to = t - t_s[j + 1];
            let root_to = to.sqrt();
            // Linear current in x from `from` down to `to`: i = i1 + g (x − to).
            let (i1, g) = (current_a[j + 1].abs(), slopes[j]);
            // Derived: the integral of i d√x.
            sum += (i1 - g * to) * (root_from - root_to) + g * (from * root_from - to * root_to) / 3.0;
            (from, root_from) = (to, root_to);
        }
        sum
    };
    // The heating is a smoothed current: among evenly spread instants and that of the largest current the best is found,
    // then all its neighbours are tried.
    let stride = n.div_ceil(COARSE);
    let crest = (0..n).fold(0, |best, k| {
        if current_a[k].abs() > current_a[best].abs() {
            k
        } else {
            best
        }
    });
    let coarse = (1..n).step_by(stride).chain([crest.max(1), n - 1]);
    let best = coarse
        .map(|k| (theta(k), k))
        .fold((0.0, 1), |best, here| if here.0 > best.0 { here } else { best });
    let near = (best.1 + 1).saturating_sub(stride).max(1)..(best.1 + stride).min(n);
    let best = near.map(theta).fold(best.0, f64::max);
    Some(best / peak)
}

/// Instants at which the heating is looked at first (numerical choice).
const COARSE: usize = 48;

/// Ratio of the peak powers a part stands on two waves, `P(of) / P(reference)` by the √t law.
///
/// Published cross-check: one family only (6.67 for 8/20 against 10/1000); name a tolerance of 15 % with it.
pub fn power_factor(of: &UnitWave, reference: &UnitWave) -> f64 {
    reference.theta_peak() / of.theta_peak()
}

/// The smooth single hump of a front and tail in seconds (least ratio and ranges of the search: numerical choice).
fn front_tail(front_s: f64, tail_s: f64) -> Option<UnitWave> {
    if !(front_s > 0.0 && tail_s > 1.7 * front_s && tail_s.is_finite()) {
        return None;
    }
    let wanted = (tail_s / front_s).ln();
    let ratio = |wave: &UnitWave| {
        let front = front_s_of(wave);
        (wave.half_s() / front).ln()
    };
    // Rates 1 and e^x: the ratio of tail to front rises with x.
    let double = |x: f64| -> UnitWave {
        let beta = x.exp();
        let peak = x / (beta - 1.0);
        UnitWave::DoubleExponential {
            scale: 1.0 / ((-peak).exp() - (-beta * peak).exp()),
            alpha_per_s: 1.0,
            beta_per_s: beta,
        }
    };
    let (least, most) = (0.02, 25.0);
    if wanted > ratio(&double(most)) {
        return None;
    }
    if wanted >= ratio(&double(least)) {
        let x = bisect(least, most, |x| ratio(&double(x)) - wanted);
        let unit = double(x);
        let stretch = tail_s / unit.half_s();
        let UnitWave::DoubleExponential {
            scale,
            alpha_per_s,
            beta_per_s,
        } = unit
        else {
            return None;
        };
        return Some(UnitWave::DoubleExponential {
            scale,
            alpha_per_s: alpha_per_s / stretch,
            beta_per_s: beta_per_s / stretch,
        });
    }
    let humped = |x: f64| UnitWave::Humped {
        power: x.exp(),
        peak_s: 1.0,
    };
    let from_virtual_origin = |wave: &UnitWave| wave.half_s() - virtual_origin_s(wave);
    let x = bisect(0.0, 6.0, |x| {
        (from_virtual_origin(&humped(x)) / front_s_of(&humped(x))).ln() - wanted
    });
    Some(UnitWave::Humped {
        power: x.exp(),
        peak_s: tail_s / from_virtual_origin(&humped(x)),
    })
}

/// Front time in seconds by the current definition, 1.25 (t90 − t10) (read in a university laboratory's page).
pub fn front_s_of(wave: &UnitWave) -> f64 {
    let peak = wave.peak_s();
    if peak <= 0.0 {
        return 0.0;
    }
    let at = |level: f64| bisect(0.0, peak, |t| wave.value(t) - level);
    1.25 * (at(0.9) - at(0.1))
}

/// Virtual origin in seconds by the current definition: where the line through 10 % and 90 % crosses zero.
pub fn virtual_origin_s(wave: &UnitWave) -> f64 {
    let peak = wave.peak_s();
    if peak <= 0.0 {
        return 0.0;
    }
    bisect(0.0, peak, |t| wave.value(t) - 0.1) - 0.1 * front_s_of(wave)
}

/// Dawson's integral `exp(−x²) ∫0^x exp(y²) dy`, by Rybicki's exponentially convergent sum (Numerical Recipes,
/// from memory) with a step of 0.2, good to about 1e-15.
pub fn dawson(x: f64) -> f64 {
    let size = x.abs();
    if size < 0.2 {
        let s = x * x;
        return x
            * (1.0
                - s * (2.0 / 3.0)
                    * (1.0
                        - 0.4
                            * s
                            * (1.0
                                - (2.0 / 7.0)
                                    * s
                                    * (1.0
                                        - (2.0 / 9.0)
                                            * s
                                            * (1.0 - (2.0 / 11.0) * s * (1.0 - (2.0 / 13.0) * s))))));
    }
    let h = 0.2;
    let n0 = 2.0 * (0.5 * size / h).round();
    let rest = size - n0 * h;
    let mut sum = 0.0;
    for k in 0..20 {
        let n = f64::from(2 * k + 1);
        let (up, down) = ((rest - n * h).powi(2), (rest + n * h).powi(2));
        sum += (-up).exp() / (n0 + n) + (-down).exp() / (n0 - n);
    }
    (sum / std::f64::consts::PI.sqrt()).copysign(x)
}

/// Root of a function with a change of sign between `low` and `high`; the end nearer to zero without one.
pub(crate) fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rising = f(low) < 0.0;
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if middle == low || middle == high {
            break;
        }
        if (f(middle) < 0.0) == rising {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Composite three-point Gauss-Legendre quadrature (derived).
pub(crate) fn integrate(from: f64, to: f64, panels: usize, f: impl Fn(f64) -> f64) -> f64 {
    let h = (to - from) / panels as f64;
    let offset = 0.6f64.sqrt();
    (0..panels)
        .map(|k| {
            let middle = from + (k as f64 + 0.5) * h;
            let side = 0.5 * h * offset;
            0.5 * h * (5.0 * (f(middle - side) + f(middle + side)) + 8.0 * f(middle)) / 9.0
        })
        .sum()
}

/// Volume heat properties of a semiconductor region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatProperties {
    /// Thermal conductivity in W/(m K).
    pub conductivity_w_per_m_k: f64,
    /// Density times specific heat in J/(m³ K).
    pub capacity_j_per_m3_k: f64,
}

impl HeatProperties {
    /// Silicon averaged over a hot region: 30.6 W/(m K), 2330 kg/m³ times 756.6 J/(kg K) (from memory).
    pub const HOT_SILICON: HeatProperties = HeatProperties {
        conductivity_w_per_m_k: 30.6,
        capacity_j_per_m3_k: 2330.0 * 756.6,
    };

    /// Diffusivity in m²/s.
    pub fn diffusivity_m2_per_s(&self) -> f64 {
        self.conductivity_w_per_m_k / self.capacity_j_per_m3_k
    }
}

/// Power density in W/m² that heats a junction plane by `rise_k` kelvins in `t_s` seconds, heat flowing to both
/// sides (Wunsch and Bell, IEEE Trans. Nucl. Sci. NS-15 (1968), from memory).
pub fn wunsch_bell_w_per_m2(silicon: &HeatProperties, rise_k: f64, t_s: f64) -> f64 {
    (std::f64::consts::PI * silicon.conductivity_w_per_m_k * silicon.capacity_j_per_m3_k).sqrt() * rise_k
        / t_s.sqrt()
}

/// Power in watts to failure of a hot box (Dwyer, Franklin and Campbell, Solid-State Electron. 33 (1990), from
/// memory), and the times in seconds at which its regimes join.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HotBox {
    /// Edges in metres, longest first.
    pub edges_m: [f64; 3],
    /// Heat properties.
    pub heat: HeatProperties,
}

impl HotBox {
    /// Joints `[tc, tb, ta]` in seconds: `edge² / (4 π D)`, shortest edge first (as the law, from memory).
    pub fn joints_s(&self) -> [f64; 3] {
        let [a, b, c] = self.edges_m;
        let d = 4.0 * std::f64::consts::PI * self.heat.diffusivity_m2_per_s();
        [c * c / d, b * b / d, a * a / d]
    }

    /// Power in watts that heats the box by `rise_k` kelvins in `t_s` seconds (from memory).
    pub fn power_w(&self, rise_k: f64, t_s: f64) -> f64 {
        use std::f64::consts::PI;
        let [a, b, c] = self.edges_m;
        let [tc, tb, ta] = self.joints_s();
        let (k, rc) = (self.heat.conductivity_w_per_m_k, self.heat.capacity_j_per_m3_k);
        if t_s <= tc {
            rc * a * b * c * rise_k / t_s
        } else if t_s <= tb {
            a * b * (PI * k * rc).sqrt() * rise_k / (t_s.sqrt() - 0.5 * tc.sqrt())
        } else if t_s <= ta {
            4.0 * PI * k * a * rise_k / ((t_s / tb).ln() + 2.0 - c / b)
        } else {
            2.0 * PI * k * a * rise_k / ((a / b).ln() + 2.0 - 0.5 * c / b - (ta / t_s).sqrt())
        }
    }
}
