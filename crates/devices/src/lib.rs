//! Physics of protective devices and of the protected pin.
//!
//! * [`datasheet`]: what is known of a part, datum by datum.
//! * [`build`]: from a datasheet to a model at one corner, or to the datum that is missing.
//! * [`specimen`]: single specimens of a type, anywhere in its tolerance.
//! * [`law`]: conduction, capacitance and switching of each family, as the integrator needs them.
//! * [`thermal`], [`heating`]: thermal ladders, and clamps that heat themselves.
//! * [`pulse_power`], [`known_wave`], [`rating`]: waves and their equivalent widths; ratings carried over to wave, temperature and
//!   repetition.
//! * [`curve`], [`steady`]: clamping lines, load lines, parallel parts; points of a model's V-I characteristic.
//! * [`series`], [`coordination`], [`board`], [`pin`], [`leakage`], [`mod@line`]: the formulas of their subjects.

pub mod board;
pub mod build;
pub mod coordination;
pub mod curve;
pub mod datasheet;
pub mod heating;
pub mod known_wave;
pub mod law;
pub mod leakage;
pub mod line;
pub mod pin;
pub mod protector;
pub mod pulse_power;
pub mod rating;
pub mod series;
pub mod specimen;
pub mod steady;
pub mod thermal;

pub use build::{Built, MissingDatum};
pub use law::Law;
pub use protector::Protector;
pub use thermal::ThermalLadder;
