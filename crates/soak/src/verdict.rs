//! Running a case, and what is wrong with the result.

use serde::{Deserialize, Serialize};
use tidewall_ladder::Equations;
use tidewall_transient::{Options, Outcome, Problem, TransientError, Workspace, run};

use crate::case::Case;

/// What can go wrong with a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The draw makes no circuit: a defect of the draws.
    Refused,
    /// The step has shrunk to nothing.
    NoConvergence,
    /// More steps than allowed.
    TooManySteps,
    /// The port oscillates by itself until the steps run out, and the error says so.
    Oscillates,
    /// A part changes its state without end.
    Chatter,
    /// No state to begin with.
    NoInitialState,
    /// The energy balance does not close.
    Audit,
    /// A result is not a finite number.
    NotFinite,
    /// The program itself fell over.
    Panic,
}

/// A failed case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Failure {
    /// Number of the case.
    pub number: u64,
    /// What went wrong.
    pub kind: Kind,
    /// In words, with the stress.
    pub text: String,
}

/// A case that went well.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    /// Residual of the energy audit.
    pub residual: f64,
    /// Steps, accepted and rejected.
    pub steps: u64,
    /// Changes of discrete state.
    pub events: u64,
}

/// Why a case has no outcome.
#[derive(Clone, Debug, PartialEq)]
pub struct Stopped {
    /// What went wrong.
    pub kind: Kind,
    /// In words.
    pub text: String,
    /// Time reached in seconds.
    pub at_s: f64,
}

/// Runs a case with these options.
///
/// # Errors
/// Why there is no outcome.
pub fn attempt(case: &Case, options: &Options) -> Result<Outcome, Stopped> {
    let refused = |error: tidewall_ladder::LadderError| Stopped {
        kind: Kind::Refused,
        text: error.to_string(),
        at_s: 0.0,
    };
    let assembly = case.port.assemble(&case.network).map_err(refused)?;
    let equations = Equations::new(assembly.circuit).map_err(refused)?;
    let breakpoints = case.network.breakpoints_s();
    let problem = Problem {
        equations: &equations,
        probes: &assembly.probes,
        levels: &[],
        breakpoints_s: &breakpoints,
        duration_s: case.network.duration_s,
        finest_s: case.network.finest_s,
    };
    run(&problem, options, &mut Workspace::new(&equations)).map_err(|error| {
        let (kind, at_s) = match error {
            TransientError::StepTooSmall { at_s, .. } => (Kind::NoConvergence, at_s),
            TransientError::TooManySteps { at_s, .. } => (Kind::TooManySteps, at_s),
            TransientError::Oscillates { at_s, .. } => (Kind::Oscillates, at_s),
            TransientError::Chatter { at_s, .. } => (Kind::Chatter, at_s),
            TransientError::NoInitialState => (Kind::NoInitialState, 0.0),
        };
        Stopped {
            kind,
            text: error.to_string(),
            at_s,
        }
    })
}

/// Draws and runs case `number` with the options of an assessment.
///
/// # Errors
/// What is wrong with it.
pub fn verdict(number: u64) -> Result<Verdict, Failure> {
    let failure = |kind, text: String| Failure { number, kind, text };
    let case = Case::new(number).map_err(|refused| failure(Kind::Refused, refused.to_string()))?;
    let about = |text: String| format!("{text} ({})", case.stress);
    let outcome =
        attempt(&case, &Options::default()).map_err(|stopped| failure(stopped.kind, about(stopped.text)))?;
    if !outcome.audit.holds() {
        return Err(failure(Kind::Audit, about(format!("{:?}", outcome.audit))));
    }
    let probes = outcome
        .probes
        .iter()
        .flat_map(|probe| [probe.volts.max, probe.volts.min]);
    let elements = outcome.elements.iter().flat_map(|element| {
        let junction = element.peak_junction_c.unwrap_or(0.0);
        [
            element.volts.size(),
            element.amps.size(),
            element.energy_j,
            element.i2t_a2s,
            element.charge_c,
            junction,
            element.final_a,
            element.final_v,
        ]
    });
    if probes.chain(elements).any(|value| !value.is_finite()) {
        return Err(failure(
            Kind::NotFinite,
            about("a value that is not finite".into()),
        ));
    }
    Ok(Verdict {
        residual: outcome.audit.residual,
        steps: outcome.counters.steps + outcome.counters.rejections,
        events: outcome.counters.events,
    })
}
