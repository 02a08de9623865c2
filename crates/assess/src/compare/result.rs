//! Parts side by side, as data. SI base units, the unit in the key.

use schemars::JsonSchema;
use serde::Serialize;

use crate::rank::CheckLine;
use crate::result::{StudyRef, Verdict};

/// Version of the contract.
pub const COMPARISON_SCHEMA: &str = "tidewall/comparison/1";

/// Least and largest of something over a part's tolerance.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Span {
    /// Least; absent when not stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// Typical; absent when not stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typ: Option<f64>,
    /// Largest; absent when not stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
}

/// A point of the V-I band: voltage at a steady current and a fixed junction temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BandPoint {
    /// Junction temperature in °C.
    pub temperature_c: f64,
    /// Current in amperes.
    pub current_a: f64,
    /// Voltage in volts of a part at its low corner; absent where it does not rest there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low_v: Option<f64>,
    /// Voltage in volts of a part at its high corner.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high_v: Option<f64>,
}

/// What a part does in one stress at one ambient: the largest over tolerances, polarities and supply.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct UnderStress {
    /// Id of the stress.
    pub stress: String,
    /// Ambient in °C.
    pub ambient_c: f64,
    /// Voltage in volts across the part itself, without its lead.
    pub clamp_v: f64,
    /// Current in amperes through it.
    pub current_a: f64,
    /// Voltage in volts at the pin, the largest of either sign as a size.
    pub let_through_v: f64,
    /// Current in amperes into the pin's own conduction, where the study gives one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub let_through_a: Option<f64>,
    /// Energy in joules turned into heat in the part.
    pub energy_j: f64,
    /// Highest junction temperature in °C, for parts with a thermal model.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub junction_c: Option<f64>,
}

/// One part in the place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Compared {
    /// Part.
    pub part: String,
    /// Family in words.
    pub family: String,
    /// Where its data are from.
    pub source: String,
    /// Whether it is symmetrical; absent when not stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bidirectional: Option<bool>,
    /// Stand-off voltage in volts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stand_off_v: Option<f64>,
    /// Breakdown, trigger, breakover or direct spark-over voltage in volts at 25 °C.
    pub breakdown_v: Span,
    /// Largest stated capacitance in farads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub capacitance_f: Option<f64>,
    /// Leakage in amperes at the port's normal voltage and highest ambient.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leakage_a: Option<f64>,
    /// Board area in m².
    #[serde(skip_serializing_if = "Option::is_none")]
    pub area_m2: Option<f64>,
    /// Relative cost.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<f64>,
    /// Verdict of the study with it.
    pub verdict: Verdict,
    /// Smallest margin of the checks under stress.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_margin: Option<f64>,
    /// Every check at its worst corner, worst first.
    pub checks: Vec<CheckLine>,
    /// Every stress at every ambient.
    pub stresses: Vec<UnderStress>,
    /// V-I band over current and temperature; empty for a part without a model.
    pub band: Vec<BandPoint>,
    /// Why there is no band.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing: Option<String>,
}

/// Parts side by side.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Comparison {
    /// Version of this contract.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// The stage.
    pub stage: String,
    /// The parts, in the order asked for.
    pub parts: Vec<Compared>,
}

/// A part that can stand for another.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Equivalent {
    /// Root mean square of the differences of all margins, each as a share and limited to ±1: 0 is alike in all that this
    /// port asks.
    pub distance: f64,
    /// What differs, in words, the largest difference of margins first.
    pub differences: Vec<String>,
    /// The part.
    #[serde(flatten)]
    pub part: Compared,
}

/// Version of the contract.
pub const EQUIVALENTS_SCHEMA: &str = "tidewall/equivalents/1";

/// Parts that can stand for a given one in a given place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Equivalents {
    /// Version of this contract.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// The stage.
    pub stage: String,
    /// The part to be replaced.
    pub reference: Compared,
    /// False if the work was stopped before all candidates were judged.
    pub complete: bool,
    /// Candidates that were looked at, the part itself left out.
    pub candidates: usize,
    /// Those of them that fail in this port.
    pub rejected: usize,
    /// Nearest first.
    pub equivalents: Vec<Equivalent>,
}
