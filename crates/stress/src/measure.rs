//! Measures a waveform by the definitions of the standards.

use crate::fit::bisect;

/// What the standards measure on an impulse. Times are in seconds; a time is `None` where the waveform does
/// not reach the level it needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measures {
    /// Value of largest magnitude, with its sign.
    pub peak: f64,
    /// When it is reached.
    pub peak_s: f64,
    /// Voltage front T1 = 1.667 × (t90 − t30) (IEC 60060-1).
    pub front_voltage_s: Option<f64>,
    /// Virtual origin through the 30 % and 90 % points.
    pub origin_voltage_s: Option<f64>,
    /// Time to half value T2 from that origin.
    pub tail_voltage_s: Option<f64>,
    /// Current front T1 = 1.25 × (t90 − t10) (IEC 60060-1, IEC 62475).
    pub front_current_s: Option<f64>,
    /// Virtual origin through the 10 % and 90 % points.
    pub origin_current_s: Option<f64>,
    /// Time to half value T2 from that origin.
    pub tail_current_s: Option<f64>,
    /// Rise from 10 % to 90 %.
    pub rise_s: Option<f64>,
    /// Width between the 50 % points.
    pub width_s: Option<f64>,
    /// Duration between the 10 % points.
    pub duration_s: Option<f64>,
    /// Largest excursion to the other side after the peak, as a share of the peak (zero for none).
    pub undershoot: f64,
    /// Time integral of the value (ampere-seconds for a current).
    pub integral: f64,
    /// Time integral of the squared value (ampere-squared seconds for a current).
    pub integral_of_square: f64,
}

/// Measures `value` over the ascending instants `grid_s`, which must be fine enough to show every peak and
/// crossing once; crossings are then refined on `value` itself.
///
/// Returns `None` for fewer than three instants or a waveform that is zero or not finite on the grid. Levels and origins
/// are those of the definitions named at [`Measures`] (from memory; 30 % to 90 % and 10 % to 90 % read in two teaching
/// pages).
pub fn measure(value: impl Fn(f64) -> f64, grid_s: &[f64]) -> Option<Measures> {
    let samples: Vec<f64> = grid_s.iter().map(|t| value(*t)).collect();
    if samples.len() < 3 || samples.iter().any(|sample| !sample.is_finite()) {
        return None;
    }
    let at = (0..samples.len()).max_by(|a, b| samples[*a].abs().total_cmp(&samples[*b].abs()))?;
    if samples[at] == 0.0 {
        return None;
    }
    let sign = samples[at].signum();
    let (peak_s, height) = refine_peak(
        |t| sign * value(t),
        (grid_s[at], sign * samples[at]),
        grid_s[at.saturating_sub(1)],
        grid_s[(at + 1).min(grid_s.len() - 1)],
    );
    let share = |t: f64| sign * value(t) / height;
    let crossing = |k: usize, level: f64| bisect(grid_s[k - 1], grid_s[k], |t| share(t) - level);
    let rise = |level: f64| {
        if sign * samples[0] / height >= level {
            return None;
        }
        (1..=at)
            .find(|k| sign * samples[*k] / height >= level)
            .map(|k| crossing(k, level))
    };
    let fall = |level: f64| {
        (at + 1..samples.len())
            .find(|k| sign * samples[*k] / height < level)
            .map(|k| crossing(k, level))
    };
    let between = |from: Option<f64>, to: Option<f64>| Some(to? - from?);
    let (t10, t30, t50, t90) = (rise(0.1), rise(0.3), rise(0.5), rise(0.9));
    let (half_fall, tenth_fall) = (fall(0.5), fall(0.1));

    let front_voltage_s = between(t30, t90).map(|span| span / 0.6);
    let front_current_s = between(t10, t90).map(|span| span / 0.8);
    let origin_voltage_s = between(front_voltage_s.map(|front| 0.3 * front), t30);
    let origin_current_s = between(front_current_s.map(|front| 0.1 * front), t10);
    let lowest = samples[at..]
        .iter()
        .fold(0.0_f64, |low, sample| low.min(sign * sample));

    let mut integral = 0.0;
    let mut integral_of_square = 0.0;
    for (times, pair) in grid_s.windows(2).zip(samples.windows(2)) {
        let (step, a, b) = (times[1] - times[0], pair[0], pair[1]);
        integral += 0.5 * step * (a + b);
        // Derived: exact for the straight line between the two samples.
        integral_of_square += step * (a * a + a * b + b * b) / 3.0;
    }
    Some(Measures {
        peak: sign * height,
        peak_s,
        front_voltage_s,
        origin_voltage_s,
        tail_voltage_s: between(origin_voltage_s, half_fall),
        front_current_s,
        origin_current_s,
        tail_current_s: between(origin_current_s, half_fall),
        rise_s: between(t10, t90),
        width_s: between(t50, half_fall),
        duration_s: between(t10, tenth_fall),
        undershoot: -lowest / height,
        integral,
        integral_of_square,
    })
}

/// Measures sampled points `(t, value)` with straight lines between them.
///
/// Returns `None` as [`measure`] does.
pub fn measure_samples(points: &[(f64, f64)]) -> Option<Measures> {
    let grid: Vec<f64> = points.iter().map(|point| point.0).collect();
    let value = |t: f64| {
        let next = points
            .partition_point(|point| point.0 <= t)
            .clamp(1, points.len() - 1);
        let (from, to) = (points[next - 1], points[next]);
        from.1 + (to.1 - from.1) * ((t - from.0) / (to.0 - from.0))
    };
    if points.len() < 3 {
        None
    } else {
        measure(value, &grid)
    }
}

/// Instants for [`measure`] that resolve scales from `finest_s` to `until_s`: `count` steps, fine at first
/// and growing in proportion to time.
pub fn grid_s(finest_s: f64, until_s: f64, count: usize) -> Vec<f64> {
    let growth = (1.0 + until_s / finest_s).ln() / count as f64;
    (0..=count)
        .map(|k| finest_s * (growth * k as f64).exp_m1())
        .collect()
}

/// Improves a grid maximum on the function itself (derived by golden section); keeps the grid point if that is higher.
fn refine_peak(value: impl Fn(f64) -> f64, found: (f64, f64), from: f64, to: f64) -> (f64, f64) {
    let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut low, mut high) = (from, to);
    for _ in 0..60 {
        let (left, right) = (high - ratio * (high - low), low + ratio * (high - low));
        if value(left) < value(right) {
            low = left;
        } else {
            high = right;
        }
    }
    let middle = 0.5 * (low + high);
    let at_middle = value(middle);
    if at_middle > found.1 {
        (middle, at_middle)
    } else {
        found
    }
}
