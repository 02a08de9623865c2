//! The standards: from what a study states to a disturbance.
//!
//! Nothing that changes the number is chosen in silence: a request that leaves it open is an error that says
//! what is missing. What a standard fixes is filled in, and [`Disturbance::sources`] says from where.

mod automotive;
mod burst;
mod discharge;
mod impulse;
pub mod levels;
mod listed;
mod request;
mod ring;
mod surge;
mod telecom;

pub use levels::{LongLevel, long_levels};
pub use listed::listed_levels;
pub use request::{PortUse, RequestError, StressRequest};

use request::normalised;

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
    /// Impulses of each polarity; `None` where neither the standard nor the study says.
    pub impulses_per_polarity: Option<u32>,
    /// Shortest time from one impulse (or burst train) to the next in seconds; `None` where neither the
    /// standard nor the study says.
    pub interval_s: Option<f64>,
    /// The train, where impulses come in bursts.
    pub train: Option<BurstTrain>,
    /// Tolerance of the generator's amplitude; `None` where it is not known.
    pub amplitude_tolerance: Option<AmplitudeTolerance>,
    /// True where the port's own supply is disconnected while the disturbance lasts.
    pub supply_interrupted: bool,
    /// Nominal open-circuit peak of one driven conductor in volts.
    pub open_circuit_peak_v: f64,
    /// Nominal peak current of each driven conductor with all of them shorted, in amperes.
    pub short_circuit_peak_a: f64,
    /// Nominal source impedance in ohms seen by each driven conductor: the quotient of the two.
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

impl Disturbance {
    /// A disturbance of both parts that every standard has; the rest is filled in by the standard's module.
    fn new(standard: &'static str, title: String, network: Network, peaks: Peaks) -> Self {
        Disturbance {
            title,
            standard,
            network,
            polarities: Vec::new(),
            impulses_per_polarity: None,
            interval_s: None,
            train: None,
            amplitude_tolerance: None,
            supply_interrupted: false,
            open_circuit_peak_v: peaks.open_circuit_v,
            short_circuit_peak_a: peaks.short_circuit_a,
            effective_ohm: peaks.open_circuit_v / peaks.short_circuit_a,
            sources: Vec::new(),
        }
    }

    fn repeated(mut self, impulses_per_polarity: u32, interval_s: f64) -> Self {
        self.impulses_per_polarity = Some(impulses_per_polarity);
        self.interval_s = Some(interval_s);
        self
    }

    fn within(mut self, tolerance: AmplitudeTolerance) -> Self {
        self.amplitude_tolerance = Some(tolerance);
        self
    }

    fn with_polarities(mut self, polarities: Vec<Sign>) -> Self {
        self.polarities = polarities;
        self
    }

    fn sourced(mut self, what: &str, source: &str, mark: Mark) -> Self {
        self.sources.push(SourceNote::new(what, source, mark));
        self
    }
}

/// Nominal peaks of one driven conductor.
#[derive(Clone, Copy)]
struct Peaks {
    open_circuit_v: f64,
    short_circuit_a: f64,
}

impl Peaks {
    fn behind(open_circuit_v: f64, ohm: f64) -> Self {
        Peaks {
            open_circuit_v,
            short_circuit_a: open_circuit_v / ohm,
        }
    }
}

/// The disturbance that `request` states.
///
/// # Errors
/// [`RequestError`] names the field that is missing, not known, out of range or not used by the standard.
pub fn disturbance(request: &StressRequest) -> Result<Disturbance, RequestError> {
    type Builder = fn(&StressRequest) -> Result<Disturbance, RequestError>;
    let builders: [Builder; 17] = [
        discharge::iec_61000_4_2,
        discharge::iso_10605,
        discharge::human_body_model,
        discharge::transmission_line_pulse,
        burst::iec_61000_4_4,
        surge::iec_61000_4_5,
        ring::iec_61000_4_12,
        automotive::iso_7637_2,
        automotive::iso_16750_2,
        telecom::itu_k20,
        telecom::itu_k21,
        telecom::itu_k45,
        telecom::tia_968,
        telecom::gr_1089,
        ring::do_160,
        impulse::impulse,
        impulse::samples,
    ];
    let name = normalised(&request.standard);
    // The national forms of the basic standards carry the same numbers.
    let name = match name.strip_prefix("en") {
        Some(rest) if rest.starts_with("61000") || rest.starts_with("iec") => {
            format!("iec{}", rest.trim_start_matches("iec"))
        }
        _ => name,
    };
    let mut found = STANDARDS
        .iter()
        .position(|standard| normalised(standard) == name)
        .or_else(|| {
            ALIASES
                .iter()
                .find(|alias| normalised(alias.0) == name)
                .map(|alias| alias.1)
        })
        .and_then(|index| builders.get(index))
        .map(|builder| request.line_count().and_then(|_| builder(request)))
        .unwrap_or_else(|| {
            let message = if name.is_empty() {
                "missing".to_owned()
            } else {
                format!("`{}` is not known", request.standard.trim())
            };
            Err(RequestError::new(
                "standard",
                message,
                STANDARDS,
                "any front and tail: `impulse`; a recorded waveform: `samples`",
            ))
        })?;
    if let Some(count) = request.count {
        if count == 0 {
            return Err(RequestError::new("count", "zero impulses", ["1 or more"], ""));
        }
        found.impulses_per_polarity = Some(count);
    }
    if request.interval_s.is_some() {
        let interval_s = StressRequest::number(
            "interval_s",
            request.interval_s,
            (1e-9, 1e7),
            "a time above zero",
            "",
        )?;
        found.interval_s = Some(interval_s);
    }
    Ok(found)
}

/// Other names, and their places in [`STANDARDS`] (numerical choice).
const ALIASES: [(&str, usize); 9] = [
    ("ANSI/ESDA/JEDEC JS-001", 2),
    ("JS-001", 2),
    ("ANSI/ESD STM5.5.1", 3),
    ("IEC 62615", 3),
    ("K.20", 9),
    ("K.21", 10),
    ("K.45", 11),
    ("RTCA DO-160", 14),
    ("GR-1089-CORE", 13),
];
