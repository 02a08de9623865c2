//! Where a first stage just does not fire.

use rayon::prelude::*;
use tidewall_devices::Law;
use tidewall_ladder::{Equations, Port, Probe, Side};
use tidewall_study::PortKind;
use tidewall_transient::{Options, Problem, run_all};

use crate::build;
use crate::corners::Case;
use crate::result::{PartSet, StressSet};
use crate::simulate::{CaseError, Ports, batches, breaks_over, in_workspace, network};

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

    /// What is run to see whether a breakover device of the port fires in a case.
    fn trial(&self, case: &Case) -> Result<Trial, CaseError> {
        let built = self.port(case).ok_or(CaseError::Cancelled)?;
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
        Ok(Trial {
            breaking: breaking.fold(0, |mask, (k, _)| mask | 1 << k),
            equations: Equations::new(assembly.circuit).map_err(CaseError::Ladder)?,
            probes: assembly.probes,
            breakpoints_s: network.breakpoints_s(),
            duration_s: network.duration_s,
            finest_s: network.finest_s,
        })
    }

    /// Whether a breakover device of the port fires, for each of these cases. A run ends with the first that does.
    fn fire(&self, cases: &[Case], options: &Options) -> Vec<Result<bool, CaseError>> {
        let trials: Vec<_> = cases.iter().map(|case| self.trial(case)).collect();
        let mut fired: Vec<Result<bool, CaseError>> = trials.iter().map(|_| Ok(false)).collect();
        let mut masks: Vec<u64> = trials.iter().flatten().map(|trial| trial.breaking).collect();
        masks.sort_unstable();
        masks.dedup();
        for mask in masks {
            let own = |trial: &&Trial| trial.breaking == mask;
            let problems: Vec<Problem> = trials.iter().flatten().filter(own).map(Trial::problem).collect();
            let options = Options {
                until_switched: mask,
                ..*options
            };
            let mut outcomes = in_workspace(|workspace| run_all(&problems, &options, workspace)).into_iter();
            for (fired, trial) in fired.iter_mut().zip(&trials) {
                if trial.as_ref().is_ok_and(|trial| trial.breaking == mask)
                    && let Some(outcome) = outcomes.next()
                {
                    let counts = outcome
                        .map(|outcome| outcome.switched)
                        .map_err(CaseError::Transient);
                    *fired = counts.map(|counts| any_of(&counts, mask));
                }
            }
        }
        for (fired, trial) in fired.iter_mut().zip(trials) {
            if let Err(error) = trial {
                *fired = Err(error);
            }
        }
        fired
    }
}

fn any_of(counts: &[u64], mask: u64) -> bool {
    let mut counts = counts.iter().take(64).enumerate();
    counts.any(|(k, &count)| mask >> k & 1 == 1 && count > 0)
}

/// A port and generator that are run until something fires.
struct Trial {
    equations: Equations,
    probes: Vec<Probe>,
    breakpoints_s: Vec<f64>,
    duration_s: f64,
    finest_s: f64,
    /// The breakover devices of the port, one bit each.
    breaking: u64,
}

impl Trial {
    fn problem(&self) -> Problem<'_> {
        Problem {
            equations: &self.equations,
            probes: &self.probes,
            levels: &[],
            breakpoints_s: &self.breakpoints_s,
            duration_s: self.duration_s,
            finest_s: self.finest_s,
        }
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
    let starts: Vec<Case> = starts
        .into_iter()
        .filter(|case| may_be_blind(ports, case))
        .collect();
    // Those of one kind are searched side by side.
    let mut found: Vec<(usize, Option<Case>)> = batches(&starts, rayon::current_num_threads())
        .into_par_iter()
        .flat_map(|numbers| {
            let own: Vec<Case> = numbers.iter().map(|&number| starts[number]).collect();
            let found = search(ports, &own, options);
            numbers.into_iter().zip(found).collect::<Vec<_>>()
        })
        .collect();
    found.sort_by_key(|(number, _)| *number);
    found.into_iter().filter_map(|(_, case)| case).collect()
}

/// Whether a ladder has a first stage that may or may not fire, and something behind it.
fn may_be_blind(ports: &Ports<'_>, case: &Case) -> bool {
    let study = ports.study();
    let Some(laws) = ports.laws(case) else {
        return false;
    };
    // With one stage there is nothing behind the blind spot but the pin, whose peak rises with the amplitude.
    if laws.len() < 2 && study.port.lines == 1 && laws.iter().all(|law| !matches!(law, Law::GasTube(_))) {
        return false;
    }
    laws.iter().any(|law| breaks_over(law)) && !(study.port.kind == PortKind::Ac && case.supply_v.is_some())
}

/// A search for the amplitude at which a first stage just does not fire.
struct Search {
    start: Case,
    /// Factors at which it does not fire, and at which it does.
    below: f64,
    above: f64,
    next: Next,
}

/// What is to be tried next.
enum Next {
    /// Whether it fires at all.
    Above,
    /// Whether it does not fire at the lowest amplitude.
    Below,
    /// The middle.
    Middle,
    /// Nothing: the case just below firing, if there is one. A trial that cannot be computed is handed on as a case: the
    /// run of it will say so, and the result is unknown.
    Nothing(Option<Case>),
}

impl Search {
    fn new(start: Case) -> Search {
        Search {
            start,
            below: 0.02 * start.factor,
            above: start.factor,
            next: Next::Above,
        }
    }

    fn at(&self, factor: f64) -> Case {
        Case {
            factor,
            tolerance: StressSet::BlindSpot,
            ..self.start
        }
    }

    /// The case to be tried next.
    fn trial(&self) -> Option<Case> {
        match self.next {
            Next::Above => Some(self.at(self.above)),
            Next::Below => Some(self.at(self.below)),
            Next::Middle => Some(self.at(0.5 * (self.above + self.below))),
            Next::Nothing(_) => None,
        }
    }

    fn learn(&mut self, tried: &Case, fired: Result<bool, CaseError>) {
        self.next = match (&self.next, fired) {
            (_, Err(_)) => Next::Nothing(Some(*tried)),
            (Next::Above, Ok(true)) => Next::Below,
            (Next::Above, Ok(false)) | (Next::Below, Ok(true)) => Next::Nothing(None),
            (_, Ok(true)) => {
                self.above = tried.factor;
                Next::Middle
            }
            (_, Ok(false)) => {
                self.below = tried.factor;
                Next::Middle
            }
        };
        if matches!(self.next, Next::Middle) && self.above - self.below <= 0.01 * self.above {
            self.next = Next::Nothing(Some(self.at(self.below)));
        }
    }
}

/// The case just below firing for each of these, if there is one.
fn search(ports: &Ports<'_>, starts: &[Case], options: &Options) -> Vec<Option<Case>> {
    let mut searches: Vec<Search> = starts.iter().map(|start| Search::new(*start)).collect();
    loop {
        let (numbers, trials): (Vec<usize>, Vec<Case>) = searches
            .iter()
            .enumerate()
            .filter_map(|(number, search)| Some((number, search.trial()?)))
            .unzip();
        if trials.is_empty() {
            break;
        }
        let fired = ports.fire(&trials, options);
        for ((number, tried), fired) in numbers.into_iter().zip(&trials).zip(fired) {
            searches[number].learn(tried, fired);
        }
    }
    let found = |search: Search| match search.next {
        Next::Nothing(case) => case,
        _ => None,
    };
    searches.into_iter().map(found).collect()
}
