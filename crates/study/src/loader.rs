//! Where the files a study refers to come from.

use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

use tidewall_devices::datasheet::Datasheet;

use crate::error::StudyError;
use crate::source::whole;

/// Largest file that is read, in bytes.
pub const LARGEST_FILE: u64 = 8 * 1024 * 1024;

/// Why a file could not be loaded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LoadError {
    /// There is none of that name.
    Missing,
    /// It is a folder, a device or the like.
    NotAFile,
    /// It is larger than [`LARGEST_FILE`]; its size in bytes, if known.
    TooLarge(Option<u64>),
    /// Anything else, in the system's words.
    Other(String),
}

/// A part that stands in a parts library.
#[derive(Clone, Debug, PartialEq)]
pub struct LibraryPart {
    /// What is known of it.
    pub datasheet: Datasheet,
    /// The same and its sources as text, for the study's digest.
    pub text: String,
}

/// Gives the contents of files beside the study. Names are relative, with `/` between folders, and were
/// checked to stay inside the study's folder.
pub trait Loader {
    /// The contents of a file.
    ///
    /// # Errors
    /// See [`LoadError`]. A loader must not hand out more than [`LARGEST_FILE`] bytes.
    fn load(&self, name: &str) -> Result<Vec<u8>, LoadError>;

    /// A part that neither the study nor its parts files describe; `None` if the parts library has none of that name,
    /// or there is no library.
    ///
    /// # Errors
    /// Why the library cannot be used, and what to do.
    fn part(&self, _name: &str) -> Result<Option<LibraryPart>, (String, String)> {
        Ok(None)
    }

    /// What to call the parts library where a part was looked for in vain; `None` if there is no library.
    fn library(&self) -> Option<String> {
        None
    }
}

/// Loads files from a folder. Symbolic links are followed.
#[derive(Clone, Debug)]
pub struct FolderLoader {
    folder: PathBuf,
}

impl FolderLoader {
    /// A loader for the files below `folder`.
    pub fn new(folder: impl Into<PathBuf>) -> Self {
        Self {
            folder: folder.into(),
        }
    }
}

impl Loader for FolderLoader {
    fn load(&self, name: &str) -> Result<Vec<u8>, LoadError> {
        load_path(&self.folder.join(name))
    }
}

/// Has no files; for texts that stand alone.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoFiles;

impl Loader for NoFiles {
    fn load(&self, _name: &str) -> Result<Vec<u8>, LoadError> {
        Err(LoadError::Missing)
    }
}

/// The contents of a regular file of tolerable size. The size is looked at before anything is read, and
/// again while reading, since a file may grow.
pub(crate) fn load_path(path: &Path) -> Result<Vec<u8>, LoadError> {
    let other = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => LoadError::Missing,
        std::io::ErrorKind::NotADirectory => LoadError::Missing,
        _ => LoadError::Other(error.to_string()),
    };
    let about = std::fs::metadata(path).map_err(other)?;
    if !about.is_file() {
        return Err(LoadError::NotAFile);
    }
    if about.len() > LARGEST_FILE {
        return Err(LoadError::TooLarge(Some(about.len())));
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
        .map_err(other)?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(LoadError::TooLarge(None));
    }
    Ok(bytes)
}

/// The message, expectation and hint of a failed load.
pub(crate) fn explain(name: &str, error: &LoadError) -> (String, String, String) {
    let megabytes = |bytes: u64| format!("{:.1} MB", bytes as f64 / 1e6);
    let limit = megabytes(LARGEST_FILE);
    match error {
        LoadError::Missing => (
            format!("there is no file `{name}`"),
            "the name of a file that exists".to_owned(),
            "names are relative to the study's folder; check spelling and upper and lower case".to_owned(),
        ),
        LoadError::NotAFile => (
            format!("`{name}` is not a file"),
            "a regular text file".to_owned(),
            "name the file itself, not its folder".to_owned(),
        ),
        LoadError::TooLarge(size) => (
            match size {
                Some(size) => format!(
                    "`{name}` is {} large; files above {limit} are not read",
                    megabytes(*size)
                ),
                None => format!("`{name}` is larger than {limit} and is not read"),
            },
            format!("a file of at most {limit}"),
            "a study is a few kilobytes; is this the file you meant?".to_owned(),
        ),
        LoadError::Other(why) => (
            format!("`{name}` cannot be read: {why}"),
            "a file you may read".to_owned(),
            "check its permissions".to_owned(),
        ),
    }
}

/// An error about a file as a whole that could not be loaded.
pub(crate) fn load_error(name: &str, error: &LoadError) -> StudyError {
    let (message, expected, hint) = explain(name, error);
    whole(name, message, expected, hint)
}

/// Why a name must not be loaded; `None` if it stays inside the study's folder.
pub(crate) fn refuse_name(name: &str) -> Option<&'static str> {
    if name.is_empty() {
        return Some("the name is empty");
    }
    if name.contains('\0') {
        return Some("the name contains a null character");
    }
    // Both separators and drive letters are refused on every system, so that a study means the same on all.
    if name.starts_with('/') || name.contains('\\') || name.as_bytes().get(1) == Some(&b':') {
        return Some("the name is not relative to the study's folder, or has a backslash");
    }
    let inside = Path::new(name)
        .components()
        .all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    if inside {
        None
    } else {
        Some("the name leads out of the study's folder")
    }
}
