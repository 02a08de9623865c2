//! Checks of the project's own house. The tests of this crate are the checks; the library finds and reads
//! what they look at.

pub mod packages;
pub mod provenance;

use std::path::{Path, PathBuf};

/// Root of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Every file below `folder` whose name ends in `.ext`, build output and version control left out, in order.
pub fn files(folder: &Path, ext: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let Ok(entries) = std::fs::read_dir(folder) else {
        return found;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name();
        if path.is_dir() {
            if name != "target" && name != ".git" && name != "node_modules" {
                found.extend(files(&path, ext));
            }
        } else if path.extension().is_some_and(|own| own == ext) {
            found.push(path);
        }
    }
    found.sort();
    found
}
