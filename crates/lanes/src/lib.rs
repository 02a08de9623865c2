//! Numbers side by side.
//!
//! A [`Pack`] holds one number of each of several cases, its lanes. Code that is written for any [`Lane`] does the same
//! operations in the same order for one number (`f64`) and for a pack, and no operation mixes lanes: what a lane holds is
//! the same to the last bit whatever stands beside it, and the same as without a pack. Multiplications and additions are
//! never fused, so that this also holds from one processor to the next. For the same reason the elementary functions are
//! those of [`elementary`], whose errors are stated there, and not the platform's.
//!
//! [`wide`] runs a piece of code with the widest registers that the processor has.

mod dispatch;
pub mod elementary;
mod lane;

pub use dispatch::{Job, wide};
pub use elementary::{exp, ln, pow, softplus};
pub use lane::{Lane, Pack};
