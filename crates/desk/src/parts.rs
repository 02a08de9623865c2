//! The parts library as people see and change it.

mod change;
mod history;
mod line;

pub use change::{add, import, records, retire};
pub use history::HistoryLine;
pub use line::{PartLine, short};
