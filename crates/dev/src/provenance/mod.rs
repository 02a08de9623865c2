//! Where the numbers of the product come from: every constant with its source mark, gathered from the sources.

mod comments;
mod document;
mod mark;
mod profiles;
mod scan;
mod syntax;

pub use document::document;
pub use mark::{MARKS, Mark};
pub use profiles::{ProfileValue, profile_values};
pub use scan::{Number, numbers};

use std::fs;
use std::path::Path;

use crate::files;

/// Folders whose numbers are looked at, below the root of the workspace.
pub const FOLDERS: [&str; 3] = [
    "crates/stress/src",
    "crates/devices/src",
    "crates/study/src/profile",
];

/// Every number of the folders, with the path of its file below the root.
///
/// # Errors
/// The file that is no Rust, or cannot be read.
pub fn audit(root: &Path) -> Result<Vec<(String, Number)>, String> {
    let mut found = Vec::new();
    for folder in FOLDERS {
        for path in files(&root.join(folder), "rs") {
            let name = path.strip_prefix(root).unwrap_or(&path).display().to_string();
            let text = fs::read_to_string(&path).map_err(|error| format!("{name}: {error}"))?;
            let numbers = numbers(&text).map_err(|error| format!("{name}: {error}"))?;
            found.extend(numbers.into_iter().map(|number| (name.clone(), number)));
        }
    }
    Ok(found)
}
