//! Where a first stage just does not fire.

use rayon::prelude::*;
use tidewall_devices::Law;
use tidewall_ladder::{Equations, Port, Side};
use tidewall_study::PortKind;
use tidewall_transient::{Options, Problem, run};

use crate::build;
use crate::corners::Case;
use crate::result::{PartSet, StressSet};
use crate::simulate::{CaseError, Ports, breaks_over, in_workspace, network, simulate};

impl Ports<'_> {
    /// Laws of the shunts of a case; `None` where a model lacks a datum.
    fn laws(&self, case: &Case) -> Option<Vec<&Law>> {
        let port = &self.port(case)?.as_ref().ok()?.port;
        let laws = port.stages.iter().filter_map(|stage| match stage {
            tidewall_ladder::Stage::Shunt(shunt) => Some(&shunt.protector.law),
            _ => None,
        });
        Some(laws.collect())
    }

    /// Whether a breakover device of the port fires in a case. The run ends with the first that does.
    fn fires(&self, case: &Case, options: &Options) -> Result<bool, CaseError> {
        let Some(built) = self.port(case) else {
            return simulate(self.study(), case, options).map(|outcome| outcome.fired());
        };
        let built = built
            .as_ref()
            .map_err(|missing| CaseError::Missing(missing.clone()))?;
        let port = Port {
            supply: build::supply(self.study(), case.supply_v),
            ..built.port.clone()
        };
        let network = network(self.study(), case);
        let assembly = port.assemble(&network).map_err(CaseError::Ladder)?;
        let devices = assembly.circuit.devices.iter().enumerate();
        let breaking =
            devices.filter(|(k, device)| *k < 64 && device.side == Side::Port && breaks_over(&device.law));
        let mask = breaking.fold(0, |mask, (k, _)| mask | 1 << k);
        let equations = Equations::new(assembly.circuit).map_err(CaseError::Ladder)?;
        let problem = Problem {
            equations: &equations,
            probes: &assembly.probes,
            levels: &[],
            breakpoints_s: &network.breakpoints_s(),
            duration_s: network.duration_s,
            finest_s: network.finest_s,
        };
        let options = Options {
            until_switched: mask,
            ..*options
        };
        let outcome =
            in_workspace(|workspace| run(&problem, &options, workspace)).map_err(CaseError::Transient)?;
        let mut switched = outcome.switched.iter().enumerate();
        Ok(switched.any(|(k, &count)| k < 64 && mask >> k & 1 == 1 && count > 0))
    }
}

/// For every stress and ambient of a ladder in which a first stage may or may not fire, the case just below the
/// amplitude at which it does: the blind spot, where all of the stress is left to what follows.
///
/// The boundary is found by bisection to 1 % of the level, at the corner `high` (latest firing).
pub fn blind_spots(ports: &Ports<'_>, cases: &[Case], options: &Options) -> Vec<Case> {
    let mut starts: Vec<Case> = Vec::new();
    for case in cases {
        // One supply state for each stress, ambient and polarity: the supply hardly moves the firing.
        let same = |other: &Case| {
            other.stress == case.stress && other.ambient_c == case.ambient_c && other.sign == case.sign
        };
        if case.parts == PartSet::High && case.tolerance != StressSet::Low && !starts.iter().any(same) {
            starts.push(*case);
        }
    }
    starts
        .par_iter()
        .filter_map(|case| blind_spot(ports, case, options))
        .collect()
}

fn blind_spot(ports: &Ports<'_>, case: &Case, options: &Options) -> Option<Case> {
    let study = ports.study();
    let laws = ports.laws(case)?;
    // With one stage there is nothing behind the blind spot but the pin, whose peak rises with the amplitude.
    if laws.len() < 2 && study.port.lines == 1 && laws.iter().all(|law| !matches!(law, Law::GasTube(_))) {
        return None;
    }
    if !laws.iter().any(|law| breaks_over(law)) || study.port.kind == PortKind::Ac && case.supply_v.is_some()
    {
        return None;
    }
    let at = |factor: f64| Case {
        factor,
        tolerance: StressSet::BlindSpot,
        ..*case
    };
    // A probe that cannot be computed is handed on as a case: the run of it will say so, and the result is unknown.
    let fires = |factor: f64| ports.fires(&at(factor), options).map_err(|_| at(factor));
    let search = || -> Result<Option<f64>, Case> {
        let (mut below, mut above) = (0.02 * case.factor, case.factor);
        if !fires(above)? || fires(below)? {
            return Ok(None);
        }
        while above - below > 0.01 * above {
            let middle = 0.5 * (above + below);
            if fires(middle)? {
                above = middle;
            } else {
                below = middle;
            }
        }
        Ok(Some(below))
    };
    match search() {
        Ok(found) => found.map(at),
        Err(failing) => Some(failing),
    }
}
