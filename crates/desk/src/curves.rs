//! Models from measured points: reading, fitting, and what becomes of the values.

mod family;
mod fit;
mod part;
mod points;
pub mod words;

pub use family::{Curve, Field};
pub use fit::{Asked, Given, Naming, fitted};
pub use part::{Kept, keep, lines};
pub use points::Points;
