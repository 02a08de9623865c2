//! Running the corners.

use std::cell::RefCell;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use rayon::prelude::*;
use tidewall_devices::build::MissingDatum;
use tidewall_devices::law::Mode;
use tidewall_devices::rating::PulseShape;
use tidewall_devices::{Law, Protector};
use tidewall_ladder::port::Assembly;
use tidewall_ladder::{Equations, LadderError, Port, ProbeRole, Side};
use tidewall_stress::Network;
use tidewall_study::Study;
use tidewall_transient::{Options, Outcome, Problem, TransientError, Workspace, run, run_all};

use crate::build::{self, BuiltPort};
use crate::checks::{self, Context};
use crate::corners::Case;
use crate::memo::{self, Key, Memo};
use crate::result::{CheckResult, Corner, PartSet};
use crate::shape::shape_of;

/// Why a corner has no result.
#[derive(Clone, Debug, PartialEq)]
pub enum CaseError {
    /// A part lacks a datum.
    Missing(MissingDatum),
    /// The circuit has no solution.
    Ladder(LadderError),
    /// The integration was given up.
    Transient(TransientError),
    /// Nobody waits for the result any more.
    Cancelled,
}

impl std::fmt::Display for CaseError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            CaseError::Missing(error) => error.fmt(f),
            CaseError::Ladder(error) => error.fmt(f),
            CaseError::Transient(error) => error.fmt(f),
            CaseError::Cancelled => f.write_str("the run was cancelled"),
        }
    }
}

/// One corner with its transient.
#[derive(Clone, Debug)]
pub struct CaseOutcome {
    /// The corner.
    pub case: Case,
    /// The port that was run.
    pub port: Port,
    /// Rise in kelvins that each shunt's own pulse rating means in its thermal model.
    pub rated_rises_k: Vec<(String, Option<f64>)>,
    /// Circuit and places to look at.
    pub assembly: Assembly,
    /// Names of all elements.
    pub names: Vec<String>,
    /// Levels that were timed: probe number and volts.
    pub levels: Vec<(usize, f64)>,
    /// Shape of the current of each protector of the port; `None` for other elements and where no current flows.
    pub shapes: Vec<Option<PulseShape>>,
    /// End of the run in seconds.
    pub duration_s: f64,
    /// The result; its recording is kept only when asked for.
    pub outcome: Outcome,
}

impl CaseOutcome {
    /// Number of an element of the ladder or pin by name; a generator's element of the same name is not it.
    pub fn element(&self, name: &str) -> Option<usize> {
        self.assembly
            .elements
            .iter()
            .copied()
            .find(|&element| self.names[element] == name)
    }

    /// Number of a device of the port by name.
    fn device(&self, name: &str) -> Option<usize> {
        let devices = &self.assembly.circuit.devices;
        devices
            .iter()
            .position(|device| device.side == Side::Port && device.name == name)
    }

    /// The protector of a shunt by name.
    pub fn protector(&self, name: &str) -> Option<&Protector> {
        self.port.stages.iter().find_map(|stage| match stage {
            tidewall_ladder::Stage::Shunt(shunt) if shunt.name == name => Some(&shunt.protector),
            _ => None,
        })
    }

    /// Whether an element has a thermal model, so that its junction temperature says something.
    pub fn has_junction(&self, element: usize) -> bool {
        self.protector(&self.names[element])
            .is_some_and(|protector| !protector.thermal.is_empty())
    }

    /// Discrete state of a device at the end of the run, and when it last changed, in seconds.
    pub fn final_mode(&self, name: &str) -> Option<(Mode, f64)> {
        let device = self.device(name)?;
        let state = self.outcome.final_states.get(device)?;
        Some((state.mode, self.outcome.last_switch_s[device]))
    }

    /// True if a device changed its discrete state in the run.
    pub fn has_switched(&self, name: &str) -> bool {
        self.device(name)
            .is_some_and(|device| self.outcome.switched[device] > 0)
    }

    /// True if some gas tube or breakover device of the port itself (not of the coupling network) has fired.
    pub fn fired(&self) -> bool {
        let devices = self.assembly.circuit.devices.iter().zip(&self.outcome.switched);
        devices
            .into_iter()
            .any(|(device, &switched)| device.side == Side::Port && breaks_over(&device.law) && switched > 0)
    }
}

/// True for a law that breaks down to a lower voltage than the one that triggers it.
pub fn breaks_over(law: &Law) -> bool {
    matches!(law, Law::GasTube(_) | Law::Crowbar(_))
}

/// Levels to be timed at each pin probe: the withstand levels of the study and where its margin to each begins.
fn levels(study: &Study, assembly: &Assembly) -> Vec<(usize, f64)> {
    let mut levels = Vec::new();
    for (probe, spec) in assembly.probes.iter().enumerate() {
        let pair = study.port.lines == 2;
        let lists: Vec<&[tidewall_study::Withstand]> = match spec.role {
            ProbeRole::PinPair => vec![&study.pin.withstand, &study.pin.negative_withstand],
            ProbeRole::Pin(_) if pair => vec![&study.pin.withstand_common],
            ProbeRole::Pin(_) => vec![&study.pin.withstand, &study.pin.negative_withstand],
            _ => Vec::new(),
        };
        for withstand in lists.into_iter().flatten() {
            for level in [withstand.voltage_v, near(withstand.voltage_v, study.margin)] {
                // On a pair either sign may count. Each level is timed once, however often the lists hold it.
                let signs: &[f64] = if pair { &[1.0, -1.0] } else { &[1.0] };
                for sign in signs {
                    if !levels.contains(&(probe, sign * level)) {
                        levels.push((probe, sign * level));
                    }
                }
            }
        }
    }
    levels
}

/// Where the study's margin to a level begins, in volts.
pub fn near(level_v: f64, margin: f64) -> f64 {
    level_v * (1.0 - margin)
}

/// The generator of a case: amplitude and polarity applied, decoupling of an alternating supply kept.
pub fn network(study: &Study, case: &Case) -> Network {
    study.stresses[case.stress]
        .disturbance
        .network
        .scaled(case.factor * case.sign.factor())
}

/// Runs one corner.
pub fn simulate(study: &Study, case: &Case, options: &Options) -> Result<CaseOutcome, CaseError> {
    let ready = ready(study, case, &built(study, case))?;
    let outcome = in_workspace(|workspace| run(&ready.problem(), &recorded(options), workspace));
    ready.finish(outcome, options)
}

/// The port of a case before its supply, or what its models lack.
pub(crate) type Built = Result<BuiltPort, MissingDatum>;

fn built(study: &Study, case: &Case) -> Built {
    build::port(study, case.ambient_c, case.parts)
}

/// The port of some corners, and the digest of it.
struct Slot {
    ambient_c: f64,
    parts: PartSet,
    built: OnceLock<Built>,
    digest: OnceLock<Key>,
}

/// The ports of a study's corners, each built when it is first asked for. Models take milliseconds to build and depend
/// on ambient and part tolerances alone, so cases that differ in stress, polarity or supply share one.
pub struct Ports<'s> {
    study: &'s Study,
    slots: Vec<Slot>,
    memo: Option<&'s Memo>,
    cancel: Option<&'s AtomicBool>,
    /// Digest of the generator of each stress.
    networks: Vec<OnceLock<Key>>,
}

impl<'s> Ports<'s> {
    /// Room for the ports of these cases.
    pub fn new(study: &'s Study, cases: &[Case]) -> Ports<'s> {
        let mut slots: Vec<Slot> = Vec::new();
        for case in cases {
            if !slots.iter().any(|slot| slot.is_of(case)) {
                slots.push(Slot {
                    ambient_c: case.ambient_c,
                    parts: case.parts,
                    built: OnceLock::new(),
                    digest: OnceLock::new(),
                });
            }
        }
        Ports {
            study,
            slots,
            memo: None,
            cancel: None,
            networks: study.stresses.iter().map(|_| OnceLock::new()).collect(),
        }
    }

    /// The same, with transients taken from and kept in a memo, and cases given up once `cancel` is set.
    #[must_use]
    pub fn live(self, memo: &'s Memo, cancel: &'s AtomicBool) -> Ports<'s> {
        Ports {
            memo: Some(memo),
            cancel: Some(cancel),
            ..self
        }
    }

    /// The same with another memo.
    #[must_use]
    pub(crate) fn with_memo(self, memo: &'s Memo) -> Ports<'s> {
        Ports {
            memo: Some(memo),
            ..self
        }
    }

    /// The study.
    pub(crate) fn study(&self) -> &'s Study {
        self.study
    }

    fn slot(&self, case: &Case) -> Option<&Slot> {
        self.slots.iter().find(|slot| slot.is_of(case))
    }

    pub(crate) fn port(&self, case: &Case) -> Option<&Built> {
        Some(self.slot(case)?.built(self.study))
    }

    /// Runs a case.
    pub(crate) fn run(&self, case: &Case, options: &Options) -> Result<CaseOutcome, CaseError> {
        let result = self.run_some(std::slice::from_ref(case), options).pop();
        result.unwrap_or(Err(CaseError::Cancelled))
    }

    /// Runs cases on this thread, those whose circuits differ by numbers alone side by side.
    fn run_some(&self, cases: &[Case], options: &Options) -> Vec<Result<CaseOutcome, CaseError>> {
        let prepared: Vec<Prepared> = cases.iter().map(|case| self.prepare(case, options)).collect();
        let mut results = integrate(&prepared, options).into_iter();
        prepared
            .into_iter()
            .map(|prepared| match prepared {
                Prepared::Known(result) => *result,
                Prepared::Ready(ready, key) => {
                    // There is one result for each case that is ready.
                    let outcome = ready.finish(results.next().ok_or(CaseError::Cancelled)?, options)?;
                    if let (Some(memo), Some(key)) = (self.memo, key) {
                        memo.put(key, &outcome);
                    }
                    Ok(outcome)
                }
            })
            .collect()
    }

    /// All that a case needs to be run, or its result where that is known; one whose corner was not announced to
    /// [`Ports::new`] gets a port of its own.
    fn prepare(&self, case: &Case, options: &Options) -> Prepared {
        if self.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed)) {
            return Prepared::Known(Box::new(Err(CaseError::Cancelled)));
        }
        let Some(slot) = self.slot(case) else {
            return Prepared::of(ready(self.study, case, &built(self.study, case)), None);
        };
        let built = slot.built(self.study);
        let (Some(memo), Ok(port)) = (self.memo, built) else {
            return Prepared::of(ready(self.study, case, built), None);
        };
        let network = self.networks[case.stress]
            .get_or_init(|| memo::digest(&self.study.stresses[case.stress].disturbance.network));
        let supply = build::supply(self.study, case.supply_v);
        let key = memo::digest(&(
            slot.digest.get_or_init(|| memo::digest(&port.port)),
            network,
            (case.factor, case.sign, supply, options),
        ));
        let known = memo.get(&key, |outcome| levels(self.study, &outcome.assembly));
        if let Some(mut outcome) = known {
            outcome.case = *case;
            outcome.rated_rises_k.clone_from(&port.rated_rises_k);
            return Prepared::Known(Box::new(Ok(outcome)));
        }
        Prepared::of(ready(self.study, case, built), Some(key))
    }
}

/// A case before its transient.
enum Prepared {
    /// Its result, which needs none.
    Known(Box<Result<CaseOutcome, CaseError>>),
    /// What is to be run, and under which key it is to be kept.
    Ready(Box<Ready>, Option<Key>),
}

impl Prepared {
    fn of(ready: Result<Ready, CaseError>, key: Option<Key>) -> Prepared {
        match ready {
            Ok(ready) => Prepared::Ready(Box::new(ready), key),
            Err(error) => Prepared::Known(Box::new(Err(error))),
        }
    }
}

/// Results of those cases that are ready to run, in their order.
fn integrate(prepared: &[Prepared], options: &Options) -> Vec<Result<Outcome, TransientError>> {
    let mut problems: Vec<Problem> = Vec::new();
    for prepared in prepared {
        if let Prepared::Ready(ready, _) = prepared {
            problems.push(ready.problem());
        }
    }
    in_workspace(|workspace| run_all(&problems, &recorded(options), workspace))
}

impl Slot {
    fn is_of(&self, case: &Case) -> bool {
        self.ambient_c == case.ambient_c && self.parts == case.parts
    }

    fn built(&self, study: &Study) -> &Built {
        self.built
            .get_or_init(|| build::port(study, self.ambient_c, self.parts))
    }
}

/// The port of a case with its supply, joined to the generator.
fn ready(study: &Study, case: &Case, built: &Built) -> Result<Ready, CaseError> {
    let built = built
        .as_ref()
        .map_err(|missing| CaseError::Missing(missing.clone()))?;
    let port = Port {
        supply: build::supply(study, case.supply_v),
        ..built.port.clone()
    };
    Ready::new(study, case, port, &built.rated_rises_k, &network(study, case))
}

/// The options of an assessment: currents of devices are needed to judge their pulses.
fn recorded(options: &Options) -> Options {
    Options {
        device_currents: true,
        ..*options
    }
}

/// Gives `job` a workspace. Each thread keeps one, because the corners of a port mostly share the order of elimination,
/// which follows from the pattern of the equations alone and not from what was run before.
pub(crate) fn in_workspace<T>(job: impl FnOnce(&mut Workspace) -> T) -> T {
    thread_local! {
        static KEPT: RefCell<Workspace> = RefCell::default();
    }
    let mut workspace = KEPT.take();
    let result = job(&mut workspace);
    KEPT.set(workspace);
    result
}

/// Runs a port, with its supply, against a generator.
pub(crate) fn run_port(
    study: &Study,
    case: &Case,
    port: Port,
    rated_rises_k: &[(String, Option<f64>)],
    network: &Network,
    options: &Options,
) -> Result<CaseOutcome, CaseError> {
    let ready = Ready::new(study, case, port, rated_rises_k, network)?;
    let outcome = in_workspace(|workspace| run(&ready.problem(), &recorded(options), workspace));
    ready.finish(outcome, options)
}

/// A corner with its equations, ready to run.
struct Ready {
    case: Case,
    port: Port,
    rated_rises_k: Vec<(String, Option<f64>)>,
    assembly: Assembly,
    equations: Equations,
    levels: Vec<(usize, f64)>,
    breakpoints_s: Vec<f64>,
    duration_s: f64,
    finest_s: f64,
}

impl Ready {
    fn new(
        study: &Study,
        case: &Case,
        port: Port,
        rated_rises_k: &[(String, Option<f64>)],
        network: &Network,
    ) -> Result<Ready, CaseError> {
        let assembly = port.assemble(network).map_err(CaseError::Ladder)?;
        let equations = Equations::new(assembly.circuit.clone()).map_err(CaseError::Ladder)?;
        Ok(Ready {
            case: *case,
            port,
            rated_rises_k: rated_rises_k.to_vec(),
            levels: levels(study, &assembly),
            assembly,
            equations,
            breakpoints_s: network.breakpoints_s(),
            duration_s: network.duration_s,
            finest_s: network.finest_s,
        })
    }

    fn problem(&self) -> Problem<'_> {
        Problem {
            equations: &self.equations,
            probes: &self.assembly.probes,
            levels: &self.levels,
            breakpoints_s: &self.breakpoints_s,
            duration_s: self.duration_s,
            finest_s: self.finest_s,
        }
    }

    /// The case with its transient.
    fn finish(
        self,
        outcome: Result<Outcome, TransientError>,
        options: &Options,
    ) -> Result<CaseOutcome, CaseError> {
        let mut outcome = outcome.map_err(CaseError::Transient)?;
        let (assembly, equations) = (self.assembly, self.equations);
        let mut shapes = vec![None; equations.elements()];
        if let Some(recording) = &outcome.recording {
            let devices = assembly.elements.iter().filter_map(|&element| {
                let device = element.checked_sub(assembly.circuit.branches.len())?;
                (!assembly.pin_elements.contains(&element)).then_some((element, device))
            });
            for (element, device) in devices {
                let one_sided = assembly.circuit.devices[device].law.is_one_sided();
                let extremes = outcome.elements[element].amps;
                let peak_a = if one_sided { extremes.max } else { extremes.size() };
                let amps = &recording.elements_a[element];
                shapes[element] = shape_of(&recording.times_s, amps, one_sided, peak_a);
            }
        }
        if !options.record {
            outcome.recording = None;
        }
        let names = (0..equations.elements())
            .map(|k| equations.element_name(k).to_owned())
            .collect();
        Ok(CaseOutcome {
            case: self.case,
            port: self.port,
            rated_rises_k: self.rated_rises_k,
            assembly,
            names,
            levels: self.levels,
            shapes,
            duration_s: self.duration_s,
            outcome,
        })
    }
}

/// Runs every corner on all threads; results stand in the order of the cases, whatever the threads did.
///
/// `progress` is called with the number of finished corners.
pub fn simulate_all(
    ports: &Ports<'_>,
    cases: &[Case],
    options: &Options,
    progress: &(dyn Fn(usize) + Sync),
) -> Vec<Result<CaseOutcome, CaseError>> {
    let done = AtomicUsize::new(0);
    let batches = batches(cases, rayon::current_num_threads());
    let run = |numbers: Vec<usize>| {
        let own: Vec<Case> = numbers.iter().map(|&number| cases[number]).collect();
        let results = ports.run_some(&own, options);
        for _ in &results {
            progress(done.fetch_add(1, Ordering::Relaxed) + 1);
        }
        numbers.into_iter().zip(results).collect::<Vec<_>>()
    };
    let parts: Vec<Vec<(usize, Result<CaseOutcome, CaseError>)>> = batches.into_par_iter().map(run).collect();
    let mut placed = parts.into_iter().flatten().collect::<Vec<_>>();
    placed.sort_by_key(|(number, _)| *number);
    placed.into_iter().map(|(_, result)| result).collect()
}

/// Numbers of cases that are run in one go: those whose circuits are alike but for numbers, enough of them to fill a
/// bundle and not so many that a thread has nothing to do. What comes of a case does not depend on its batch.
pub(crate) fn batches(cases: &[Case], threads: usize) -> Vec<Vec<usize>> {
    /// Fewest and most cases of a batch, where there are so many.
    const FEWEST: usize = 16;
    const MOST: usize = 64;
    let mut kinds: Vec<((usize, bool), Vec<usize>)> = Vec::new();
    for (number, case) in cases.iter().enumerate() {
        let kind = (case.stress, case.supply_v.is_some());
        match kinds.iter_mut().find(|known| known.0 == kind) {
            Some((_, numbers)) => numbers.push(number),
            None => kinds.push((kind, vec![number])),
        }
    }
    let size = cases.len().div_ceil(2 * threads.max(1)).clamp(FEWEST, MOST);
    let split = |numbers: Vec<usize>| -> Vec<Vec<usize>> {
        // Batches of one kind are of one size.
        let parts = numbers.len().div_ceil(size);
        let each = numbers.len().div_ceil(parts.max(1)).max(1);
        numbers.chunks(each).map(<[usize]>::to_vec).collect()
    };
    kinds
        .into_iter()
        .flat_map(|(_, numbers)| split(numbers))
        .collect()
}

/// Runs corners on this thread.
pub fn simulate_in_turn(
    ports: &Ports<'_>,
    cases: &[Case],
    options: &Options,
) -> Vec<Result<CaseOutcome, CaseError>> {
    ports.run_some(cases, options)
}

/// Finished corners: those with a result, and those without.
#[derive(Debug, Default)]
pub struct Runs {
    /// Results, in the order of the corners.
    pub outcomes: Vec<CaseOutcome>,
    /// Corner, id of the stress and reason of each corner without a result.
    pub failures: Vec<(Corner, String, CaseError)>,
}

impl Runs {
    /// Parts the results of these corners.
    pub fn of(study: &Study, cases: &[Case], results: Vec<Result<CaseOutcome, CaseError>>) -> Runs {
        let mut runs = Runs::default();
        for (case, result) in cases.iter().zip(results) {
            match result {
                Ok(outcome) => runs.outcomes.push(outcome),
                Err(error) => {
                    let stress = study.stresses[case.stress].id.clone();
                    runs.failures.push((case.corner(), stress, error));
                }
            }
        }
        runs
    }

    /// Every check of the study at these corners, worst first.
    pub fn checks(&self, study: &Study) -> Vec<CheckResult> {
        let context = Context {
            study,
            outcomes: &self.outcomes,
        };
        checks::all(&context, &self.failures)
    }
}
