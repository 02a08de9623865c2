//! The result contract: what `check` says about a study. SI base units, the unit in the key.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::draws::{DrawsResult, Sensitivity};
use crate::level::HighestLevel;

/// Version of the contract.
pub const SCHEMA: &str = "tidewall/result/1";

/// Judgement of a check or a study; ordered from good to bad for [`Verdict::worse`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Inside the limit by at least the margin asked for.
    Pass,
    /// Inside the limit, but by less than the margin asked for.
    Marginal,
    /// A datum is missing, or the calculation cannot be trusted.
    Unknown,
    /// Beyond the limit.
    Fail,
}

impl Verdict {
    /// The worse of two: a failure outweighs an unknown, an unknown outweighs a marginal pass.
    pub fn worse(self, other: Verdict) -> Verdict {
        self.max(other)
    }

    /// The verdict in one word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Marginal => "marginal",
            Verdict::Unknown => "unknown",
            Verdict::Fail => "fail",
        }
    }
}

/// Which set of part tolerances a corner has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PartSet {
    /// Every part at its lowest breakdown.
    Low,
    /// Every part typical.
    Typical,
    /// Every part at its highest clamping.
    High,
    /// Stages against each other: the last one lowest and those before it highest.
    Crossed,
    /// Lines against each other on a pair: the first line's parts lowest, all others highest.
    UnlikeLines,
    /// The same with the lines exchanged.
    UnlikeLinesMirrored,
    /// Each part a specimen of its own, drawn somewhere in its tolerance.
    Drawn,
}

impl PartSet {
    /// The set in one word.
    pub fn word(self) -> &'static str {
        match self {
            PartSet::Low => "low",
            PartSet::Typical => "typical",
            PartSet::High => "high",
            PartSet::Crossed => "crossed",
            PartSet::UnlikeLines => "unlike-lines",
            PartSet::UnlikeLinesMirrored => "unlike-lines-mirrored",
            PartSet::Drawn => "drawn",
        }
    }
}

/// Where in the generator's tolerance a corner stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StressSet {
    /// Lowest amplitude of a conforming generator.
    Low,
    /// Nominal amplitude.
    Nominal,
    /// Highest amplitude of a conforming generator.
    High,
    /// Just below the amplitude at which the first stage fires (blind spot).
    BlindSpot,
    /// Drawn between lowest and highest.
    Drawn,
}

impl StressSet {
    /// The set in a word.
    pub fn word(self) -> &'static str {
        match self {
            StressSet::Low => "low",
            StressSet::Nominal => "nominal",
            StressSet::High => "high",
            StressSet::BlindSpot => "blind spot",
            StressSet::Drawn => "drawn",
        }
    }
}

/// Polarity of a stress.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub enum Polarity {
    /// Positive.
    #[serde(rename = "+")]
    Positive,
    /// Negative.
    #[serde(rename = "-")]
    Negative,
}

/// The conditions under which a value was found.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Corner {
    /// Ambient temperature in °C.
    pub ambient_c: f64,
    /// Part tolerances.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<PartSet>,
    /// Generator tolerance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stress_tolerance: Option<StressSet>,
    /// Amplitude as a share of the nominal level.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stress_factor: Option<f64>,
    /// Polarity of the stress.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub polarity: Option<Polarity>,
    /// Working voltage on the line at the instant of the stress in volts; absent for an unpowered port.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supply_v: Option<f64>,
}

impl Corner {
    /// A corner that only has a temperature.
    pub fn at(ambient_c: f64) -> Corner {
        Corner {
            ambient_c,
            part: None,
            stress_tolerance: None,
            stress_factor: None,
            polarity: None,
            supply_v: None,
        }
    }
}

/// On which side of the limit the value must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Bound {
    /// The value must not exceed the limit.
    AtMost,
    /// The value must reach the limit.
    AtLeast,
}

/// One check of one thing, at its worst corner.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CheckResult {
    /// Name of the check (`tidewall explain` knows it).
    pub check: &'static str,
    /// Id of the stress, where one is involved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stress: Option<String>,
    /// Element of the ladder, "pin", "port", or "pin pair" and "port pair" for what stands between the two lines.
    pub element: String,
    /// The value found, in `unit`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The limit, in `unit`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// Side of the limit.
    pub bound: Bound,
    /// Unit of value and limit (SI base units; °C for temperatures, K for rises, 1 for counts and shares).
    pub unit: &'static str,
    /// Distance to the limit as a share of it; negative beyond it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<f64>,
    /// Judgement.
    pub verdict: Verdict,
    /// The corner at which the value was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub corner: Option<Corner>,
    /// One line of reason.
    pub why: String,
    /// What to provide, when the verdict is unknown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing: Option<String>,
    /// Origin of the limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_origin: Option<String>,
}

/// What one element went through in a transient.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ElementResult {
    /// Name.
    pub name: String,
    /// Largest voltage across it in volts, without its lead.
    pub peak_v: f64,
    /// Largest current in amperes.
    pub peak_a: f64,
    /// Energy turned into heat in joules.
    pub energy_j: f64,
    /// Integral of the squared current in A²s.
    pub i2t_a2s: f64,
    /// Highest junction temperature in °C, for parts with a thermal model.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub peak_junction_c: Option<f64>,
}

/// Energy audit of a transient.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AuditResult {
    /// Net energy through the connector in joules.
    pub delivered_j: f64,
    /// Turned into heat in the port, in joules.
    pub dissipated_j: f64,
    /// Change of the stored energy in the port, in joules.
    pub stored_j: f64,
    /// Share of the entered energy that the balance misses.
    pub residual: f64,
}

/// What the integrator did.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct CounterResult {
    /// Accepted steps.
    pub steps: u64,
    /// Rejected steps.
    pub rejections: u64,
    /// Factorisations.
    pub factorisations: u64,
    /// Right-hand sides.
    pub evaluations: u64,
    /// Changes of state of switching devices.
    pub events: u64,
}

/// One transient.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TransientResult {
    /// Id of the stress.
    pub stress: String,
    /// Its corner.
    pub corner: Corner,
    /// Largest voltage at the connector in volts, either sign.
    pub connector_peak_v: f64,
    /// Largest voltage at the pin in volts, with its sign.
    pub pin_peak_v: f64,
    /// Largest current into the pin's own conduction in amperes; absent when the study does not give one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pin_peak_a: Option<f64>,
    /// Every element.
    pub elements: Vec<ElementResult>,
    /// Energy audit.
    pub audit: AuditResult,
    /// Counters.
    pub counters: CounterResult,
}

/// The study that was judged.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StudyRef {
    /// Title.
    pub title: String,
    /// SHA-256 over the study and its files.
    pub digest: String,
}

/// A value with its origin, for the sheet.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OriginResult {
    /// What it is.
    pub what: String,
    /// Its value as text with unit.
    pub value: String,
    /// Where it comes from.
    pub origin: String,
}

/// The walls of the design window and the currents it must hold for.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WindowResult {
    /// Highest voltage at which the protector must not conduct, in volts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub must_not_conduct_v: Option<f64>,
    /// Steady withstand of the pin in volts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub withstand_v: Option<f64>,
    /// Short-circuit current of each stress in amperes, by id.
    pub stress_currents_a: Vec<(String, f64)>,
}

/// Which corners were run, when not all of them were.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Restriction {
    /// The corners asked for; a corner that fits one of them was run.
    pub corners: Vec<String>,
    /// How many corners were run.
    pub run: usize,
    /// How many were left out, blind spots not counted.
    pub left_out: usize,
}

/// All that `check` finds.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Assessment {
    /// Version of this contract.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// Worst verdict of all checks.
    pub verdict: Verdict,
    /// Present when only some corners were run: checks that need a transient then speak of those corners alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub restriction: Option<Restriction>,
    /// Every check at its worst corner, worst first.
    pub checks: Vec<CheckResult>,
    /// Every transient.
    pub transients: Vec<TransientResult>,
    /// Design window.
    pub window: WindowResult,
    /// What was assumed.
    pub assumptions: Vec<String>,
    /// Where the port's values come from.
    pub origins: Vec<OriginResult>,
    /// Words of caution.
    pub cautions: Vec<String>,
    /// Monte Carlo draws, where they were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub draws: Option<DrawsResult>,
    /// Which tolerances decide, from the draws: the checks that come closest to their limits, closest first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sensitivity: Option<Vec<Sensitivity>>,
    /// Highest level of each stress that the design survives, where it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest_levels: Option<Vec<HighestLevel>>,
}
