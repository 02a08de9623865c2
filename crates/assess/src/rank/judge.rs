//! One candidate through the steps.

use sha2::{Digest, Sha256};
use tidewall_devices::datasheet::Datasheet;
use tidewall_study::{Stage, Study};

use super::RankOptions;
use super::place::{Choice, with};
use super::result::{Candidate, CheckLine, Placed, Standing};
use crate::build::{series_places, shunt_places};
use crate::checks::standing::largest_capacitance;
use crate::checks::{self, Context};
use crate::corners::{self, Case};
use crate::firing;
use crate::result::{CheckResult, PartSet, StressSet, Verdict};
use crate::simulate::{self, Ports, Runs};

/// The steps that need transients: cases by their number in the study's list of corners.
struct Steps {
    cases: Vec<Case>,
    /// Of every stress its deciding corners, then of every stress the others with the blind spots.
    steps: Vec<(usize, Vec<usize>, bool)>,
}

impl Steps {
    fn new(study: &Study) -> Steps {
        let cases = corners::cases(study);
        let hot = study.port.ambient_c.value.high;
        // Hot and high, at the generator's highest amplitude, at the strongest supply: where let-through is usually
        // largest and ratings are derated most. It only decides what is run first.
        let decides = |case: &Case| {
            let stronger = |other: &&Case| {
                let same = Case {
                    supply_v: None,
                    ..**other
                } == Case {
                    supply_v: None,
                    ..*case
                };
                same && other.supply_v.map_or(0.0, f64::abs) > case.supply_v.map_or(0.0, f64::abs)
            };
            case.ambient_c == hot
                && case.parts == PartSet::High
                && case.tolerance != StressSet::Low
                && !cases.iter().any(|other| stronger(&other))
        };
        let pick = |stress: usize, wanted: bool| -> Vec<usize> {
            (0..cases.len())
                .filter(|&k| cases[k].stress == stress && decides(&cases[k]) == wanted)
                .collect()
        };
        let stresses = study.stresses.len();
        let mut steps: Vec<_> = (0..stresses)
            .map(|stress| (stress, pick(stress, true), false))
            .collect();
        steps.extend((0..stresses).map(|stress| (stress, pick(stress, false), true)));
        Steps { cases, steps }
    }
}

/// What all candidates share.
pub(super) struct Bench<'a> {
    study: &'a Study,
    options: &'a RankOptions<'a>,
    steps: Steps,
    digest: String,
}

impl<'a> Bench<'a> {
    pub(super) fn new(study: &'a Study, options: &'a RankOptions<'a>) -> Bench<'a> {
        // What the outcome depends on besides the choices. A study may be changed after reading (margin, level), so
        // its text's digest is not enough; printing a value in full is as good as any other canonical form.
        let own = with(study, &[]);
        let transient = &options.transient;
        Bench {
            study,
            options,
            steps: Steps::new(study),
            digest: digest(&[
                env!("CARGO_PKG_VERSION"),
                &format!("{own:?}"),
                &format!("{transient:?}"),
            ]),
        }
    }

    /// Judges one candidate; `None` if the work was stopped meanwhile.
    pub(super) fn judge(&self, placed: &[(&str, &Choice)]) -> Option<Candidate> {
        let names = placed.iter().map(|(stage, choice)| name(stage, choice)).collect();
        let fingerprint = digest(&[&self.digest, &format!("{placed:?}")]);
        if let Some(known) = (self.options.known)(&fingerprint) {
            return Some(known);
        }
        let study = with(self.study, placed);
        let (standing, transients) = self.standing(&study)?;
        let burden = |of: fn(&Datasheet) -> Option<f64>, shunts_only: bool| {
            let parts = placed.iter().filter_map(|(stage, choice)| match choice {
                Choice::Part(part) => Some((copies(&study, stage, shunts_only), part)),
                Choice::Ohms(_) => None,
            });
            // Of no part at all there is no sum either.
            parts
                .filter(|(copies, _)| *copies > 0)
                .map(|(copies, part)| Some(copies as f64 * of(part)?))
                .reduce(|sum, share| Some(sum? + share?))?
        };
        Some(Candidate {
            fingerprint,
            placed: names,
            area_m2: burden(|part| part.area_m2, false),
            cost: burden(|part| part.cost, false),
            capacitance_f: burden(largest_capacitance, true),
            transients,
            standing,
        })
    }

    fn standing(&self, study: &Study) -> Option<(Standing, usize)> {
        let mut rejected: Option<Standing> = None;
        let mut step = 0;
        let mut judge = |checks: &[CheckResult]| -> bool {
            let failure = checks.iter().find(|check| check.verdict == Verdict::Fail);
            if let (Some(failure), None) = (failure, &rejected) {
                rejected = Some(Standing::Rejected {
                    step,
                    reason: Box::new(failure.into()),
                });
            }
            step += 1;
            self.options.screen && rejected.is_some()
        };
        if judge(&checks::of_data(study)) || judge(&checks::of_models(study)) {
            return Some((rejected?, 0));
        }
        let corners = &self.steps.cases;
        let ports = Ports::new(study, corners);
        let mut whole = Runs::default();
        for (stress, numbers, last_of_stress) in &self.steps.steps {
            if (self.options.stop)() {
                return None;
            }
            let mut cases: Vec<Case> = numbers.iter().map(|&k| corners[k]).collect();
            if *last_of_stress {
                let own: Vec<Case> = corners
                    .iter()
                    .filter(|case| case.stress == *stress)
                    .copied()
                    .collect();
                cases.extend(firing::blind_spots(&ports, &own, &self.options.transient));
            }
            let results = simulate::simulate_all(&ports, &cases, &self.options.transient, &|_| {});
            let runs = Runs::of(study, &cases, results);
            let seen = Context {
                study,
                outcomes: &runs.outcomes,
            };
            let ends = judge(&checks::of_runs(&seen, &runs.failures));
            whole.outcomes.extend(runs.outcomes);
            whole.failures.extend(runs.failures);
            if ends {
                break;
            }
        }
        let transients = whole.outcomes.len() + whole.failures.len();
        if let Some(rejected) = rejected {
            return Some((rejected, transients));
        }
        // In the order of a whole assessment: corners first, blind spots after them as they came.
        let place = |case: &Case| {
            corners
                .iter()
                .position(|corner| corner == case)
                .unwrap_or(corners.len())
        };
        whole.outcomes.sort_by_key(|outcome| place(&outcome.case));
        Some((ranked(&whole.checks(study)), transients))
    }
}

fn ranked(checks: &[CheckResult]) -> Standing {
    let verdict = checks
        .iter()
        .fold(Verdict::Pass, |worst, check| worst.worse(check.verdict));
    Standing::Ranked {
        verdict,
        worst_margin: worst_margin(checks, |_| true),
        let_through_margin: worst_margin(checks, |check| check.check.starts_with("let-through")),
        checks: checks.iter().map(CheckLine::from).collect(),
    }
}

/// Smallest margin of the checks under stress. Worst-case bounds (stand-off, breakdown, leakage, capacitance) are met or
/// not: being just met makes a part no worse. The audit speaks of the calculation, not of the part.
pub(crate) fn worst_margin(checks: &[CheckResult], of: impl Fn(&CheckResult) -> bool) -> Option<f64> {
    checks
        .iter()
        .filter(|check| check.stress.is_some() && check.check != "energy-audit" && of(check))
        .filter_map(|check| check.margin)
        .reduce(f64::min)
}

fn name(stage: &str, choice: &Choice) -> Placed {
    let (part, family, resistance_ohm) = match choice {
        Choice::Part(part) => (Some(part.name.to_string()), Some(part.family.to_string()), None),
        Choice::Ohms(ohms) => (None, None, Some(*ohms)),
    };
    Placed {
        stage: stage.to_owned(),
        part,
        family,
        resistance_ohm,
    }
}

/// How many parts a stage stands for; none for a series stage if only shunts count.
fn copies(study: &Study, stage: &str, shunts_only: bool) -> usize {
    match study.ladder.iter().find(|other| other.name() == stage) {
        Some(Stage::Shunt(shunt)) => shunt_places(study, shunt).len(),
        Some(Stage::Series(series)) if !shunts_only => series_places(study, series).len(),
        _ => 0,
    }
}

fn digest(pieces: &[&str]) -> String {
    let mut hash = Sha256::new();
    for piece in pieces {
        hash.update((piece.len() as u64).to_le_bytes());
        hash.update(piece.as_bytes());
    }
    format!("{:x}", hash.finalize())
}
