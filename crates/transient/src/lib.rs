//! Integration in time of one port under one stress.
//!
//! [`run()`] integrates the equations of a circuit with an L-stable Rosenbrock method, locates the events of
//! switching devices inside a step, and returns peaks, energies, an energy [`Audit`] and [`Counters`]. [`run_all()`] does
//! the same for several circuits, those of one kind side by side.

pub mod audit;
mod booking;
mod consistent;
mod control;
mod cubic;
mod engine;
mod events;
pub mod lu;
pub mod method;
mod outcome;
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
pub use run::{run, run_all};
pub use workspace::Workspace;
