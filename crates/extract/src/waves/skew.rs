//! Waves against each other in time.

use super::Wave;

/// Points of the grid on which fronts are compared.
const GRID: usize = 600;

/// How far one wave lags behind another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lag {
    /// Seconds by which the second wave is later than the first.
    pub seconds: f64,
    /// Correlation of the fronts' slopes at that lag, 1 for equal shapes.
    pub correlation: f64,
}

/// Instants between which a wave, zero at rest, first rises from 10 % to 90 % of its value of largest size.
pub fn front(wave: &Wave) -> Option<(f64, f64)> {
    let peak = wave.peak()?.0;
    if peak == 0.0 {
        return None;
    }
    let share = |k: usize| wave.values[k] / peak;
    let top = (0..wave.values.len()).find(|k| share(*k) >= 0.9)?;
    // Backwards from there, so that noise before the event is not taken for its beginning.
    let foot = (0..=top).rev().find(|k| share(*k) < 0.1).map_or(0, |k| k + 1);
    let crossing = |k: usize, level: f64| {
        let Some(before) = k.checked_sub(1) else {
            return wave.times_s[0];
        };
        let (a, b) = (share(before), share(k));
        let (s, t) = (wave.times_s[before], wave.times_s[k]);
        if b > a {
            s + (t - s) * ((level - a) / (b - a)).clamp(0.0, 1.0)
        } else {
            t
        }
    };
    Some((crossing(foot, 0.1), crossing(top, 0.9)))
}

/// Lag of `b` behind `a` by cross-correlation of the slopes of their fronts; `None` where a wave has no front.
pub fn front_lag(a: &Wave, b: &Wave) -> Option<Lag> {
    let ((a10, a90), (b10, b90)) = (front(a)?, front(b)?);
    let rise = (a90 - a10).max(b90 - b10);
    if rise <= 0.0 {
        return None;
    }
    // The lag is about that of the 10 % points; b is brought there first, and the grid searches around it.
    let coarse = b10 - a10;
    let (from, to) = (a10 - 2.0 * rise, a10 + 3.0 * rise);
    let step = (to - from) / GRID as f64;
    let slopes = |wave: &Wave, shift: f64| -> Vec<f64> {
        let at = |k: usize| wave.at(from + k as f64 * step + shift);
        let sign = wave.peak().map_or(1.0, |peak| peak.0.signum());
        (0..GRID).map(|k| sign * (at(k + 1) - at(k))).collect()
    };
    let (x, y) = (slopes(a, 0.0), slopes(b, coarse));
    let size = |v: &[f64]| v.iter().map(|s| s * s).sum::<f64>().sqrt();
    let norm = size(&x) * size(&y);
    if norm == 0.0 {
        return None;
    }
    let at = |lag: isize| {
        let mut sum = 0.0;
        for (k, slope) in x.iter().enumerate() {
            if let Some(other) = k.checked_add_signed(lag).and_then(|j| y.get(j)) {
                sum += slope * other;
            }
        }
        sum / norm
    };
    let most = (GRID / 3) as isize;
    let best = (-most..=most).max_by(|p, q| at(*p).total_cmp(&at(*q)))?;
    let (left, top, right) = (at(best - 1), at(best), at(best + 1));
    let bend = left - 2.0 * top + right;
    let fine = if bend < 0.0 {
        (0.5 * (left - right) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    Some(Lag {
        seconds: coarse + (best as f64 + fine) * step,
        correlation: top,
    })
}
