//! Benchmarks of one electro-thermal transient and of whole programs.
//!
//! [`suite`] holds the circuits, [`own`] runs them with Tidewall, [`general`] with a general-purpose library, [`measure`]
//! says how far two runs are apart. The command `tidewall-bench` and `docs/performance.md` say what is measured and how.

pub mod clock;
pub mod export;
pub mod flops;
pub mod general;
pub mod guard;
pub mod lanes;
pub mod laws;
pub mod machine;
pub mod measure;
pub mod own;
pub mod plots;
pub mod program;
pub mod suite;
pub mod table;
pub mod transient;
