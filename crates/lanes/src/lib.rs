//! Numbers side by side.
//!
//! A [`Pack`] holds one number of each of several cases, its lanes. Code that is written for any [`Lane`] does the same
//! operations in the same order for one number (`f64`) and for a pack, and no operation mixes lanes: what a lane holds is
//! the same to the last bit whatever stands beside it, and the same as without a pack. Multiplications and additions are
//! never fused, so that this also holds from one processor to the next. For the same reason the elementary functions are
//! those of [`elementary`], whose errors are stated there, and not the platform's.
//!
//! [`Lane::work`] runs a piece of work with the widest registers that the processor has; that choice is made while the
//! program runs. Elementary functions are such pieces by themselves, so that their code is there once and not in every
//! law that calls them.

mod dispatch;
pub mod elementary;
mod lane;

pub use dispatch::Job;
pub use elementary::{exp, ln, pow};
pub use lane::{Lane, Pack};
