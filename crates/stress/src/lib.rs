//! Standard disturbances: waveforms, generator and coupling networks, levels.
//!
//! A disturbance is a small linear [`Network`] that drives the conductors of a port. The network is a
//! circuit rather than a current wherever the standard's generator answers to its load.

pub mod catalogue;
pub mod fit;
pub mod forms;
pub mod generator;
pub mod measure;
pub mod network;
pub mod waveform;
mod waves;

pub use catalogue::{Disturbance, StressRequest, disturbance};
pub use network::{Arrester, Branch, Network, Node, SeriesCapacitor, ShuntCapacitor};
pub use waveform::{HeidlerTerm, Shape, Waveform};
pub use waves::Waves;
