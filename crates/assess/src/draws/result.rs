//! What draws say, as it is printed: SI base units, the unit beside the value.

use schemars::JsonSchema;
use serde::Serialize;

use super::random::Distribution;
use crate::result::Verdict;

/// A share of draws with its 95 % interval (Wilson).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Proportion {
    /// Draws that count.
    pub count: u64,
    /// Of so many.
    pub of: u64,
    /// Their share.
    pub share: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
}

/// A tolerance that is drawn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AxisResult {
    /// Name of the part's place, id of the stress, "ambient" or "supply".
    pub axis: String,
    /// What low and high are.
    pub what: String,
    /// Value at position 0, in `unit`; absent where a part's position has no single number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// Value at position 1, in `unit`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// Unit of the values (1 for shares).
    pub unit: &'static str,
}

/// Where a specimen stands on one axis.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DrawnPosition {
    /// Name of the axis.
    pub axis: String,
    /// What the value is.
    pub what: String,
    /// Position: 0 at the low limit, 1 at the high one.
    pub position: f64,
    /// Value there, in `unit`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// Unit of the value.
    pub unit: &'static str,
}

/// One check of one thing over all draws.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DrawnCheck {
    /// Name of the check.
    pub check: &'static str,
    /// Id of the stress, where one is involved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stress: Option<String>,
    /// Element.
    pub element: String,
    /// Draws in which it fails.
    pub failures: u64,
    /// Draws in which it has a verdict other than unknown.
    pub judged: u64,
    /// Draws in which it is unknown.
    pub unknown: u64,
    /// Draws in which there is nothing for it to judge (a part that does not conduct, say): they count as not failing.
    pub nothing_to_judge: u64,
    /// Failures of the draws that are not unknown; absent when all are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub probability: Option<Proportion>,
    /// Lowest margin seen, as a share of the limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_margin: Option<f64>,
    /// The draw with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_draw: Option<u64>,
    /// 5 % quantile of the margin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin_p05: Option<f64>,
    /// Median of the margin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin_p50: Option<f64>,
    /// 95 % quantile of the margin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin_p95: Option<f64>,
}

/// A check that comes off worse in some draw than at every corner: its worst case lies inside the tolerances.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BeyondCorners {
    /// Name of the check.
    pub check: &'static str,
    /// Id of its stress, where one is involved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stress: Option<String>,
    /// Element.
    pub element: String,
    /// The draw with the lowest margin.
    pub draw: u64,
    /// That margin.
    pub margin: f64,
    /// Lowest margin at a corner.
    pub corner_margin: f64,
}

/// The specimen that comes off worst, to be run again.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WorstSpecimen {
    /// Its draw, counted from 0.
    pub draw: u64,
    /// Check at which it comes off worst.
    pub check: &'static str,
    /// Id of its stress, where one is involved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stress: Option<String>,
    /// Element.
    pub element: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// Its margin, as a share of the limit.
    pub margin: f64,
    /// Where it stands.
    pub positions: Vec<DrawnPosition>,
}

/// Monte Carlo draws of a study.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DrawsResult {
    /// Draws asked for.
    pub asked: u64,
    /// Draws done: the first ones.
    pub done: u64,
    /// True if all that were asked for are done.
    pub complete: bool,
    /// Seed of the generator.
    pub seed: u64,
    /// Distribution of the positions.
    pub distribution: Distribution,
    /// Draws in which some check fails. Those that are undecided count as not failing here, so that with any of them
    /// this is a least value. Absent without a draw.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub any_failure: Option<Proportion>,
    /// Draws in which no check fails but some are unknown.
    pub undecided: u64,
    /// Every check, worst first: by failures, then by lowest margin.
    pub checks: Vec<DrawnCheck>,
    /// The worst specimen, by a check whose margin is not the same in all draws.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst: Option<WorstSpecimen>,
    /// Checks that come off worse in some draw than at every corner.
    pub beyond_corners: Vec<BeyondCorners>,
    /// What is drawn.
    pub axes: Vec<AxisResult>,
    /// What the numbers rest on, in words.
    pub notes: Vec<String>,
}

/// What one tolerance does to a check.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AxisSensitivity {
    /// Name of the axis.
    pub axis: String,
    /// What it moves.
    pub what: String,
    /// Margin with the axis at its low limit and all others where the worst specimen has them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin_low: Option<f64>,
    /// Margin with the axis at its high limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin_high: Option<f64>,
    /// Margin at the high limit less that at the low one; absent unless both are known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub swing: Option<f64>,
    /// Spearman's rank correlation of position and margin over the draws.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rank_correlation: Option<f64>,
}

/// What the tolerances do to one check.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Sensitivity {
    /// Name of the check.
    pub check: &'static str,
    /// Id of its stress, where one is involved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stress: Option<String>,
    /// Element.
    pub element: String,
    /// The draw with its lowest margin, from which the axes are moved one at a time.
    pub draw: u64,
    /// That margin.
    pub margin: f64,
    /// Each tolerance, largest swing first.
    pub axes: Vec<AxisSensitivity>,
}
