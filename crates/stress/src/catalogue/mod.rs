//! The standards: from what a study states to a disturbance.
//!
//! Nothing that changes the number is chosen in silence: a request that leaves it open is an error that says
//! what is missing. What a standard fixes is filled in, and [`Disturbance::sources`] says from where.

mod request;

pub use request::{PortUse, RequestError, StressRequest};

use crate::network::Network;

/// How well a number is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mark {
    /// Read in a source that was at hand.
    Seen,
    /// Recalled from the named standard, not read again.
    Memory,
    /// Worked out.
    Derived,
    /// Common practice, no source.
    CommonPractice,
}

/// Where a number comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceNote {
    /// What it is about ("level", "generator").
    pub what: String,
    /// The source in a few words.
    pub source: String,
    /// How well it is known.
    pub mark: Mark,
}

impl SourceNote {
    pub(crate) fn new(what: impl Into<String>, source: impl Into<String>, mark: Mark) -> Self {
        SourceNote {
            what: what.into(),
            source: source.into(),
            mark,
        }
    }
}

/// Sign of an impulse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sign {
    /// As the network stands.
    Positive,
    /// The network times minus one.
    Negative,
}

impl Sign {
    /// `1.0` or `−1.0`: the factor for [`Network::scaled`].
    pub fn factor(self) -> f64 {
        match self {
            Sign::Positive => 1.0,
            Sign::Negative => -1.0,
        }
    }
}

/// A train of bursts, for average power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BurstTrain {
    /// Pulses in one burst.
    pub pulses_per_burst: u32,
    /// Rate within a burst in hertz.
    pub repetition_hz: f64,
    /// From the start of one burst to that of the next, in seconds.
    pub period_s: f64,
    /// How long bursts go on for each polarity, in seconds.
    pub lasts_s: f64,
}

impl BurstTrain {
    /// Average number of pulses a second.
    pub fn average_rate_hz(&self) -> f64 {
        f64::from(self.pulses_per_burst) / self.period_s
    }
}

/// By how much the amplitude of a conforming generator may lie off nominal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AmplitudeTolerance {
    /// Below nominal, as a share (0.1 for −10 %).
    pub below: f64,
    /// Above nominal, as a share.
    pub above: f64,
}

impl AmplitudeTolerance {
    /// The same share to both sides.
    pub const fn symmetrical(share: f64) -> Self {
        AmplitudeTolerance {
            below: share,
            above: share,
        }
    }
}

/// A standard disturbance, ready to be joined to a port.
#[derive(Clone, Debug, PartialEq)]
pub struct Disturbance {
    /// What it is, in a line ("IEC 61000-4-2 contact discharge, 8 kV").
    pub title: String,
    /// Canonical name of the standard.
    pub standard: &'static str,
    /// Generator and coupling, positive polarity, nominal level.
    pub network: Network,
    /// The polarities to be run.
    pub polarities: Vec<Sign>,
    /// Impulses of each polarity.
    pub impulses_per_polarity: u32,
    /// Time from one impulse to the next in seconds.
    pub interval_s: f64,
    /// The train, where impulses come in bursts.
    pub train: Option<BurstTrain>,
    /// Tolerance of the generator's amplitude; `None` where it is not known.
    pub amplitude_tolerance: Option<AmplitudeTolerance>,
    /// True where the port's own supply is disconnected while the disturbance lasts.
    pub supply_interrupted: bool,
    /// Nominal open-circuit peak of one driven conductor in volts.
    pub open_circuit_peak_v: f64,
    /// Nominal peak current of one driven conductor into a short, in amperes.
    pub short_circuit_peak_a: f64,
    /// Nominal source impedance of one driven conductor in ohms: the quotient of the two.
    pub effective_ohm: f64,
    /// Where the numbers come from.
    pub sources: Vec<SourceNote>,
}

/// The names of [`StressRequest::standard`].
pub const STANDARDS: [&str; 17] = [
    "IEC 61000-4-2",
    "ISO 10605",
    "HBM",
    "TLP",
    "IEC 61000-4-4",
    "IEC 61000-4-5",
    "IEC 61000-4-12",
    "ISO 7637-2",
    "ISO 16750-2",
    "ITU-T K.20",
    "ITU-T K.21",
    "ITU-T K.45",
    "TIA-968",
    "GR-1089",
    "DO-160",
    "impulse",
    "samples",
];

/// The disturbance that `request` states.
///
/// # Errors
/// [`RequestError`] names the field that is missing, not known, out of range or not used by the standard.
pub fn disturbance(request: &StressRequest) -> Result<Disturbance, RequestError> {
    Err(RequestError::new(
        "standard",
        format!("`{}` is not known", request.standard.trim()),
        STANDARDS,
        "",
    ))
}
