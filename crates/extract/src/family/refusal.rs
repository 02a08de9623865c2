//! Why points give no model.

use crate::fit::FitError;

/// Why points give no model.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A value of a point is not a finite number.
    #[error("{what} of point {point} is not a finite number")]
    NotFinite {
        /// What it is.
        what: &'static str,
        /// Number of the point, from 1.
        point: usize,
    },
    /// A value of a point must be above zero.
    #[error("{what} of point {point} is {value}, but must be above zero")]
    NotPositive {
        /// What it is.
        what: &'static str,
        /// Number of the point, from 1.
        point: usize,
        /// The value.
        value: f64,
    },
    /// A value beyond what any part or instrument has; arithmetic with it would overflow.
    #[error("{what} of point {point} is {value:e}, beyond anything that can be measured")]
    Absurd {
        /// What it is.
        what: &'static str,
        /// Number of the point, from 1.
        point: usize,
        /// The value.
        value: f64,
    },
    /// Some points have a standard deviation and others have none.
    #[error("point {point} has no standard deviation, but others have: give all of them or none")]
    SomeSigmas {
        /// Number of the first point without, from 1.
        point: usize,
    },
    /// A given value cannot be used.
    #[error("{what} is {value}, {expected} expected")]
    Given {
        /// What it is.
        what: &'static str,
        /// The value.
        value: f64,
        /// What was expected.
        expected: &'static str,
    },
    /// Too few points.
    #[error("only {have} point{} on {what}, at least {need} needed", if *have == 1 { "" } else { "s" })]
    TooFew {
        /// Which curve.
        what: &'static str,
        /// How many there are.
        have: usize,
        /// How many are needed.
        need: usize,
    },
    /// The points do not differ where they must.
    #[error("all points on {what} are at the same {axis}")]
    Alike {
        /// Which curve.
        what: &'static str,
        /// Where they do not differ.
        axis: &'static str,
    },
    /// A point cannot belong to the curve.
    #[error("point {point}: {why}")]
    Unusable {
        /// Number of the point, from 1.
        point: usize,
        /// Why.
        why: &'static str,
    },
    /// The points contradict the law.
    #[error("{0}")]
    Contradiction(&'static str),
    /// The least squares have failed.
    #[error(transparent)]
    Fit(#[from] FitError),
}

impl Refusal {
    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Refusal::NotFinite { .. } | Refusal::NotPositive { .. } | Refusal::Absurd { .. } => {
                "correct the value or leave the point out; voltages and currents are magnitudes in SI units"
            }
            Refusal::SomeSigmas { .. } => {
                "without standard deviations the scatter is estimated from the points"
            }
            Refusal::Given { .. } => "correct the value, or leave it out if it is not known",
            Refusal::TooFew { .. } | Refusal::Alike { .. } => "measure more points over a wider range",
            Refusal::Unusable { .. } => "leave the point out if it is a failed measurement",
            Refusal::Contradiction(_) => "check the columns and the family",
            Refusal::Fit(_) => "check the points; a robust loss helps against single bad ones",
        }
    }
}
