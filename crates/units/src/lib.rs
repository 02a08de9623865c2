//! Quantities of electrical protection engineering, and their text.
//!
//! Each quantity is a newtype over an `f64` in SI base units ([`Volts`], [`Seconds`], …; [`Celsius`]
//! in °C). One parser and one printer serve them all. Nothing is guessed: a number without its unit,
//! a unit of another quantity, or an ambiguous comma is a [`QuantityError`] with the bytes it stands
//! at, what was expected, and where possible a hint.
//!
//! # Accepted forms
//!
//! | text | read by | value | remark |
//! |---|---|---|---|
//! | `8 kV`, `8kV`, `8e3 V` | [`parse`] | 8000 V | any white space, or none, before the unit |
//! | `4.7 µF`, `4,7 µF`, `4.7uF` | [`parse`] | 4.7 × 10⁻⁶ F | decimal point or comma; both micro signs, or `u` |
//! | `−40 °C`, `-40 °C` | [`parse`] | −40 °C | real minus sign or hyphen; also `℃`, `degC` |
//! | `4k7`, `4K7`, `4R7`, `10k`, `2n2` | [`parse`] | 4700 Ω … 2.2 nF | letter for the decimal mark; alone for ohms and farads |
//! | `4k7Ω`, `4µ7F`, `3V3` | [`parse`] | 4700 Ω, 4.7 µF, 3.3 V | the same with its unit: also volts, amperes, henries |
//! | `10 Ω`, `10 ohm`, `10R` | [`parse`] | 10 Ω | both ohm signs |
//! | `1 min`, `2 h` | [`parse`] | 60 s, 7200 s | |
//! | `20 %`, `200 ppm`, `0.2` | [`parse`] | ratio | the one quantity that needs no unit |
//! | `0.1 %/K`, `1000 ppm/K`, `1e-3 /K` | [`parse`] | 10⁻³ /K | `1/K` and `°C` for `K` too |
//! | `1 kV/µs` | [`parse`] | 10⁹ V/s | also V/s, V/ms, V/ns |
//! | `0.05 A²s`, `1.5 mm²` | [`parse`] | | also `A2s`, `mm2`; no prefix on A²s, it would be ambiguous |
//! | `±8 kV`, `+/-8 kV`, `-8 kV`, `8 kV` | [`parse_signed`] | [`Polarity`] and 8000 V | |
//! | `-40 °C to 70 °C`, `-40 to 70 °C` | [`parse_range`] | | also `…`, `...` and `..` |
//! | `24 V`, `24 V ±20 %`, `24 V ±1 V` | [`parse_tolerance`] | 24 V, 19.2 V to 28.8 V, … | |
//! | `24 V -15 %/+20 %`, `24 V (20 V to 29 V)` | [`parse_tolerance`] | | |
//! | `< 5 pF`, `>= 3 V` | [`parse_limit`] | | also `≤`, `≥` |
//!
//! SI prefixes run from f to T; `meg` is 10⁶. Case counts: `8 KV` is an error that suggests `8 kV`, and
//! prefixes that could only be a slip (`Ms`, `MA`, `MF`) are refused. A capital `K` means kilo only
//! in a resistor code such as `4K7`. Exactly three digits after a comma, as in `1,000`, could be
//! thousands or thousandths and are refused, unless a zero leads (`0,125`); separators of thousands
//! are always refused. A text that overflows an `f64`, or that would silently become zero, is an error.
//!
//! ```
//! use tidewall_units::{parse, parse_range, parse_signed, parse_tolerance};
//! use tidewall_units::{Celsius, Farads, Ohms, PerKelvin, Polarity, Seconds, Volts};
//!
//! assert_eq!(parse("8 kV"), Ok(Volts(8e3)));
//! assert_eq!(parse("4,7 µF"), Ok(Farads(4.7e-6)));
//! assert_eq!(parse("4k7"), Ok(Ohms(4700.0)));
//! assert_eq!(parse("0.9 ns"), Ok(Seconds(0.9e-9)));
//! assert_eq!(parse("0.1 %/K"), Ok(PerKelvin(1e-3)));
//!
//! let esd = parse_signed::<Volts>("±8 kV")?;
//! assert_eq!((esd.polarity, esd.magnitude), (Some(Polarity::Both), Volts(8e3)));
//! let ambient = parse_range("-40 °C to 70 °C")?;
//! assert_eq!((ambient.low, ambient.high), (Celsius(-40.0), Celsius(70.0)));
//! let supply = parse_tolerance("24 V ±20 %")?;
//! assert_eq!((supply.low, supply.high), (Volts(19.2), Volts(28.8)));
//!
//! let error = parse::<Volts>("8 KV").unwrap_err();
//! assert_eq!(error.span, 2..4);
//! assert_eq!(
//!     error.to_string(),
//!     "`KV` is not a unit of voltage; expected voltage, for example 8 kV (did you mean 8 kV?)"
//! );
//! # Ok::<(), tidewall_units::QuantityError>(())
//! ```
//!
//! # Printing
//!
//! `Display` writes engineering form with a normal space before the unit and a real minus sign, with
//! all the digits that identify the number: reading it back gives the same bits, for every finite
//! value. [`Quantity::rounded`] writes three or four digits for people. Formatter options such as
//! width are ignored; pad the finished text.
//!
//! ```
//! use tidewall_units::{Celsius, Farads, PerKelvin, Quantity, Volts};
//!
//! assert_eq!(Farads(4.7e-6).to_string(), "4.7 µF");
//! assert_eq!(Celsius(-40.0).to_string(), "−40 °C");
//! assert_eq!(PerKelvin(0.00093).to_string(), "0.093 %/K");
//! assert_eq!(Volts(43.718_291).rounded(4), "43.72 V");
//! ```
#![forbid(unsafe_code)]
#![warn(missing_docs)]

mod error;
mod forms;
mod print;
mod quantity;
mod scan;
mod significant;

pub use error::{QuantityError, clip};
pub use forms::{
    Limit, Polarity, Range, Relation, Signed, Toleranced, parse, parse_limit, parse_range, parse_signed,
    parse_tolerance,
};
pub use quantity::{
    AmpSquaredSeconds, Amps, Celsius, Farads, Henries, Hertz, Joules, KelvinPerWatt, Kelvins, Metres, Ohms,
    PerKelvin, Quantity, Ratio, Seconds, SquareMetres, Volts, VoltsPerSecond, Watts,
};
pub use significant::significant;
