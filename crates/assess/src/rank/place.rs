//! Putting candidates in the place of a stage.

use std::collections::BTreeMap;
use std::sync::Arc;

use tidewall_devices::datasheet::Datasheet;
use tidewall_study::parts::is_series;
use tidewall_study::{SeriesElement, ShuntStage, Stage, Study};

use super::RankError;
use crate::build::shunt_places;
use crate::checks::NEXT_TO_NOTHING_V;
use crate::checks::standing::must_not_conduct;

/// What may stand in a stage.
#[derive(Clone, Debug, PartialEq)]
pub enum Choice {
    /// A part.
    Part(Arc<Datasheet>),
    /// A plain series resistance in ohms; the stage keeps its inductance.
    Ohms(f64),
}

/// A stage of the ladder with what may stand in it.
#[derive(Clone, Debug)]
pub struct Position {
    /// Name of the stage.
    pub stage: String,
    /// The choices, in the order in which they are tried.
    pub choices: Vec<Choice>,
}

impl Position {
    /// A stage with those of the parts that can stand in it: series families in the line, others across it.
    ///
    /// # Errors
    /// The ladder has no such stage, it is a capacitor, or no part can stand in it.
    pub fn of_parts(study: &Study, stage: &str, parts: &[Arc<Datasheet>]) -> Result<Position, RankError> {
        let in_line = match find(study, stage)? {
            Stage::Series(_) => true,
            Stage::Shunt(_) => false,
            Stage::Capacitor(_) => return Err(RankError::NotForParts(stage.to_owned())),
        };
        let choices: Vec<Choice> = parts
            .iter()
            .filter(|part| is_series(part.family) == in_line)
            .map(|part| Choice::Part(part.clone()))
            .collect();
        if choices.is_empty() {
            return Err(RankError::NoCandidate(stage.to_owned()));
        }
        Ok(Position {
            stage: stage.to_owned(),
            choices,
        })
    }

    /// A series stage with plain resistances in ohms.
    ///
    /// # Errors
    /// The ladder has no such stage, it is not a plain series element, or a value is not above zero.
    pub fn of_ohms(study: &Study, stage: &str, ohms: &[f64]) -> Result<Position, RankError> {
        match find(study, stage)? {
            Stage::Series(series) if matches!(series.element, SeriesElement::Passive { .. }) => {}
            _ => return Err(RankError::NotForValues(stage.to_owned())),
        }
        if ohms.is_empty() {
            return Err(RankError::NoCandidate(stage.to_owned()));
        }
        if let Some(bad) = ohms.iter().find(|ohms| !(**ohms > 0.0 && ohms.is_finite())) {
            return Err(RankError::BadValue(*bad));
        }
        Ok(Position {
            stage: stage.to_owned(),
            choices: ohms.iter().map(|ohms| Choice::Ohms(*ohms)).collect(),
        })
    }
}

fn find<'s>(study: &'s Study, stage: &str) -> Result<&'s Stage, RankError> {
    study
        .ladder
        .iter()
        .find(|other| other.name() == stage)
        .ok_or_else(|| RankError::NoStage {
            stage: stage.to_owned(),
            stages: study.ladder.iter().map(|stage| stage.name().to_owned()).collect(),
        })
}

/// The study with choices in their stages. Parts that no stage refers to are left out, so that copies stay small.
///
/// A unidirectional part is turned to the side on which the conductors it stands between work, where they work on one
/// side only.
pub fn with(study: &Study, placed: &[(&str, &Choice)]) -> Study {
    let mut changed = Study {
        parts: BTreeMap::new(),
        ..study.clone()
    };
    for stage in &mut changed.ladder {
        let name = stage.name().to_owned();
        let choice = placed
            .iter()
            .find(|(stage, _)| *stage == name)
            .map(|(_, choice)| *choice);
        match (stage, choice) {
            (Stage::Shunt(shunt), Some(Choice::Part(part))) => {
                shunt.lead_h = path_h(study, shunt, part);
                // Names of parts are the key; a candidate of the same name as another stage's part but with other data
                // must not take its place.
                shunt.part = format!("{name}: {}", part.name);
                if part.bidirectional == Some(false)
                    && let Some(reversed) = one_sided(study, shunt)
                {
                    shunt.reversed = reversed;
                }
                changed.parts.insert(shunt.part.clone(), Datasheet::clone(part));
            }
            (Stage::Series(series), Some(Choice::Part(part))) => {
                let key = format!("{name}: {}", part.name);
                changed.parts.insert(key.clone(), Datasheet::clone(part));
                series.element = SeriesElement::Part(key);
            }
            (Stage::Series(series), Some(Choice::Ohms(ohms))) => {
                if let SeriesElement::Passive { resistance_ohm, .. } = &mut series.element {
                    *resistance_ohm = *ohms;
                }
            }
            (stage, _) => {
                let part = match stage {
                    Stage::Shunt(shunt) => Some(&shunt.part),
                    Stage::Series(series) => match &series.element {
                        SeriesElement::Part(part) => Some(part),
                        SeriesElement::Passive { .. } => None,
                    },
                    Stage::Capacitor(_) => None,
                };
                if let Some(part) = part {
                    changed.parts.insert(part.clone(), study.parts[part].clone());
                }
            }
        }
    }
    changed
}

/// Least inductance in henries that counts as a path of the board's own: below is rounding.
const NO_PATH_H: f64 = 1e-15;

/// Inductance in henries of a shunt's path with another part in it: a study's path is that of the board and of the package that
/// stands in it. A part that says nothing of its package, in a study that says nothing of the board, keeps the path that is there:
/// there is no other number.
fn path_h(study: &Study, shunt: &ShuntStage, part: &Datasheet) -> f64 {
    let present = study.parts.get(&shunt.part).and_then(|part| part.package_h);
    if present == part.package_h {
        return shunt.lead_h;
    }
    let board_h = shunt.lead_h - present.unwrap_or(0.0);
    match part.package_h {
        Some(package_h) => board_h.max(0.0) + package_h,
        None if board_h > NO_PATH_H => board_h,
        None => shunt.lead_h,
    }
}

/// Where the conductors under a shunt work on one side only: whether a unidirectional part must be turned round for it.
fn one_sided(study: &Study, shunt: &ShuntStage) -> Option<bool> {
    // Both lines of a pair work alike.
    let (_, across) = shunt_places(study, shunt).into_iter().next()?;
    let levels = must_not_conduct(study, across)?.value;
    match (levels.low < -NEXT_TO_NOTHING_V, levels.high > NEXT_TO_NOTHING_V) {
        (false, true) => Some(false),
        (true, false) => Some(true),
        _ => None,
    }
}
