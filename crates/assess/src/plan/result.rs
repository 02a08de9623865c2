//! A lab test plan as data. SI base units (temperatures in °C), the unit in the key.

use schemars::JsonSchema;
use serde::Serialize;

use crate::result::{Polarity, StudyRef};

/// Version of the contract.
pub const PLAN_SCHEMA: &str = "tidewall/plan/1";

/// A statement and how well it is known.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Noted {
    /// The statement.
    pub text: String,
    /// How well it is known: "source", "from memory", "derived", or "common practice, no source".
    pub mark: &'static str,
}

/// The test plan of a study.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TestPlan {
    /// Version of the contract.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// Ambient temperature of the laboratory in °C for which the predictions hold.
    pub ambient_c: f64,
    /// One test for each stress, in the order of the study.
    pub tests: Vec<StressTest>,
    /// Shots of all tests (a minute of bursts counts as one); absent when the number of some test is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shots: Option<u64>,
    /// Time in seconds that all shots take at the stated intervals, without setting up and measuring; absent when some
    /// number or interval is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lasts_s: Option<f64>,
    /// What to measure on each protector before the first shot, after each level and at the end.
    pub health: Vec<HealthCheck>,
    /// What to write down before the first shot.
    pub before: Vec<Noted>,
    /// What to record at each shot.
    pub record: Vec<Noted>,
    /// When to stop.
    pub stop: Vec<Noted>,
    /// What is not known, and what to provide or agree.
    pub missing: Vec<String>,
    /// What the models and the reader assumed.
    pub assumptions: Vec<String>,
    /// Words of caution.
    pub cautions: Vec<String>,
}

/// The test of one stress.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StressTest {
    /// Id of the stress.
    pub stress: String,
    /// What it is, in a line.
    pub title: String,
    /// The standard.
    pub standard: &'static str,
    /// Its edition.
    pub edition: Noted,
    /// Required level, in `unit`.
    pub level: f64,
    /// Unit of the levels.
    pub unit: &'static str,
    /// What the levels are: "level", "open-circuit peak" or "short-circuit peak".
    pub what: &'static str,
    /// Levels to be shot, lowest first; the last one is the required level.
    pub steps: Vec<Step>,
    /// Why these steps.
    pub steps_note: Noted,
    /// Coupling, and the network it takes.
    pub coupling: String,
    /// Where it is applied.
    pub points: Vec<Point>,
    /// Further points and rules of the standard that this plan does not predict.
    pub notes: Vec<Noted>,
    /// Polarities.
    pub polarities: Vec<Polarity>,
    /// Shots of each polarity at each level, point and phase angle; of a burst test one application. Absent when not
    /// known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shots_each: Option<u64>,
    /// Impulses of each polarity, where a shot is a train of bursts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub impulses_each: Option<u64>,
    /// Shortest time between shots in seconds, or how long the bursts of one polarity last; absent when not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_s: Option<f64>,
    /// Phase angles of an alternating supply in degrees; empty where the test is not synchronised.
    pub phases_deg: Vec<f64>,
    /// Why these angles, or why none.
    pub phase_note: Noted,
    /// States of the port.
    pub states: Vec<String>,
    /// Limits of the laboratory's climate.
    pub environment: Vec<Noted>,
    /// Acceptance criterion.
    pub criterion: String,
    /// The generator and its coupling, branch by branch.
    pub network: Vec<String>,
    /// Verification of the equipment at the required level.
    pub verification: Vec<Verification>,
    /// What the verification leaves out.
    pub verification_notes: Vec<Noted>,
    /// Shot groups, in the order in which they are to be shot.
    pub groups: Vec<ShotGroup>,
    /// Shots of this test; absent when not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shots: Option<u64>,
    /// Time in seconds that they take; absent when not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lasts_s: Option<f64>,
    /// Least voltage in volts that a probe at the connector must bear: the open-circuit peak of the generator at the top
    /// of its tolerance, on the working voltage, since a protector may fail open. Absent where a current is all that is
    /// known of the generator.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub connector_probe_v: Option<f64>,
    /// Where the numbers of the stress come from.
    pub sources: Vec<SourceLine>,
}

/// Where a number comes from.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SourceLine {
    /// What it is about.
    pub what: String,
    /// The source, and how well it is known.
    pub source: Noted,
}

/// One level to be shot.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Step {
    /// The level, in the unit of the test.
    pub level: f64,
    /// Its name in the standard, if it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Share of the required level.
    pub share: f64,
}

/// Where a stress is applied.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Point {
    /// In words.
    pub name: String,
    /// True if the prediction has the two lines of the pair exchanged.
    pub exchanged: bool,
}

/// One quantity of the equipment's verification.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Verification {
    /// Where, and into which load.
    pub load: String,
    /// What is measured.
    pub quantity: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// What the modelled generator gives; absent where the waveform has no such quantity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub computed: Option<f64>,
    /// Lowest value of the standard; absent where it is not known here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest: Option<f64>,
    /// Highest value of the standard; absent where it is not known here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest: Option<f64>,
    /// Whether the modelled generator lies inside; absent where that cannot be said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inside: Option<bool>,
    /// How well the limits are known.
    pub mark: &'static str,
}

/// Shots of one level, point, state, phase angle and polarity.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShotGroup {
    /// Number within the plan, from 1.
    pub number: usize,
    /// Level, in the unit of the test.
    pub level: f64,
    /// Point.
    pub point: String,
    /// Polarity.
    pub polarity: Polarity,
    /// Working voltage on the line at the instant of the shot in volts; absent for an unpowered port.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supply_v: Option<f64>,
    /// Phase angle in degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub phase_deg: Option<f64>,
    /// Shots; absent when not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shots: Option<u64>,
    /// What is to be expected at each shot; empty where it cannot be computed.
    pub readings: Vec<Reading>,
    /// Where specimens will differ in kind: a stage that fires with some parts only.
    pub differs: Vec<String>,
    /// Why nothing can be predicted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing: Option<String>,
}

/// What kind of place is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PlaceKind {
    /// At the connector.
    Connector,
    /// A shunt protector.
    Shunt,
    /// At the protected pin.
    Pin,
}

/// An extreme with its span. Less than the accuracy of the integration is zero.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Peak {
    /// With typical parts.
    pub typical: f64,
    /// Lowest with parts low, typical and high.
    pub low: f64,
    /// Highest with parts low, typical and high.
    pub high: f64,
    /// When it is reached with typical parts, in seconds from the start of the shot.
    pub at_s: f64,
}

/// The predicted peaks at one place, and the settings of the oscilloscope that follow.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Reading {
    /// What kind of place.
    pub kind: PlaceKind,
    /// The place.
    pub place: String,
    /// Unit: V or A.
    pub unit: &'static str,
    /// Value before the shot, with typical parts.
    pub before: f64,
    /// Peak in the direction of the shot.
    pub peak: Peak,
    /// Peak in the other direction: undershoot, or ringing.
    pub back: Peak,
    /// Rise from 10 % to 90 % of the way to the peak with typical parts in seconds; absent where there is none,
    /// or where it is shorter than a circuit of lumped elements can tell (0.2 ns).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rise_s: Option<f64>,
    /// Suggested vertical setting per division, zero in the middle of eight.
    pub per_division: f64,
    /// Suggested time per division in seconds, ten of them; zero where nothing happens.
    pub time_per_division_s: f64,
    /// Least bandwidth of probe and oscilloscope in hertz; absent where there is no rise. 2 GHz at most; at
    /// the connector no more than its current asks for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bandwidth_hz: Option<f64>,
}

/// What to measure on a protector, with the limits that its data give.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HealthCheck {
    /// The element.
    pub element: String,
    /// Its part.
    pub part: String,
    /// What is measured ("leakage at 33 V").
    pub quantity: String,
    /// Unit.
    pub unit: &'static str,
    /// Lowest value; absent where the data give none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest: Option<f64>,
    /// Highest value; absent where the data give none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest: Option<f64>,
    /// Where the limits are from, or what is missing.
    pub note: String,
}
