//! The part of a wave before its event: zero and noise.

/// Fewest samples from which a zero and a noise are taken.
const FEWEST: usize = 16;
/// Share of the largest excursion at which the event has begun.
const BEGUN: f64 = 0.1;
/// Share of the time up to there that counts as before the event.
const GUARD: f64 = 0.8;
/// Difference of the means of both halves, in standard errors, above which the part is no rest.
const DRIFT: f64 = 3.0;

/// A wave before its event.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// Mean value.
    pub mean: f64,
    /// Standard deviation about the mean.
    pub noise: f64,
    /// Correlation of neighbouring samples, 0 for white noise, at least 0.
    pub neighbours: f64,
    /// Samples it is taken from.
    pub samples: usize,
    /// Its end in seconds.
    pub until_s: f64,
}

impl Rest {
    /// How many samples stand for one independent one: `(1 + ρ) / (1 − ρ)` for noise of first order.
    pub fn samples_per_independent(&self) -> f64 {
        (1.0 + self.neighbours) / (1.0 - self.neighbours).max(0.01)
    }
}

/// Zero and noise of the part before the event; `None` where too few samples stand before it or they drift.
pub fn rest(times_s: &[f64], values: &[f64]) -> Option<Rest> {
    let n = values.len().min(times_s.len());
    let head = &values[..n.min(FEWEST)];
    let zero = mean(head)?;
    let largest = values.iter().map(|v| (v - zero).abs()).fold(0.0, f64::max);
    let begun = values.iter().position(|v| (v - zero).abs() > BEGUN * largest)?;
    let until = times_s[0] + GUARD * (times_s[begun] - times_s[0]);
    let mut count = times_s[..begun].partition_point(|t| *t <= until);
    while count >= FEWEST {
        let part = &values[..count];
        let (m, noise) = (mean(part)?, deviation(part)?);
        let (a, b) = part.split_at(count / 2);
        let error = noise / (count as f64 / 4.0).sqrt();
        if (mean(a)? - mean(b)?).abs() <= DRIFT * error {
            let cross: f64 = part.windows(2).map(|w| (w[0] - m) * (w[1] - m)).sum();
            let neighbours = if noise > 0.0 {
                (cross / ((count - 1) as f64 * noise * noise)).clamp(0.0, 0.99)
            } else {
                0.0
            };
            return Some(Rest {
                mean: m,
                noise,
                neighbours,
                samples: count,
                until_s: times_s[count - 1],
            });
        }
        count /= 2;
    }
    None
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

fn deviation(values: &[f64]) -> Option<f64> {
    let m = mean(values)?;
    let sum: f64 = values.iter().map(|v| (v - m) * (v - m)).sum();
    (values.len() > 1).then(|| (sum / (values.len() - 1) as f64).sqrt())
}
