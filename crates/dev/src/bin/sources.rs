//! Writes `docs/sources.md` from the source marks of the code and the port profiles.

use std::process::ExitCode;

use tidewall_dev::provenance::{audit, document, profile_values};
use tidewall_dev::root;

fn main() -> ExitCode {
    let root = root();
    let made = audit(&root).and_then(|numbers| Ok(document(&numbers, &profile_values(&root)?)));
    let written = made.and_then(|text| {
        std::fs::write(root.join("docs/sources.md"), text)
            .map_err(|error| format!("docs/sources.md: {error}"))
    });
    match written {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}
