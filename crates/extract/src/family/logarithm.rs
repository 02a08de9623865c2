//! Curves whose relative scatter is the same everywhere: least squares of the logarithm.

use super::draft::{Draft, Told};
use super::input::{deviations, enough, range, weights};
use super::{CONFIDENCE, Point, Refusal, Settings};
use crate::fit::{Intervals, Outcome, Parameter, Problem};

/// A curve `ln y` of its parameters and `x`.
pub(super) struct LogCurve<'a> {
    pub of: &'static str,
    pub axis: &'static str,
    pub parameters: &'a [Parameter],
    pub told: &'a [Told],
    pub curve: &'a dyn Fn(&[f64], f64) -> f64,
    pub intervals: Intervals,
    pub starts: usize,
}

impl LogCurve<'_> {
    /// Solves for points that are all above zero on the second axis.
    pub fn solve(&self, points: &[Point], settings: &Settings) -> Result<Outcome, Refusal> {
        enough(points, self.of, self.axis, self.parameters.len())?;
        let observed: Vec<f64> = points.iter().map(|p| p.y.ln()).collect();
        let sigmas = deviations(points, true);
        let model = |values: &[f64], k: usize| (self.curve)(values, points[k].x);
        let problem = Problem {
            weights: weights(&sigmas),
            loss: settings.loss,
            confidence: CONFIDENCE,
            intervals: self.intervals,
            starts: self.starts,
            seed: settings.seed,
            ..Problem::new(self.parameters, &observed, &model)
        };
        Ok(problem.solve()?)
    }

    /// Writes an outcome into the draft: parameters, points, band, usual warnings.
    pub fn write(&self, draft: &mut Draft, points: &[Point], outcome: &Outcome, span: bool) {
        draft.outcome(outcome, self.told, points.iter().all(|p| p.sigma.is_some()));
        for (k, point) in points.iter().enumerate() {
            let fitted = (self.curve)(&outcome.values, point.x).exp();
            draft.point(k + 1, self.of, (point.x, point.y), Some(fitted));
        }
        let (low, high) = range(points);
        draft.band(self.of, (low, high), outcome, self.curve, f64::exp);
        draft.usual_warnings(self.of, points.len(), span.then_some(high / low));
    }

    /// Both.
    pub fn fit(&self, draft: &mut Draft, points: &[Point], settings: &Settings) -> Result<Outcome, Refusal> {
        let outcome = self.solve(points, settings)?;
        self.write(draft, points, &outcome, true);
        Ok(outcome)
    }
}
