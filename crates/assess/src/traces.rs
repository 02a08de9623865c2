//! Waveforms of the corner that is worth looking at: the worst let-through of each stress.

use rayon::prelude::*;
use tidewall_stress::catalogue::Sign;
use tidewall_study::Study;
use tidewall_transient::Options;

use crate::corners::Case;
use crate::result::{Assessment, Corner, Polarity, TransientResult};
use crate::simulate::{CaseError, CaseOutcome, simulate};

/// Recorded transients of a study, one for each stress.
#[derive(Clone, Debug, Default)]
pub struct Traces {
    /// In the order of the stresses; each outcome carries its recording.
    pub outcomes: Vec<CaseOutcome>,
    /// Id of the stress and reason of each that could not be computed.
    pub failures: Vec<(String, CaseError)>,
    /// Ids of the stresses of which the assessment holds no transient, and therefore no worst corner.
    pub without: Vec<String>,
}

impl Traces {
    /// The transient of a stress, by its number in the study.
    pub fn of(&self, stress: usize) -> Option<&CaseOutcome> {
        self.outcomes.iter().find(|outcome| outcome.case.stress == stress)
    }
}

/// Runs the worst corner of each stress again and keeps its waveforms.
pub fn traces(study: &Study, assessment: &Assessment, options: &Options) -> Traces {
    let recording = Options {
        record: true,
        ..*options
    };
    let runs: Vec<_> = (0..study.stresses.len())
        .into_par_iter()
        .map(|stress| worst_case(study, assessment, stress).map(|case| simulate(study, &case, &recording)))
        .collect();
    let mut traces = Traces::default();
    for (stress, run) in study.stresses.iter().zip(runs) {
        match run {
            Some(Ok(outcome)) => traces.outcomes.push(outcome),
            Some(Err(error)) => traces.failures.push((stress.id.clone(), error)),
            None => traces.without.push(stress.id.clone()),
        }
    }
    traces
}

/// The corner of a stress's worst let-through check. Where that check has no limit no corner is worse than another;
/// then it is the corner of the highest voltage at the pin.
pub fn worst_transient<'a>(assessment: &'a Assessment, stress: &str) -> Option<&'a TransientResult> {
    let of_stress = || assessment.transients.iter().filter(|run| run.stress == stress);
    let checked = assessment
        .checks
        .iter()
        .find(|check| check.stress.as_deref() == Some(stress) && check.check.starts_with("let-through"))
        .filter(|check| check.margin.is_some())
        .and_then(|check| of_stress().find(|run| Some(run.corner) == check.corner));
    checked.or_else(|| of_stress().max_by(|a, b| a.pin_peak_v.abs().total_cmp(&b.pin_peak_v.abs())))
}

/// The case of [`worst_transient`], by the stress's number in the study; `None` where no transient was computed.
pub fn worst_case(study: &Study, assessment: &Assessment, stress: usize) -> Option<Case> {
    let run = worst_transient(assessment, &study.stresses[stress].id)?;
    let Corner {
        ambient_c,
        part,
        stress_tolerance,
        stress_factor,
        polarity,
        supply_v,
    } = run.corner;
    Some(Case {
        stress,
        ambient_c,
        parts: part?,
        tolerance: stress_tolerance?,
        factor: stress_factor?,
        sign: if polarity? == Polarity::Negative {
            Sign::Negative
        } else {
            Sign::Positive
        },
        supply_v,
    })
}
