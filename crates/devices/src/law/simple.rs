//! Laws without discrete states: varistor, diode, pin, measured table.

use tidewall_lanes::{Lane, pow};

use super::pieces::REFERENCE_C;
use super::{Bias, Characteristic, ClampBranch, Conduction, Modes, Switching};

/// Metal-oxide varistor: `i = 1 mA (V / V1mA)^alpha`; its bulk resistance is the protector's series resistance.
///
/// Above `linear_above_a` the power law goes on along its tangent, so that trial steps cannot overflow; the
/// bulk resistance rules there in any case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Varistor<T = f64> {
    /// Voltage at 1 mA at 25 °C in volts.
    pub v1ma_v: T,
    /// Non-linearity exponent, above 1 (25 to 50).
    pub alpha: T,
    /// Temperature coefficient of `v1ma_v` in 1/K.
    pub v1ma_per_k: T,
    /// Current in amperes above which the tangent is used.
    pub linear_above_a: T,
    /// Capacitance in farads, above zero.
    pub c_f: T,
}

impl<T: Lane> Characteristic<T> for Varistor<T> {
    #[inline(always)]
    fn conduction(&self, _modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T> {
        let c = T::splat;
        let (one, zero, ma) = (c(1.0), c(0.0), c(1e-3));
        let factor = (one + self.v1ma_per_k * (bias.junction_c - c(REFERENCE_C))).max(c(0.1));
        let v1 = self.v1ma_v * factor;
        let size = bias.volts.abs();
        let on_curve = ma * pow(size / v1, self.alpha);
        let most = self.linear_above_a;
        let edge = if most.any_below(on_curve) {
            v1 * pow(most / ma, one / self.alpha)
        } else {
            size
        };
        let at = most.below(on_curve, edge, size);
        let on_curve = most.below(on_curve, most, on_curve);
        let slope = zero.below(at, self.alpha * on_curve / at, zero);
        let amps = on_curve + (size - at) * slope;
        let per_kelvin = -slope * bias.volts * self.v1ma_v * self.v1ma_per_k / v1;
        Conduction {
            amps: amps.copysign(bias.volts),
            per_volt: slope,
            per_kelvin,
            ..Conduction::default()
        }
    }

    #[inline(always)]
    fn capacitance(&self, _volts: T) -> (T, T) {
        (self.c_f, T::default())
    }

    #[inline(always)]
    fn stored_j(&self, volts: T) -> T {
        T::splat(0.5) * self.c_f * volts * volts
    }
}

/// A diode: forward branch and breakdown, both straight above a rounded corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diode<T = f64> {
    /// Forward threshold in volts.
    pub forward_v: T,
    /// Forward resistance in ohms, above zero.
    pub forward_ohm: T,
    /// Breakdown voltage in volts.
    pub breakdown_v: T,
    /// Slope resistance of the breakdown in ohms, above zero.
    pub breakdown_ohm: T,
    /// Rounding of the corners in volts, above zero.
    pub knee_v: T,
    /// Capacitance in farads, above zero.
    pub c_f: T,
}

impl<T: Lane> Characteristic<T> for Diode<T> {
    #[inline(always)]
    fn conduction(&self, _modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T> {
        two_sided(
            bias.volts,
            self.forward_v,
            self.forward_ohm,
            self.breakdown_v,
            self.breakdown_ohm,
            self.knee_v,
        )
    }

    #[inline(always)]
    fn capacitance(&self, _volts: T) -> (T, T) {
        (self.c_f, T::default())
    }

    #[inline(always)]
    fn stored_j(&self, volts: T) -> T {
        T::splat(0.5) * self.c_f * volts * volts
    }
}

/// Conduction of a protected pin: a threshold and a resistance in each polarity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PinClamp<T = f64> {
    /// Voltage in volts from which the pin conducts, positive side.
    pub positive_v: T,
    /// Slope resistance in ohms above it, above zero.
    pub positive_ohm: T,
    /// Size in volts of the negative voltage from which the pin conducts.
    pub negative_v: T,
    /// Slope resistance in ohms below it, above zero.
    pub negative_ohm: T,
    /// Rounding of the corners in volts, above zero.
    pub knee_v: T,
    /// Capacitance in farads, above zero.
    pub c_f: T,
}

impl<T: Lane> Characteristic<T> for PinClamp<T> {
    #[inline(always)]
    fn conduction(&self, _modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T> {
        two_sided(
            bias.volts,
            self.positive_v,
            self.positive_ohm,
            self.negative_v,
            self.negative_ohm,
            self.knee_v,
        )
    }

    #[inline(always)]
    fn capacitance(&self, _volts: T) -> (T, T) {
        (self.c_f, T::default())
    }

    #[inline(always)]
    fn stored_j(&self, volts: T) -> T {
        T::splat(0.5) * self.c_f * volts * volts
    }
}

#[inline(always)]
fn two_sided<T: Lane>(volts: T, up_v: T, up_ohm: T, down_v: T, down_ohm: T, knee_v: T) -> Conduction<T> {
    let mut out = Conduction::default();
    ClampBranch::fixed(up_v, up_ohm, knee_v).add(volts, T::splat(1.0), &mut out);
    ClampBranch::fixed(down_v, down_ohm, knee_v).add(volts, T::splat(-1.0), &mut out);
    out
}

impl Switching for Varistor {}
impl Switching for Diode {}
impl Switching for PinClamp {}
impl Switching for Table {}

/// Why a V-I table was refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TableError {
    /// Fewer than two points.
    #[error("a V-I table needs at least two points, got {0}")]
    TooFew(usize),
    /// A value is not a finite number.
    #[error("point {0} of the V-I table is not a finite number")]
    NotFinite(usize),
    /// Voltage or current does not rise from one point to the next.
    #[error("point {0} of the V-I table does not rise: voltage and current must both increase")]
    NotRising(usize),
}

/// Measured V-I table with monotone piecewise cubic interpolation (Fritsch and Carlson, SIAM J. Numer. Anal. 17
/// (1980), with the harmonic-mean slopes of Fritsch and Butland, 1984; from memory), straight beyond its ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    volts: Vec<f64>,
    amps: Vec<f64>,
    slopes: Vec<f64>,
    c_f: f64,
}

impl Table {
    /// Builds a table from rising voltages in volts and rising currents in amperes, and a capacitance in farads.
    pub fn new(volts: &[f64], amps: &[f64], c_f: f64) -> Result<Table, TableError> {
        let n = volts.len().min(amps.len());
        if n < 2 {
            return Err(TableError::TooFew(n));
        }
        for k in 0..n {
            if !volts[k].is_finite() || !amps[k].is_finite() {
                return Err(TableError::NotFinite(k));
            }
            if k > 0 && (volts[k] <= volts[k - 1] || amps[k] <= amps[k - 1]) {
                return Err(TableError::NotRising(k));
            }
        }
        let secant: Vec<f64> = (0..n - 1)
            .map(|k| (amps[k + 1] - amps[k]) / (volts[k + 1] - volts[k]))
            .collect();
        let mut slopes = vec![secant[0]; n];
        slopes[n - 1] = secant[n - 2];
        for k in 1..n - 1 {
            let (left, right) = (volts[k] - volts[k - 1], volts[k + 1] - volts[k]);
            let (w1, w2) = (2.0 * right + left, right + 2.0 * left);
            slopes[k] = (w1 + w2) / (w1 / secant[k - 1] + w2 / secant[k]);
        }
        Ok(Table {
            volts: volts[..n].to_vec(),
            amps: amps[..n].to_vec(),
            slopes,
            c_f,
        })
    }
}

impl Characteristic<f64> for Table {
    fn conduction(&self, _modes: &Modes<f64>, bias: &Bias) -> Conduction {
        let n = self.volts.len();
        let v = bias.volts;
        let end = if v <= self.volts[0] {
            Some(0)
        } else if v >= self.volts[n - 1] {
            Some(n - 1)
        } else {
            None
        };
        if let Some(k) = end {
            return Conduction {
                amps: self.amps[k] + self.slopes[k] * (v - self.volts[k]),
                per_volt: self.slopes[k],
                ..Conduction::default()
            };
        }
        // A voltage that is no number (a trial step can make one) lies behind no point, and comes out as no number.
        let k = self.volts.partition_point(|&x| x <= v).saturating_sub(1);
        let width = self.volts[k + 1] - self.volts[k];
        let s = (v - self.volts[k]) / width;
        let (y0, y1) = (self.amps[k], self.amps[k + 1]);
        let (d0, d1) = (self.slopes[k] * width, self.slopes[k + 1] * width);
        // Derived: the cubic of two values and two slopes.
        let (a, b) = (2.0 * (y0 - y1) + d0 + d1, 3.0 * (y1 - y0) - 2.0 * d0 - d1);
        // Derived from the same.
        Conduction {
            amps: ((a * s + b) * s + d0) * s + y0,
            per_volt: ((3.0 * a * s + 2.0 * b) * s + d0) / width,
            ..Conduction::default()
        }
    }

    fn capacitance(&self, _volts: f64) -> (f64, f64) {
        (self.c_f, 0.0)
    }

    fn stored_j(&self, volts: f64) -> f64 {
        0.5 * self.c_f * volts * volts
    }
}
