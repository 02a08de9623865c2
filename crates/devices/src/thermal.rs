//! Thermal ladders: how a junction heats under an arbitrary power.
//!
//! A pulse-power curve is first written as a sum of exponentials ([`Foster`]), then turned into the ladder
//! ([`ThermalLadder`]) the integrator carries along.

/// A Cauer ladder from the junction to a fixed ambient: node `k` has capacity `capacity_j_per_k[k]` and passes
/// heat to node `k + 1` (the last one to ambient) through `resistance_k_per_w[k]`.
///
/// The Cauer form is used because only the first node takes the power, so that the ladder adds a
/// tridiagonal block to the equations.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ThermalLadder {
    /// Heat capacities in J/K, junction first.
    pub capacity_j_per_k: Vec<f64>,
    /// Thermal resistances in K/W, junction first.
    pub resistance_k_per_w: Vec<f64>,
}

/// Points of the contour on which the step response is summed; the error falls as `3.89^-n` (numerical choice).
const CONTOUR_POINTS: usize = 28;

impl ThermalLadder {
    /// Number of thermal nodes.
    pub fn len(&self) -> usize {
        self.capacity_j_per_k.len()
    }

    /// True when the part has no thermal model.
    pub fn is_empty(&self) -> bool {
        self.capacity_j_per_k.is_empty()
    }

    /// The ladder without those nodes that cannot warm up within `duration_s` seconds: they are taken as ambient.
    ///
    /// Node `k + 1` warms up to at most `t / (R_k C_(k+1))` of node `k` within `t`, since no more heat can flow into it; the
    /// junction can therefore not be off by more than a 100 000th of its rise.
    pub fn within(&self, duration_s: f64) -> ThermalLadder {
        // Numerical choice.
        const SHARE: f64 = 1e-5;
        let mut share = 1.0;
        for k in 1..self.len() {
            let time_s = self.resistance_k_per_w[k - 1] * self.capacity_j_per_k[k];
            share *= (duration_s / time_s).min(1.0);
            if share < SHARE {
                return ThermalLadder {
                    capacity_j_per_k: self.capacity_j_per_k[..k].to_vec(),
                    resistance_k_per_w: self.resistance_k_per_w[..k].to_vec(),
                };
            }
        }
        self.clone()
    }

    /// Thermal resistance from junction to ambient in K/W at rest.
    pub fn total_k_per_w(&self) -> f64 {
        self.resistance_k_per_w.iter().sum()
    }

    /// Junction rise in kelvins `t_s` seconds after one watt has been switched on.
    ///
    /// Inverse Laplace transform of `Z(s) / s` on a cotangent contour round the negative real axis, where all
    /// poles of the ladder lie (Talbot's method with the parameters of Trefethen, Weideman and Schmelzer, BIT 46
    /// (2006), from memory). Relative error near 1e-12. Zero for `t_s` at or below zero.
    pub fn step_response(&self, t_s: f64) -> f64 {
        if self.is_empty() || t_s.is_nan() || t_s <= 0.0 {
            return 0.0;
        }
        let n = CONTOUR_POINTS as f64;
        let mut sum = 0.0;
        // The contour is symmetrical to the real axis: the upper half carries half of the sum.
        for k in 0..CONTOUR_POINTS / 2 {
            let angle = (2 * k + 1) as f64 * std::f64::consts::PI / n;
            let (sin, cos) = (0.6407 * angle).sin_cos();
            let cot = cos / sin;
            let z = Complex {
                re: n * (0.5017 * angle * cot - 0.6122),
                im: n * 0.2645 * angle,
            };
            let dz = Complex {
                re: n * 0.5017 * (cot - 0.6407 * angle / (sin * sin)),
                im: n * 0.2645,
            };
            let image = self
                .impedance(Complex {
                    re: z.re / t_s,
                    im: z.im / t_s,
                })
                .div(z);
            let grown = Complex {
                re: z.re.exp() * z.im.cos(),
                im: z.re.exp() * z.im.sin(),
            };
            sum += grown.mul(image).mul(dz).im;
        }
        2.0 * sum / n
    }

    /// Thermal impedance at a complex frequency, by the continued fraction from the ambient end.
    fn impedance(&self, s: Complex) -> Complex {
        let mut below = Complex { re: 0.0, im: 0.0 };
        for k in (0..self.len()).rev() {
            let branch = Complex {
                re: below.re + self.resistance_k_per_w[k],
                im: below.im,
            };
            let c = self.capacity_j_per_k[k];
            let y = Complex { re: 1.0, im: 0.0 }.div(branch);
            below = Complex { re: 1.0, im: 0.0 }.div(Complex {
                re: y.re + s.re * c,
                im: y.im + s.im * c,
            });
        }
        below
    }
}

#[derive(Clone, Copy)]
struct Complex {
    re: f64,
    im: f64,
}

impl Complex {
    fn mul(self, o: Complex) -> Complex {
        Complex {
            re: self.re * o.re - self.im * o.im,
            im: self.re * o.im + self.im * o.re,
        }
    }

    fn div(self, o: Complex) -> Complex {
        let scale = o.re * o.re + o.im * o.im;
        Complex {
            re: (self.re * o.re + self.im * o.im) / scale,
            im: (self.im * o.re - self.re * o.im) / scale,
        }
    }
}

/// A sum of exponentials `Zth(t) = Σ R (1 − exp(−t/τ))`, the usual fitting form (its inner nodes mean nothing).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Foster {
    /// Resistances in K/W.
    pub resistance_k_per_w: Vec<f64>,
    /// Time constants in seconds, rising.
    pub time_s: Vec<f64>,
}

/// Fastest time constant of a ladder made here, in seconds (numerical choice).
pub const FASTEST_POLE_S: f64 = 1e-9;
/// Slowest time constant of a ladder for which no thermal resistance to ambient is given, in seconds (numerical choice).
pub const SLOWEST_POLE_S: f64 = 10.0;
/// A pole per decade of this size times `K √τ` follows `K √t` (derived, `ln 10 / (2 √π)`).
const POLE_PER_DECADE: f64 = 0.649_542_9;

impl Foster {
    /// Poles for `Zth = K √t` (heat spreading into the bulk), one per decade from 1 ns.
    ///
    /// `k_k_per_w_sqrt_s` in K/W per √s. With a thermal resistance to ambient the poles go on until their sum is
    /// that resistance; without one they stop at 10 s. One pole per decade follows the law within 0.7 % (two per
    /// decade within 0.01 %), which is far below the scatter of any pulse rating, at half the equations. The
    /// first pole also stands for all the faster ones.
    pub fn square_root_law(k_k_per_w_sqrt_s: f64, total_k_per_w: Option<f64>) -> Foster {
        let mut out = Foster::default();
        let mut sum = 0.0;
        let limit = total_k_per_w
            .filter(|total| *total > 0.0 && total.is_finite())
            .unwrap_or(f64::INFINITY);
        let slowest_exponent = if limit.is_finite() { 6 } else { 1 };
        for exponent in -9..=slowest_exponent {
            let tau = 10f64.powi(exponent);
            let mut r = POLE_PER_DECADE * k_k_per_w_sqrt_s * tau.sqrt();
            if exponent == -9 {
                r /= 1.0 - 0.1f64.sqrt();
            }
            if sum + r >= limit {
                // What is left up to the resistance to ambient.
                let rest = limit - sum;
                let tau_rest = (rest / (POLE_PER_DECADE * k_k_per_w_sqrt_s)).powi(2);
                match (out.time_s.last(), out.resistance_k_per_w.last_mut()) {
                    (Some(&last), Some(r_last)) if tau_rest < 2.0 * last => *r_last += rest,
                    _ => out.push(rest, tau_rest),
                }
                return out;
            }
            sum += r;
            out.push(r, tau);
        }
        if limit.is_finite() {
            out.push(limit - sum, 1e7);
        }
        out
    }

    /// Poles for a measured or rated curve of `(t in s, Zth in K/W)`, both rising.
    ///
    /// Between the points the curve is taken straight in a log-log plot, beyond them it follows `√t`; the poles,
    /// one per decade, are fitted to it with relative weights and kept non-negative. Points that do not rise are
    /// left out (a rating that falls short of its neighbours says nothing about the die).
    pub fn from_points(points: &[(f64, f64)], total_k_per_w: Option<f64>) -> Option<Foster> {
        let mut sorted: Vec<(f64, f64)> = points
            .iter()
            .copied()
            .filter(|&(t, z)| t > 0.0 && z > 0.0 && (t * z).is_finite())
            .collect();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut rising: Vec<(f64, f64)> = Vec::new();
        for (t, z) in sorted {
            if rising
                .last()
                .is_none_or(|&(last_t, last_z)| t > last_t && z > last_z)
            {
                rising.push((t, z));
            }
        }
        let (&first, &last) = (rising.first()?, rising.last()?);
        let total_k_per_w = total_k_per_w.filter(|total| *total > last.1 && total.is_finite());
        let slowest = total_k_per_w
            .map_or(SLOWEST_POLE_S, |total| last.0 * (total / last.1).powi(2))
            .max(10.0 * last.0)
            .clamp(100.0 * FASTEST_POLE_S, 1e6);
        let curve = |t: f64| -> f64 {
            let free = if t <= first.0 {
                first.1 * (t / first.0).sqrt()
            } else if t >= last.0 {
                last.1 * (t / last.0).sqrt()
            } else {
                let k = rising.partition_point(|&(x, _)| x <= t);
                let (a, b) = (rising[k - 1], rising[k]);
                a.1 * (t / a.0).powf((b.1 / a.1).ln() / (b.0 / a.0).ln())
            };
            free.min(total_k_per_w.unwrap_or(f64::INFINITY))
        };
        let decades = (slowest / FASTEST_POLE_S).log10().ceil() as usize;
        let taus: Vec<f64> = (0..=decades)
            .map(|k| FASTEST_POLE_S * 10f64.powi(k as i32))
            .collect();
        // Far enough for the slowest pole to have settled on the resistance to ambient.
        let further = if total_k_per_w.is_some() { 1 } else { -1 };
        // Eight samples per decade (numerical choice).
        let samples: Vec<f64> = (0..=8 * (decades as i32 + further))
            .map(|k| 10.0 * FASTEST_POLE_S * 10f64.powf(f64::from(k) / 8.0))
            .collect();
        let rows: Vec<Vec<f64>> = samples
            .iter()
            .map(|&t| taus.iter().map(|&tau| -(-t / tau).exp_m1() / curve(t)).collect())
            .collect();
        let fitted = non_negative_fit(&rows, taus.len());
        let mut out = Foster::default();
        // Poles too small to be seen would only cost digits in the ladder.
        let least = 1e-9 * fitted.iter().sum::<f64>();
        for (r, tau) in fitted.into_iter().zip(taus) {
            if r > least {
                out.push(r, tau);
            }
        }
        // The little the fit misses of the resistance to ambient goes to the slowest pole.
        if let (Some(total), Some(&slowest)) = (total_k_per_w, out.resistance_k_per_w.last()) {
            let miss = total - out.resistance_k_per_w.iter().sum::<f64>();
            if let Some(last) = out.resistance_k_per_w.last_mut() {
                *last = (slowest + miss).max(1e-3 * slowest);
            }
        }
        (!out.time_s.is_empty()).then_some(out)
    }

    /// Adds a pole: resistance in K/W, time constant in seconds.
    pub fn push(&mut self, resistance_k_per_w: f64, time_s: f64) {
        self.resistance_k_per_w.push(resistance_k_per_w);
        self.time_s.push(time_s);
    }

    /// Junction rise in kelvins `t_s` seconds after one watt has been switched on.
    pub fn step_response(&self, t_s: f64) -> f64 {
        self.resistance_k_per_w
            .iter()
            .zip(&self.time_s)
            .map(|(r, tau)| -r * (-t_s / tau).exp_m1())
            .sum()
    }

    /// Straight between `a` at 0 and `b` at 1 in the step response: exact at both ends, close between them.
    ///
    /// Poles of either that lie within a factor of two are drawn together at their weighted mean in the logarithm of
    /// time, so that the ladder of the sum stays well-conditioned.
    pub fn between(a: &Foster, b: &Foster, x: f64) -> Foster {
        if a == b || x == 0.0 {
            return a.clone();
        }
        if x == 1.0 {
            return b.clone();
        }
        // Without a model on one side there is none in between.
        if a.time_s.is_empty() || b.time_s.is_empty() {
            return Foster::default();
        }
        let poles = |of: &Foster, weight: f64| -> Vec<(f64, f64)> {
            let pairs = of.time_s.iter().zip(&of.resistance_k_per_w);
            pairs.map(|(time, r)| (*time, weight * r)).collect()
        };
        let mut all = poles(a, 1.0 - x);
        all.extend(poles(b, x));
        all.sort_by(|p, q| p.0.total_cmp(&q.0));
        let mut out = Foster::default();
        for (time, r) in all {
            match (out.time_s.last_mut(), out.resistance_k_per_w.last_mut()) {
                (Some(last), Some(sum)) if time < 2.0 * *last => {
                    if time != *last {
                        *last *= (time / *last).powf(r / (r + *sum));
                    }
                    *sum += r;
                }
                _ => out.push(r, time),
            }
        }
        out
    }

    /// All resistances times a factor.
    pub fn scaled(&self, factor: f64) -> Foster {
        Foster {
            resistance_k_per_w: self.resistance_k_per_w.iter().map(|r| r * factor).collect(),
            time_s: self.time_s.clone(),
        }
    }

    /// The ladder with the same step response, by the continued fraction of `Z(s)` (Stieltjes).
    ///
    /// Poles must be positive and distinct; the empty form gives the empty ladder.
    pub fn to_ladder(&self) -> ThermalLadder {
        let n = self.time_s.len();
        // Coefficients of Z = numerator / denominator, lowest power first.
        let mut denominator = vec![0.0; n + 1];
        denominator[0] = 1.0;
        let mut numerator = vec![0.0; n];
        for k in 0..n {
            // N/D + R/(1 + s tau) = (N (1 + s tau) + R D) / (D (1 + s tau))
            let (r, tau) = (self.resistance_k_per_w[k], self.time_s[k]);
            for j in (0..=k).rev() {
                let lower = if j > 0 { numerator[j - 1] } else { 0.0 };
                numerator[j] += tau * lower + r * denominator[j];
            }
            for j in (0..=k).rev() {
                denominator[j + 1] += tau * denominator[j];
            }
        }
        let mut ladder = ThermalLadder::default();
        for m in (1..=n).rev() {
            let capacity = denominator[m] / numerator[m - 1];
            for j in 1..m {
                denominator[j] -= capacity * numerator[j - 1];
            }
            let resistance = numerator[m - 1] / denominator[m - 1];
            for j in 0..m - 1 {
                numerator[j] -= resistance * denominator[j];
            }
            ladder.capacity_j_per_k.push(capacity);
            ladder.resistance_k_per_w.push(resistance);
        }
        ladder
    }
}

/// Least squares of `rows · x = 1` under `x >= 0`, by cyclic coordinate descent on the normal equations.
fn non_negative_fit(rows: &[Vec<f64>], n: usize) -> Vec<f64> {
    let mut gram = vec![vec![0.0; n]; n];
    let mut right = vec![0.0; n];
    for row in rows {
        for i in 0..n {
            right[i] += row[i];
            for j in 0..n {
                gram[i][j] += row[i] * row[j];
            }
        }
    }
    let mut x = vec![0.0; n];
    for _ in 0..2_000 {
        let mut moved = 0.0f64;
        for i in 0..n {
            let rest: f64 = (0..n).filter(|&j| j != i).map(|j| gram[i][j] * x[j]).sum();
            let better = ((right[i] - rest) / gram[i][i]).max(0.0);
            moved = moved.max((better - x[i]).abs() / better.max(1e-300));
            x[i] = better;
        }
        if moved < 1e-9 {
            break;
        }
    }
    x
}
