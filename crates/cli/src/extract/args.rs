//! Arguments of `extract`.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// Arguments of `extract`.
#[derive(Debug, Args)]
pub struct ExtractArgs {
    /// What to do
    #[command(subcommand)]
    pub command: ExtractCommand,
}

/// What `extract` does.
#[derive(Debug, Subcommand)]
pub enum ExtractCommand {
    /// Read an oscilloscope capture: channels, peaks, energy, and what is wrong with it
    Read(ReadArgs),
    /// Set a capture against a study's prediction, and say which parameter would explain the difference
    Against(Box<AgainstArgs>),
}

/// Which columns are what, and what is done to them.
#[derive(Debug, Args)]
pub struct WaveArgs {
    /// Column of the voltage, by name or number; the only one in volts unless given
    #[arg(long, value_name = "COLUMN")]
    pub voltage: Option<String>,
    /// Column of the current, by name or number; the only one in amperes unless given
    #[arg(long, value_name = "COLUMN")]
    pub current: Option<String>,
    /// Factor of the voltage: attenuation of its probe, below zero to turn it
    #[arg(long, value_name = "X", default_value_t = 1.0, allow_negative_numbers = true)]
    pub voltage_factor: f64,
    /// Factor of the current: attenuation, or amperes per volt of its probe
    #[arg(long, value_name = "X", default_value_t = 1.0, allow_negative_numbers = true)]
    pub current_factor: f64,
    /// Time by which the current is late against the voltage, or `auto` for cross-correlation of the fronts
    #[arg(long, value_name = "TIME", default_value = "0 s", allow_hyphen_values = true)]
    pub skew: String,
    /// Leave the zero as it is, in place of that before the event
    #[arg(long)]
    pub keep_offset: bool,
    /// Time between samples, in place of the file's own
    #[arg(long, value_name = "TIME")]
    pub increment: Option<String>,
}

/// Arguments of `extract read`.
#[derive(Debug, Args)]
pub struct ReadArgs {
    /// Capture as CSV; `-` is standard input
    #[arg(value_name = "CAPTURE")]
    pub capture: PathBuf,
    #[command(flatten)]
    pub waves: WaveArgs,
}

/// Arguments of `extract against`.
#[derive(Debug, Args)]
pub struct AgainstArgs {
    /// Study file
    #[arg(value_name = "STUDY")]
    pub study: PathBuf,
    /// Capture as CSV; `-` is standard input
    #[arg(value_name = "CAPTURE")]
    pub capture: PathBuf,
    #[command(flatten)]
    pub waves: WaveArgs,
    /// Place in the ladder where the voltage was measured, as in the waveforms of `check --trace`; the pin unless given
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Element whose current was measured; the first shunt unless given
    #[arg(long, value_name = "ELEMENT")]
    pub current_of: Option<String>,
    /// The stress that was applied; the nearest unless given
    #[arg(long, value_name = "ID")]
    pub stress: Option<String>,
    /// Temperature of the bench
    #[arg(
        long,
        value_name = "TEMPERATURE",
        default_value = "23 °C",
        allow_hyphen_values = true
    )]
    pub ambient: String,
    /// Compare with the nearest of these corners of the study, in place of typical parts on a bench; as in `check`
    #[arg(long = "corner", value_name = "SPEC", conflicts_with_all = ["stress", "ambient"])]
    pub corners: Vec<String>,
    /// The specimen that was measured
    #[arg(long, value_name = "TEXT")]
    pub specimen: Option<String>,
    /// The instrument
    #[arg(long, value_name = "TEXT")]
    pub instrument: Option<String>,
    /// The date of the measurement
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// Put the measured clamping voltage into the parts library, with specimen, instrument and date as its source
    #[arg(long, requires_all = ["specimen", "instrument", "date"])]
    pub keep: bool,
}
