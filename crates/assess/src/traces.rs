//! Waveforms of the corner that is worth looking at: the worst let-through of each stress.

use rayon::prelude::*;
use tidewall_ladder::Across;
use tidewall_stress::catalogue::Sign;
use tidewall_study::{Stage, Study};
use tidewall_transient::Options;

use crate::build::shunt_places;
use crate::checks::standing::must_not_conduct;
use crate::corners::Case;
use crate::result::{Assessment, Corner, PartSet, Polarity, StressSet, TransientResult};
use crate::simulate::{CaseError, CaseOutcome, Ports, breaks_over};

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

/// Current and voltage of a protector at one instant: that of its largest current of one sign. A protector that blocks
/// until it conducts is only looked at beyond the level up to which it must not conduct, since what flows below that
/// charges its capacitance.
#[derive(Clone, Debug, PartialEq)]
pub struct OperatingPoint {
    /// Number of the stress in the study.
    pub stress: usize,
    /// Corner of the run.
    pub corner: Corner,
    /// Name of the element.
    pub element: String,
    /// Current in amperes, with its sign.
    pub amps: f64,
    /// Voltage in volts across it, without its lead, with its sign.
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
    traces_of(&Ports::new(study, &[]), assessment, options)
}

/// The same, with ports that may be built already.
pub(crate) fn traces_of(ports: &Ports<'_>, assessment: &Assessment, options: &Options) -> Traces {
    Traces {
        points: points_in(ports, assessment, options),
        ..worst_in(ports, assessment, options)
    }
}

/// Runs the worst corner of each stress again and keeps its waveforms, without operating points.
pub fn worst_runs(study: &Study, assessment: &Assessment, options: &Options) -> Traces {
    worst_in(&Ports::new(study, &[]), assessment, options)
}

fn worst_in(ports: &Ports<'_>, assessment: &Assessment, options: &Options) -> Traces {
    let recording = recording(options);
    let study = ports.study();
    let runs: Vec<_> = (0..study.stresses.len())
        .into_par_iter()
        .map(|stress| worst_case(study, assessment, stress).map(|case| ports.run(&case, &recording)))
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

/// The shunt protectors of a study by name, with the conductors they stand between.
fn protectors(study: &Study) -> Vec<(String, Across)> {
    let shunts = study.ladder.iter().filter_map(|stage| match stage {
        Stage::Shunt(shunt) => Some(shunt_places(study, shunt)),
        _ => None,
    });
    shunts.flatten().collect()
}

/// Operating points of every protector: for each stress, polarity, ambient, and lowest and highest parts, in the run of
/// largest current among those that the assessment holds.
pub fn operating_points(study: &Study, assessment: &Assessment, options: &Options) -> Vec<OperatingPoint> {
    points_in(&Ports::new(study, &[]), assessment, options)
}

fn points_in(ports: &Ports<'_>, assessment: &Assessment, options: &Options) -> Vec<OperatingPoint> {
    let study = ports.study();
    let protectors = protectors(study);
    let recording = recording(options);
    let cases: Vec<Case> = (0..study.stresses.len())
        .flat_map(|stress| corners_of(study, assessment, stress, &protectors))
        .collect();
    let found: Vec<Vec<OperatingPoint>> = cases
        .par_iter()
        .map(|case| match ports.run(case, &recording) {
            Ok(outcome) => points_of(study, &outcome, &protectors),
            // The assessment has a result of this case, or it would not be here; a failure now is said there too.
            Err(_) => Vec::new(),
        })
        .collect();
    found.into_iter().flatten().collect()
}

/// For each combination of ambient, parts and polarity the corner of largest current through a protector.
fn corners_of(
    study: &Study,
    assessment: &Assessment,
    stress: usize,
    protectors: &[(String, Across)],
) -> Vec<Case> {
    let current = |run: &TransientResult| {
        let own = run.elements.iter().filter(|element| {
            let mut known = protectors.iter();
            known.any(|(name, _)| *name == element.name)
        });
        own.map(|element| element.peak_a).fold(0.0, f64::max)
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
        let amps = current(run);
        match best.iter_mut().find(|(_, other)| same(other)) {
            Some(known) if known.0 >= amps => {}
            Some(known) => *known = (amps, corner),
            None => best.push((amps, corner)),
        }
    }
    let corners = best.into_iter();
    corners
        .filter_map(|(_, corner)| case_of(stress, corner))
        .collect()
}

fn points_of(study: &Study, outcome: &CaseOutcome, protectors: &[(String, Across)]) -> Vec<OperatingPoint> {
    let Some(recording) = &outcome.outcome.recording else {
        return Vec::new();
    };
    let mut points = Vec::new();
    for (name, across) in protectors {
        let Some(element) = outcome.element(name) else {
            continue;
        };
        let blocks = outcome
            .protector(name)
            .is_some_and(|protector| !breaks_over(&protector.law));
        let levels = must_not_conduct(study, *across).filter(|_| blocks);
        for sign in [1.0, -1.0] {
            let from = levels.map_or(0.0, |levels| {
                let end = if sign > 0.0 {
                    levels.value.high
                } else {
                    levels.value.low
                };
                (sign * end).max(0.0)
            });
            let samples = recording.elements_a[element]
                .iter()
                .zip(&recording.elements_v[element]);
            let mut largest: Option<(f64, f64)> = None;
            for (amps, volts) in samples {
                let conducts = sign * amps > 0.0 && sign * volts > 0.0 && sign * volts >= from;
                if conducts && largest.is_none_or(|(most, _)| amps.abs() > most.abs()) {
                    largest = Some((*amps, *volts));
                }
            }
            points.extend(largest.map(|(amps, volts)| OperatingPoint {
                stress: outcome.case.stress,
                corner: outcome.case.corner(),
                element: name.clone(),
                amps,
                volts,
            }));
        }
    }
    points
}
