//! Descent to a minimum: Levenberg's and Marquardt's method.

use super::loss::Settled;
use super::svd::{Svd, dot};
use super::{Counters, Problem};

/// Iterations after which a descent is given up.
const ITERATIONS: u32 = 300;
/// Step of the central differences on the scale of a parameter; their error is its square.
const DIFFERENCE: f64 = 1e-5;

/// Where a descent stands: parameters on their scales, weighted residuals, cost.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub inner: Vec<f64>,
    pub residuals: Vec<f64>,
    pub cost: f64,
    pub converged: bool,
}

impl Problem<'_> {
    /// Parameters from their scales.
    pub(super) fn values(&self, inner: &[f64]) -> Vec<f64> {
        let pairs = self.parameters.iter().zip(inner);
        pairs.map(|(parameter, &u)| parameter.scale.value(u)).collect()
    }

    fn weighted(&self, inner: &[f64]) -> Vec<f64> {
        let values = self.values(inner);
        (0..self.observed.len())
            .map(|k| (self.observed[k] - (self.model)(&values, k)) / self.sigma(k))
            .collect()
    }

    /// A place, if the model is finite there.
    pub(super) fn place(&self, inner: Vec<f64>, loss: &Settled, counters: &mut Counters) -> Option<Place> {
        counters.evaluations += 1;
        let residuals = self.weighted(&inner);
        let cost: f64 = residuals.iter().map(|&r| loss.cost(r)).sum();
        cost.is_finite().then_some(Place {
            inner,
            residuals,
            cost,
            converged: false,
        })
    }

    /// Columns of the derivative of the weighted model by the parameters `free`, on their scales.
    pub(super) fn jacobian(&self, inner: &[f64], free: &[usize], counters: &mut Counters) -> Vec<Vec<f64>> {
        free.iter()
            .map(|&j| {
                let h = DIFFERENCE * self.parameters[j].scale.unit(inner[j]);
                let mut moved = inner.to_vec();
                moved[j] = inner[j] + h;
                let up = self.weighted(&moved);
                let top = moved[j];
                moved[j] = inner[j] - h;
                let down = self.weighted(&moved);
                counters.evaluations += 2;
                // Residuals fall where the model rises.
                let width = top - moved[j];
                down.iter().zip(&up).map(|(d, u)| (d - u) / width).collect()
            })
            .collect()
    }

    /// Goes down from a place over the parameters `free`, the others held.
    pub(super) fn descend(
        &self,
        mut at: Place,
        free: &[usize],
        loss: &Settled,
        counters: &mut Counters,
    ) -> Place {
        let mut damping = 1e-3;
        let mut growth = 2.0;
        let mut norms = vec![0.0f64; free.len()];
        let mut iterations = 0;
        while iterations < ITERATIONS {
            let roots: Vec<f64> = at.residuals.iter().map(|&r| loss.weight(r).sqrt()).collect();
            let mut columns = self.jacobian(&at.inner, free, counters);
            for (column, norm) in columns.iter_mut().zip(&mut norms) {
                for (entry, root) in column.iter_mut().zip(&roots) {
                    *entry *= root;
                }
                // Columns are measured by the largest norm they have had (Moré, 1978).
                *norm = dot(column, column).sqrt().max(*norm);
                let by = if *norm > 0.0 { *norm } else { 1.0 };
                column.iter_mut().for_each(|entry| *entry /= by);
            }
            let svd = Svd::of(&columns);
            let right: Vec<f64> = at
                .residuals
                .iter()
                .zip(&roots)
                .map(|(r, root)| r * root)
                .collect();
            let projected: Vec<f64> = svd.scaled.iter().map(|column| dot(column, &right)).collect();
            loop {
                iterations += 1;
                counters.iterations += 1;
                let mut step = vec![0.0; free.len()];
                let mut foretold = 0.0;
                for ((value, right), at) in svd.values.iter().zip(&svd.right).zip(&projected) {
                    let s2 = value * value;
                    let along = if s2 > 0.0 { at / (s2 + damping) } else { 0.0 };
                    foretold += along * (at + damping * along);
                    for (d, v) in step.iter_mut().zip(right) {
                        *d += along * v;
                    }
                }
                let mut inner = at.inner.clone();
                let mut small = true;
                for (k, &j) in free.iter().enumerate() {
                    let d = step[k] / if norms[k] > 0.0 { norms[k] } else { 1.0 };
                    let unit = self.parameters[j].scale.unit(at.inner[j]);
                    // A trial far from where the derivative was taken says nothing.
                    let d = d.clamp(-3.0 * unit, 3.0 * unit);
                    small &= d.abs() <= 1e-10 * unit;
                    inner[j] += d;
                }
                let trial = self.place(inner, loss, counters);
                let gain = trial.as_ref().map_or(-1.0, |t| at.cost - t.cost);
                if gain > 0.0 {
                    let quality = gain / foretold.max(f64::MIN_POSITIVE);
                    damping *= (1.0 - (2.0 * quality.min(1.5) - 1.0).powi(3)).max(1.0 / 10.0);
                    growth = 2.0;
                    let little = gain <= 1e-15 * at.cost;
                    if let Some(trial) = trial {
                        at = trial;
                    }
                    if small || little || at.cost == 0.0 {
                        at.converged = true;
                        return at;
                    }
                    break;
                }
                if small || foretold <= 1e-14 * at.cost {
                    at.converged = true;
                    return at;
                }
                damping *= growth;
                growth *= 2.0;
                if iterations >= ITERATIONS {
                    break;
                }
            }
        }
        at
    }
}
