//! What a ranking says. SI base units, the unit in the key.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::short_list::ShortListed;
use crate::result::{CheckResult, Corner, StudyRef, Verdict};

/// Version of the contract.
pub const RANKING_SCHEMA: &str = "tidewall/ranking/1";

/// What stands in a stage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Placed {
    /// Name of the stage.
    pub stage: String,
    /// The part, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Family of the part in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub family: Option<String>,
    /// The resistance in ohms, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resistance_ohm: Option<f64>,
}

/// One check of a candidate at its worst corner.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CheckLine {
    /// Name of the check.
    pub check: String,
    /// Id of the stress, where one is involved.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stress: Option<String>,
    /// Element.
    pub element: String,
    /// Value, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// Limit, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// Unit of value and limit.
    pub unit: String,
    /// Distance to the limit as a share of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margin: Option<f64>,
    /// Judgement.
    pub verdict: Verdict,
    /// Corner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corner: Option<Corner>,
    /// One line of reason.
    pub why: String,
    /// What to provide, when the verdict is unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub missing: Option<String>,
}

impl From<&CheckResult> for CheckLine {
    fn from(check: &CheckResult) -> CheckLine {
        CheckLine {
            check: check.check.to_owned(),
            stress: check.stress.clone(),
            element: check.element.clone(),
            value: check.value,
            limit: check.limit,
            unit: check.unit.to_owned(),
            margin: check.margin,
            verdict: check.verdict,
            corner: check.corner,
            why: check.why.clone(),
            missing: check.missing.clone(),
        }
    }
}

/// How far a candidate came.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "outcome")]
pub enum Standing {
    /// Through all checks, none failing.
    Ranked {
        /// Worst verdict: pass, marginal or unknown.
        verdict: Verdict,
        /// Smallest margin of the checks under stress: those judge a simulated or rated value. Absent when none has one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        worst_margin: Option<f64>,
        /// Smallest margin of the let-through checks. Absent when none has one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        let_through_margin: Option<f64>,
        /// Every check at its worst corner, worst first.
        checks: Vec<CheckLine>,
    },
    /// A check fails.
    Rejected {
        /// Step at which it failed: 0 needs the data alone, 1 the models, then the deciding corners of each stress, then the
        /// others.
        step: usize,
        /// The worst failure of that step.
        reason: Box<CheckLine>,
    },
}

/// A candidate: one choice for each position.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Candidate {
    /// Digest of study, choices, options and program version; the same fingerprint has the same outcome.
    pub fingerprint: String,
    /// What stands where.
    pub placed: Vec<Placed>,
    /// Board area of its parts in m²; absent unless known of all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area_m2: Option<f64>,
    /// Relative cost of its parts; absent unless known of all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost: Option<f64>,
    /// Largest stated capacitance of its shunt parts together in farads; absent unless known of all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacitance_f: Option<f64>,
    /// Transients that were run.
    pub transients: usize,
    /// How far it came.
    #[serde(flatten)]
    pub standing: Standing,
}

/// How many candidates went which way.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Counts {
    /// All candidates there are.
    pub candidates: usize,
    /// Judged; fewer than all if the work was stopped.
    pub judged: usize,
    /// Rejected by checks that need no transient.
    pub rejected_without_transient: usize,
    /// Rejected in a transient.
    pub rejected_in_transient: usize,
    /// Passing, with their margins.
    pub pass: usize,
    /// Passing by less than the margin asked for.
    pub marginal: usize,
    /// Lacking a datum.
    pub unknown: usize,
    /// Transients run.
    pub transients: usize,
}

impl Counts {
    pub(super) fn of(judged: &[Candidate], candidates: usize) -> Counts {
        let mut counts = Counts {
            candidates,
            judged: judged.len(),
            ..Counts::default()
        };
        for candidate in judged {
            counts.transients += candidate.transients;
            *match &candidate.standing {
                Standing::Rejected { step: 0 | 1, .. } => &mut counts.rejected_without_transient,
                Standing::Rejected { .. } => &mut counts.rejected_in_transient,
                Standing::Ranked { verdict, .. } => match verdict {
                    Verdict::Pass => &mut counts.pass,
                    Verdict::Marginal => &mut counts.marginal,
                    _ => &mut counts.unknown,
                },
            } += 1;
        }
        counts
    }
}

/// All that `rank` finds.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Ranking {
    /// Version of this contract.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// The stages that candidates stand in.
    pub positions: Vec<String>,
    /// False if the work was stopped before all candidates were judged.
    pub complete: bool,
    /// Counts.
    pub counts: Counts,
    /// The order of the ranked, in words.
    pub order: String,
    /// Those that do not fail, best first.
    pub ranked: Vec<Candidate>,
    /// Those that fail, nearest miss first.
    pub rejected: Vec<Candidate>,
    /// Draws of the best, when asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub short_list: Option<Vec<ShortListed>>,
}
