//! A measured wave against a predicted one: brought together in time, and what is left between them.

use tidewall_extract::waves::Wave;

/// Shifts tried over the span before the finest search.
const COARSE: usize = 31;
/// Steps of that search; each shortens the bracket to 0.618 of it.
const FINE: usize = 18;

/// A measured wave on its grid.
pub(super) struct Target {
    pub(super) wave: Wave,
    /// How far the alignment of a changed study may lie from that of the study, in seconds.
    pub(super) span_s: f64,
    /// Whether the zero is fitted along: one that was taken from a rest is known only as well as the noise lets it, and
    /// the rest is part of the grid, so that the fit weighs it rightly.
    pub(super) free_zero: bool,
}

/// A predicted wave brought to the measured one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Match {
    /// Time in seconds by which the prediction was moved to later.
    pub(super) shift_s: f64,
    /// Sum of the squared differences.
    pub(super) squares: f64,
}

impl Target {
    /// The shift near `around_s` that leaves the least, and what it leaves.
    pub(super) fn nearest(&self, predicted: &Wave, around_s: f64) -> Match {
        let step = 2.0 * self.span_s / (COARSE - 1) as f64;
        let coarse: Vec<f64> = (0..COARSE)
            .map(|k| self.squares(predicted, around_s - self.span_s + k as f64 * step))
            .collect();
        let best = (0..COARSE)
            .min_by(|a, b| coarse[*a].total_cmp(&coarse[*b]))
            .unwrap_or_default();
        let middle = around_s - self.span_s + best as f64 * step;
        let (shift_s, squares) = least(middle - step, middle + step, FINE, |shift| {
            self.squares(predicted, shift)
        });
        Match { shift_s, squares }
    }

    /// Sum of the squared differences with the prediction later by `shift_s`.
    pub(super) fn squares(&self, predicted: &Wave, shift_s: f64) -> f64 {
        let (sum, squares) = self
            .differences(predicted, shift_s)
            .fold((0.0, 0.0), |(sum, squares), d| (sum + d, squares + d * d));
        if self.free_zero {
            squares - sum * sum / self.wave.values.len() as f64
        } else {
            squares
        }
    }

    /// What is left sample by sample, after the zero where that is fitted.
    pub(super) fn left(&self, predicted: &Wave, shift_s: f64) -> Vec<f64> {
        let mut left: Vec<f64> = self.differences(predicted, shift_s).collect();
        if self.free_zero {
            let mean = left.iter().sum::<f64>() / left.len() as f64;
            left.iter_mut().for_each(|d| *d -= mean);
        }
        left
    }

    /// Measured less predicted, sample by sample. One walk through both: the grid rises.
    fn differences<'a>(&'a self, predicted: &'a Wave, shift_s: f64) -> impl Iterator<Item = f64> + 'a {
        let (times, values) = (&predicted.times_s, &predicted.values);
        let mut next = 0;
        self.wave
            .times_s
            .iter()
            .zip(&self.wave.values)
            .map(move |(t, v)| {
                let t = t - shift_s;
                while next < times.len() && times[next] <= t {
                    next += 1;
                }
                let there = if next == 0 {
                    values[0]
                } else if next == times.len() {
                    values[next - 1]
                } else {
                    let share = (t - times[next - 1]) / (times[next] - times[next - 1]);
                    values[next - 1] + share * (values[next] - values[next - 1])
                };
                v - there
            })
    }
}

/// Golden section: the least value in an interval, and where.
pub(super) fn least(low: f64, high: f64, steps: usize, mut value: impl FnMut(f64) -> f64) -> (f64, f64) {
    let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut low, mut high) = (low, high);
    let (mut a, mut b) = (high - ratio * (high - low), low + ratio * (high - low));
    let (mut at_a, mut at_b) = (value(a), value(b));
    for _ in 0..steps {
        if at_a <= at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - ratio * (high - low);
            at_a = value(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + ratio * (high - low);
            at_b = value(b);
        }
    }
    if at_a <= at_b { (a, at_a) } else { (b, at_b) }
}

/// Correlation of neighbours in a series about zero, between 0 and 0.99.
pub(super) fn neighbours(series: &[f64]) -> f64 {
    let all: f64 = series.iter().map(|x| x * x).sum();
    let next: f64 = series.windows(2).map(|pair| pair[0] * pair[1]).sum();
    if all > 0.0 {
        (next / all).clamp(0.0, 0.99)
    } else {
        0.0
    }
}
