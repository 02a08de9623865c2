//! The corners a study is run at.

use tidewall_stress::catalogue::Sign;
use tidewall_stress::{Network, Node};
use tidewall_study::{PortKind, Powered, Stage, StressCase, Study};

use crate::result::{Corner, PartSet, Polarity, StressSet};

/// One transient to be run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Case {
    /// Number of the stress in the study.
    pub stress: usize,
    /// Ambient temperature in °C.
    pub ambient_c: f64,
    /// Part tolerances.
    pub parts: PartSet,
    /// Generator tolerance.
    pub tolerance: StressSet,
    /// Amplitude as a share of nominal.
    pub factor: f64,
    /// Polarity.
    pub sign: Sign,
    /// Working voltage at the instant of the stress in volts; `None` for an unpowered port.
    pub supply_v: Option<f64>,
}

impl Case {
    /// The corner as the result names it.
    pub fn corner(&self) -> Corner {
        Corner {
            ambient_c: self.ambient_c,
            part: Some(self.parts),
            stress_tolerance: Some(self.tolerance),
            stress_factor: Some(self.factor),
            polarity: Some(match self.sign {
                Sign::Positive => Polarity::Positive,
                Sign::Negative => Polarity::Negative,
            }),
            supply_v: self.supply_v,
        }
    }
}

/// How many shunt protectors the ladder has.
pub fn shunts(study: &Study) -> usize {
    study
        .ladder
        .iter()
        .filter(|stage| matches!(stage, Stage::Shunt(_)))
        .count()
}

/// Working voltages at which the powered port is hit: both ends of the range, and both crests of an alternating one.
pub fn supply_voltages(study: &Study) -> Vec<f64> {
    let Some(working) = &study.port.working_v else {
        return Vec::new();
    };
    let (low, high) = (working.value.low, working.value.high);
    let mut volts = match study.port.kind {
        PortKind::Ac => vec![high, -high],
        _ => vec![low, high],
    };
    volts.dedup();
    volts
}

/// Source resistance of the port's own supply in ohms: given, or the highest working voltage over the current the
/// source can keep feeding.
pub fn source_ohm(study: &Study) -> Option<f64> {
    if let Some(ohm) = &study.port.source_ohm {
        return Some(ohm.value).filter(|ohm| *ohm > 0.0);
    }
    let amps = study.port.source_a.as_ref()?.value;
    let working = study.port.working_v.as_ref()?.value;
    let volts = working.high.abs().max(working.low.abs());
    Some(volts / amps).filter(|ohm| ohm.is_finite() && *ohm > 0.0)
}

/// True for a generator without a direct-voltage block towards the line: a powered line would discharge into it,
/// which no test does.
fn loads_the_line(network: &Network) -> bool {
    network.branches.iter().any(|branch| {
        let touches = matches!(branch.from, Node::Line(_)) || matches!(branch.to, Node::Line(_));
        touches && branch.capacitor.is_none() && branch.arrester.is_none()
    })
}

/// The supply states of a stress: unpowered, and powered where the source is known and stays connected.
pub fn supplies(study: &Study, case: &StressCase) -> Vec<Option<f64>> {
    let powered = study.port.powered != Powered::Unpowered
        && !case.disturbance.supply_interrupted
        && !loads_the_line(&case.disturbance.network)
        && source_ohm(study).is_some();
    let mut states = Vec::new();
    if study.port.powered != Powered::Powered || !powered {
        states.push(None);
    }
    if powered {
        states.extend(
            supply_voltages(study)
                .into_iter()
                .filter(|volts| *volts != 0.0)
                .map(Some),
        );
    }
    states
}

/// Ambient temperatures: both ends of the range and what the study adds.
pub fn ambients(study: &Study) -> Vec<f64> {
    let range = study.port.ambient_c.value;
    let mut ambients = vec![range.low, range.high];
    ambients.extend(&study.assess.extra_ambients_c);
    ambients.sort_by(f64::total_cmp);
    ambients.dedup();
    ambients
}

/// Every corner of every stress, in a fixed order.
pub fn cases(study: &Study) -> Vec<Case> {
    let mut parts = vec![PartSet::Low, PartSet::High];
    if shunts(study) > 1 {
        parts.push(PartSet::Crossed);
    }
    if study.port.lines == 2 {
        parts.extend([PartSet::UnlikeLines, PartSet::UnlikeLinesMirrored]);
    }
    let mut cases = Vec::new();
    for (stress, case) in study.stresses.iter().enumerate() {
        let tolerances: Vec<(StressSet, f64)> = match case.disturbance.amplitude_tolerance {
            Some(tolerance) => {
                vec![
                    (StressSet::Low, 1.0 - tolerance.below),
                    (StressSet::High, 1.0 + tolerance.above),
                ]
            }
            None => vec![(StressSet::Nominal, 1.0)],
        };
        for ambient_c in ambients(study) {
            for &set in &parts {
                for &(tolerance, factor) in &tolerances {
                    for &sign in &case.disturbance.polarities {
                        for supply_v in supplies(study, case) {
                            cases.push(Case {
                                stress,
                                ambient_c,
                                parts: set,
                                tolerance,
                                factor,
                                sign,
                                supply_v,
                            });
                        }
                    }
                }
            }
        }
    }
    cases
}
