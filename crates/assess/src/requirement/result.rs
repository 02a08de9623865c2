//! What a part must be, as data. SI base units, the unit in the key.

use schemars::JsonSchema;
use serde::Serialize;

use crate::result::{Bound, Corner, StudyRef};

/// Version of the contract.
pub const REQUIREMENT_SCHEMA: &str = "tidewall/requirement/1";

/// One bound on a datum of the part.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Demand {
    /// The datum, as a data sheet names it.
    pub datum: String,
    /// The bound, in `unit`; absent when it is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// Unit.
    pub unit: &'static str,
    /// Side.
    pub bound: Bound,
    /// Why.
    pub why: String,
    /// Where it comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub origin: Option<String>,
    /// What to provide, when the bound is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing: Option<String>,
}

/// What one stress asks of the part, found with an ideal clamp in its place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StressDemand {
    /// Id of the stress.
    pub stress: String,
    /// Highest voltage in volts at which an ideal clamp in the place still keeps the pin inside its limits, found to 1 %.
    /// Absent if even the lowest one allowed does not, or if the pin's limits are not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest_clamp_v: Option<f64>,
    /// True if the clamp voltage is not what limits: even at `highest_clamp_v`, where the search ends, the pin is safe.
    pub open_above: bool,
    /// Largest current in amperes through the clamp.
    pub current_a: f64,
    /// Largest energy in joules that it turns into heat in one pulse.
    pub energy_j: f64,
    /// Current in amperes of an 8/20 pulse of the same √t heating.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_8_20_a: Option<f64>,
    /// Current in amperes of a 10/1000 pulse of the same √t heating.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_10_1000_a: Option<f64>,
    /// The corner of the largest current.
    pub corner: Corner,
    /// Impulses in one test, where the standard gives them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub impulses: Option<u32>,
    /// Largest slope resistance in ohms that stays below `highest_clamp_v` at `current_a` for a part that starts to
    /// conduct at the left wall of the window. A real part starts higher, so that it must have less.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope_at_most_ohm: Option<f64>,
    /// What the pin's limits are missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing: Option<String>,
}

/// A way to open a window that is shut.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Opening {
    /// What to change.
    pub change: String,
    /// By how much, in `unit`; absent if this change alone does not open it within the range searched.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// Unit.
    pub unit: &'static str,
    /// What it means.
    pub why: String,
}

/// The window for a part in one place, before any part is chosen.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Requirement {
    /// Version of this contract.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// The stage that the part is for.
    pub stage: String,
    /// Lowest clamp voltage in volts that is allowed: the left wall of the window. Absent when not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wall_v: Option<f64>,
    /// What normal operation asks.
    pub demands: Vec<Demand>,
    /// What each stress asks.
    pub stresses: Vec<StressDemand>,
    /// False if no single part in this place can hold the pin safe, whatever its data; absent when that is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub window: Option<bool>,
    /// What would open the window, when it is shut.
    pub openings: Vec<Opening>,
    /// How this was found, and what it leaves out.
    pub notes: Vec<String>,
}
