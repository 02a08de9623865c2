//! Good files, from which bad ones are made.

use std::path::PathBuf;

/// Folder of the corpus of a target, `fuzz/corpus/NAME`.
pub fn folder(name: &str) -> PathBuf {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    root.join("../../fuzz/corpus").join(name)
}

/// Files of the corpus of a target, by name.
///
/// # Errors
/// The folder or a file cannot be read.
pub fn files(name: &str) -> std::io::Result<Vec<(String, Vec<u8>)>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder(name))? {
        let entry = entry?;
        if entry.file_type()?.is_file() {
            let bytes = std::fs::read(entry.path())?;
            found.push((entry.file_name().to_string_lossy().into_owned(), bytes));
        }
    }
    found.sort();
    Ok(found)
}
