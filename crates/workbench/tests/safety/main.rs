//! The rules of safety, against the server as it is.

mod bench;
mod guard;
mod paths;
