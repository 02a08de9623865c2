//! What a fit says, and how well.

use super::interval::profile_end;
use super::levenberg::Place;
use super::loss::Settled;
use super::svd::{Svd, dot};
use super::{CONDITION_LIMIT, Counters, Intervals, Loss, Problem, Scale, Weights, student_t};

/// Share of a singular direction from which a parameter belongs to it.
const BELONGS: f64 = 0.1;

/// Whether the data tell a parameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Identified {
    /// Yes.
    Yes,
    /// As many observations as parameters: a value, but nothing to test it by.
    NotTestable,
    /// No: it can be changed together with others without any change of the curve.
    No,
}

/// A prediction with its uncertainty, on the scale of the observations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Value of the curve.
    pub value: f64,
    /// Half width of the interval of the curve itself; `None` unless all parameters are identified and testable.
    pub curve: Option<f64>,
    /// Half width of the interval of one further observation of the common scatter; `None` with given standard
    /// deviations too, which say nothing of a further observation.
    pub observation: Option<f64>,
}

/// Result of a fit.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Values of the parameters.
    pub values: Vec<f64>,
    /// Which of them the data tell.
    pub identified: Vec<Identified>,
    /// Standard errors of the values; `None` unless identified.
    pub standard_errors: Vec<Option<f64>>,
    /// Intervals of the values; `None` unless identified. An end may be infinite.
    pub intervals: Vec<Option<(f64, f64)>>,
    /// Covariance of the values, linearised; rows and columns of what is not identified are zero.
    pub covariance: Vec<Vec<f64>>,
    /// Observed less predicted.
    pub residuals: Vec<f64>,
    /// Weight a robust loss has left to each observation, 1 for full; all 1 with least squares.
    pub kept: Vec<f64>,
    /// Sum of squares of the weighted residuals.
    pub chi_square: f64,
    /// Observations less parameters.
    pub freedom: usize,
    /// Sum of squares over degrees of freedom; with given standard deviations it should be about one.
    pub reduced_chi_square: Option<f64>,
    /// Condition number of the derivative with columns of equal length.
    pub condition: f64,
    /// Work done.
    pub counters: Counters,
    scales: Vec<Scale>,
    inner: Vec<f64>,
    inner_covariance: Vec<Vec<f64>>,
    t: f64,
    own_variance: Option<f64>,
}

impl Problem<'_> {
    pub(super) fn outcome(&self, best: &Place, loss: &Settled, mut counters: Counters) -> Outcome {
        let (n, p) = (self.observed.len(), self.parameters.len());
        let freedom = n - p;
        let all: Vec<usize> = (0..p).collect();
        let mut columns = self.jacobian(&best.inner, &all, &mut counters);
        let norms: Vec<f64> = columns.iter().map(|c| dot(c, c).sqrt()).collect();
        // A parameter without any effect beside what it stands for is not told at all.
        let scale_of_data = (0..n)
            .map(|k| ((self.observed[k]) / self.sigma(k)).powi(2))
            .sum::<f64>()
            .sqrt();
        let mute = |j: usize| {
            let unit = self.parameters[j].scale.unit(best.inner[j]);
            let felt = norms[j] * unit;
            felt.is_nan() || felt <= 1e-9 * scale_of_data
        };
        for (j, column) in columns.iter_mut().enumerate() {
            let by = if mute(j) { f64::INFINITY } else { norms[j] };
            column.iter_mut().for_each(|entry| *entry /= by);
        }
        let svd = Svd::of(&columns);
        let (most, least) = svd.extremes();
        let condition = if least > 0.0 { most / least } else { f64::INFINITY };
        let mut told = vec![true; p];
        for (k, &value) in svd.values.iter().enumerate() {
            if value.is_nan() || value * CONDITION_LIMIT <= most {
                for (j, told) in told.iter_mut().enumerate() {
                    *told &= svd.right[k][j].abs() <= BELONGS;
                }
            }
        }
        let variance = self.variance(best, loss, freedom);
        let t = match self.weights {
            Weights::Sigmas(_) if self.loss == Loss::Squares => student_t(self.confidence, f64::INFINITY),
            _ => student_t(self.confidence, freedom as f64),
        };
        let mut inner_covariance = vec![vec![0.0; p]; p];
        for i in (0..p).filter(|&i| told[i]) {
            for j in (0..p).filter(|&j| told[j]) {
                let sum: f64 = (0..p)
                    .filter(|&k| svd.values[k] * CONDITION_LIMIT > most)
                    .map(|k| svd.right[k][i] * svd.right[k][j] / svd.values[k].powi(2))
                    .sum();
                inner_covariance[i][j] = variance.unwrap_or(0.0) * sum / (norms[i] * norms[j]);
            }
        }
        let scales: Vec<Scale> = self.parameters.iter().map(|p| p.scale).collect();
        let slopes: Vec<f64> = (0..p).map(|j| scales[j].slope(best.inner[j])).collect();
        let identified: Vec<Identified> = told
            .iter()
            .map(|told| match (told, variance) {
                (false, _) => Identified::No,
                (true, None) => Identified::NotTestable,
                (true, Some(_)) => Identified::Yes,
            })
            .collect();
        let intervals = (0..p)
            .map(|j| {
                let variance = variance.filter(|_| told[j])?;
                let half = t * inner_covariance[j][j].sqrt();
                let exact = half > 0.0 && told.iter().all(|t| *t);
                let ends = if self.intervals == Intervals::Profile && self.loss == Loss::Squares && exact {
                    let mut end = |direction| {
                        let way = (j, direction, t);
                        profile_end(self, best, &inner_covariance, variance, way, &mut counters)
                    };
                    (end(-1.0), end(1.0))
                } else {
                    (best.inner[j] - half, best.inner[j] + half)
                };
                Some(scales[j].interval(best.inner[j], ends))
            })
            .collect();
        let covariance: Vec<Vec<f64>> = (0..p)
            .map(|i| {
                (0..p)
                    .map(|j| slopes[i] * slopes[j] * inner_covariance[i][j])
                    .collect()
            })
            .collect();
        let chi_square: f64 = best.residuals.iter().map(|r| r * r).sum();
        Outcome {
            values: self.values(&best.inner),
            standard_errors: (0..p)
                .map(|j| (identified[j] == Identified::Yes).then(|| covariance[j][j].sqrt()))
                .collect(),
            identified,
            intervals,
            covariance,
            residuals: (0..n).map(|k| best.residuals[k] * self.sigma(k)).collect(),
            kept: best.residuals.iter().map(|&r| loss.weight(r)).collect(),
            chi_square,
            freedom,
            reduced_chi_square: (freedom > 0).then(|| chi_square / freedom as f64),
            condition,
            counters,
            scales,
            inner: best.inner.clone(),
            inner_covariance,
            t,
            own_variance: variance.filter(|_| self.weights == Weights::Equal),
        }
    }

    /// Factor on `(JᵀJ)⁻¹`; `None` when there is nothing to test by.
    fn variance(&self, best: &Place, loss: &Settled, freedom: usize) -> Option<f64> {
        if let (Weights::Sigmas(_), Loss::Squares) = (self.weights, self.loss) {
            return Some(1.0);
        }
        if freedom == 0 {
            return None;
        }
        let (n, p) = (self.observed.len() as f64, self.parameters.len() as f64);
        // Huber (1981), section 7.6 (from memory); all bends are one for least squares, which leaves RSS/(n − p).
        let spread: f64 = best.residuals.iter().map(|&r| (r * loss.weight(r)).powi(2)).sum();
        let bends: Vec<f64> = best.residuals.iter().map(|&r| loss.bend(r)).collect();
        let mean = bends.iter().sum::<f64>() / n;
        let scatter = bends.iter().map(|b| (b - mean).powi(2)).sum::<f64>() / n;
        let correction = 1.0 + p / n * scatter / (mean * mean);
        Some(correction.powi(2) * spread / (freedom as f64 * mean * mean))
    }
}

impl Outcome {
    /// Value and uncertainty of any quantity that follows from the parameters.
    pub fn predict(&self, quantity: impl Fn(&[f64]) -> f64) -> Band {
        let at = |inner: &[f64]| {
            let values: Vec<f64> = self.scales.iter().zip(inner).map(|(s, &u)| s.value(u)).collect();
            quantity(&values)
        };
        let value = at(&self.inner);
        let gradient: Vec<f64> = (0..self.inner.len())
            .map(|j| {
                let h = 1e-5 * self.scales[j].unit(self.inner[j]);
                let mut moved = self.inner.clone();
                moved[j] += h;
                let up = at(&moved);
                moved[j] -= 2.0 * h;
                (up - at(&moved)) / (2.0 * h)
            })
            .collect();
        let p = gradient.len();
        let variance: f64 = (0..p)
            .map(|i| {
                let row: f64 = (0..p).map(|j| self.inner_covariance[i][j] * gradient[j]).sum();
                row * gradient[i]
            })
            .sum();
        let testable = self.identified.iter().all(|i| *i == Identified::Yes);
        let curve = testable.then(|| self.t * variance.max(0.0).sqrt());
        Band {
            value,
            curve,
            observation: self
                .own_variance
                .filter(|_| testable)
                .map(|own| self.t * (variance.max(0.0) + own).sqrt()),
        }
    }

    /// Scatter of one observation about the curve, where it is estimated.
    pub fn scatter(&self) -> Option<f64> {
        self.own_variance.map(f64::sqrt)
    }

    /// Student's quantile of the intervals.
    pub fn t(&self) -> f64 {
        self.t
    }
}
