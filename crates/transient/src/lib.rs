//! Integration in time of one port under one stress.
//!
//! [`run()`] integrates the equations of a circuit with an L-stable Rosenbrock method, locates the events of
//! switching devices inside a step, and returns peaks, energies, an energy [`Audit`] and [`Counters`].

pub mod audit;
mod booking;
mod cubic;
mod events;
pub mod lu;
pub mod method;
pub mod peak;
pub mod problem;
pub mod recording;
pub mod run;
mod step;
mod weights;
mod workspace;

pub use audit::Audit;
pub use method::{Dense, Tableau};
pub use peak::{Extremes, PeakTracker};
pub use problem::{Counters, ElementOutcome, Options, Outcome, ProbeOutcome, Problem, TransientError};
pub use recording::Recording;
pub use run::run;
pub use workspace::Workspace;
