//! The quantities: one newtype each, and one table row each that says how its text looks.

use std::fmt;
use std::ops::{Add, Div, Mul, Sub};
use std::str::FromStr;

use crate::{QuantityError, parse, print};

/// How the text of one quantity looks. Everything the parser and the printer know about a quantity.
#[derive(Debug)]
pub struct Kind {
    pub(crate) name: &'static str,
    pub(crate) example: &'static str,
    /// Units the printer uses, with their power of ten, smallest first.
    pub(crate) printed: &'static [(i32, &'static str)],
    /// Smallest and largest SI prefix that make sense, as powers of ten.
    pub(crate) prefixes: (i32, i32),
    pub(crate) units: &'static [Unit],
    pub(crate) letter_code: LetterCode,
    /// Whether a number without a unit is complete.
    pub(crate) bare: bool,
    /// Frequent slips that are not units here, each with its hint.
    pub(crate) slips: &'static [(&'static str, &'static str)],
}

/// Whether a letter may stand for the decimal mark, as in `4k7` (IEC 60062, from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LetterCode {
    /// Never: `5m2` would be an area.
    No,
    /// With the unit, as in `4k7V`, or with the unit as the letter, as in `3V3`.
    WithUnit,
    /// The code alone is enough, as in `4k7` or `10n`; the code was made for these quantities.
    Alone,
}

/// One accepted unit: `value = number × 10^exponent × factor`.
#[derive(Debug)]
pub(crate) struct Unit {
    pub(crate) text: &'static str,
    pub(crate) scale: Scale,
    pub(crate) prefixed: bool,
}

/// From the number as written to SI base units. The power of ten is kept apart from the factor
/// because it can be applied to the decimal text without rounding.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    pub(crate) exponent: i32,
    pub(crate) factor: f64,
}

const fn si(text: &'static str) -> Unit {
    power(text, 0, true)
}

const fn fixed(text: &'static str, exponent: i32) -> Unit {
    power(text, exponent, false)
}

const fn power(text: &'static str, exponent: i32, prefixed: bool) -> Unit {
    Unit {
        text,
        scale: Scale {
            exponent,
            factor: 1.0,
        },
        prefixed,
    }
}

const fn times(text: &'static str, factor: f64) -> Unit {
    Unit {
        text,
        scale: Scale { exponent: 0, factor },
        prefixed: false,
    }
}

mod sealed {
    pub trait Sealed {}
}

/// A quantity of this crate: a number in SI base units with a name and a text form.
///
/// Sealed: the set of quantities is closed, because error messages name the quantity that a wrong
/// unit belongs to.
pub trait Quantity:
    sealed::Sealed + Copy + fmt::Debug + fmt::Display + PartialEq + PartialOrd + FromStr<Err = QuantityError>
{
    /// The field's name of the quantity, such as `voltage`.
    const NAME: &'static str;
    /// The unit of the stored number, such as `V`, `m²` or `1/K`; empty for a ratio.
    const SYMBOL: &'static str;
    #[doc(hidden)]
    const KIND: &'static Kind;

    /// The quantity of a number in SI base units (°C for [`Celsius`]).
    fn from_si(value: f64) -> Self;

    /// The number in SI base units (°C for [`Celsius`]).
    fn si(self) -> f64;

    /// Text for people, rounded to `digits` significant digits (1 to 17), trailing zeros dropped.
    ///
    /// ```
    /// use tidewall_units::{Quantity, Volts};
    /// assert_eq!(Volts(53.0471).rounded(3), "53 V");
    /// assert_eq!(Volts(-999.96).rounded(4), "−1 kV");
    /// ```
    fn rounded(self, digits: usize) -> String {
        print::engineering(Self::KIND, self.si(), Some(digits))
    }
}

macro_rules! quantities {
    ($( $(#[$doc:meta])* $type:ident $row:ident = $name:literal, $symbol:literal {
        $($field:ident: $value:expr),* $(,)?
    } )*) => {
        $(
            static $row: Kind = Kind { name: $name, $($field: $value),* };

            $(#[$doc])*
            #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
            pub struct $type(pub f64);

            impl sealed::Sealed for $type {}

            impl Quantity for $type {
                const NAME: &'static str = $name;
                const SYMBOL: &'static str = $symbol;
                const KIND: &'static Kind = &$row;

                fn from_si(value: f64) -> Self {
                    Self(value)
                }

                fn si(self) -> f64 {
                    self.0
                }
            }

            impl fmt::Display for $type {
                fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                    f.write_str(&print::engineering(&$row, self.0, None))
                }
            }

            impl FromStr for $type {
                type Err = QuantityError;

                fn from_str(text: &str) -> Result<Self, QuantityError> {
                    parse(text)
                }
            }
        )*

        /// Every quantity, to name the one that a misplaced unit belongs to.
        pub(crate) static ALL: &[&Kind] = &[$(&$row),*];
    };
}

const NOT_UNITS: &str = "AC, DC, RMS and peak are not units; write the value that is asked for in plain V";
const DEGREES: &str = "did you mean °C?";

// The largest prefixes are left out where they can only be a slip of the shift key: `Ms` for `ms`,
// `MA` for `mA`, `MF` for `µF`.
quantities! {
    /// Voltage in volts.
    Volts VOLTS = "voltage", "V" {
        example: "8 kV", printed: &[(0, "V")], prefixes: (-15, 6), units: &[si("V")],
        letter_code: LetterCode::WithUnit, bare: false,
        slips: &[("Vrms", NOT_UNITS), ("VRMS", NOT_UNITS), ("Vac", NOT_UNITS), ("VAC", NOT_UNITS),
                 ("Vdc", NOT_UNITS), ("VDC", NOT_UNITS), ("Vp", NOT_UNITS), ("Vpk", NOT_UNITS)],
    }
    /// Current in amperes.
    Amps AMPS = "current", "A" {
        example: "20 A", printed: &[(0, "A")], prefixes: (-15, 3), units: &[si("A")],
        letter_code: LetterCode::WithUnit, bare: false, slips: &[],
    }
    /// Time in seconds.
    Seconds SECONDS = "time", "s" {
        example: "50 µs", printed: &[(0, "s")], prefixes: (-15, 0),
        units: &[si("s"), times("min", 60.0), times("h", 3600.0)],
        letter_code: LetterCode::No, bare: false,
        slips: &[("m", "write ms or min"), ("sec", "write s"), ("M", "write ms or min")],
    }
    /// Resistance in ohms.
    Ohms OHMS = "resistance", "Ω" {
        example: "4.7 kΩ", printed: &[(0, "Ω")], prefixes: (-15, 12),
        units: &[si("Ω"), si("R"), si("ohm"), si("ohms"), si("Ohm"), si("Ohms")],
        letter_code: LetterCode::Alone, bare: false, slips: &[("K", "did you mean kΩ?"), ("k", "did you mean kΩ?")],
    }
    /// Capacitance in farads.
    Farads FARADS = "capacitance", "F" {
        example: "4.7 µF", printed: &[(0, "F")], prefixes: (-15, 0), units: &[si("F")],
        letter_code: LetterCode::Alone, bare: false, slips: &[],
    }
    /// Inductance in henries.
    Henries HENRIES = "inductance", "H" {
        example: "15 nH", printed: &[(0, "H")], prefixes: (-15, 0), units: &[si("H")],
        letter_code: LetterCode::WithUnit, bare: false, slips: &[("h", "did you mean H?")],
    }
    /// Energy in joules.
    Joules JOULES = "energy", "J" {
        example: "1.5 J", printed: &[(0, "J")], prefixes: (-15, 6), units: &[si("J"), si("Ws")],
        letter_code: LetterCode::No, bare: false, slips: &[],
    }
    /// Power in watts.
    Watts WATTS = "power", "W" {
        example: "1.5 kW", printed: &[(0, "W")], prefixes: (-15, 9), units: &[si("W")],
        letter_code: LetterCode::No, bare: false, slips: &[],
    }
    /// Temperature in degrees Celsius; for a difference see [`Kelvins`].
    Celsius CELSIUS = "temperature", "°C" {
        example: "70 °C", printed: &[(0, "°C")], prefixes: (0, 0),
        units: &[fixed("°C", 0), fixed("℃", 0), fixed("degC", 0)],
        letter_code: LetterCode::No, bare: false,
        slips: &[("C", DEGREES), ("ºC", DEGREES), ("˚C", DEGREES), ("°", DEGREES),
                 ("K", "temperatures are given in °C"), ("°F", "temperatures are given in °C"),
                 ("F", "temperatures are given in °C")],
    }
    /// Temperature difference in kelvins.
    Kelvins KELVINS = "temperature difference", "K" {
        example: "40 K", printed: &[(0, "K")], prefixes: (0, 0), units: &[fixed("K", 0)],
        letter_code: LetterCode::No, bare: false,
        slips: &[("°C", "a difference is given in K"), ("C", "a difference is given in K")],
    }
    /// Frequency in hertz.
    Hertz HERTZ = "frequency", "Hz" {
        example: "100 kHz", printed: &[(0, "Hz")], prefixes: (-6, 12), units: &[si("Hz")],
        letter_code: LetterCode::No, bare: false, slips: &[],
    }
    /// Dimensionless ratio; 1 is 100 %.
    Ratio RATIO = "ratio", "" {
        example: "20 %", printed: &[(-2, "%")], prefixes: (0, 0), units: &[fixed("%", -2), fixed("ppm", -6)],
        letter_code: LetterCode::No, bare: true, slips: &[],
    }
    /// Temperature coefficient: relative change per kelvin.
    PerKelvin PER_KELVIN = "temperature coefficient", "1/K" {
        example: "0.1 %/K", printed: &[(-2, "%/K")], prefixes: (0, 0),
        units: &[fixed("%/K", -2), fixed("%/°C", -2), fixed("ppm/K", -6), fixed("ppm/°C", -6),
                 fixed("1/K", 0), fixed("/K", 0), fixed("1/°C", 0), fixed("/°C", 0), fixed("K⁻¹", 0)],
        letter_code: LetterCode::No, bare: false, slips: &[("%", "did you mean %/K?"), ("ppm", "did you mean ppm/K?")],
    }
    /// Thermal resistance in kelvins per watt.
    KelvinPerWatt KELVIN_PER_WATT = "thermal resistance", "K/W" {
        example: "100 K/W", printed: &[(0, "K/W")], prefixes: (-6, 3), units: &[si("K/W"), fixed("°C/W", 0)],
        letter_code: LetterCode::No, bare: false, slips: &[],
    }
    /// Rate of rise of a voltage in volts per second.
    VoltsPerSecond VOLTS_PER_SECOND = "rate of rise of voltage", "V/s" {
        example: "1 kV/µs", printed: &[(0, "V/s"), (6, "V/µs")], prefixes: (-3, 9),
        units: &[si("V/s"), power("V/ms", 3, true), power("V/µs", 6, true), power("V/us", 6, true),
                 power("V/ns", 9, true)],
        letter_code: LetterCode::No, bare: false, slips: &[],
    }
    /// Let-through or melting integral of a current (I²t) in ampere squared seconds.
    ///
    /// Takes no SI prefix: `mA²s` would be (mA)²·s by the rule and 10⁻³ A²s by habit.
    AmpSquaredSeconds AMP_SQUARED_SECONDS = "I²t", "A²s" {
        example: "0.05 A²s", printed: &[(0, "A²s")], prefixes: (0, 0),
        units: &[fixed("A²s", 0), fixed("A2s", 0), fixed("A²·s", 0), fixed("A^2s", 0)],
        letter_code: LetterCode::No, bare: false,
        slips: &[("mA²s", "a prefix on A² is ambiguous; write the value in A²s"),
                 ("kA²s", "a prefix on A² is ambiguous; write the value in A²s")],
    }
    /// Length in metres.
    Metres METRES = "length", "m" {
        example: "2 mm", printed: &[(0, "m")], prefixes: (-9, 3), units: &[si("m"), fixed("cm", -2)],
        letter_code: LetterCode::No, bare: false, slips: &[],
    }
    /// Area in square metres, written in mm².
    SquareMetres SQUARE_METRES = "area", "m²" {
        example: "1.5 mm²", printed: &[(-6, "mm²"), (0, "m²")], prefixes: (0, 0),
        units: &[fixed("mm²", -6), fixed("mm2", -6), fixed("mm^2", -6), fixed("cm²", -4), fixed("cm2", -4),
                 fixed("µm²", -12), fixed("um2", -12), fixed("m²", 0), fixed("m2", 0)],
        letter_code: LetterCode::No, bare: false, slips: &[],
    }
}

/// Constructors from the unit the trade uses. Each divides or multiplies once, so that
/// `Seconds::from_micros(8.0)` is the same number as `8e-6`.
macro_rules! constructors {
    ($( $type:ident :: $name:ident ($unit:literal) = $op:tt $by:literal; )*) => {$(
        impl $type {
            #[doc = concat!("From a number in ", $unit, ".")]
            pub fn $name(number: f64) -> Self {
                Self(number $op $by)
            }
        }
    )*};
}

constructors! {
    Seconds::from_millis("ms") = / 1e3;
    Seconds::from_micros("µs") = / 1e6;
    Seconds::from_nanos("ns") = / 1e9;
    Seconds::from_minutes("min") = * 60.0;
    Farads::from_picos("pF") = / 1e12;
    Farads::from_nanos("nF") = / 1e9;
    Farads::from_micros("µF") = / 1e6;
    Henries::from_nanos("nH") = / 1e9;
    Henries::from_micros("µH") = / 1e6;
    Ratio::from_percent("%") = / 1e2;
    PerKelvin::from_percent_per_kelvin("%/K") = / 1e2;
    PerKelvin::from_ppm_per_kelvin("ppm/K") = / 1e6;
    VoltsPerSecond::from_volts_per_microsecond("V/µs") = * 1e6;
    SquareMetres::from_square_millimetres("mm²") = / 1e6;
}

impl Celsius {
    /// Absolute (thermodynamic) temperature in kelvins.
    pub fn absolute_k(self) -> f64 {
        self.0 + 273.15
    }
}

macro_rules! sums {
    ($($a:ident + $b:ident = $c:ident, $d:ident - $e:ident = $f:ident;)*) => {$(
        impl Add<$b> for $a {
            type Output = $c;
            fn add(self, other: $b) -> $c {
                $c(self.0 + other.0)
            }
        }
        impl Sub<$e> for $d {
            type Output = $f;
            fn sub(self, other: $e) -> $f {
                $f(self.0 - other.0)
            }
        }
    )*};
}

sums! {
    Volts + Volts = Volts, Volts - Volts = Volts;
    Amps + Amps = Amps, Amps - Amps = Amps;
    Seconds + Seconds = Seconds, Seconds - Seconds = Seconds;
    Ohms + Ohms = Ohms, Ohms - Ohms = Ohms;
    Joules + Joules = Joules, Joules - Joules = Joules;
    Kelvins + Kelvins = Kelvins, Kelvins - Kelvins = Kelvins;
    Celsius + Kelvins = Celsius, Celsius - Celsius = Kelvins;
}

/// `A × B = C` with its mirror and its two quotients.
macro_rules! products {
    ($($a:ident * $b:ident = $c:ident;)*) => {$(
        impl Mul<$b> for $a {
            type Output = $c;
            fn mul(self, other: $b) -> $c {
                $c(self.0 * other.0)
            }
        }
        impl Mul<$a> for $b {
            type Output = $c;
            fn mul(self, other: $a) -> $c {
                $c(self.0 * other.0)
            }
        }
        impl Div<$a> for $c {
            type Output = $b;
            fn div(self, other: $a) -> $b {
                $b(self.0 / other.0)
            }
        }
        impl Div<$b> for $c {
            type Output = $a;
            fn div(self, other: $b) -> $a {
                $a(self.0 / other.0)
            }
        }
    )*};
}

products! {
    Amps * Ohms = Volts;
    Volts * Amps = Watts;
    Watts * Seconds = Joules;
    Watts * KelvinPerWatt = Kelvins;
    VoltsPerSecond * Seconds = Volts;
    PerKelvin * Kelvins = Ratio;
}
