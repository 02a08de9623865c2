//! Random physical ladders, by the million.
//!
//! [`Case::new`] draws a port under a stress from a number: one to twelve elements of every family, built from
//! datasheets as an assessment builds them, one line or a pair, every standard, extreme corners. [`verdict()`] runs it;
//! [`Tally`] adds up what came out. The command `soak` runs any range of numbers; `docs/trust.md` has method and results.

pub mod case;
pub mod dice;
pub mod parts;
pub mod stresses;
pub mod tally;
pub mod verdict;

pub use case::{Case, Refused};
pub use dice::Dice;
pub use tally::Tally;
pub use verdict::{Failure, Kind, Stopped, Verdict, attempt, verdict};
