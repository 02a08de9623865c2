//! From measured curves and datasheet points to models of `tidewall-devices`, with their uncertainty.
//!
//! * [`fit`]: bounded, weighted, robust nonlinear least squares, and what it can and cannot say.
//! * [`family`]: the curves of each family, their models, and the data for a parts file.

pub mod family;
pub mod fit;
