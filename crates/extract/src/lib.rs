//! From measured curves and datasheet points to models of `tidewall-devices`, with their uncertainty.
//!
//! [`readers`] take captures and tables as text, [`waves`] computes from captured waves what people compare.

pub mod readers;
pub mod waves;
