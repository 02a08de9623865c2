//! What command line and workbench share: studies with the library behind them, and edits of study files.

pub mod candidates;
pub mod captures;
pub mod curves;
pub mod edit;
pub mod failure;
pub mod file;
pub mod folder;
pub mod library;
pub mod names;
pub mod outline;
pub mod parts;
pub mod plan;
pub mod ranking;
