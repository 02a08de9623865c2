//! A text on disk that is never overwritten unseen, and never half-written.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use tidewall_study::LARGEST_FILE;

use crate::failure::Failure;

/// SHA-256 of a text in hexadecimal.
pub fn digest(text: &str) -> String {
    format!("{:x}", Sha256::digest(text.as_bytes()))
}

/// Why a text was not written.
#[derive(Clone, Debug, PartialEq)]
pub enum WriteError {
    /// The file is not what it was when it was read: its text now, `None` if it is gone.
    Changed(Option<String>),
    /// It cannot be read or written.
    Failed(Failure),
}

/// The text of a file.
///
/// # Errors
/// Where it cannot be read, is no text in UTF-8, or is larger than a study may be.
pub fn read(path: &Path, name: &str) -> Result<String, Failure> {
    let failed = |why: String, hint: &str| Err(Failure::output(name, why, hint));
    let about = match fs::metadata(path) {
        Ok(about) => about,
        Err(error) => return failed(format!("cannot be read: {}", error.kind()), "is it still there?"),
    };
    if about.len() > LARGEST_FILE {
        let megabytes = about.len() as f64 / 1e6;
        return failed(
            format!("is {megabytes:.1} MB large"),
            "a study is a few kilobytes; is this the file you meant?",
        );
    }
    match fs::read(path) {
        Ok(bytes) => String::from_utf8(bytes).or_else(|error| {
            let line = 1 + error.as_bytes()[..error.utf8_error().valid_up_to()]
                .iter()
                .filter(|byte| **byte == b'\n')
                .count();
            failed(
                format!("is not text in UTF-8 (line {line})"),
                "save it as UTF-8 in the editor it came from",
            )
        }),
        Err(error) => failed(
            format!("cannot be read: {}", error.kind()),
            "check its permissions",
        ),
    }
}

/// Replaces a file by a text, whole or not at all, if the file still has the digest it was read with.
///
/// The text goes to a temporary file in the same folder, is flushed to the disk and takes the name; permissions stay.
/// Between looking and taking the name there is an instant in which another program could write; no system call closes
/// it for files that are not locked.
///
/// # Errors
/// See [`WriteError`]; the file is then as it was.
pub fn replace(path: &Path, name: &str, text: &str, read_with: &str) -> Result<(), WriteError> {
    match fs::read(path) {
        Ok(bytes) => {
            let now = String::from_utf8_lossy(&bytes);
            if format!("{:x}", Sha256::digest(&bytes)) != read_with {
                return Err(WriteError::Changed(Some(now.into_owned())));
            }
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Err(WriteError::Changed(None)),
        Err(error) => {
            return Err(WriteError::Failed(Failure::output(
                name,
                format!("cannot be read: {}", error.kind()),
                "check its permissions",
            )));
        }
    }
    let permissions = fs::metadata(path).map(|about| about.permissions()).ok();
    write(path, text.as_bytes(), permissions, true)
        .map_err(|error| WriteError::Failed(unwritten(name, &error)))
}

/// Writes a new file, whole or not at all; one that is there already is left alone.
///
/// # Errors
/// Where there is a file of that name, or it cannot be written.
pub fn create(path: &Path, name: &str, bytes: &[u8]) -> Result<(), Failure> {
    write(path, bytes, None, false).map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => Failure::output(
            name,
            "is there already",
            "choose another name; nothing was written",
        ),
        _ => unwritten(name, &error),
    })
}

fn write(path: &Path, bytes: &[u8], permissions: Option<fs::Permissions>, replace: bool) -> io::Result<()> {
    let folder = tidewall_study::folder_of(path);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tidewall-").suffix(".tmp");
    // Like any new file: readable as the user's mask allows.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut temporary = builder.tempfile_in(folder)?;
    temporary.write_all(bytes)?;
    if let Some(permissions) = permissions {
        temporary.as_file().set_permissions(permissions)?;
    }
    temporary.as_file().sync_all()?;
    let taken = if replace {
        temporary.persist(path)
    } else {
        temporary.persist_noclobber(path)
    };
    taken.map_err(|error| error.error)?;
    sync_folder(folder)
}

/// Makes a rename last through a power cut; on systems where a folder cannot be opened there is nothing to do.
fn sync_folder(folder: &Path) -> io::Result<()> {
    match File::open(PathBuf::from(folder)) {
        Ok(folder) if cfg!(unix) => folder.sync_all(),
        _ => Ok(()),
    }
}

fn unwritten(name: &str, error: &io::Error) -> Failure {
    let hint = match error.kind() {
        io::ErrorKind::PermissionDenied => "check the permissions of the file and its folder",
        io::ErrorKind::StorageFull => "make room on the disk; the file is as it was",
        _ => "the file is as it was",
    };
    // The kind alone: the error's own text may name the temporary file.
    Failure::output(name, format!("cannot be written: {}", error.kind()), hint)
}
