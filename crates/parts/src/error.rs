//! Why the library cannot do what it is asked.

use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

/// Why the library cannot be opened, read or changed. The file is as it was before.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LibraryError {
    /// There is no such file.
    #[error("{}: there is no parts library", .0.display())]
    Missing(PathBuf),
    /// The file is no parts library.
    #[error("{}: is not a parts library: {why}", .path.display())]
    NotALibrary {
        /// The file.
        path: PathBuf,
        /// What it is.
        why: String,
    },
    /// A later version of the program has written the file.
    #[error("{}: is of version {version}; this program knows versions up to {known}", .path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Version of the file.
        version: i64,
        /// The last version this program knows.
        known: i64,
    },
    /// Another process is writing.
    #[error("{}: another process is writing to the parts library", .0.display())]
    Busy(PathBuf),
    /// The file is damaged.
    #[error("{}: the parts library is damaged: {why}", .path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What was found.
        why: String,
    },
    /// The file, or its folder, may not be written.
    #[error("{}: the parts library may not be written", .0.display())]
    ReadOnly(PathBuf),
    /// The file cannot be opened, read or written for another reason.
    #[error("{}: the parts library cannot be used: {why}", .path.display())]
    Unusable {
        /// The file.
        path: PathBuf,
        /// In the words of the system.
        why: String,
    },
    /// A record cannot stand in the library.
    #[error("part `{part}`: {why}")]
    Unfit {
        /// Name of the part.
        part: String,
        /// What is wrong with it.
        why: String,
    },
    /// There is no part of that name.
    #[error("there is no part `{0}` in the parts library")]
    NoSuchPart(String),
}

impl LibraryError {
    /// What to do; may be empty.
    pub fn hint(&self) -> &'static str {
        match self {
            LibraryError::Missing(_) => "it is created by the first command that writes to it",
            LibraryError::NotALibrary { .. } => "name another file; this one is left as it is",
            LibraryError::Newer { .. } => "use the newer program, or another file; this one is left as it is",
            LibraryError::Busy(_) => "try again when the other process, such as a long import, is done",
            LibraryError::Damaged { .. } => {
                "the file is left as it is: keep it, and put a copy from a backup in its place"
            }
            LibraryError::ReadOnly(_) => {
                "check the permissions of the file and its folder, and that there is room on the disk"
            }
            LibraryError::Unusable { .. } => {
                "check that its folder exists and that there is room on the disk"
            }
            LibraryError::Unfit { .. } | LibraryError::NoSuchPart(_) => "",
        }
    }

    /// From an error of the database in `path`.
    pub(crate) fn of(path: &Path, error: &rusqlite::Error) -> LibraryError {
        let path = path.to_owned();
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => LibraryError::Busy(path),
            Some(ErrorCode::DatabaseCorrupt) => LibraryError::Damaged {
                path,
                why: error.to_string(),
            },
            Some(ErrorCode::NotADatabase) => LibraryError::NotALibrary {
                path,
                why: "it is no SQLite database, or its beginning is overwritten".to_owned(),
            },
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => LibraryError::ReadOnly(path),
            _ => LibraryError::Unusable {
                path,
                why: error.to_string(),
            },
        }
    }
}
