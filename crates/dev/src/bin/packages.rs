//! Writes what there is to say of the packages that the program is made with: `bill` the bill of materials that is kept
//! in `docs`, `notices FILE` the licence texts that go with a built program.

use std::process::ExitCode;

use tidewall_dev::packages::bill::{self, bill};
use tidewall_dev::packages::notices::notices;
use tidewall_dev::root;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let root = root();
    let (file, made) = match words[..] {
        ["bill"] => (root.join(bill::FILE), bill(&root)),
        ["notices", file] => (file.into(), notices(&root)),
        _ => {
            eprintln!("packages bill, or packages notices FILE");
            return ExitCode::FAILURE;
        }
    };
    let written = made
        .and_then(|text| std::fs::write(&file, text).map_err(|error| format!("{}: {error}", file.display())));
    match written {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}
