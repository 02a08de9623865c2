//! The parts library: what is known of each part, datum by datum, with its source and history.
//!
//! * [`record`]: a part as a list of stated data; [`keys`] says which data there are.
//! * [`PartRecord::datasheet`]: the datum that counts of each fact, as the models need it.
//! * [`Library`]: the SQLite file that holds the records and their history.
//! * [`import`]: parts from CSV and XLSX tables.
//! * [`sample`]: a table of invented parts to try the import on.
//! * [`export`]: the library as CSV, XLSX and JSON.
//! * [`generic`]: classes of parts whose data follow from stated formulas.
//! * [`wire`]: records as JSON.
//! * [`words`]: data in words, for people.

mod check;
mod error;
pub mod export;
pub mod generic;
pub mod import;
pub mod keys;
pub mod record;
pub mod sample;
mod sheet;
mod store;
pub mod wire;
pub mod words;

pub use error::LibraryError;
pub use record::{Condition, Datum, Key, PartRecord, Provenance, Value};
pub use sheet::NoFirmness;
pub use store::{Action, Change, Done, Edit, Event, FieldChange, Filter, HistoryEntry, Library};
