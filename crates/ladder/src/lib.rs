//! Equations of one port under one stress.
//!
//! A [`Port`] (ladder, pin, supply) and a generator [`Network`](tidewall_stress::Network) are joined into a
//! [`Circuit`], which [`Equations`] turns into `M y' = f(t, y)` with a diagonal `M` of ones and zeros. Time
//! itself belongs to the `transient` crate.

mod assemble;
pub mod circuit;
pub mod equations;
pub mod flat;
pub mod port;
pub mod power;

pub use circuit::{Branch, Circuit, Device, Inductance, LadderError, Node, Side};
pub use equations::{Equations, StateKind};
pub use flat::{DevicePoint, Emf, Flat, Forms, Layout};
pub use port::{
    Across, Assembly, Capacitor, Conductor, Pin, Port, Probe, ProbeRole, Series, SeriesKind, Shunt, Stage,
    Steering, Supply,
};
pub use power::{Power, Reading, Stored};
