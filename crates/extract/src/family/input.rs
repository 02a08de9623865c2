//! Points as they are given, and what must be true of them.

use super::Refusal;
use crate::fit::Weights;

/// A point of a V-I curve. Magnitudes, except for the curve of a pin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// Current in amperes.
    pub current_a: f64,
    /// Voltage in volts.
    pub voltage_v: f64,
    /// Standard deviation of the voltage in volts, if it is known.
    pub sigma_v: Option<f64>,
}

impl CurvePoint {
    /// A point of unknown scatter.
    pub fn new(current_a: f64, voltage_v: f64) -> CurvePoint {
        CurvePoint {
            current_a,
            voltage_v,
            sigma_v: None,
        }
    }
}

/// A point of any other curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Place on the first axis.
    pub x: f64,
    /// Place on the second axis.
    pub y: f64,
    /// Standard deviation of `y`, if it is known.
    pub sigma: Option<f64>,
}

impl Point {
    /// A point of unknown scatter.
    pub fn new(x: f64, y: f64) -> Point {
        Point { x, y, sigma: None }
    }
}

impl From<CurvePoint> for Point {
    fn from(point: CurvePoint) -> Point {
        Point {
            x: point.current_a,
            y: point.voltage_v,
            sigma: point.sigma_v,
        }
    }
}

/// Sizes between which any measured value lies, in SI units.
const MEASURABLE: std::ops::RangeInclusive<f64> = 1e-30..=1e30;

/// What an axis may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    Positive,
    NotNegative,
    Any,
}

/// A finite number of measurable size.
pub(super) fn sound(what: &'static str, point: usize, value: f64, sign: Sign) -> Result<(), Refusal> {
    if !value.is_finite() {
        return Err(Refusal::NotFinite { what, point });
    }
    if (sign != Sign::Any && value < 0.0) || (sign == Sign::Positive && value == 0.0) {
        return Err(Refusal::NotPositive { what, point, value });
    }
    if value != 0.0 && !MEASURABLE.contains(&value.abs()) {
        return Err(Refusal::Absurd { what, point, value });
    }
    Ok(())
}

/// Checks all points.
pub(super) fn check(
    points: &[Point],
    (x_name, x_sign): (&'static str, Sign),
    (y_name, y_sign): (&'static str, Sign),
) -> Result<(), Refusal> {
    let mut without = None;
    for (k, point) in points.iter().enumerate() {
        sound(x_name, k + 1, point.x, x_sign)?;
        sound(y_name, k + 1, point.y, y_sign)?;
        match point.sigma {
            Some(sigma) => sound("standard deviation", k + 1, sigma, Sign::Positive)?,
            None => without = without.or(Some(k + 1)),
        }
    }
    match without {
        Some(point) if points.iter().any(|p| p.sigma.is_some()) => Err(Refusal::SomeSigmas { point }),
        _ => Ok(()),
    }
}

/// A given value that must be above zero and of measurable size.
pub(super) fn given(what: &'static str, value: f64) -> Result<(), Refusal> {
    if value > 0.0 && MEASURABLE.contains(&value) {
        Ok(())
    } else {
        Err(Refusal::Given {
            what,
            value,
            expected: "a number above zero",
        })
    }
}

/// Standard deviations of the logarithm of `y`, or of `y` itself.
pub(super) fn deviations(points: &[Point], logarithm: bool) -> Option<Vec<f64>> {
    let one = |p: &Point| p.sigma.map(|s| if logarithm { s / p.y } else { s });
    points.iter().map(one).collect()
}

/// Weights for the solver.
pub(super) fn weights(sigmas: &Option<Vec<f64>>) -> Weights<'_> {
    match sigmas {
        Some(list) => Weights::Sigmas(list),
        None => Weights::Equal,
    }
}

/// Refuses fewer points than needed, or points that are all at one place on the first axis.
pub(super) fn enough(
    points: &[Point],
    what: &'static str,
    axis: &'static str,
    need: usize,
) -> Result<(), Refusal> {
    if points.len() < need {
        return Err(Refusal::TooFew {
            what,
            have: points.len(),
            need,
        });
    }
    let (low, high) = range(points);
    if need > 1 && high - low <= 1e-9 * high.abs().max(low.abs()) {
        return Err(Refusal::Alike { what, axis });
    }
    Ok(())
}

/// Lowest and highest place on the first axis.
pub(super) fn range(points: &[Point]) -> (f64, f64) {
    points
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
            (low.min(p.x), high.max(p.x))
        })
}
