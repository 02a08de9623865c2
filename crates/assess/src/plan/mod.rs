//! The lab test plan of a study: what to shoot in which order, how to verify the equipment, and what each shot will show.
//!
//! The predictions are transients of [`crate::simulate`] with typical parts at the laboratory's temperature and the
//! generator's nominal amplitude, and with parts low and high for the span.

mod load;
mod prediction;
mod procedure;
pub mod result;
mod steps;
mod verification;
mod words;

pub use prediction::setting;
pub use result::{
    HealthCheck, Noted, PLAN_SCHEMA, Peak, PlaceKind, Point, Reading, ShotGroup, SourceLine, Step,
    StressTest, TestPlan, Verification,
};

use tidewall_stress::catalogue::Sign;
use tidewall_study::{PortKind, StressCase, Study};
use tidewall_transient::Options;

use crate::corners::{Case, supplies};
use crate::level::study_level;
use crate::origins;
use crate::result::{PartSet, Polarity, StressSet, StudyRef};
use crate::simulate::{CaseError, CaseOutcome, Ports, simulate_all};
use crate::text::{celsius, seconds, volts};

/// Ambient temperature of a laboratory in °C (reference temperature of data sheets; common practice, no source).
pub const LAB_C: f64 = 25.0;

/// Part tolerances of a prediction: typical first, then what gives the span.
const SETS: [PartSet; 3] = [PartSet::Typical, PartSet::Low, PartSet::High];

/// Groups whose transients are held in memory at once, recordings and all.
const AT_ONCE: usize = 16;

/// A group before it is run.
struct Planned {
    number: usize,
    stress: usize,
    level: f64,
    share: f64,
    point: Point,
    sign: Sign,
    supply_v: Option<f64>,
    phase_deg: Option<f64>,
    shots: Option<u64>,
}

/// Plans the laboratory test of a study.
///
/// `progress` is called from any thread with (done, all) transients.
pub fn plan(study: &Study, options: &Options, progress: &(dyn Fn(usize, usize) + Sync)) -> TestPlan {
    plan_to(study, Extent::Whole, options, progress)
}

/// How much of a plan is worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// All of it.
    Whole,
    /// Groups of shots at the required levels only, and no verification of the generators. Numbers of groups, counts and
    /// durations are those of the whole plan.
    RequiredLevels,
}

/// The same to some extent.
pub fn plan_to(
    study: &Study,
    extent: Extent,
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> TestPlan {
    let mut planned: Vec<Planned> = (0..study.stresses.len())
        .flat_map(|stress| groups(study, stress))
        .collect();
    for (k, planned) in planned.iter_mut().enumerate() {
        planned.number = k + 1;
    }
    let shots: Vec<Option<u64>> = (0..study.stresses.len())
        .map(|stress| {
            let of_stress = planned.iter().filter(|planned| planned.stress == stress);
            of_stress.map(|planned| planned.shots).sum()
        })
        .collect();
    if extent == Extent::RequiredLevels {
        planned.retain(|planned| planned.level == study_level(&study.stresses[planned.stress]).0);
    }
    let groups = predict(study, &planned, options, progress);
    let mut missing = words::to_agree(study);
    let mut tests: Vec<StressTest> = Vec::new();
    for (stress, case) in study.stresses.iter().enumerate() {
        let of_stress = planned
            .iter()
            .zip(&groups)
            .filter(|(planned, _)| planned.stress == stress);
        let groups = of_stress.map(|(_, group)| group.clone()).collect();
        let verified = match extent {
            Extent::Whole => verification::verification(case),
            Extent::RequiredLevels => Default::default(),
        };
        tests.push(test(study, case, (groups, shots[stress]), verified, &mut missing));
    }
    let health = words::health(study);
    missing.extend(
        health
            .iter()
            .filter(|check| check.lowest.is_none() && check.highest.is_none())
            .map(|check| format!("{}, {}: {}", check.element, check.quantity, check.note)),
    );
    let range = study.port.ambient_c.value;
    if !(range.low..=range.high).contains(&LAB_C) {
        missing.push(format!(
            "the port's ambient range does not hold the {} of the predictions",
            celsius(LAB_C)
        ));
    }
    missing.dedup();
    TestPlan {
        schema: PLAN_SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: StudyRef {
            title: study.title.clone(),
            digest: study.digest.clone(),
        },
        ambient_c: LAB_C,
        shots: tests.iter().map(|test| test.shots).sum(),
        lasts_s: tests.iter().map(|test| test.lasts_s).sum(),
        tests,
        health,
        before: words::before(),
        record: words::record(study),
        stop: words::stop(study),
        missing,
        assumptions: origins::assumptions(study),
        cautions: words::cautions(study),
    }
}

/// Working voltage on the line for a shot of one polarity: that end of the range which adds to it where the range goes to
/// both sides, and the end of the larger size otherwise.
fn working_v(study: &Study, sign: Sign) -> Option<f64> {
    let range = study.port.working_v.as_ref()?.value;
    let (low, high) = match study.port.kind {
        PortKind::Ac => (-range.high, range.high),
        _ => (range.low, range.high),
    };
    Some(if low < 0.0 && high > 0.0 {
        if sign == Sign::Positive { high } else { low }
    } else if high >= -low {
        high
    } else {
        low
    })
}

/// The groups of one stress, lowest level first: powered where the study can power the port, and unpowered at the
/// required level, or at every level where it is never powered.
fn groups(study: &Study, stress: usize) -> Vec<Planned> {
    let case = &study.stresses[stress];
    let states = supplies(study, case);
    let (powered, unpowered) = (states.iter().any(Option::is_some), states.contains(&None));
    let phases: Vec<Option<(f64, f64)>> = if procedure::synchronised(study, case) {
        procedure::PHASES.into_iter().map(Some).collect()
    } else {
        vec![None]
    };
    let (steps, _) = steps::steps(case);
    let (shots, _, _) = procedure::counts(case);
    let mut list = Vec::new();
    for (k, step) in steps.iter().enumerate() {
        let last = k + 1 == steps.len();
        for point in procedure::points(study, case) {
            let mut push = |sign: Sign, supply_v: Option<f64>, phase_deg: Option<f64>| {
                list.push(Planned {
                    number: 0,
                    stress,
                    level: step.level,
                    share: step.share,
                    point: point.clone(),
                    sign,
                    supply_v,
                    phase_deg,
                    shots,
                });
            };
            if powered {
                for phase in &phases {
                    for &sign in &case.disturbance.polarities {
                        let crest_v = study.port.working_v.as_ref().map(|working| working.value.high);
                        match phase {
                            // A zero of either sign is zero.
                            Some((degrees, share)) => {
                                push(sign, crest_v.map(|crest_v| share * crest_v + 0.0), Some(*degrees))
                            }
                            None => push(sign, working_v(study, sign), None),
                        }
                    }
                }
            }
            if unpowered && (last || !powered) {
                for &sign in &case.disturbance.polarities {
                    push(sign, None, None);
                }
            }
        }
    }
    list
}

/// The corner that a group is predicted at, for one set of part tolerances.
fn case(planned: &Planned, parts: PartSet) -> Case {
    Case {
        stress: planned.stress,
        ambient_c: LAB_C,
        parts,
        tolerance: StressSet::Nominal,
        factor: planned.share,
        sign: planned.sign,
        supply_v: planned.supply_v,
    }
}

fn predict(
    study: &Study,
    planned: &[Planned],
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Vec<ShotGroup> {
    let mut mirrored = study.clone();
    for case in &mut mirrored.stresses {
        case.disturbance.network = procedure::exchanged(&case.disturbance.network);
    }
    let recorded = Options {
        record: true,
        ..*options
    };
    let cases: Vec<Case> = planned
        .iter()
        .flat_map(|planned| SETS.map(|set| case(planned, set)))
        .collect();
    let (plain, exchanged) = (Ports::new(study, &cases), Ports::new(&mirrored, &cases));
    let mut list: Vec<ShotGroup> = Vec::new();
    // Runs of groups that share a point, a few at a time.
    let mut start = 0;
    while start < planned.len() {
        let turned = planned[start].point.exchanged;
        let same = planned[start..]
            .iter()
            .take_while(|one| one.point.exchanged == turned)
            .count();
        let end = start + same.min(AT_ONCE);
        let ports = if turned { &exchanged } else { &plain };
        let before = SETS.len() * start;
        let runs = simulate_all(ports, &cases[before..SETS.len() * end], &recorded, &|done| {
            progress(before + done, cases.len());
        });
        for (k, runs) in runs.chunks(SETS.len()).enumerate() {
            list.push(group(study, &planned[start + k], runs));
        }
        start = end;
    }
    list
}

fn group(study: &Study, planned: &Planned, runs: &[Result<CaseOutcome, CaseError>]) -> ShotGroup {
    let found: Result<Vec<&CaseOutcome>, String> = runs
        .iter()
        .map(|run| match run {
            Ok(outcome) if outcome.outcome.audit.holds() => Ok(outcome),
            Ok(_) => Err("the energy of the transient does not add up".to_owned()),
            Err(error) => Err(error.to_string()),
        })
        .collect();
    let direction = prediction::Direction {
        sign: planned.sign.factor(),
        exchanged: planned.point.exchanged,
    };
    let differs = found.as_deref().map_or(Vec::new(), prediction::differs);
    let (readings, missing) = match found.as_deref() {
        Ok([typical, others @ ..]) => (prediction::readings(study, direction, typical, others), None),
        Ok([]) => (Vec::new(), None),
        Err(reason) => (Vec::new(), Some(reason.clone())),
    };
    ShotGroup {
        number: planned.number,
        level: planned.level,
        point: planned.point.name.clone(),
        polarity: match planned.sign {
            Sign::Positive => Polarity::Positive,
            Sign::Negative => Polarity::Negative,
        },
        supply_v: planned.supply_v,
        phase_deg: planned.phase_deg,
        shots: planned.shots,
        readings,
        differs,
        missing,
    }
}

fn test(
    study: &Study,
    case: &StressCase,
    (groups, shots): (Vec<ShotGroup>, Option<u64>),
    (verification, verification_notes): (Vec<Verification>, Vec<Noted>),
    missing: &mut Vec<String>,
) -> StressTest {
    let disturbance = &case.disturbance;
    let (level, unit, what) = study_level(case);
    let (steps, steps_note) = steps::steps(case);
    let (shots_each, impulses_each, interval_s) = procedure::counts(case);
    let criterion = words::criterion(case);
    if shots_each.is_none() {
        missing.push(format!(
            "stress {}: shots of each polarity (key `pulses` of the stress)",
            case.id
        ));
    }
    if interval_s.is_none() {
        missing.push(format!(
            "stress {}: time between shots (key `interval` of the stress)",
            case.id
        ));
    }
    let mut reasons: Vec<&String> = groups.iter().filter_map(|group| group.missing.as_ref()).collect();
    reasons.dedup();
    missing.extend(
        reasons
            .iter()
            .map(|reason| format!("stress {}: no prediction: {reason}", case.id)),
    );
    let highest = disturbance
        .amplitude_tolerance
        .map_or(1.0, |tolerance| 1.0 + tolerance.above);
    let current = verification::by_current(case);
    if current {
        missing.push(format!(
            "stress {}: open-circuit voltage of the generator, for the rating of the probe at the connector",
            case.id
        ));
    }
    let working = study.port.working_v.as_ref().map_or(0.0, |working| {
        working.value.high.abs().max(working.value.low.abs())
    });
    StressTest {
        stress: case.id.clone(),
        title: disturbance.title.clone(),
        standard: disturbance.standard,
        edition: procedure::edition(case),
        level,
        unit,
        what,
        steps,
        steps_note,
        coupling: procedure::coupling(study, case),
        points: procedure::points(study, case),
        notes: procedure::notes(study, case),
        polarities: disturbance
            .polarities
            .iter()
            .map(|sign| match sign {
                Sign::Positive => Polarity::Positive,
                Sign::Negative => Polarity::Negative,
            })
            .collect(),
        shots_each,
        impulses_each,
        interval_s,
        phases_deg: if procedure::synchronised(study, case) {
            procedure::PHASES.map(|phase| phase.0).into()
        } else {
            Vec::new()
        },
        phase_note: procedure::phase_note(study, case),
        states: states(study, case),
        environment: procedure::environment(case),
        criterion,
        network: procedure::network(&disturbance.network),
        verification,
        verification_notes,
        shots,
        lasts_s: shots
            .zip(interval_s)
            .map(|(shots, interval_s)| shots as f64 * interval_s),
        groups,
        connector_probe_v: (!current).then_some(highest * disturbance.open_circuit_peak_v + working),
        sources: disturbance
            .sources
            .iter()
            .map(|note| SourceLine {
                what: note.what.clone(),
                source: words::noted(note.source.clone(), origins::mark(note.mark)),
            })
            .chain(procedure::train(case).map(|text| SourceLine {
                what: "bursts".to_owned(),
                source: words::noted(text, words::SOURCE),
            }))
            .collect(),
    }
}

/// The states of the port in words.
fn states(study: &Study, case: &StressCase) -> Vec<String> {
    let states = supplies(study, case);
    let powered = states.iter().any(Option::is_some);
    let mut list = Vec::new();
    if powered {
        let mut levels: Vec<f64> = case
            .disturbance
            .polarities
            .iter()
            .filter_map(|sign| working_v(study, *sign))
            .collect();
        levels.dedup();
        let text: Vec<String> = levels.iter().map(|level| volts(*level)).collect();
        list.push(match (study.port.kind, study.port.frequency_hz.as_ref()) {
            (PortKind::Ac, frequency) => format!(
                "powered and in operation at the highest working amplitude, {} peak{}",
                text.first().map_or("", String::as_str).trim_start_matches('−'),
                frequency.map_or(String::new(), |hertz| format!(", {} for a period", seconds(1.0 / hertz.value)))
            ),
            _ if levels.len() > 1 => format!(
                "powered and in operation, the line held at that end of its working range which adds to the shot: {}",
                text.join(" and ")
            ),
            _ => format!("powered and in operation at {}, the end of the working range farthest from zero", text.join("")),
        });
    }
    if states.contains(&None) {
        list.push(if powered {
            "unpowered, at the required level only, because the study asks for both states (key `powered`)"
                .to_owned()
        } else {
            "unpowered".to_owned()
        });
    }
    list
}
