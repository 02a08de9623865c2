//! The checks. Each file makes results for every corner; the worst of each check is kept.

pub(crate) mod abnormal;
mod let_through;
mod rating;
mod series;
pub(crate) mod standing;
mod switching;

use std::cmp::Ordering;

use tidewall_devices::build::MissingDatum;
use tidewall_devices::datasheet::Datasheet;
use tidewall_study::{Powered, StressCase, Study};
use tidewall_transient::Audit;

use crate::corners::{source_ohm, supply_voltages};
use crate::result::{Bound, CheckResult, Corner, Verdict};
use crate::simulate::{CaseError, CaseOutcome};

/// What every check works from.
pub struct Context<'a> {
    /// The study.
    pub study: &'a Study,
    /// Finished transients.
    pub outcomes: &'a [CaseOutcome],
}

/// Impulses of both polarities in one test, where they are known.
pub(crate) fn impulses(case: &StressCase) -> Option<u32> {
    let per_polarity = case.disturbance.impulses_per_polarity?;
    Some(
        per_polarity
            .saturating_mul(case.disturbance.polarities.len() as u32)
            .max(1),
    )
}

/// What a part lacks, as a result names it.
fn datum(missing: &MissingDatum) -> String {
    format!(
        "{} of part `{}` (key `{}`)",
        missing.datum, missing.part, missing.key
    )
}

/// Where a limit taken from a part's data comes from.
fn part_origin(sheet: &Datasheet) -> Option<String> {
    Some(format!("part `{}`: {}", sheet.name, sheet.source))
}

/// Largest size in volts of an excursion that counts as none: a line that stays within it never goes below the
/// return, and a pin needs no withstand against it.
pub(crate) const NEXT_TO_NOTHING_V: f64 = 0.3;

/// A check being written down.
pub struct Finding<'a> {
    /// Name of the check.
    pub check: &'static str,
    /// Id of the stress.
    pub stress: Option<&'a str>,
    /// Element.
    pub element: &'a str,
    /// Unit of value and limit.
    pub unit: &'static str,
    /// Corner.
    pub corner: Option<Corner>,
    /// Margin below which a pass is marginal.
    pub wanted: f64,
    /// Origin of the limit.
    pub origin: Option<String>,
}

impl<'a> Finding<'a> {
    /// Of the study itself: no stress, no corner, no margin wanted.
    pub fn new(check: &'static str, element: &'a str, unit: &'static str) -> Self {
        Finding {
            check,
            stress: None,
            element,
            unit,
            corner: None,
            wanted: 0.0,
            origin: None,
        }
    }

    /// Of one transient, with the margin that the study wants.
    pub fn in_run(
        context: &'a Context<'_>,
        outcome: &CaseOutcome,
        check: &'static str,
        element: &'a str,
        unit: &'static str,
    ) -> Self {
        Finding {
            stress: Some(&context.study.stresses[outcome.case.stress].id),
            corner: Some(outcome.case.corner()),
            wanted: context.study.margin,
            ..Finding::new(check, element, unit)
        }
    }

    /// The value must not exceed the limit.
    pub fn at_most(&self, value: f64, limit: f64, why: String) -> CheckResult {
        // The scale is the limit's size, so that a limit of zero or below still orders the margins.
        let scale = limit.abs().max(f64::MIN_POSITIVE);
        self.judge(value, limit, Bound::AtMost, (limit - value) / scale, why)
    }

    /// The value must reach the limit.
    pub fn at_least(&self, value: f64, limit: f64, why: String) -> CheckResult {
        let scale = limit.abs().max(f64::MIN_POSITIVE);
        self.judge(value, limit, Bound::AtLeast, (value - limit) / scale, why)
    }

    fn judge(&self, value: f64, limit: f64, bound: Bound, margin: f64, why: String) -> CheckResult {
        let verdict = if !margin.is_finite() {
            Verdict::Unknown
        } else if margin < 0.0 {
            Verdict::Fail
        } else if margin < self.wanted {
            Verdict::Marginal
        } else {
            Verdict::Pass
        };
        CheckResult {
            value: Some(value),
            limit: Some(limit),
            margin: Some(margin),
            verdict,
            ..self.blank(bound, why)
        }
    }

    /// Holds by kind: there is a value but nothing to be near to.
    pub fn holds(&self, value: f64, why: String) -> CheckResult {
        CheckResult {
            value: Some(value),
            verdict: Verdict::Pass,
            ..self.blank(Bound::AtMost, why)
        }
    }

    /// Something is missing; `value` is what is known.
    pub fn unknown(
        &self,
        value: Option<f64>,
        missing: impl Into<String>,
        why: impl Into<String>,
    ) -> CheckResult {
        CheckResult {
            value,
            verdict: Verdict::Unknown,
            missing: Some(missing.into()),
            ..self.blank(Bound::AtMost, why.into())
        }
    }

    fn blank(&self, bound: Bound, why: String) -> CheckResult {
        CheckResult {
            check: self.check,
            stress: self.stress.map(str::to_owned),
            element: self.element.to_owned(),
            value: None,
            limit: None,
            bound,
            unit: self.unit,
            margin: None,
            verdict: Verdict::Unknown,
            corner: self.corner,
            why,
            missing: None,
            limit_origin: self.origin.clone(),
        }
    }
}

/// Every check of a study, each at its worst corner, worst first.
pub fn all(context: &Context, failures: &[(Corner, String, CaseError)]) -> Vec<CheckResult> {
    let mut results = Vec::new();
    standing::check(context, &mut results);
    abnormal::check(context, &mut results);
    in_runs(context, failures, &mut results);
    worst(results)
}

/// The checks that need neither transients nor models, worst first: the cheapest part of [`all`].
pub fn of_data(study: &Study) -> Vec<CheckResult> {
    let mut results = Vec::new();
    let context = Context { study, outcomes: &[] };
    standing::check(&context, &mut results);
    worst(results)
}

/// The checks that need models but no transients, worst first.
pub fn of_models(study: &Study) -> Vec<CheckResult> {
    let mut results = Vec::new();
    let context = Context { study, outcomes: &[] };
    abnormal::check(&context, &mut results);
    in_runs(&context, &[], &mut results);
    worst(results)
}

/// The checks that some transients can tell, worst first. A failure among them is a failure of the whole, of whatever
/// transients it consists besides.
pub fn of_runs(context: &Context, failures: &[(Corner, String, CaseError)]) -> Vec<CheckResult> {
    let mut results = Vec::new();
    in_runs(context, failures, &mut results);
    worst(results)
}

fn in_runs(context: &Context, failures: &[(Corner, String, CaseError)], results: &mut Vec<CheckResult>) {
    switching::check(context, results);
    let_through::check(context, results);
    rating::check(context, results);
    series::check(context, results);
    soundness(context, failures, results);
}

/// A result is only as good as its transients: unfinished runs and open energy balances make it unknown.
fn soundness(context: &Context, failures: &[(Corner, String, CaseError)], results: &mut Vec<CheckResult>) {
    powered_runs(context.study, results);
    if context.study.pin.capacitance_f.is_none() {
        let finding = Finding::new("simulation", "pin", "F");
        let why = "the runs took it as zero, which need not be the worse case: it rings with the inductance before it";
        results.push(finding.unknown(
            None,
            "`capacitance` of the pin (a small one may be stated as such)",
            why,
        ));
    }
    for (corner, stress, error) in failures {
        let finding = Finding {
            stress: Some(stress),
            corner: Some(*corner),
            ..Finding::new("simulation", "port", "1")
        };
        let missing = match error {
            CaseError::Missing(missing) => datum(missing),
            _ => "a ladder whose transient can be computed".to_owned(),
        };
        results.push(finding.unknown(None, missing, error.to_string()));
    }
    for outcome in context.outcomes {
        let finding = Finding {
            wanted: 0.0,
            origin: Some("limit of the energy audit".to_owned()),
            ..Finding::in_run(context, outcome, "energy-audit", "port", "1")
        };
        let residual = outcome.outcome.audit.residual;
        let mut result = finding.at_most(
            residual,
            Audit::LIMIT,
            format!("heat and storage miss the energy in by {:.4} %", 100.0 * residual),
        );
        if result.verdict == Verdict::Fail {
            result.verdict = Verdict::Unknown;
            result.missing = Some("a transient whose energy balance closes".to_owned());
        }
        results.push(result);
    }
}

/// A port that works at a voltage must be run with it: the surge stacks on the working voltage, and parts may stay on.
fn powered_runs(study: &Study, results: &mut Vec<CheckResult>) {
    let works = supply_voltages(study).iter().any(|volts| *volts != 0.0);
    if study.port.powered == Powered::Unpowered || !works || source_ohm(study).is_some() {
        return;
    }
    let finding = Finding::new("simulation", "port", "1");
    results.push(finding.unknown(
        None,
        "`source_current` or `source_resistance` of the port, or powered = \"unpowered\"",
        "the powered port cannot be run: nothing is known of its source",
    ));
}

/// Keeps the worst result of each check, stress and element; sorts worst first.
fn worst(results: Vec<CheckResult>) -> Vec<CheckResult> {
    let mut kept: Vec<CheckResult> = Vec::new();
    for result in results {
        let same = kept.iter_mut().find(|other| {
            other.check == result.check && other.stress == result.stress && other.element == result.element
        });
        match same {
            Some(other) => {
                if worse_first(&result, other).is_lt() {
                    *other = result;
                }
            }
            None => kept.push(result),
        }
    }
    kept.sort_by(worse_first);
    kept
}

/// Order of badness: verdict first, then margin; where no limit is known, the larger value is the worse one.
fn worse_first(a: &CheckResult, b: &CheckResult) -> Ordering {
    let verdict = |result: &CheckResult| match result.verdict {
        Verdict::Fail => 0,
        Verdict::Unknown => 1,
        Verdict::Marginal => 2,
        Verdict::Pass => 3,
    };
    let margin = |result: &CheckResult| {
        let without = if result.verdict == Verdict::Pass {
            f64::INFINITY
        } else {
            f64::NEG_INFINITY
        };
        result.margin.unwrap_or(without)
    };
    let value = |result: &CheckResult| result.value.unwrap_or(f64::INFINITY);
    // Total orders, so that a margin that is not a number cannot upset the sorting.
    verdict(a)
        .cmp(&verdict(b))
        .then(margin(a).total_cmp(&margin(b)))
        .then(value(b).total_cmp(&value(a)))
}
