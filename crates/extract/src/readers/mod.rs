//! Readers of measured curves as text: oscilloscope captures and transmission-line-pulse tables.
//!
//! They take a `BufRead` and open no files. Every fault names its line, and its cell where there is one. Text is UTF-8
//! or, byte by byte where it is not, Windows-1252; a byte order mark and either line end are taken.

pub mod capture;
mod fault;
mod layout;
mod lines;
pub mod tlp;
mod unit;

pub use fault::ReadFault;
pub use unit::{UnitKind, scale_of};
