//! The local workbench: a web server over the same library calls as the command line.
//!
//! [`open`] serves a folder of studies to this machine alone until it is interrupted. Pages are made in Rust
//! ([`mod@pages`]); [`guard`] says who may ask; `docs/workbench.md` tells how pages are added.

pub mod api;
pub mod asked;
pub mod assets;
pub mod body;
pub mod demo;
pub mod download;
pub mod error;
pub mod events;
pub mod figures;
pub mod guard;
pub mod html;
pub mod jobs;
pub mod judge;
pub mod known;
pub mod pages;
pub mod product;
pub mod serve;
pub mod state;
pub mod studies;
pub mod uploads;
pub mod work;

use std::path::PathBuf;

use tidewall_desk::failure::Failure;

/// What is to be opened, and how.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// The folder of studies; the demo without one.
    pub folder: Option<PathBuf>,
    /// File of the parts library, in place of the usual one.
    pub library: Option<PathBuf>,
    /// Port to listen on; any free one if 0.
    pub port: u16,
}

/// What is being served.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opened {
    /// Address to open in a browser. It holds the key of this start: whoever has it may edit.
    pub url: String,
    /// The folder.
    pub folder: PathBuf,
    /// The folder is a copy of the demo that goes when the workbench ends.
    pub demo: bool,
}

/// Serves a folder until the process is interrupted; `ready` is called once when it can be visited.
///
/// # Errors
/// Where the folder cannot be opened or the port cannot be listened on.
pub fn open(options: &Options, ready: &dyn Fn(&Opened)) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| Failure::usage(format!("the workbench cannot start: {error}"), ""))?;
    runtime.block_on(serve::run(options, ready))
}
