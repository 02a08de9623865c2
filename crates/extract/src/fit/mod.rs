//! Bounded, weighted, robust nonlinear least squares.
//!
//! The method is Levenberg's and Marquardt's (Marquardt 1963, with the column scaling of Moré 1978 and the damping rule
//! of Nielsen 1999; all from memory) on scales that make bounds unreachable ([`Scale`]). Steps are taken through the
//! singular values of the derivative, which also tell what the data cannot say.
//!
//! Covariance: `s² (JᵀJ)⁻¹` with the residual variance `s² = RSS/(n − p)`, or `(JᵀJ)⁻¹` of residuals weighted by given
//! standard deviations. With a robust loss, Huber's (1981) correction stands in place of `s²`. Intervals: symmetrical on the
//! parameter's scale with Student's `t`, or by the profile of the sum of squares (Bates and Watts 1988), which needs no
//! linear model.

mod interval;
mod levenberg;
mod loss;
mod outcome;
mod scale;
mod starts;
mod student;
mod svd;

pub use loss::Loss;
pub use outcome::{Band, Identified, Outcome};
pub use scale::{Parameter, Scale};
pub use student::student_t;

use levenberg::Place;
use loss::Settled;

/// Condition number of the scaled derivative above which the data do not tell the parameters apart: half the digits of
/// the numerical derivative are then gone.
pub const CONDITION_LIMIT: f64 = 1e6;

/// What is known of the scatter of the observations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Weights<'a> {
    /// Alike for all and unknown: estimated from the residuals.
    Equal,
    /// Known up to a common factor: relative standard deviations.
    Relative(&'a [f64]),
    /// Known: standard deviations in the unit of the observations.
    Sigmas(&'a [f64]),
}

/// How intervals are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Intervals {
    /// `± t` standard errors on the parameter's scale.
    Linearised,
    /// Where the profile of the sum of squares reaches `t`; with a robust loss as [`Intervals::Linearised`].
    Profile,
}

/// A least-squares problem.
#[derive(Clone, Copy)]
pub struct Problem<'a> {
    /// What is to be found.
    pub parameters: &'a [Parameter],
    /// What was seen.
    pub observed: &'a [f64],
    /// Prediction of an observation by its place, from the values of the parameters.
    pub model: &'a dyn Fn(&[f64], usize) -> f64,
    /// Scatter of the observations.
    pub weights: Weights<'a>,
    /// Cost of a residual.
    pub loss: Loss,
    /// Kind of intervals.
    pub intervals: Intervals,
    /// Probability with which an interval holds the value.
    pub confidence: f64,
    /// Number of starts: the given one and others drawn from the search ranges.
    pub starts: usize,
    /// Seed of the starts; the same seed gives the same result.
    pub seed: u64,
}

/// Work done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Counters {
    /// Descents begun.
    pub starts: u32,
    /// Steps tried.
    pub iterations: u32,
    /// Runs of the model over all points.
    pub evaluations: u32,
}

/// Why a problem has no solution.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// An observation or its standard deviation is not a finite number, or a deviation is not above zero.
    #[error("{what} of point {point} is not a usable number: {value}")]
    Unusable {
        /// What it is.
        what: &'static str,
        /// Number of the point, from 1.
        point: usize,
        /// The value.
        value: f64,
    },
    /// Fewer observations than parameters.
    #[error("{points} points cannot give {parameters} values: at least as many points are needed")]
    TooFew {
        /// Observations.
        points: usize,
        /// Parameters.
        parameters: usize,
    },
    /// The model is not finite at the start.
    #[error("the model has no finite value at any start")]
    NoStart,
    /// The search did not come to rest.
    #[error("the search for the best values did not come to rest in {iterations} steps")]
    NotConverged {
        /// Steps tried.
        iterations: u32,
    },
}

impl<'a> Problem<'a> {
    /// Plain least squares with scatter estimated from the residuals and linearised 95 % intervals, from one start.
    pub fn new(
        parameters: &'a [Parameter],
        observed: &'a [f64],
        model: &'a dyn Fn(&[f64], usize) -> f64,
    ) -> Problem<'a> {
        Problem {
            parameters,
            observed,
            model,
            weights: Weights::Equal,
            loss: Loss::Squares,
            intervals: Intervals::Linearised,
            confidence: 0.95,
            starts: 1,
            seed: 1,
        }
    }

    /// Deviation that a residual is measured by.
    fn sigma(&self, point: usize) -> f64 {
        match self.weights {
            Weights::Equal => 1.0,
            Weights::Relative(list) | Weights::Sigmas(list) => list.get(point).copied().unwrap_or(f64::NAN),
        }
    }

    fn check(&self) -> Result<(), FitError> {
        let unusable = |what, k: usize, value| FitError::Unusable {
            what,
            point: k + 1,
            value,
        };
        for (k, &y) in self.observed.iter().enumerate() {
            if !y.is_finite() {
                return Err(unusable("the observation", k, y));
            }
            let sigma = self.sigma(k);
            if !(sigma > 0.0 && sigma.is_finite()) {
                return Err(unusable("the standard deviation", k, sigma));
            }
        }
        if self.observed.len() < self.parameters.len() || self.observed.is_empty() {
            return Err(FitError::TooFew {
                points: self.observed.len(),
                parameters: self.parameters.len(),
            });
        }
        Ok(())
    }

    /// Finds the parameters.
    ///
    /// # Errors
    /// [`FitError`]: unusable observations, too few of them, or no minimum found. What the data cannot tell apart is no
    /// error but stated in the [`Outcome`].
    pub fn solve(&self) -> Result<Outcome, FitError> {
        self.check()?;
        let mut counters = Counters::default();
        let free: Vec<usize> = (0..self.parameters.len()).collect();
        let first = match self.loss.given() {
            Some(_) => self.loss.settle(&[0.0], 0),
            None => Settled::squares(),
        };
        let mut best: Option<Place> = None;
        for inner in starts::starts(self) {
            let Some(place) = self.place(inner, &first, &mut counters) else {
                continue;
            };
            counters.starts += 1;
            let place = self.descend(place, &free, &first, &mut counters);
            let better = best
                .as_ref()
                .is_none_or(|b| place.cost < b.cost * (1.0 - 1e-9) || (place.converged && !b.converged));
            if better {
                best = Some(place);
            }
        }
        let mut best = best.ok_or(FitError::NoStart)?;
        let mut loss = first;
        if self.loss.given().is_none() {
            // The scale of a robust loss follows the residuals, the fit follows the scale.
            for _ in 0..50 {
                let next = self.loss.settle(&best.residuals, free.len());
                let Some(place) = self.place(best.inner.clone(), &next, &mut counters) else {
                    break;
                };
                loss = next;
                let before = best.inner.clone();
                best = self.descend(place, &free, &loss, &mut counters);
                let still = |j: usize| {
                    let unit = self.parameters[j].scale.unit(before[j]);
                    (best.inner[j] - before[j]).abs() <= 1e-9 * unit
                };
                if free.iter().all(|&j| still(j)) {
                    break;
                }
            }
        }
        if !best.converged {
            return Err(FitError::NotConverged {
                iterations: counters.iterations,
            });
        }
        Ok(self.outcome(&best, &loss, counters))
    }
}
