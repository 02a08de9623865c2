//! Intervals by the profile of the sum of squares.

use super::levenberg::Place;
use super::loss::Settled;
use super::{Counters, Problem};

/// Refits on the way to one end of an interval.
const REFITS: u32 = 30;

/// End of the interval of parameter `j` on its scale, `direction` +1 or −1: where the sum of squares, minimised over the other
/// parameters, has risen by `(t s)²`. Infinite when it never does.
///
/// `covariance` is that of the linearised model, on the scales: it leads the way.
pub(super) fn profile_end(
    problem: &Problem,
    best: &Place,
    covariance: &[Vec<f64>],
    variance: f64,
    (j, direction, t): (usize, f64, f64),
    counters: &mut Counters,
) -> f64 {
    let squares = Settled::squares();
    let others: Vec<usize> = (0..best.inner.len()).filter(|&k| k != j).collect();
    let mut near = best.clone();
    let mut reach = |distance: f64, counters: &mut Counters| -> Option<f64> {
        let mut inner = near.inner.clone();
        let moved = best.inner[j] + direction * distance - inner[j];
        for (k, u) in inner.iter_mut().enumerate() {
            *u += moved * covariance[k][j] / covariance[j][j];
        }
        inner[j] = best.inner[j] + direction * distance;
        let place = problem.place(inner, &squares, counters)?;
        near = problem.descend(place, &others, &squares, counters);
        Some(((near.cost - best.cost).max(0.0) / variance).sqrt())
    };
    let (mut low, mut low_t) = (0.0, 0.0);
    let mut high: Option<(f64, f64)> = None;
    let mut distance = t * covariance[j][j].sqrt();
    for _ in 0..REFITS {
        let Some(reached) = reach(distance, counters) else {
            return direction * f64::INFINITY;
        };
        if (reached - t).abs() <= 1e-4 * t {
            return best.inner[j] + direction * distance;
        }
        if reached < t {
            (low, low_t) = (distance, reached);
        } else {
            high = Some((distance, reached));
        }
        distance = match high {
            Some((far, far_t)) => {
                let share = ((t - low_t) / (far_t - low_t)).clamp(0.02, 0.98);
                low + share * (far - low)
            }
            None => distance * (t / reached.max(0.1 * t)).clamp(1.05, 3.0),
        };
    }
    match high {
        Some(_) => best.inner[j] + direction * distance,
        None => direction * f64::INFINITY,
    }
}
