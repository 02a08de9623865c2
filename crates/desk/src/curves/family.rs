//! The curves that can be fitted, and what may be known beside their points.

use serde::Deserialize;

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Curve {
    /// Avalanche diode: breakdown, isothermal resistance, heating.
    Avalanche,
    /// Flat clamp: trigger and on-branch.
    FlatClamp,
    /// Snapback clamp: trigger, hold point, on-branch.
    Snapback,
    /// On-branch of a snapback clamp alone.
    SnapbackOnBranch,
    /// Thyristor: breakover and on-state.
    Thyristor,
    /// Thyristor: surge current against width.
    ThyristorSurge,
    /// Varistor.
    Varistor,
    /// Gas tube: firing voltage against slope.
    GasTube,
    /// Conduction of a protected pin, both polarities.
    Pin,
    /// Thermal impedance from pulse powers.
    Thermal,
    /// Leakage against temperature.
    Leakage,
    /// Capacitance against bias.
    Capacitance,
}

impl Curve {
    /// All of them.
    pub const ALL: [Curve; 12] = [
        Curve::Avalanche,
        Curve::FlatClamp,
        Curve::Snapback,
        Curve::SnapbackOnBranch,
        Curve::Thyristor,
        Curve::ThyristorSurge,
        Curve::Varistor,
        Curve::GasTube,
        Curve::Pin,
        Curve::Thermal,
        Curve::Leakage,
        Curve::Capacitance,
    ];

    /// Its name, its title and the columns of its points.
    fn about(self) -> [&'static str; 3] {
        const CURRENT_VOLTAGE: &str = "current (A), voltage (V)";
        match self {
            Curve::Avalanche => [
                "avalanche",
                "Avalanche diode: breakdown, isothermal resistance, heating",
                "wave, current (A), voltage (V)",
            ],
            Curve::FlatClamp => ["flat-clamp", "Flat clamp: trigger and on-branch", CURRENT_VOLTAGE],
            Curve::Snapback => [
                "snapback",
                "Snapback clamp: trigger, hold point, on-branch",
                CURRENT_VOLTAGE,
            ],
            Curve::SnapbackOnBranch => [
                "snapback-on-branch",
                "On-branch of a snapback clamp alone",
                CURRENT_VOLTAGE,
            ],
            Curve::Thyristor => ["thyristor", "Thyristor: breakover and on-state", CURRENT_VOLTAGE],
            Curve::ThyristorSurge => [
                "thyristor-surge",
                "Thyristor: surge current against width",
                "wave, current (A)",
            ],
            Curve::Varistor => ["varistor", "Varistor", CURRENT_VOLTAGE],
            Curve::GasTube => [
                "gas-tube",
                "Gas tube: firing voltage against slope",
                "slope (V/µs), voltage (V)",
            ],
            Curve::Pin => [
                "pin",
                "Conduction of a protected pin, both polarities",
                CURRENT_VOLTAGE,
            ],
            Curve::Thermal => [
                "thermal",
                "Thermal impedance from pulse powers",
                "wave, power (W)",
            ],
            Curve::Leakage => [
                "leakage",
                "Leakage against temperature",
                "temperature (°C), current (µA)",
            ],
            Curve::Capacitance => [
                "capacitance",
                "Capacitance against bias",
                "bias (V), capacitance (pF)",
            ],
        }
    }

    /// Its name, as in `tidewall extract fit`.
    pub fn word(self) -> &'static str {
        self.about()[0]
    }

    /// What it is.
    pub fn title(self) -> &'static str {
        self.about()[1]
    }

    /// The columns of its points, each with its unit in brackets.
    pub fn columns(self) -> &'static str {
        self.about()[2]
    }
}

/// Something that may be known beside the points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// Its name, that of the command's option.
    pub key: &'static str,
    /// What it is, with an example.
    pub words: &'static str,
    /// The curves that it belongs to.
    pub of: &'static [Curve],
    /// They cannot do without it.
    pub needed: bool,
    /// The only values it has; any if there are none.
    pub choices: &'static [&'static str],
}

const fn field(key: &'static str, words: &'static str, of: &'static [Curve]) -> Field {
    Field {
        key,
        words,
        of,
        needed: false,
        choices: &[],
    }
}

impl Field {
    /// All of them.
    pub const ALL: [Field; 10] = {
        use Curve::{Avalanche, Capacitance, GasTube, Leakage, Thermal, ThyristorSurge, Varistor};
        [
            field(
                "wave",
                "wave of all points, if no column says it: 8/20, 10/1000, rectangle 100 ns (varistor: of the surge points)",
                &[Avalanche, Varistor, ThyristorSurge, Thermal],
            ),
            field(
                "window",
                "window of rectangular pulses in which the voltage was read, in shares of the width: 0.7..0.9",
                &[Avalanche],
            ),
            field(
                "breakdown",
                "breakdown or direct spark-over voltage, if it is known: 36.7 V",
                &[Avalanche, GasTube],
            ),
            field(
                "temperature-coefficient",
                "temperature coefficient of the breakdown voltage: 0.098 %/K; without it heating cannot be told",
                &[Avalanche],
            ),
            Field {
                choices: &["power", "bulk", "log"],
                ..field("law", "law of the varistor", &[Varistor])
            },
            Field {
                needed: true,
                ..field("voltage", "voltage of the leakage points: 24 V", &[Leakage])
            },
            Field {
                needed: true,
                ..field("rise", "junction rise that all powers cause: 150 K", &[Thermal])
            },
            field(
                "thermal-resistance",
                "thermal resistance to ambient, if it is known: 90 K/W",
                &[Thermal],
            ),
            field(
                "built-in",
                "built-in voltage, if it is known: 0.7 V",
                &[Capacitance],
            ),
            field(
                "width",
                "pulse width of a transmission-line-pulse table, in place of its own: 100 ns",
                &Curve::ALL,
            ),
        ]
    };
}
