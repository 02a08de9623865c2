//! Quantities of electrical protection engineering, and their text.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

mod error;
mod forms;
mod print;
mod quantity;
mod scan;

pub use error::QuantityError;
pub use forms::{
    Limit, Polarity, Range, Relation, Signed, Toleranced, parse, parse_limit, parse_range, parse_signed,
    parse_tolerance,
};
pub use quantity::{
    AmpSquaredSeconds, Amps, Celsius, Farads, Henries, Hertz, Joules, KelvinPerWatt, Kelvins, Metres, Ohms,
    PerKelvin, Quantity, Ratio, Seconds, SquareMetres, Volts, VoltsPerSecond, Watts,
};
