//! From measured curves and datasheet points to models of `tidewall-devices`, with their uncertainty.
//!
//! * [`readers`]: captures and tables as text.
//! * [`waves`]: what people read off captured waves.
//! * [`fit`]: bounded, weighted, robust nonlinear least squares, and what it can and cannot say.
//! * [`family`]: the curves of each family, their models, and the data for a parts file.

pub mod family;
pub mod fit;
pub mod readers;
pub mod waves;
