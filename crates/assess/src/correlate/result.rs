//! What a correlation says, as it is written out.

use schemars::JsonSchema;
use serde::Serialize;

use crate::result::{Corner, StudyRef};

/// Version of this form.
pub const SCHEMA: &str = "tidewall/correlation/1";

/// A measured wave set against a study.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Correlation {
    /// Version of this form.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// The measurement.
    pub capture: CaptureRecord,
    /// Id of the stress that was taken for the one applied.
    pub stress: String,
    /// The corner that was taken for the bench.
    pub corner: Corner,
    /// How stress and corner were chosen.
    pub chosen: String,
    /// Where the voltage is predicted.
    pub voltage_at: String,
    /// Element whose current is predicted, where a current was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_of: Option<String>,
    /// How the waves were brought together.
    pub alignment: Alignment,
    /// What was read off both waves.
    pub deviations: Vec<Deviation>,
    /// Root mean square of measured less predicted voltage, in volts.
    pub residual_v: f64,
    /// Noise of the measured voltage before the event in volts (standard deviation); absent where none was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub noise_v: Option<f64>,
    /// What the comparison comes to.
    pub finding: Finding,
    /// Parameters, each fitted alone, the one that explains most first.
    pub candidates: Vec<Candidate>,
    /// Both waves on one grid.
    pub overlay: Overlay,
    /// What was assumed, done to the measurement, or is wrong with it.
    pub notes: Vec<String>,
}

/// Where a measurement is from.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct CaptureRecord {
    /// File.
    pub file: String,
    /// Column of the voltage.
    pub voltage: String,
    /// Column of the current.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current: Option<String>,
    /// Samples in the file.
    pub samples: u64,
    /// The specimen that was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub specimen: Option<String>,
    /// The instrument.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// The date, as given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
}

/// How the waves were brought together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Alignment {
    /// The method in words.
    pub method: &'static str,
    /// Time in seconds that was added to the prediction's.
    pub shift_s: f64,
    /// Correlation of the slopes of both fronts.
    pub correlation: f64,
    /// Whether the prediction was turned, because the study has no such polarity there.
    pub turned: bool,
}

/// One quantity read off both waves over the same span.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Deviation {
    /// Which.
    pub quantity: &'static str,
    /// Unit: V, A, J, C or 1.
    pub unit: &'static str,
    /// Measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured: Option<f64>,
    /// Predicted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub predicted: Option<f64>,
    /// Measured less predicted, as a share of the predicted; absent for shares and where either is unknown or zero.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
}

/// What a comparison comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The difference is no larger than the noise.
    Agreement,
    /// One parameter explains most of it.
    One,
    /// Several explain it equally well.
    Tie,
    /// No parameter alone, within its plausible range, explains half of it.
    None,
}

/// What a comparison comes to, in words.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Finding {
    /// Which.
    pub outcome: Outcome,
    /// The parameters meant.
    pub parameters: Vec<String>,
    /// In words.
    pub text: String,
}

/// One parameter fitted alone.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Candidate {
    /// Name.
    pub parameter: String,
    /// Unit of the values: SI, °C for a temperature, 1 for a share or position.
    pub unit: &'static str,
    /// Value of the study.
    pub stated: f64,
    /// Value that brings the prediction nearest.
    pub fitted: f64,
    /// Ends of its 95 % interval.
    pub interval: [f64; 2],
    /// True if the interval is cut off at an end of what was searched.
    pub interval_open: bool,
    /// Ends of what is plausible.
    pub plausible: [f64; 2],
    /// Why.
    pub plausible_because: &'static str,
    /// Whether the fitted value lies between them.
    pub is_plausible: bool,
    /// Share of the squared difference beyond the noise that it explains.
    pub explains: f64,
    /// Root mean square of what is left in volts.
    pub left_v: f64,
    /// Share of the squared difference of the currents that the same value explains, below zero if it makes them worse;
    /// absent without a measured current.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub explains_current: Option<f64>,
}

/// Both waves on one grid; thinned evenly to at most a thousand points.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Overlay {
    /// Times of the measurement in seconds.
    pub times_s: Vec<f64>,
    /// Measured voltage in volts.
    pub measured_v: Vec<f64>,
    /// Predicted voltage in volts.
    pub predicted_v: Vec<f64>,
    /// Voltage in volts with the first candidate at its fitted value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fitted_v: Option<Vec<f64>>,
    /// Measured current in amperes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_a: Option<Vec<f64>>,
    /// Predicted current in amperes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub predicted_a: Option<Vec<f64>>,
}
