//! Waveforms of the corner that is worth looking at: the worst let-through of each stress.

use rayon::prelude::*;
use tidewall_stress::catalogue::Sign;
use tidewall_study::{Stage, Study};
use tidewall_transient::Options;

use crate::build::shunt_places;
use crate::corners::{self, Case};
use crate::result::{Assessment, Corner, PartSet, Polarity, StressSet, TransientResult};
use crate::simulate::{CaseError, CaseOutcome, Ports, breaks_over, simulate};

/// Current in amperes from which a part counts as conducting: that at which breakdown is stated (usual practice of data
/// sheets).
const CONDUCTS_A: f64 = 1e-3;
/// Share of the voltage at that current that a warm part may still conduct at (numerical choice).
const DRIFT: f64 = 0.95;

/// Recorded transients of a study, one for each stress.
#[derive(Clone, Debug, Default)]
pub struct Traces {
    /// In the order of the stresses; each outcome carries its recording.
    pub outcomes: Vec<CaseOutcome>,
    /// Id of the stress and reason of each that could not be computed.
    pub failures: Vec<(String, CaseError)>,
    /// Ids of the stresses of which the assessment holds no transient, and therefore no worst corner.
    pub without: Vec<String>,
    /// Where the protectors stood at their largest currents, at the corners of each stress.
    pub points: Vec<OperatingPoint>,
}

/// Current and voltage of a protector at one instant: that of its largest current on one side of the port, while it
/// conducts. A protector that does not break over is taken to conduct at and above the voltage that a milliampere drives
/// across it at the ambient temperature, less a twentieth for the drift of a part that heats up: what flows below that
/// charges its capacitance.
#[derive(Clone, Debug, PartialEq)]
pub struct OperatingPoint {
    /// Number of the stress in the study.
    pub stress: usize,
    /// Corner of the run.
    pub corner: Corner,
    /// Name of the element.
    pub element: String,
    /// Current in amperes: above zero from the line to its return, or from the first line to the second.
    pub amps: f64,
    /// Voltage in volts across it, without its lead; of the same sign.
    pub volts: f64,
}

impl Traces {
    /// The transient of a stress, by its number in the study.
    pub fn of(&self, stress: usize) -> Option<&CaseOutcome> {
        self.outcomes.iter().find(|outcome| outcome.case.stress == stress)
    }
}

/// Runs the worst corner of each stress again and keeps its waveforms; runs its corners of lowest and highest parts, and
/// keeps the operating points.
pub fn traces(study: &Study, assessment: &Assessment, options: &Options) -> Traces {
    traces_of(&Ports::new(study, &corners::cases(study)), assessment, options)
}

/// The same, with ports that may be built already.
pub(crate) fn traces_of(ports: &Ports<'_>, assessment: &Assessment, options: &Options) -> Traces {
    let study = ports.study();
    let places = places(study);
    let worst: Vec<Option<Case>> = (0..study.stresses.len())
        .map(|stress| worst_case(study, assessment, stress))
        .collect();
    let corners: Vec<Case> = (0..study.stresses.len())
        .flat_map(|stress| corners_of(study, assessment, stress, &places))
        .collect();
    let others = worst.iter().flatten().filter(|case| !corners.contains(case));
    let cases: Vec<Case> = corners.iter().chain(others).copied().collect();
    let recording = recording(options);
    // Of each case its operating points, and its waves where it is a worst one: waves are large.
    let mut runs: Vec<_> = cases
        .par_iter()
        .enumerate()
        .map(|(k, case)| {
            let run = ports.run(case, &recording);
            let points = match &run {
                Ok(outcome) if k < corners.len() => points_of(outcome, &places),
                // The assessment has a result of this case, or it would not be here; a failure now is said there too.
                _ => Vec::new(),
            };
            (points, worst.contains(&Some(*case)).then_some(run))
        })
        .collect();
    let taken = worst.iter().map(|case| {
        let place = cases.iter().position(|other| Some(other) == case.as_ref())?;
        runs[place].1.take()
    });
    let traces = collected(study, taken.collect());
    Traces {
        points: runs.into_iter().flat_map(|(points, _)| points).collect(),
        ..traces
    }
}

/// Runs the worst corner of each stress again and keeps its waveforms, without operating points.
pub fn worst_runs(study: &Study, assessment: &Assessment, options: &Options) -> Traces {
    let recording = recording(options);
    let runs: Vec<_> = (0..study.stresses.len())
        .into_par_iter()
        .map(|stress| worst_case(study, assessment, stress).map(|case| simulate(study, &case, &recording)))
        .collect();
    collected(study, runs)
}

/// Sorts the recorded worst runs of all stresses.
fn collected(study: &Study, runs: Vec<Option<Result<CaseOutcome, CaseError>>>) -> Traces {
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
    case_of(
        stress,
        worst_transient(assessment, &study.stresses[stress].id)?.corner,
    )
}

/// The case of a transient's corner; `None` where the corner is none of a transient.
fn case_of(stress: usize, corner: Corner) -> Option<Case> {
    let Corner {
        ambient_c,
        part,
        stress_tolerance,
        stress_factor,
        polarity,
        supply_v,
    } = corner;
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

fn recording(options: &Options) -> Options {
    Options {
        record: true,
        ..*options
    }
}

/// The shunt protectors of a study.
fn places(study: &Study) -> Vec<Place> {
    let shunts = study.ladder.iter().filter_map(|stage| match stage {
        Stage::Shunt(shunt) => Some(shunt),
        _ => None,
    });
    shunts
        .flat_map(|shunt| {
            let names = shunt_places(study, shunt).into_iter();
            names.map(|(name, _)| Place {
                name,
                reversed: shunt.reversed,
            })
        })
        .collect()
}

/// The corners of operating points: for each combination of ambient, lowest or highest parts and polarity that run of the
/// assessment in which the protectors take most energy.
fn corners_of(study: &Study, assessment: &Assessment, stress: usize, places: &[Place]) -> Vec<Case> {
    let energy = |run: &TransientResult| -> f64 {
        let own = run.elements.iter().filter(|element| {
            let mut known = places.iter();
            known.any(|place| place.name == element.name)
        });
        own.map(|element| element.energy_j).sum()
    };
    let mut best: Vec<(f64, Corner)> = Vec::new();
    for run in &assessment.transients {
        let corner = run.corner;
        let regular = matches!(corner.part, Some(PartSet::Low | PartSet::High))
            && corner.stress_tolerance != Some(StressSet::BlindSpot);
        if run.stress != study.stresses[stress].id || !regular {
            continue;
        }
        let same = |other: &Corner| {
            other.ambient_c == corner.ambient_c
                && other.part == corner.part
                && other.polarity == corner.polarity
        };
        let joules = energy(run);
        match best.iter_mut().find(|(_, other)| same(other)) {
            Some(known) if known.0 >= joules => {}
            Some(known) => *known = (joules, corner),
            None => best.push((joules, corner)),
        }
    }
    let corners = best.into_iter();
    corners
        .filter_map(|(_, corner)| case_of(stress, corner))
        .collect()
}

/// A protector of the study in the ladder.
struct Place {
    name: String,
    reversed: bool,
}

fn points_of(outcome: &CaseOutcome, places: &[Place]) -> Vec<OperatingPoint> {
    let Some(recording) = &outcome.outcome.recording else {
        return Vec::new();
    };
    let mut points = Vec::new();
    for place in places {
        let (Some(element), Some(protector)) = (outcome.element(&place.name), outcome.protector(&place.name))
        else {
            continue;
        };
        // A part that is turned round counts its own voltage and current from the return.
        let turned = if place.reversed { -1.0 } else { 1.0 };
        for sign in [1.0, -1.0] {
            let own = turned * sign;
            let from = match breaks_over(&protector.law) {
                true => 0.0,
                false => protector
                    .steady_v(own * CONDUCTS_A, outcome.case.ambient_c)
                    .map_or(0.0, |volts| DRIFT * volts),
            };
            let samples = recording.elements_a[element]
                .iter()
                .zip(&recording.elements_v[element]);
            let largest = samples
                .map(|(amps, volts)| (own * amps, own * volts))
                .filter(|(amps, volts)| *amps > CONDUCTS_A && *volts > 0.0 && *volts >= from)
                .fold(None, |best: Option<(f64, f64)>, one| match best {
                    Some(best) if best.0 >= one.0 => Some(best),
                    _ => Some(one),
                });
            points.extend(largest.map(|(amps, volts)| OperatingPoint {
                stress: outcome.case.stress,
                corner: outcome.case.corner(),
                element: place.name.clone(),
                amps: sign * amps,
                volts: sign * volts,
            }));
        }
    }
    points
}
