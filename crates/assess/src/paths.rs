//! What a longer path of a shunt costs at the pin.

use rayon::prelude::*;
use tidewall_study::{Stage, Study};
use tidewall_transient::Options;

use crate::corners::Case;
use crate::result::Assessment;
use crate::simulate::simulate;
use crate::traces::worst_case;
use crate::transient;

/// How much longer the path of a shunt is made, in henries.
pub const MORE_H: f64 = 1e-9;

/// What [`MORE_H`] more in the path of a shunt does to the pin in one stress.
#[derive(Clone, Debug, PartialEq)]
pub struct PathCost {
    /// Id of the stress.
    pub stress: String,
    /// The shunt, protector or capacitor.
    pub stage: String,
    /// Inductance of its path in the study, in henries.
    pub lead_h: f64,
    /// Peak at the pin in volts in the stress's worst corner, with its sign.
    pub pin_v: f64,
    /// The same with the longer path.
    pub with_more_v: f64,
}

impl PathCost {
    /// How much further the pin goes, in volts; negative where a longer path helps.
    pub fn volts(&self) -> f64 {
        self.with_more_v.abs() - self.pin_v.abs()
    }
}

/// Runs each stress's worst corner again with the path of one shunt longer and all else the same. Stresses and paths whose
/// transient cannot be computed are left out; the order is that of stresses and ladder.
pub fn path_costs(study: &Study, assessment: &Assessment, options: &Options) -> Vec<PathCost> {
    let stresses = 0..study.stresses.len();
    let costs: Vec<Vec<PathCost>> = stresses
        .into_par_iter()
        .map(|stress| match worst_case(study, assessment, stress) {
            Some(worst) => of_stress(study, &worst, options),
            None => Vec::new(),
        })
        .collect();
    costs.into_iter().flatten().collect()
}

fn of_stress(study: &Study, worst: &Case, options: &Options) -> Vec<PathCost> {
    let peak = |study: &Study| {
        let run = simulate(study, worst, options).ok()?;
        Some(transient(study, &run).pin_peak_v)
    };
    let Some(pin_v) = peak(study) else {
        return Vec::new();
    };
    let shunts = (0..study.ladder.len()).filter_map(|k| {
        let mut longer = study.clone();
        let lead_h = match &mut longer.ladder[k] {
            Stage::Shunt(shunt) => &mut shunt.lead_h,
            Stage::Capacitor(capacitor) => &mut capacitor.lead_h,
            Stage::Series(_) => return None,
        };
        let before_h = *lead_h;
        *lead_h += MORE_H;
        Some(PathCost {
            stress: study.stresses[worst.stress].id.clone(),
            stage: study.ladder[k].name().to_owned(),
            lead_h: before_h,
            pin_v,
            with_more_v: peak(&longer)?,
        })
    });
    shunts.collect()
}
