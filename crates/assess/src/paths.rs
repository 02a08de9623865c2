//! What a longer path of a shunt costs at the pin.

use rayon::prelude::*;
use tidewall_study::{Stage, Study};
use tidewall_transient::Options;

use crate::corners::Case;
use crate::result::Assessment;
use crate::simulate::Ports;
use crate::traces::{worst_case, worst_transient};
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
    // The peak with the path as it is stands in the assessment.
    let worst: Vec<(Case, f64)> = (0..study.stresses.len())
        .filter_map(|stress| {
            let pin_v = worst_transient(assessment, &study.stresses[stress].id)?.pin_peak_v;
            Some((worst_case(study, assessment, stress)?, pin_v))
        })
        .collect();
    let cases: Vec<Case> = worst.iter().map(|(case, _)| *case).collect();
    let shunts: Vec<(usize, f64, Study)> = (0..study.ladder.len())
        .filter_map(|k| longer(study, k).map(|(lead_h, longer)| (k, lead_h, longer)))
        .collect();
    // The models of a port are built once for all stresses.
    let ports: Vec<Ports<'_>> = shunts
        .iter()
        .map(|(_, _, longer)| Ports::new(longer, &cases))
        .collect();
    let runs: Vec<(usize, usize)> = (0..worst.len())
        .flat_map(|stress| (0..shunts.len()).map(move |shunt| (stress, shunt)))
        .collect();
    let costs: Vec<Option<PathCost>> = runs
        .into_par_iter()
        .map(|(stress, shunt)| {
            let (case, pin_v) = &worst[stress];
            let (k, lead_h, longer) = &shunts[shunt];
            let run = ports[shunt].run(case, options).ok()?;
            Some(PathCost {
                stress: study.stresses[case.stress].id.clone(),
                stage: study.ladder[*k].name().to_owned(),
                lead_h: *lead_h,
                pin_v: *pin_v,
                with_more_v: transient(longer, &run).pin_peak_v,
            })
        })
        .collect();
    costs.into_iter().flatten().collect()
}

/// The study with [`MORE_H`] more in the path of a stage, and the inductance of the path before; `None` for a stage in the
/// line.
fn longer(study: &Study, k: usize) -> Option<(f64, Study)> {
    let mut longer = study.clone();
    let lead_h = match &mut longer.ladder[k] {
        Stage::Shunt(shunt) => &mut shunt.lead_h,
        Stage::Capacitor(capacitor) => &mut capacitor.lead_h,
        Stage::Series(_) => return None,
    };
    let before_h = *lead_h;
    *lead_h += MORE_H;
    Some((before_h, longer))
}
