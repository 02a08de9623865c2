//! Time. Computations are timed by what the processor has spent on them, so that other work on the machine counts little.

use std::hint::black_box;
use std::time::{Duration, Instant};

use cpu_time::ThreadTime;

/// Median of a list in the list's unit; zero of none.
pub fn median(samples: &[f64]) -> f64 {
    quantile(samples, 0.5)
}

/// The sample below which `share` of the list lies, in the list's unit; zero of none.
pub fn quantile(samples: &[f64], share: f64) -> f64 {
    let mut sorted = samples.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().saturating_sub(1);
    let at = (share * last as f64).round() as usize;
    sorted.get(at).copied().unwrap_or(0.0)
}

/// How long work is repeated.
#[derive(Clone, Copy, Debug)]
pub struct Repeat {
    /// At least so long in all, in seconds.
    pub seconds: f64,
    /// At most so often.
    pub most: usize,
}

/// Result of a piece of work with the processor time in seconds that this thread has spent on it.
pub fn timed<T>(work: impl FnOnce() -> T) -> (T, f64) {
    let start = ThreadTime::now();
    let result = work();
    (result, start.elapsed().as_secs_f64())
}

/// Processor time of one piece of work in seconds: the median of as many runs as `repeat` allows.
pub fn time(repeat: Repeat, mut work: impl FnMut()) -> f64 {
    let begun = Instant::now();
    let mut samples = Vec::new();
    while samples.is_empty()
        || samples.len() < repeat.most && begun.elapsed() < Duration::from_secs_f64(repeat.seconds)
    {
        samples.push(timed(&mut work).1);
    }
    median(&samples)
}

/// Multiplications and additions per second that one core does on numbers in its registers, from plain Rust as this
/// program is compiled: the best of several tries.
pub fn flops_per_s() -> f64 {
    const LANES: usize = 16;
    const ROUNDS: usize = 200_000;
    let mut best = f64::INFINITY;
    for _ in 0..10 {
        let mut sums = black_box([0.5f64; LANES]);
        let (factor, term) = black_box((0.999_9, 1e-4));
        let ((), seconds) = timed(|| {
            for _ in 0..ROUNDS {
                for sum in &mut sums {
                    *sum = *sum * factor + term;
                }
            }
        });
        black_box(sums);
        best = best.min(seconds);
    }
    (2 * LANES * ROUNDS) as f64 / best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_samples() {
        let samples = [5.0, 1.0, 4.0, 2.0, 3.0];
        assert_eq!(median(&samples), 3.0);
        assert_eq!(quantile(&samples, 1.0), 5.0);
        assert_eq!(quantile(&[], 0.5), 0.0);
    }
}
