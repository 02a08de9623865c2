//! Studies, port profiles and parts as text: from a TOML file to values the engine can use.
//!
//! * [`read`], [`read_with`] and [`read_text`]: a study with everything resolved, as a [`Study`].
//! * [`read_parts_file`] and [`read_parts`]: a parts file.
//! * [`profile`]: what each kind of port normally carries.
//! * [`template`]: the study an engineer begins with.
//! * [`Origin`]: where each value comes from.
//! * [`StudyError`]: the one error, with file, line, column and hint.

mod error;
mod files;
mod levels;
mod loader;
mod model;
mod origin;
pub mod parts;
pub mod profile;
mod read;
mod samples;
mod source;
mod table;
pub mod template;

pub use error::{Fault, StudyError};
pub use loader::{FolderLoader, LARGEST_FILE, LibraryPart, LoadError, Loader, NoFiles};
pub use model::{
    AbnormalLevel, Across, AssessOptions, Between, CapacitorStage, Conduction, InLine, Interval, Pin, Port,
    PortKind, PortPolarity, Powered, SeriesElement, SeriesStage, ShuntStage, Stage, StressCase, Study,
    Withstand,
};
pub use origin::{Mark, Origin, Valued};
pub use read::{folder_of, read, read_parts, read_parts_file, read_text, read_with};
