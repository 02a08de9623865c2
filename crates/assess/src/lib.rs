//! Corners, checks, margins and verdicts.
//!
//! [`assess`] runs a study at every corner and judges it; [`mod@rank`] goes through candidates for a stage; [`explain`]
//! says what each check means.

pub mod build;
pub mod checks;
pub mod compare;
pub mod corners;
pub mod correlate;
pub mod draws;
pub mod explain;
mod firing;
pub mod level;
pub mod memo;
pub mod origins;
pub mod paths;
pub mod plan;
pub mod rank;
pub mod requirement;
pub mod result;
mod shape;
pub mod simulate;
pub mod text;
pub mod traces;

use std::sync::atomic::{AtomicBool, Ordering};

use tidewall_study::Study;
use tidewall_transient::Options;

use corners::Case;
use memo::Memo;
use result::{
    Assessment, AuditResult, CounterResult, ElementResult, Restriction, SCHEMA, StressSet, StudyRef,
    TransientResult, Verdict,
};
use simulate::{CaseError, CaseOutcome, Ports, Runs};
use traces::Traces;

/// Runs every corner of a study and judges it.
///
/// `progress` is called from any thread with (finished, all) corners.
pub fn assess(study: &Study, options: &Options, progress: &(dyn Fn(usize, usize) + Sync)) -> Assessment {
    assess_known(study, options, None, progress)
}

/// The same, with transients that `memo` knows not run again.
pub(crate) fn assess_known(
    study: &Study,
    options: &Options,
    memo: Option<&Memo>,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Assessment {
    let mut cases = corners::cases(study);
    let mut ports = Ports::new(study, &cases);
    if let Some(memo) = memo {
        memo.begin();
        ports = ports.with_memo(memo);
    }
    cases.extend(memo::blind_spots(memo, &ports, &cases, options));
    run_and_judge(study, &ports, &cases, options, progress)
}

/// Runs every corner of a study, judges it, and gives the waves of each stress's worst corner.
pub fn assess_and_trace(
    study: &Study,
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> (Assessment, Traces) {
    let mut cases = corners::cases(study);
    let ports = Ports::new(study, &cases);
    cases.extend(firing::blind_spots(&ports, &cases, options));
    let assessment = run_and_judge(study, &ports, &cases, options, progress);
    let traces = traces::traces_of(&ports, &assessment, options);
    (assessment, traces)
}

/// The same for a study that is edited: transients that `memo` knows are not run again, and the work is given up, with
/// `None`, soon after `cancel` is set. Also gives the waves of each stress's worst corner, kept in `waves` likewise.
pub fn assess_live(
    study: &Study,
    options: &Options,
    (memo, waves): (&Memo, &Memo),
    cancel: &AtomicBool,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Option<(Assessment, Traces)> {
    memo.begin();
    waves.begin();
    let mut cases = corners::cases(study);
    let ports = Ports::new(study, &cases).live(memo, cancel);
    cases.extend(firing::blind_spots(&ports, &cases, options));
    let total = cases.len();
    let results = simulate::simulate_all(&ports, &cases, options, &|done| progress(done, total));
    let cancelled = || cancel.load(Ordering::Relaxed);
    if cancelled() {
        return None;
    }
    let assessment = judge(study, &cases, results);
    let traces = traces::traces_of(&ports.with_memo(waves), &assessment, options);
    (!cancelled()).then_some((assessment, traces))
}

/// The same, at those corners only that `keep` keeps; checks that need no transient are made at all of theirs.
///
/// `asked` is the choice in words, for the result to carry. Blind spots are looked for where `keep` would keep one.
pub fn assess_filtered(
    study: &Study,
    options: &Options,
    keep: &(dyn Fn(&Case) -> bool + Sync),
    asked: Vec<String>,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Assessment {
    let all = corners::cases(study);
    let at_blind_spot = |case: &Case| Case {
        tolerance: StressSet::BlindSpot,
        ..*case
    };
    let starts: Vec<Case> = all
        .iter()
        .filter(|case| keep(&at_blind_spot(case)))
        .copied()
        .collect();
    let mut cases: Vec<Case> = all.iter().filter(|case| keep(case)).copied().collect();
    let left_out = all.len() - cases.len();
    let ports = Ports::new(study, &all);
    cases.extend(firing::blind_spots(&ports, &starts, options));
    Assessment {
        restriction: Some(Restriction {
            corners: asked,
            run: cases.len(),
            left_out,
        }),
        ..run_and_judge(study, &ports, &cases, options, progress)
    }
}

fn run_and_judge(
    study: &Study,
    ports: &Ports<'_>,
    cases: &[Case],
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Assessment {
    let total = cases.len();
    let results = simulate::simulate_all(ports, cases, options, &|done| progress(done, total));
    judge(study, cases, results)
}

/// Judges finished corners.
fn judge(study: &Study, cases: &[Case], results: Vec<Result<CaseOutcome, CaseError>>) -> Assessment {
    let runs = Runs::of(study, cases, results);
    let checks = runs.checks(study);
    let verdict = checks
        .iter()
        .fold(Verdict::Pass, |worst, check| worst.worse(check.verdict));
    Assessment {
        schema: SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: StudyRef {
            title: study.title.clone(),
            digest: study.digest.clone(),
        },
        verdict,
        restriction: None,
        checks,
        transients: runs
            .outcomes
            .iter()
            .map(|outcome| transient(study, outcome))
            .collect(),
        window: origins::window(study),
        assumptions: origins::assumptions(study),
        origins: origins::origins(study),
        cautions: origins::cautions(study),
        draws: None,
        sensitivity: None,
        highest_levels: None,
    }
}

/// A finished corner as the result contract tells it.
pub fn transient(study: &Study, outcome: &CaseOutcome) -> TransientResult {
    use tidewall_ladder::ProbeRole;
    let run = &outcome.outcome;
    let peak = |wanted: fn(ProbeRole) -> bool| {
        let probes = outcome.assembly.probes.iter().zip(&run.probes);
        probes
            .filter(|(spec, _)| wanted(spec.role))
            .map(|(_, probe)| probe.volts)
            .fold(0.0f64, |top, volts| {
                let signed = if -volts.min > volts.max {
                    volts.min
                } else {
                    volts.max
                };
                if signed.abs() > top.abs() { signed } else { top }
            })
    };
    let pin_peak_a = outcome
        .assembly
        .pin_elements
        .iter()
        .map(|&element| run.elements[element].amps.size())
        .reduce(f64::max);
    TransientResult {
        stress: study.stresses[outcome.case.stress].id.clone(),
        corner: outcome.case.corner(),
        connector_peak_v: peak(|role| matches!(role, ProbeRole::Connector(_))).abs(),
        // Adding zero turns a negative zero into zero.
        pin_peak_v: peak(|role| matches!(role, ProbeRole::Pin(_) | ProbeRole::PinPair)) + 0.0,
        pin_peak_a,
        elements: outcome
            .assembly
            .elements
            .iter()
            .map(|&element| {
                let log = &run.elements[element];
                ElementResult {
                    name: outcome.names[element].clone(),
                    peak_v: log.volts.size(),
                    peak_a: log.amps.size(),
                    energy_j: log.energy_j,
                    i2t_a2s: log.i2t_a2s,
                    peak_junction_c: log.peak_junction_c.filter(|_| outcome.has_junction(element)),
                }
            })
            .collect(),
        audit: AuditResult {
            delivered_j: run.audit.delivered_j,
            dissipated_j: run.audit.dissipated_j,
            stored_j: run.audit.stored_j,
            residual: run.audit.residual,
        },
        counters: CounterResult {
            steps: run.counters.steps,
            rejections: run.counters.rejections,
            factorisations: run.counters.factorisations,
            evaluations: run.counters.evaluations,
            events: run.counters.events,
        },
    }
}
