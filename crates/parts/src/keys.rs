//! The keys a datum may have: their form, unit, name in words and place in a datasheet.

use tidewall_units::{
    AmpSquaredSeconds, Amps, Celsius, Farads, Henries, Joules, KelvinPerWatt, Kelvins, Ohms, PerKelvin,
    Quantity, Seconds, SquareMetres, Volts, Watts,
};

use crate::record::Key;

/// What the value of a key is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Minimum, typical and maximum.
    Spread,
    /// One number.
    Number,
    /// One number that is a maximum by nature, or a spread of which the maximum counts.
    Highest,
    /// Yes or no.
    Flag,
    /// Points in volts and amperes.
    Curve,
}

/// The unit of a key's numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A plain number, or none at all.
    None,
    /// V.
    Volt,
    /// A.
    Ampere,
    /// W.
    Watt,
    /// J.
    Joule,
    /// Ω.
    Ohm,
    /// F.
    Farad,
    /// H.
    Henry,
    /// s.
    Second,
    /// °C.
    Celsius,
    /// K.
    Kelvin,
    /// K/W.
    KelvinPerWatt,
    /// 1/K.
    PerKelvin,
    /// A²s.
    AmpereSquaredSecond,
    /// m².
    SquareMetre,
}

impl Unit {
    /// Its symbol, without prefix; empty for a plain number.
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::None => "",
            Unit::Volt => "V",
            Unit::Ampere => "A",
            Unit::Watt => "W",
            Unit::Joule => "J",
            Unit::Ohm => "Ω",
            Unit::Farad => "F",
            Unit::Henry => "H",
            Unit::Second => "s",
            Unit::Celsius => "°C",
            Unit::Kelvin => "K",
            Unit::KelvinPerWatt => "K/W",
            Unit::PerKelvin => "1/K",
            Unit::AmpereSquaredSecond => "A²s",
            Unit::SquareMetre => "m²",
        }
    }

    /// A value in that unit as text with all its digits, such as `36.7 V`.
    pub fn text(self, value: f64) -> String {
        fn of<Q: Quantity>(quantity: Q) -> String {
            quantity.to_string()
        }
        match self {
            Unit::None => value.to_string(),
            Unit::Volt => of(Volts(value)),
            Unit::Ampere => of(Amps(value)),
            Unit::Watt => of(Watts(value)),
            Unit::Joule => of(Joules(value)),
            Unit::Ohm => of(Ohms(value)),
            Unit::Farad => of(Farads(value)),
            Unit::Henry => of(Henries(value)),
            Unit::Second => of(Seconds(value)),
            Unit::Celsius => of(Celsius(value)),
            Unit::Kelvin => of(Kelvins(value)),
            Unit::KelvinPerWatt => of(KelvinPerWatt(value)),
            Unit::PerKelvin => of(PerKelvin(value)),
            Unit::AmpereSquaredSecond => of(AmpSquaredSeconds(value)),
            Unit::SquareMetre => of(SquareMetres(value)),
        }
    }
}

/// What is fixed about a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeyInfo {
    /// The key.
    pub key: Key,
    /// Form of its value.
    pub form: Form,
    /// Unit of its numbers.
    pub unit: Unit,
    /// Name in the words of a datasheet.
    pub words: &'static str,
}

const fn info(key: Key, form: Form, unit: Unit, words: &'static str) -> KeyInfo {
    KeyInfo {
        key,
        form,
        unit,
        words,
    }
}

/// Every key, in the order in which a datasheet is read.
pub const KEYS: &[KeyInfo] = &[
    info("bidirectional", Form::Flag, Unit::None, "bidirectional"),
    info("stand_off", Form::Number, Unit::Volt, "stand-off voltage"),
    info("breakdown", Form::Spread, Unit::Volt, "breakdown voltage"),
    info("breakdown.at", Form::Number, Unit::Ampere, "breakdown current"),
    info("clamp", Form::Spread, Unit::Volt, "clamping voltage"),
    info("rating.power", Form::Number, Unit::Watt, "pulse power rating"),
    info(
        "rating.current",
        Form::Number,
        Unit::Ampere,
        "pulse current rating",
    ),
    info("rating.energy", Form::Number, Unit::Joule, "pulse energy rating"),
    info(
        "temperature_coefficient",
        Form::Number,
        Unit::PerKelvin,
        "temperature coefficient of the breakdown voltage",
    ),
    info("leakage", Form::Highest, Unit::Ampere, "leakage current"),
    info(
        "leakage_doubling",
        Form::Number,
        Unit::Kelvin,
        "rise that doubles the leakage",
    ),
    info("capacitance", Form::Spread, Unit::Farad, "capacitance"),
    info("grading_exponent", Form::Number, Unit::None, "grading exponent"),
    info("forward.voltage", Form::Number, Unit::Volt, "forward voltage"),
    info("forward.at", Form::Number, Unit::Ampere, "forward current"),
    info(
        "forward.resistance",
        Form::Number,
        Unit::Ohm,
        "forward resistance",
    ),
    info(
        "junction_max",
        Form::Number,
        Unit::Celsius,
        "highest junction temperature",
    ),
    info(
        "derating_from",
        Form::Number,
        Unit::Celsius,
        "temperature from which the pulse ratings are derated",
    ),
    info(
        "thermal_resistance",
        Form::Number,
        Unit::KelvinPerWatt,
        "thermal resistance",
    ),
    info("power", Form::Number, Unit::Watt, "continuous power"),
    info(
        "package_inductance",
        Form::Number,
        Unit::Henry,
        "package inductance",
    ),
    info(
        "dynamic_resistance",
        Form::Number,
        Unit::Ohm,
        "dynamic resistance",
    ),
    info(
        "on_voltage",
        Form::Spread,
        Unit::Volt,
        "on-state voltage at zero current",
    ),
    info("hold_voltage", Form::Spread, Unit::Volt, "holding voltage"),
    info("hold_current", Form::Spread, Unit::Ampere, "holding current"),
    info(
        "hold_temperature_coefficient",
        Form::Number,
        Unit::PerKelvin,
        "temperature coefficient of the holding current",
    ),
    info("turn_on_delay", Form::Number, Unit::Second, "turn-on delay"),
    info("failure_current", Form::Number, Unit::Ampere, "failure current"),
    info(
        "failure_current.width",
        Form::Number,
        Unit::Second,
        "pulse width of the failure current",
    ),
    info(
        "saturation_current",
        Form::Number,
        Unit::Ampere,
        "saturation current",
    ),
    info(
        "transistor_breakdown",
        Form::Number,
        Unit::Volt,
        "breakdown of the power transistor",
    ),
    info("turn_off_voltage", Form::Number, Unit::Volt, "turn-off voltage"),
    info(
        "detector_time",
        Form::Number,
        Unit::Second,
        "time constant of the slope detector",
    ),
    info("time_out", Form::Number, Unit::Second, "time-out"),
    info("exponent", Form::Number, Unit::None, "non-linearity exponent"),
    info(
        "pulse_life.p",
        Form::Number,
        Unit::None,
        "pulse-life exponent of the number",
    ),
    info(
        "pulse_life.q",
        Form::Number,
        Unit::None,
        "pulse-life exponent of the duration",
    ),
    info("firing", Form::Spread, Unit::Volt, "firing voltage"),
    info("glow_voltage", Form::Number, Unit::Volt, "glow voltage"),
    info(
        "glow_to_arc_current",
        Form::Number,
        Unit::Ampere,
        "glow-to-arc current",
    ),
    info("arc_voltage", Form::Number, Unit::Volt, "arc voltage"),
    info("holdover_voltage", Form::Number, Unit::Volt, "holdover voltage"),
    info("resistance", Form::Number, Unit::Ohm, "resistance"),
    info("inductance", Form::Number, Unit::Henry, "inductance"),
    info(
        "inductor_saturation",
        Form::Number,
        Unit::Ampere,
        "saturation current of the inductance",
    ),
    info(
        "bead_resistance",
        Form::Number,
        Unit::Ohm,
        "resistance at high frequency",
    ),
    info(
        "melting_i2t",
        Form::Number,
        Unit::AmpereSquaredSecond,
        "melting I²t",
    ),
    info("rated_current", Form::Number, Unit::Ampere, "rated current"),
    info("trip_current", Form::Number, Unit::Ampere, "trip current"),
    info("voltage_max", Form::Number, Unit::Volt, "highest voltage"),
    info("reset_voltage", Form::Number, Unit::Volt, "reset voltage"),
    info(
        "rail_capacitance",
        Form::Number,
        Unit::Farad,
        "capacitance of the rail",
    ),
    info(
        "rail_voltage",
        Form::Number,
        Unit::Volt,
        "working voltage of the rail",
    ),
    info(
        "rail_clamp.voltage",
        Form::Number,
        Unit::Volt,
        "breakdown of the rail's clamp",
    ),
    info(
        "rail_clamp.resistance",
        Form::Number,
        Unit::Ohm,
        "dynamic resistance of the rail's clamp",
    ),
    info("table", Form::Curve, Unit::None, "measured V-I points"),
    info("area", Form::Number, Unit::SquareMetre, "board area"),
    info("cost", Form::Number, Unit::None, "cost"),
];

/// What is fixed about the key of that name; `None` if there is no such key.
pub fn find(key: &str) -> Option<&'static KeyInfo> {
    KEYS.iter().find(|info| info.key == key)
}
