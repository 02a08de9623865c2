//! Arguments of `extract`.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

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
    /// Fit the model of a family to measured points
    Fit(FitArgs),
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

const COLUMNS: &str = "\
Columns of POINTS by family, each with its unit in brackets; `deviation (V)` may be added, the standard deviation of the
last column:
  avalanche                                wave, current (A), voltage (V)
  flat-clamp, snapback, snapback-on-branch,
  thyristor, varistor, pin                 current (A), voltage (V)
  gas-tube                                 slope (V/µs), voltage (V)
  thyristor-surge                          wave, current (A)
  thermal                                  wave, power (W)
  leakage                                  temperature (°C), current (µA)
  capacitance                              bias (V), capacitance (pF)
A wave is 8/20, 10/1000, another front and tail in µs, or rectangle 100 ns.";

/// Arguments of `extract fit`.
#[derive(Debug, Args)]
#[command(after_help = COLUMNS)]
pub struct FitArgs {
    /// What was measured
    #[arg(value_enum, value_name = "FAMILY")]
    pub family: FitFamily,
    /// CSV file of the points
    #[arg(value_name = "POINTS")]
    pub points: PathBuf,
    /// Wave of all points (avalanche without a column for it), or of the surge points (varistor)
    #[arg(long, value_name = "WAVE")]
    pub wave: Option<String>,
    /// Window of rectangular pulses in which the voltage was read, in shares of the width: 0.7..0.9 (avalanche; the highest
    /// voltage unless given)
    #[arg(long, value_name = "FROM..TO")]
    pub window: Option<String>,
    /// Breakdown voltage (avalanche) or direct spark-over voltage (gas-tube), if it is known; fitted unless given
    #[arg(long, value_name = "VOLTAGE")]
    pub breakdown: Option<String>,
    /// Temperature coefficient of the breakdown voltage (avalanche); without it heating cannot be told
    #[arg(long, value_name = "1/K")]
    pub temperature_coefficient: Option<String>,
    /// Law of a varistor; power unless given
    #[arg(long, value_enum)]
    pub law: Option<VaristorLaw>,
    /// Voltage of the leakage points
    #[arg(long, value_name = "VOLTAGE", required_if_eq("family", "leakage"))]
    pub voltage: Option<String>,
    /// Junction rise that all powers cause (thermal)
    #[arg(long, value_name = "KELVINS", required_if_eq("family", "thermal"))]
    pub rise: Option<String>,
    /// Thermal resistance to ambient (thermal)
    #[arg(long, value_name = "K/W")]
    pub thermal_resistance: Option<String>,
    /// Built-in voltage (capacitance); fitted where the points tell it, else 0.7 V
    #[arg(long, value_name = "VOLTAGE")]
    pub built_in: Option<String>,
    /// Discount single bad points (Huber's loss)
    #[arg(long)]
    pub robust: bool,
    /// Seed of further starts: the same one gives the same result
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// POINTS is the table of a transmission-line-pulse test: voltage, current and leakage, with the headers of an
    /// instrument. Points from the first failure on are left out
    #[arg(long)]
    pub tlp: bool,
    /// Pulse width of that test, in place of the table's own
    #[arg(long, value_name = "TIME", requires = "tlp")]
    pub width: Option<String>,
    /// Also print the data as a part of this name, for a parts file
    #[arg(long, value_name = "NAME")]
    pub into_part: Option<String>,
    /// Put the data into the parts library, with this document as their source: specimen, instrument, date
    #[arg(long, value_name = "DOCUMENT", requires = "into_part")]
    pub keep: Option<String>,
}

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FitFamily {
    /// Avalanche diode: breakdown, isothermal resistance, heating
    Avalanche,
    /// Flat clamp: trigger and on-branch
    FlatClamp,
    /// Snapback clamp: trigger, hold point, on-branch
    Snapback,
    /// On-branch of a snapback clamp alone
    SnapbackOnBranch,
    /// Thyristor: breakover and on-state
    Thyristor,
    /// Thyristor: surge current against width
    ThyristorSurge,
    /// Varistor
    Varistor,
    /// Gas tube: firing voltage against slope
    GasTube,
    /// Conduction of a protected pin, both polarities
    Pin,
    /// Thermal impedance from pulse powers
    Thermal,
    /// Leakage against temperature
    Leakage,
    /// Capacitance against bias
    Capacitance,
}

/// Law of a varistor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum VaristorLaw {
    /// V = V1mA (I / 1 mA)^(1/α)
    Power,
    /// The same with a bulk resistance, + R I
    Bulk,
    /// log V = b1 + b2 log I + b3 e^(−log I) + b4 e^(log I)
    Log,
}
