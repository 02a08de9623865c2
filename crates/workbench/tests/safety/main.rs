//! The rules of safety, against the server as it is.

mod bench;
mod edits;
mod guard;
mod limits;
mod paths;
