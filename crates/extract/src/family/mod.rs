//! The curves of each family, one file per family: from points to values with their uncertainty.
//!
//! Every function takes points in SI units and returns a [`Fit`], or a [`Refusal`] that says what was expected. Intervals
//! hold 95 %. What the data do not tell is stated as such, with the measurement that would tell it.

pub mod avalanche;
mod branch;
pub mod capacitance;
pub mod data;
mod draft;
pub mod flat_clamp;
pub mod gas_tube;
mod input;
pub mod leakage;
mod line;
mod logarithm;
pub mod pin;
mod refusal;
pub mod snapback;
pub mod thermal;
pub mod thyristor;
pub mod varistor;

use schemars::JsonSchema;
use serde::Serialize;

use crate::fit::{Counters, Loss};
use data::Datum;

pub use input::{CurvePoint, Point};
pub use refusal::Refusal;

/// Version of the contract of [`Fit`].
pub const SCHEMA: &str = "tidewall/fit/1";

/// Probability with which an interval holds the value.
pub const CONFIDENCE: f64 = 0.95;

/// How a fit is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Cost of a residual.
    pub loss: Loss,
    /// Seed of further starts, where the problem has several valleys.
    pub seed: u64,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            loss: Loss::Squares,
            seed: 1,
        }
    }
}

/// Standing of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Fitted, with an interval.
    Estimated,
    /// As many data as unknowns: the curve passes through all of them whatever they are, so nothing tests it.
    NotTestable,
    /// The data do not tell it; `needs` says which measurement would.
    NotIdentified,
    /// Given, not fitted.
    Given,
    /// Read off a point, not fitted; the point's own error is its error.
    Observed,
}

/// A value of the model, in SI units (°C for temperatures).
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Estimate {
    /// Its key, such as `dynamic_resistance`.
    pub key: String,
    /// What it is.
    pub meaning: String,
    /// Its unit.
    pub unit: String,
    /// The value; missing when it is not identified.
    pub value: Option<f64>,
    /// Standard error, linearised.
    pub standard_error: Option<f64>,
    /// Interval that holds the value with 95 %; an end that is missing does not exist.
    pub interval: Option<[Option<f64>; 2]>,
    /// How it stands.
    pub standing: Standing,
    /// The measurement that would tell it, if it is not identified, or test it, if it is not testable.
    pub needs: Option<String>,
}

/// An axis of the curve.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Axis {
    /// What it shows.
    pub name: String,
    /// Its unit; SI, or °C.
    pub unit: String,
}

/// A point as it was used.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct UsedPoint {
    /// Its number among the points given, from 1.
    pub number: usize,
    /// Curve or branch it belongs to.
    pub of: String,
    /// Place on the first axis.
    pub x: f64,
    /// Place on the second axis.
    pub y: f64,
    /// Value of the fitted curve there.
    pub fitted: Option<f64>,
    /// Measured less fitted.
    pub residual: Option<f64>,
    /// Why it was left out of the fit.
    pub rejected: Option<String>,
}

/// The fitted curve at one place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BandPoint {
    /// Curve or branch it belongs to.
    pub of: String,
    /// Place on the first axis.
    pub x: f64,
    /// Value of the curve.
    pub value: f64,
    /// Interval of the curve itself.
    pub curve: Option<[f64; 2]>,
    /// Interval of one further observation.
    pub observation: Option<[f64; 2]>,
}

/// How well the curve fits.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Quality {
    /// Points used.
    pub points: usize,
    /// Points left out.
    pub rejected: usize,
    /// Points less unknowns.
    pub degrees_of_freedom: usize,
    /// Scatter (standard deviation) of one point about the curve, in the unit of `residuals_in`.
    pub scatter: Option<f64>,
    /// What residuals are measured in: the unit of the second axis, or its logarithm.
    pub residuals_in: String,
    /// Sum of squares over degrees of freedom, where standard deviations were given: about one if they are right.
    pub reduced_chi_square: Option<f64>,
    /// Condition number of the derivative with columns of equal length.
    pub condition: Option<f64>,
}

/// Kind of a warning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WarningKind {
    /// Fewer than four points.
    FewPoints,
    /// The points span less than 3 : 1.
    ShortSpan,
    /// The branch falls where it should rise.
    NonMonotonic,
    /// The points bend away from the law.
    Bend,
    /// The voltage rises faster at the top: saturation or the end of the branch.
    Saturation,
    /// A residual above 3 % of its reading.
    LargeResidual,
    /// Given standard deviations do not match the scatter.
    Scatter,
    /// A value is known poorly.
    Weak,
    /// Points that the robust loss has discounted.
    Outliers,
    /// A value lies outside what was measured.
    Extrapolation,
    /// A value that no part of the family has.
    Implausible,
    /// Something was assumed.
    Assumption,
}

/// A warning.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Warning {
    /// Kind.
    pub kind: WarningKind,
    /// In words.
    pub text: String,
}

/// Covariance of the estimated values.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Covariance {
    /// Keys of rows and columns.
    pub keys: Vec<String>,
    /// Rows, in the products of the values' units.
    pub rows: Vec<Vec<f64>>,
}

/// A datum of the parts file or of the `[pin]` of a study.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Entry {
    /// Its key.
    pub key: String,
    /// Its value as TOML.
    pub value: String,
}

/// A pole `R (1 − exp(−t/τ))` of a thermal ladder in Foster's form.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Pole {
    /// Resistance in K/W.
    pub resistance_k_per_w: f64,
    /// Time constant in seconds.
    pub time_s: f64,
}

/// A fitted model.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Fit {
    /// Version of this contract.
    pub schema: String,
    /// What was fitted, such as `varistor-power`.
    pub family: String,
    /// The law.
    pub law: String,
    /// First axis.
    pub x: Axis,
    /// Second axis.
    pub y: Axis,
    /// The values.
    pub estimates: Vec<Estimate>,
    /// Covariance of the estimated ones, one block for each curve fitted by itself.
    pub covariances: Vec<Covariance>,
    /// The points.
    pub points: Vec<UsedPoint>,
    /// The curve over the measured range, with its 95 % bands.
    pub bands: Vec<BandPoint>,
    /// How well it fits.
    pub quality: Quality,
    /// What to mind.
    pub warnings: Vec<Warning>,
    /// How it was made, so that it can be done again.
    pub recipe: String,
    /// Work done.
    pub counters: Counters,
    /// Poles of the thermal ladder, where there is one: they follow the points as they stand and have no interval of their own.
    pub poles: Vec<Pole>,
    /// The data of the parts file, as text.
    pub entries: Vec<Entry>,
    /// The same as values.
    #[serde(skip)]
    pub data: Vec<Datum>,
}

impl Fit {
    /// An estimate by its key.
    pub fn estimate(&self, key: &str) -> Option<&Estimate> {
        self.estimates.iter().find(|estimate| estimate.key == key)
    }

    /// Value of an estimate by its key.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.estimate(key)?.value
    }

    /// Whether there is a warning of a kind.
    pub fn warns(&self, kind: WarningKind) -> bool {
        self.warnings.iter().any(|warning| warning.kind == kind)
    }
}
