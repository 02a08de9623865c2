//! The specimens that a study stands for, and the study of one of them.

use std::sync::Arc;

use tidewall_devices::MissingDatum;
use tidewall_devices::build::ModelRange;
use tidewall_devices::datasheet::Datasheet;
use tidewall_devices::specimen::Specimens;
use tidewall_study::{Interval, Origin, SeriesElement, Stage, Study, Valued};
use tidewall_transient::Options;

use super::axes::{Axis, AxisKind, of_surroundings};
use crate::build::{line_of, shunt_places};
use crate::corners::{self, Case};
use crate::result::{CheckResult, PartSet, StressSet};
use crate::simulate::{self, Ports, Runs};

/// Which stresses are run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stresses {
    /// All.
    All,
    /// The one of that number.
    One(usize),
    /// None: only checks without a transient are of interest.
    None,
}

/// All that could stand in a study's place within its tolerances. What does not change from one specimen to the next is
/// built once.
pub struct Population {
    study: Study,
    shunts: Vec<Shunt>,
    axes: Vec<Axis>,
}

/// A shunt of the ladder with the models of its type.
struct Shunt {
    stage: usize,
    of: Arc<Datasheet>,
    models: Result<Arc<ModelRange>, MissingDatum>,
    /// Axis of what stands on the first line and on the second; `None` where position changes nothing.
    axes: [Option<usize>; 2],
}

impl Population {
    /// Prepares a study.
    pub fn new(study: &Study) -> Population {
        let mut study = study.clone();
        let range = study.port.ambient_c.value;
        // The source stays the port's own whatever voltage is drawn.
        if let Some(ohm) = corners::source_ohm(&study) {
            study.port.source_ohm = Some(Valued {
                value: ohm,
                origin: Origin::Assumed {
                    why: "source resistance of the whole working range".to_owned(),
                },
            });
        }
        study.assess.extra_ambients_c.clear();
        let (mut shunts, mut axes) = (Vec::new(), Vec::new());
        for (index, stage) in study.ladder.iter().enumerate() {
            let Stage::Shunt(shunt) = stage else { continue };
            let of = Arc::new(study.parts[&shunt.part].clone());
            let models = ModelRange::new(&of, range.low, range.high).map(Arc::new);
            let moves = of.has_spread() || models.as_ref().is_ok_and(|models| !models.is_alike());
            let mut places = [None; 2];
            if moves {
                let breakdown = of.breakdown_v;
                for (name, across) in shunt_places(&study, shunt) {
                    places[line_of(across)] = Some(axes.len());
                    axes.push(Axis {
                        kind: AxisKind::Part {
                            stage: index,
                            line: line_of(across),
                        },
                        name,
                        what: "breakdown",
                        limits: breakdown.min.zip(breakdown.max),
                        unit: "V",
                    });
                }
            }
            shunts.push(Shunt {
                stage: index,
                of,
                models,
                axes: places,
            });
        }
        axes.extend(of_surroundings(&study));
        // Only parts that are in use are copied with every specimen; each shunt has its own entry.
        let mut parts = std::mem::take(&mut study.parts);
        for (index, stage) in study.ladder.iter_mut().enumerate() {
            match stage {
                Stage::Series(series) => {
                    if let SeriesElement::Part(name) = &series.element
                        && let Some(sheet) = parts.get(name)
                    {
                        study.parts.insert(name.clone(), sheet.clone());
                    }
                }
                // No name of a part has a line break.
                Stage::Shunt(shunt) => shunt.part = format!("\n{index}"),
                Stage::Capacitor(_) => {}
            }
        }
        parts.clear();
        Population { study, shunts, axes }
    }

    /// The axes on which specimens differ, in the order of their positions: shunts from the connector inwards,
    /// amplitudes in the order of the stresses, ambient, supply.
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// The study of the specimen at these positions, one for each axis: every range is one value.
    pub fn study_at(&self, positions: &[f64]) -> Study {
        let mut study = self.study.clone();
        for shunt in &self.shunts {
            // A lone specimen stands on both lines as far as its data go.
            let either = shunt.axes[0].or(shunt.axes[1]);
            let position = |axis: Option<usize>| axis.or(either).map_or(0.0, |axis| positions[axis]);
            let sheet = Datasheet::of_specimens(Specimens {
                of: shunt.of.clone(),
                models: shunt.models.clone(),
                positions: shunt.axes.map(position),
            });
            if let Stage::Shunt(stage) = &study.ladder[shunt.stage] {
                study.parts.insert(stage.part.clone(), sheet);
            }
        }
        for (axis, position) in self.axes.iter().zip(positions) {
            let Some(value) = axis.value(*position) else {
                continue;
            };
            let only = Interval {
                low: value,
                high: value,
            };
            match axis.kind {
                AxisKind::Ambient => study.port.ambient_c.value = only,
                AxisKind::Supply => {
                    if let Some(working) = &mut study.port.working_v {
                        working.value = only;
                    }
                }
                AxisKind::Part { .. } | AxisKind::Amplitude { .. } => {}
            }
        }
        study
    }

    /// Amplitude of a stress at these positions as a share of its level.
    fn factor(&self, stress: usize, positions: &[f64]) -> Option<f64> {
        let axis = self
            .axes
            .iter()
            .position(|axis| axis.kind == AxisKind::Amplitude { stress })?;
        self.axes[axis].value(positions[axis])
    }

    /// The transients that a specimen goes through: every stress in all of its polarities, unpowered and powered as the
    /// study asks.
    pub fn cases_at(&self, study: &Study, positions: &[f64]) -> Vec<Case> {
        let mut cases = Vec::new();
        for (stress, case) in study.stresses.iter().enumerate() {
            let (tolerance, factor) = match self.factor(stress, positions) {
                Some(factor) => (StressSet::Drawn, factor),
                None => (StressSet::Nominal, 1.0),
            };
            for &sign in &case.disturbance.polarities {
                for supply_v in corners::supplies(study, case) {
                    cases.push(Case {
                        stress,
                        ambient_c: study.port.ambient_c.value.low,
                        parts: PartSet::Drawn,
                        tolerance,
                        factor,
                        sign,
                        supply_v,
                    });
                }
            }
        }
        cases
    }

    /// Every check of the specimen at these positions, worst first. Runs on the calling thread.
    pub(super) fn judge(&self, positions: &[f64], stresses: Stresses, options: &Options) -> Vec<CheckResult> {
        let study = self.study_at(positions);
        let mut cases = self.cases_at(&study, positions);
        cases.retain(|case| match stresses {
            Stresses::All => true,
            Stresses::One(stress) => case.stress == stress,
            Stresses::None => false,
        });
        let ports = Ports::new(&study, &cases);
        let results = simulate::simulate_in_turn(&ports, &cases, options);
        Runs::of(&study, &cases, results).checks(&study)
    }

    /// Number of the stress with this id.
    pub(super) fn stress(&self, id: &str) -> Option<usize> {
        self.study.stresses.iter().position(|case| case.id == id)
    }
}
