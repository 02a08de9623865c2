//! Import of parts from tables: CSV in any usual form, and XLSX.
//!
//! * [`Table`]: a file and its rows, read one after another.
//! * [`Mapping`]: which column is which datum, as a file that the user confirms.
//! * [`guess()`]: a first guess of a mapping.
//! * [`import_into`]: every good row into the library, the bad ones into an [`ImportReport`].
//!
//! Memory does not grow with a text file, but for some 50 bytes for each part (to find repeated names). Of a workbook
//! its table of shared texts and its merged ranges are held.

mod bind;
mod cell;
mod decode;
mod delimited;
mod error;
mod guess;
mod header;
mod mapping;
mod number;
mod report;
mod rows;
mod run;
mod table;
mod terms;
mod validate;
mod wave;
mod workbook;

pub use cell::{Cell, Places, Row, column_of, letters};
pub use error::ImportError;
pub use guess::{Confidence, GUESS_SCHEMA, Guess, GuessOptions, GuessedColumn, guess};
pub use mapping::Mapping;
pub use number::Decimal;
pub use report::{BadRow, CellFault, ImportReport, LISTED, Outcome, PartChange, SCHEMA};
pub use run::{ImportOptions, Refusal, Sink, import_into};
pub use table::{FileOptions, Form, Reached, Table};
