//! The parts library: what is known of each part, datum by datum, with its source and history.
//!
//! * [`record`]: a part as a list of stated data.

pub mod record;

pub use record::{Condition, Datum, Key, PartRecord, Provenance, Value};
