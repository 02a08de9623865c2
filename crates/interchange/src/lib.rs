//! Readers of open interchange formats. They take text, never files, and judge nothing.
//!
//! * [`ibis`]: what IBIS (ANSI/EIA-656, IEC 62014-1) says of a pin: clamp tables, capacitance, package.
//! * [`touchstone`]: network parameters of one to four ports, and the capacitance behind them.
//! * [`TextFault`]: the one error of both, with its place in the text.

mod fault;
pub mod ibis;
pub mod touchstone;

pub use fault::TextFault;
