//! Parts side by side in one place of a study, at the currents that really flow there; and the parts nearest to a given
//! one in what matters for that port.

mod equivalents;
mod result;

use std::sync::Arc;

use tidewall_devices::Protector;
use tidewall_devices::datasheet::{Datasheet, PartCorner, Spread};
use tidewall_study::Study;
use tidewall_transient::Options;

use crate::assess_known;
use crate::build::shunt_places;
use crate::checks::standing::{as_seen, largest_capacitance, leakage_a, must_not_conduct};
use crate::memo::Memo;
use crate::rank::{CheckLine, Choice, Position, RankError, with, worst_margin};
use crate::result::{Assessment, ElementResult, StudyRef};

pub use equivalents::{differences, equivalents};
pub use result::{
    BandPoint, COMPARISON_SCHEMA, Compared, Comparison, EQUIVALENTS_SCHEMA, Equivalent, Equivalents, Span,
    UnderStress,
};

/// Points of the V-I band per decade of current.
const PER_DECADE: i32 = 6;
/// Decades of current that the band spans below the largest current of the comparison.
const DECADES: i32 = 6;

/// Judges each part in the place of a shunt stage and lays what it does beside the others.
///
/// `progress` is called with (finished, all) parts.
///
/// # Errors
/// The ladder has no such shunt stage, or a part cannot stand in it.
pub fn compare(
    study: &Study,
    stage: &str,
    parts: &[Arc<Datasheet>],
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Comparison, RankError> {
    compare_known(study, stage, parts, Known::default(), options, progress)
}

/// What is known before a comparison, so that it is not computed again.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known<'a> {
    /// The assessment of the study as it stands. It is taken for the part that stands in the stage.
    pub standing: Option<&'a Assessment>,
    /// Transients of other parts.
    pub memo: Option<&'a Memo>,
}

/// The same, with what is known already.
///
/// # Errors
/// As [`compare`].
pub fn compare_known(
    study: &Study,
    stage: &str,
    parts: &[Arc<Datasheet>],
    known: Known<'_>,
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Comparison, RankError> {
    // Before any of them is judged: that takes long.
    for part in parts {
        fits(study, stage, part)?;
    }
    let mut compared = Vec::new();
    for (k, part) in parts.iter().enumerate() {
        compared.push(match known.standing.filter(|_| stands(study, stage, part)) {
            Some(assessment) => one(study, stage, part, assessment),
            None => judged(study, stage, part, known.memo, options),
        });
        progress(k + 1, parts.len());
    }
    add_bands(study, parts, &mut compared);
    Ok(Comparison {
        schema: COMPARISON_SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: StudyRef {
            title: study.title.clone(),
            digest: study.digest.clone(),
        },
        stage: stage.to_owned(),
        parts: compared,
    })
}

/// Refuses a part that cannot stand in the stage.
fn fits(study: &Study, stage: &str, part: &Arc<Datasheet>) -> Result<(), RankError> {
    match Position::of_parts(study, stage, std::slice::from_ref(part)) {
        Ok(_) => Ok(()),
        Err(RankError::NoCandidate(stage)) => Err(RankError::Misplaced {
            part: part.name.to_string(),
            stage,
        }),
        Err(other) => Err(other),
    }
}

/// A part in the stage with its whole assessment, but no band yet.
fn judged(
    study: &Study,
    stage: &str,
    part: &Arc<Datasheet>,
    memo: Option<&Memo>,
    options: &Options,
) -> Compared {
    let placed = with(study, &[(stage, &Choice::Part(part.clone()))]);
    let assessment = assess_known(&placed, options, memo, &|_, _| {});
    one(&placed, stage, part, &assessment)
}

/// Whether a part is the one that stands in the stage.
fn stands(study: &Study, stage: &str, part: &Datasheet) -> bool {
    let own = study.shunt(stage).and_then(|shunt| study.parts.get(&shunt.part));
    own.is_some_and(|own| own == part)
}

/// Gives each part its V-I band; all of them span the same currents, so that they can be compared.
fn add_bands(study: &Study, parts: &[Arc<Datasheet>], compared: &mut [Compared]) {
    let highest = compared
        .iter()
        .flat_map(|part| part.stresses.iter().map(|stress| stress.current_a))
        .fold(0.0, f64::max);
    for (part, sheet) in compared.iter_mut().zip(parts) {
        match band(study, sheet, highest) {
            Ok(band) => part.band = band,
            Err(missing) => part.missing = Some(missing),
        }
    }
}

fn span(spread: &Spread) -> Span {
    Span {
        min: spread.min,
        typ: spread.typ,
        max: spread.max,
    }
}

fn one(study: &Study, stage: &str, part: &Datasheet, assessment: &Assessment) -> Compared {
    Compared {
        part: part.name.to_string(),
        family: part.family.to_string(),
        source: part.source.to_string(),
        bidirectional: part.bidirectional,
        stand_off_v: part.stand_off_v,
        breakdown_v: span(&part.breakdown_v),
        capacitance_f: largest_capacitance(part),
        leakage_a: leakage(study, stage, part),
        area_m2: part.area_m2,
        cost: part.cost,
        verdict: assessment.verdict,
        worst_margin: worst_margin(&assessment.checks, |_| true),
        checks: assessment.checks.iter().map(CheckLine::from).collect(),
        stresses: under_stress(study, stage, assessment),
        band: Vec::new(),
        missing: None,
    }
}

/// Leakage in amperes of a part in its place at the port's normal voltage, hot.
fn leakage(study: &Study, stage: &str, part: &Datasheet) -> Option<f64> {
    let shunt = study.shunt(stage)?;
    let (_, across) = shunt_places(study, shunt).into_iter().next()?;
    let levels = must_not_conduct(study, across)?.value;
    leakage_a(
        part,
        as_seen(levels, shunt.reversed),
        study.port.ambient_c.value.high,
    )
}

/// What an element is of the part in a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Piece {
    /// It stands across the place, or conducts between one of its ends and a rail: of two steering diodes the one that blocks
    /// sees the voltage of the place, less what the other drops.
    Across,
    /// It stands at a rail of the part's own.
    AtRail,
}

/// What an element is of the part in a place, by the names that `ladder` gives.
fn piece(place: &str, element: &str) -> Option<Piece> {
    match element.strip_prefix(place)? {
        "" | " (to rail)" | " (from return)" => Some(Piece::Across),
        " (rail clamp)" => Some(Piece::AtRail),
        _ => None,
    }
}

fn under_stress(study: &Study, stage: &str, assessment: &Assessment) -> Vec<UnderStress> {
    let mut list: Vec<UnderStress> = Vec::new();
    // On a pair the stage stands on two places, named after it.
    let places = study
        .shunt(stage)
        .map_or(Vec::new(), |shunt| shunt_places(study, shunt));
    for run in &assessment.transients {
        let ambient_c = run.corner.ambient_c;
        let known = list
            .iter()
            .position(|other| other.stress == run.stress && other.ambient_c == ambient_c);
        let place = known.unwrap_or_else(|| {
            list.push(UnderStress {
                stress: run.stress.clone(),
                ambient_c,
                clamp_v: 0.0,
                current_a: 0.0,
                let_through_v: 0.0,
                let_through_a: None,
                energy_j: 0.0,
                junction_c: None,
            });
            list.len() - 1
        });
        let entry = &mut list[place];
        entry.let_through_v = entry.let_through_v.max(run.pin_peak_v.abs());
        entry.let_through_a = entry
            .let_through_a
            .into_iter()
            .chain(run.pin_peak_a)
            .reduce(f64::max);
        for (place, _) in &places {
            let own = run
                .elements
                .iter()
                .filter(|element| piece(place, &element.name).is_some());
            entry.energy_j = entry.energy_j.max(own.map(|element| element.energy_j).sum());
        }
        let all = places.iter().flat_map(|(place, _)| {
            let own = move |element: &&ElementResult| piece(place, &element.name) == Some(Piece::Across);
            run.elements.iter().filter(own)
        });
        for element in all {
            entry.clamp_v = entry.clamp_v.max(element.peak_v);
            entry.current_a = entry.current_a.max(element.peak_a);
            entry.junction_c = entry
                .junction_c
                .into_iter()
                .chain(element.peak_junction_c)
                .reduce(f64::max);
        }
    }
    let order = |stress: &str| study.stresses.iter().position(|case| case.id == stress);
    list.sort_by(|a, b| {
        order(&a.stress)
            .cmp(&order(&b.stress))
            .then(a.ambient_c.total_cmp(&b.ambient_c))
    });
    list
}

/// The V-I band of a part up to a current, at both ends of the ambient range and at 25 °C, or what its model lacks.
fn band(study: &Study, part: &Datasheet, highest_a: f64) -> Result<Vec<BandPoint>, String> {
    let range = study.port.ambient_c.value;
    let mut temperatures = vec![range.low, range.high];
    if range.low < 25.0 && 25.0 < range.high {
        temperatures.insert(1, 25.0);
    }
    temperatures.dedup();
    let top = if highest_a > 0.0 { highest_a } else { 1.0 };
    let mut points = Vec::new();
    for temperature_c in temperatures {
        let build = |corner| -> Result<Protector, String> {
            let built = part.protector(corner, temperature_c);
            Ok(built.map_err(|missing| missing.to_string())?.protector)
        };
        let (low, high) = (build(PartCorner::Low)?, build(PartCorner::High)?);
        for step in (0..=DECADES * PER_DECADE).rev() {
            let current_a = top * 10f64.powf(-f64::from(step) / f64::from(PER_DECADE));
            points.push(BandPoint {
                temperature_c,
                current_a,
                low_v: low.steady_v(current_a, temperature_c),
                high_v: high.steady_v(current_a, temperature_c),
            });
        }
    }
    Ok(points)
}
