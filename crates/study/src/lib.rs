//! Studies, port profiles and parts as text: from a TOML file to values the engine can use.
//!
//! * [`model`]: a study with everything resolved.
//! * [`origin`]: where each value comes from.
//! * [`error`]: the one error, with file, line, column and hint.

pub mod error;
pub mod model;
pub mod origin;

pub use error::StudyError;
pub use model::{
    Across, AssessOptions, Between, Conduction, InLine, Interval, Pin, Port, PortKind, PortPolarity, Powered,
    SeriesElement, SeriesStage, ShuntStage, Stage, StressCase, Study, Withstand,
};
pub use origin::{Mark, Origin, Valued};
