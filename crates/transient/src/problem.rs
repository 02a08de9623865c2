//! What is integrated, how accurately, and what comes out.

use tidewall_devices::law::State;
use tidewall_ladder::{Equations, Probe};

use crate::audit::Audit;
use crate::peak::Extremes;
use crate::recording::Recording;

/// Accuracy and limits of the integrator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Relative error per step (default 1e-4). Smaller: more steps, about as the fourth root.
    pub relative: f64,
    /// Further error per step of what has receded, as a share of the distance between a state's size and the largest it
    /// has had (default 2e-5): accuracy is wanted where extremes are made, not where a ringing passes through zero or
    /// dies away.
    pub receding: f64,
    /// The same for states that are no pin's voltage, as long as the energy of the error is below that of what pins and
    /// devices are allowed (default 2e-4).
    pub passing: f64,
    /// Absolute error of a voltage in volts (default 0.5 mV).
    pub volts: f64,
    /// Absolute error of a current in amperes (default 0.5 mA).
    pub amps: f64,
    /// Absolute error of a temperature in kelvins (default 5 mK).
    pub kelvins: f64,
    /// Absolute error of a device's inner state (default 5e-5).
    pub inner: f64,
    /// Most steps, accepted and rejected, before the run is given up (default 2 000 000, some seconds: what a
    /// ladder of low-loss tracks and chip capacitances that rings at gigahertz takes in the worst of a million cases).
    pub max_steps: u64,
    /// Whether waveforms are kept.
    pub record: bool,
    /// Whether the currents of devices are kept, with their times, where nothing else is.
    pub device_currents: bool,
    /// The run ends as soon as one of these devices has changed its discrete state: bit `k` stands for device `k`, none
    /// for running to the end (default).
    pub until_switched: u64,
    /// A fixed step in seconds instead of error control, for convergence studies.
    pub fixed_step_s: Option<f64>,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            relative: 1e-4,
            receding: 2e-5,
            passing: 2e-4,
            volts: 5e-4,
            amps: 5e-4,
            kelvins: 5e-3,
            inner: 5e-5,
            max_steps: 2_000_000,
            record: false,
            device_currents: false,
            until_switched: 0,
            fixed_step_s: None,
        }
    }
}

impl Options {
    /// Options with the relative error `relative` and every absolute error scaled along.
    pub fn with_relative(relative: f64) -> Options {
        let base = Options::default();
        let factor = relative / base.relative;
        Options {
            relative,
            receding: base.receding * factor,
            passing: base.passing * factor,
            volts: base.volts * factor,
            amps: base.amps * factor,
            kelvins: base.kelvins * factor,
            inner: base.inner * factor,
            ..base
        }
    }
}

/// What the integrator did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counters {
    /// Accepted steps.
    pub steps: u64,
    /// Rejected steps.
    pub rejections: u64,
    /// Factorisations of the step matrix.
    pub factorisations: u64,
    /// Evaluations of the right-hand side.
    pub evaluations: u64,
    /// Changes of a device's discrete state.
    pub events: u64,
}

/// Why a transient could not be finished.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TransientError {
    /// The error control asks for a step below the resolution of the time.
    #[error("no convergence at {at_s:.6e} s: the step has shrunk to {step_s:.3e} s")]
    StepTooSmall {
        /// Time reached in seconds.
        at_s: f64,
        /// Step asked for in seconds.
        step_s: f64,
    },
    /// More steps than allowed.
    #[error("given up at {at_s:.6e} s after {steps} steps")]
    TooManySteps {
        /// Time reached in seconds.
        at_s: f64,
        /// Steps taken.
        steps: u64,
    },
    /// A device fires and goes out again and again, a hundred times and more, as it can where a capacitor or a choke feeds it
    /// by turns: a port that oscillates by itself for as long as the stress lasts.
    #[error(
        "`{device}` has changed its state {changes} times by {at_s:.3e} s, and no end of it: the port oscillates by itself"
    )]
    Oscillates {
        /// Time reached in seconds.
        at_s: f64,
        /// The device that changed its state most often.
        device: String,
        /// How often it did.
        changes: u64,
    },
    /// A device changes its state again and again without time passing.
    #[error("`{device}` changes its state without end at {at_s:.6e} s")]
    Chatter {
        /// Time reached in seconds.
        at_s: f64,
        /// The device.
        device: String,
    },
    /// The equations before the stress have no solution.
    #[error("the state before the stress has no solution")]
    NoInitialState,
}

/// What is to be integrated.
#[derive(Clone, Copy, Debug)]
pub struct Problem<'a> {
    /// The equations.
    pub equations: &'a Equations,
    /// Voltages to watch.
    pub probes: &'a [Probe],
    /// Levels whose exceedance is timed: probe number and volts; a negative level counts below it.
    pub levels: &'a [(usize, f64)],
    /// Instants at which a source has a corner, rising.
    pub breakpoints_s: &'a [f64],
    /// End of the run in seconds.
    pub duration_s: f64,
    /// Shortest time scale of the stress in seconds.
    pub finest_s: f64,
}

/// Extremes of a probe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProbeOutcome {
    /// Extremes of the voltage in volts.
    pub volts: Extremes,
}

/// What one element went through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ElementOutcome {
    /// Extremes of the voltage across it in volts.
    pub volts: Extremes,
    /// Extremes of the current in amperes.
    pub amps: Extremes,
    /// Voltage across it at the instant of the largest sampled current, in volts.
    pub volts_at_peak_current: f64,
    /// Energy turned into heat in joules.
    pub energy_j: f64,
    /// Integral of the squared current in A²s.
    pub i2t_a2s: f64,
    /// Integral of the size of the current in coulombs.
    pub charge_c: f64,
    /// Highest junction temperature in °C; `None` for elements without a junction.
    pub peak_junction_c: Option<f64>,
    /// Current at the end of the run in amperes.
    pub final_a: f64,
    /// Voltage at the end of the run in volts.
    pub final_v: f64,
}

/// The result of one transient.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// One per probe.
    pub probes: Vec<ProbeOutcome>,
    /// One per element, numbered as in [`Equations::element_name`].
    pub elements: Vec<ElementOutcome>,
    /// Time in seconds spent beyond each level of [`Problem::levels`].
    pub beyond_s: Vec<f64>,
    /// How often each device changed its discrete state.
    pub switched: Vec<u64>,
    /// When each device last did, in seconds; zero if it never did.
    pub last_switch_s: Vec<f64>,
    /// Discrete state of each device at the end.
    pub final_states: Vec<State>,
    /// State vector at the end.
    pub final_y: Vec<f64>,
    /// Energy audit.
    pub audit: Audit,
    /// Counters.
    pub counters: Counters,
    /// Waveforms, if asked for; of devices' currents alone, if only these were.
    pub recording: Option<Recording>,
}
