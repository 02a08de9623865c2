//! A text on disk that is never overwritten unseen, and never half-written.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use tempfile::NamedTempFile;
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
/// Two processes of Tidewall do this one after the other, by a lock on the folder. For other programs there is an instant between
/// looking and taking the name in which they could write; no system call closes it for files that are not locked.
///
/// # Errors
/// See [`WriteError`]; the file is then as it was.
pub fn replace(path: &Path, name: &str, text: &str, read_with: &str) -> Result<(), WriteError> {
    // Held until the end. A system without such locks has the instant for all programs.
    let folder = File::open(tidewall_study::folder_of(path));
    let _turn = folder.and_then(|folder| folder.lock().map(|()| folder));
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
    let mut temporary = temporary(folder)?;
    temporary.write_all(bytes)?;
    if let Some(permissions) = permissions {
        temporary.as_file().set_permissions(permissions)?;
    }
    take_name(temporary, path, replace)
}

/// What the names of temporary files begin and end with.
const TEMPORARY: (&str, &str) = (".tidewall-", ".tmp");

/// A file for a text until it is complete, in the folder that it is meant for; it goes when it is dropped. What a process that was
/// killed has left of this kind in the folder is taken away first.
///
/// # Errors
/// Where no file can be made in the folder.
pub fn temporary(folder: &Path) -> io::Result<NamedTempFile> {
    sweep(folder);
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY.0).suffix(TEMPORARY.1);
    // Like any new file: readable as the user's mask allows.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    loop {
        let temporary = builder.tempfile_in(folder)?;
        // The lock goes with the process, however that ends: it tells what is being written from what was left behind. Where
        // the file system knows no locks, nothing is ever swept.
        let locked = temporary.as_file().lock().is_ok();
        // Another process may have swept it in the instant before it was locked.
        if !locked || temporary.path().exists() {
            return Ok(temporary);
        }
    }
}

/// Flushes a complete temporary file to the disk and gives it the name; a power cut leaves the old or the new file.
///
/// # Errors
/// Where it cannot be flushed or take the name; with `replace` unset also where there is a file of that name already.
pub fn take_name(temporary: NamedTempFile, path: &Path, replace: bool) -> io::Result<()> {
    temporary.as_file().sync_all()?;
    let taken = if replace {
        temporary.persist(path)
    } else {
        temporary.persist_noclobber(path)
    };
    taken.map_err(|error| error.error)?;
    sync_folder(tidewall_study::folder_of(path))
}

/// Takes away temporary files that nobody is writing. What cannot be looked at or taken away stays.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let ours = name.starts_with(TEMPORARY.0) && name.ends_with(TEMPORARY.1);
        if !ours || !entry.file_type().is_ok_and(|kind| kind.is_file()) {
            continue;
        }
        if let Ok(file) = File::open(entry.path())
            && file.try_lock().is_ok()
        {
            let _ = fs::remove_file(entry.path());
        }
    }
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
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "check the permissions of the file and its folder"
        }
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "make room on the disk; the file is as it was"
        }
        _ => "the file is as it was",
    };
    // The kind alone: the error's own text may name the temporary file.
    Failure::output(name, format!("cannot be written: {}", error.kind()), hint)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).expect("the folder").flatten();
        let mut names: Vec<String> = entries
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn what_was_left_behind_goes_and_what_is_being_written_stays() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = |name: &str| folder.path().join(name);
        fs::write(path(".tidewall-left.tmp"), "half a").expect("written");
        fs::write(path(".tidewall-other"), "mine").expect("written");
        fs::write(path("tidewall-mine.tmp"), "mine").expect("written");
        fs::create_dir(path(".tidewall-folder.tmp")).expect("made");
        let first = temporary(folder.path()).expect("a file");
        let second = temporary(folder.path()).expect("a file");
        assert!(first.path().exists() && second.path().exists());
        take_name(first, &path("first"), true).expect("a name");
        drop(second);
        assert_eq!(
            names(folder.path()),
            [
                ".tidewall-folder.tmp",
                ".tidewall-other",
                "first",
                "tidewall-mine.tmp"
            ]
        );
    }

    #[test]
    fn a_name_that_is_taken_is_kept_unless_it_may_be_replaced() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("study.toml");
        create(&path, "study.toml", b"first").expect("written");
        assert!(create(&path, "study.toml", b"second").is_err());
        assert_eq!(fs::read(&path).expect("the file"), b"first");
        replace(&path, "study.toml", "third", &digest("first")).expect("written");
        assert_eq!(
            replace(&path, "study.toml", "fourth", &digest("first")),
            Err(WriteError::Changed(Some("third".to_owned())))
        );
        assert_eq!(names(folder.path()), ["study.toml"]);
    }
}
