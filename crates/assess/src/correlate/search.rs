//! One parameter at a time: the value that brings the prediction nearest, and how well it is known.

use super::align::{Target, least, neighbours};
use super::bench::{Bench, Places};
use super::parameters::Parameter;

/// Values tried over the searched range.
const TRIED: usize = 11;
/// Steps of golden section before the last one along a parabola.
const FINE: usize = 5;
/// Steps of the search for each end of the interval.
const ENDS: usize = 3;
/// Rise of chi square that bounds a 95 % interval of one parameter (quantile of the chi-square distribution with one
/// degree of freedom).
pub(super) const CHI_SQUARE: f64 = 3.841;

/// Noise of the measured voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Noise {
    /// Variance in V²; `None` where no rest was measured.
    pub(super) variance: Option<f64>,
    /// Samples of the grid that stand for one independent one.
    pub(super) per_independent: f64,
}

/// What one parameter alone can do.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fitted {
    pub(super) value: f64,
    pub(super) interval: (f64, f64),
    /// The interval is cut off at an end of what was searched.
    pub(super) open: bool,
    /// Sum of the squares that are left.
    pub(super) squares: f64,
    pub(super) shift_s: f64,
    /// Rise of the sum of squares within which two explanations cannot be told apart.
    pub(super) rise: f64,
}

impl Noise {
    /// Rise of the sum of squares that bounds a 95 % interval about a fit whose differences these are. Where the fit
    /// leaves more than the noise, the model is not perfect and what it leaves is taken for noise, with its correlation
    /// from sample to sample.
    pub(super) fn rise(&self, left: &[f64]) -> f64 {
        let count = left.len().max(2) as f64;
        let variance = left.iter().map(|d| d * d).sum::<f64>() / (count - 1.0);
        let rho = neighbours(left);
        let from_fit = variance * (1.0 + rho) / (1.0 - rho);
        let from_noise = self.variance.map_or(0.0, |v| v * self.per_independent);
        CHI_SQUARE * from_fit.max(from_noise)
    }
}

/// Fits one parameter; `None` where no value of it gives a transient.
pub(super) fn fit(
    bench: &Bench<'_>,
    parameter: &Parameter,
    places: &Places,
    target: &Target,
    sign: f64,
    around_s: f64,
    noise: Noise,
) -> Option<Fitted> {
    let (low, high) = parameter.searched();
    let to = |x: f64| if parameter.ratios { x.exp() } else { x };
    let from = |value: f64| if parameter.ratios { value.ln() } else { value };
    let matched = |x: f64| {
        let predicted = bench.predict(Some((parameter.quantity, to(x))), places).ok()?;
        let voltage = predicted.voltage.scaled(0.0, sign);
        let found = target.nearest(&voltage, around_s);
        Some((found, voltage))
    };
    let squares = |x: f64| matched(x).map_or(f64::INFINITY, |(found, _)| found.squares);
    let (first, last) = (from(low), from(high));
    let step = (last - first) / (TRIED - 1) as f64;
    let at = |k: usize| first + step * k as f64;
    let tried: Vec<f64> = (0..TRIED).map(|k| squares(at(k))).collect();
    let best = (0..TRIED).min_by(|a, b| tried[*a].total_cmp(&tried[*b]))?;
    if !tried[best].is_finite() {
        return None;
    }
    let (left, right) = (at(best.saturating_sub(1)), at((best + 1).min(TRIED - 1)));
    let (mut x, mut lowest) = least(left, right, FINE, squares);
    if tried[best] < lowest {
        (x, lowest) = (at(best), tried[best]);
    }
    // Near its least value the sum is a parabola.
    let width = 0.1 * step;
    let (before, after) = (squares(x - width), squares(x + width));
    let bend = before - 2.0 * lowest + after;
    if bend > 0.0 && bend.is_finite() {
        let vertex = (x + (0.5 * width * (before - after) / bend).clamp(-width, width)).clamp(first, last);
        if squares(vertex) < lowest {
            x = vertex;
        }
    }
    let (found, voltage) = matched(x)?;
    let rise = noise.rise(&target.left(&voltage, found.shift_s));
    let limit = found.squares + rise;
    // The nearest tried value beyond the limit on either side, then regula falsi on the root of the rise, which is
    // about straight.
    let end = |outwards: &mut dyn Iterator<Item = usize>, edge: f64| {
        let (mut inside, mut root_inside) = (x, 0.0);
        for k in outwards {
            if tried[k] > limit {
                let root = |sum: f64| (sum - found.squares).max(0.0).sqrt();
                let wanted = rise.sqrt();
                let (mut outside, mut near) = ((at(k), root(tried[k])), (inside, root_inside));
                for _ in 0..ENDS {
                    let share = if outside.1.is_finite() && outside.1 > near.1 {
                        ((wanted - near.1) / (outside.1 - near.1)).clamp(0.02, 0.98)
                    } else {
                        0.5
                    };
                    let between = near.0 + share * (outside.0 - near.0);
                    let there = root(squares(between));
                    if there > wanted {
                        outside = (between, there);
                    } else {
                        near = (between, there);
                    }
                }
                return (outside.0, false);
            }
            inside = at(k);
            root_inside = (tried[k] - found.squares).max(0.0).sqrt();
        }
        (edge, true)
    };
    let (low_end, low_open) = end(&mut (0..TRIED).rev().filter(|k| at(*k) < x), first);
    let (high_end, high_open) = end(&mut (0..TRIED).filter(|k| at(*k) > x), last);
    Some(Fitted {
        value: to(x),
        interval: (to(low_end), to(high_end)),
        open: low_open || high_open,
        squares: found.squares,
        shift_s: found.shift_s,
        rise,
    })
}
