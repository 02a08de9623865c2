//! `tidewall open`.

use std::path::{Path, PathBuf};

use clap::Args;
use schemars::JsonSchema;
use serde::Serialize;
use tidewall_report::words::harmless;
use tidewall_workbench::{Opened, Options};

use crate::args::Format;
use crate::failure::Failure;
use crate::output;
use crate::status::Status;

/// Arguments of `open`.
#[derive(Debug, Args)]
pub struct OpenArgs {
    /// Folder of studies; a copy of the demo unless given
    #[arg(value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
    /// Port to listen on; any free one unless given
    #[arg(long, value_name = "PORT", value_parser = clap::value_parser!(u16).range(1..))]
    pub port: Option<u16>,
    /// Also open the address in the browser
    #[arg(long, overrides_with = "no_browser")]
    pub browser: bool,
    /// Only print the address, which is what happens anyway
    #[arg(long, overrides_with = "browser")]
    pub no_browser: bool,
}

/// What `open --format json` prints once it listens.
#[derive(Debug, Serialize, JsonSchema)]
pub struct OpenOutput {
    /// Version of this form.
    schema: &'static str,
    /// Address to open, with the key of this start.
    url: String,
    /// The folder.
    folder: String,
    /// The folder is a copy of the demo, which goes when the workbench ends.
    demo: bool,
}

/// Serves the workbench until interrupted.
pub fn run(args: &OpenArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let options = Options {
        folder: args.folder.clone(),
        library: library.map(Path::to_owned),
        port: args.port.unwrap_or(0),
    };
    tidewall_workbench::open(&options, &|opened| {
        announce(opened, format);
        if args.browser {
            show(&opened.url);
        }
    })?;
    Ok(Status::Pass)
}

fn announce(opened: &Opened, format: Format) {
    let folder = opened.folder.display().to_string();
    let said = match format {
        Format::Json => output::print_json(&OpenOutput {
            schema: "tidewall/open/1",
            url: opened.url.clone(),
            folder,
            demo: opened.demo,
        }),
        Format::Text => {
            let what = if opened.demo {
                "a copy of the demo, which goes at the end".to_owned()
            } else {
                harmless(&folder)
            };
            output::print(&format!(
                "The workbench shows {what}. Open this address in a browser of this machine:\n\n  {}\n\nIts key is for you \
                 alone. Ctrl-C ends the workbench; every accepted change is in the files at once.\n",
                opened.url
            ))
        }
    };
    // The server goes on without a reader of its output.
    if let Err(failure) = said {
        output::remark(&failure.to_string());
    }
}

/// Opens an address with what the system opens addresses with.
fn show(url: &str) {
    let opener = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    let mut command = std::process::Command::new(opener);
    let quiet = std::process::Stdio::null;
    command.arg(url).stdin(quiet()).stdout(quiet()).stderr(quiet());
    match command.spawn() {
        // Waited for on a thread of its own, so that it leaves no remains.
        Ok(mut child) => drop(std::thread::spawn(move || child.wait())),
        Err(error) => output::remark(&format!(
            "the browser cannot be opened with `{opener}` ({}): open the address by hand",
            error.kind()
        )),
    }
}
