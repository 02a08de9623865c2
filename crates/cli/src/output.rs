//! Standard output and files.

use std::fs::OpenOptions;
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

use serde::Serialize;
use tidewall_desk::file::{take_name, temporary};
use tidewall_report::words::harmless;

use crate::failure::Failure;

/// Writes to standard output. A reader that has gone away (as in a pipe to `head`) has seen enough: no error.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::output(
            "standard output",
            format!("cannot be written: {error}"),
            "",
        )),
        _ => Ok(()),
    }
}

/// Writes a value as JSON to standard output.
pub fn print_json(value: &impl Serialize) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(value)
        .map_err(|error| Failure::output("standard output", format!("cannot be made: {error}"), ""))?;
    print(&format!("{text}\n"))
}

/// A remark on standard error; a closed standard error is nobody's concern.
pub fn remark(text: &str) {
    let _ = writeln!(io::stderr(), "{}", harmless(text));
}

/// What to do with a file that is there already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Leave it and report.
    Keep,
    /// Replace it.
    Replace,
}

/// Where a file is to be written, found out before any work is done.
#[derive(Debug)]
pub struct Target {
    name: String,
    path: PathBuf,
    existing: Existing,
    /// A pipe or device is written to; it must not be replaced by a file.
    special: bool,
}

impl Target {
    /// Looks at the place.
    pub fn new(path: &Path, existing: Existing) -> Result<Target, Failure> {
        let name = path.display().to_string();
        let mut target = Target {
            name: name.clone(),
            path: path.to_owned(),
            existing,
            special: false,
        };
        if let Ok(about) = std::fs::metadata(path) {
            if about.is_dir() {
                return Err(Failure::output(name, "is a folder", "name a file"));
            }
            if existing == Existing::Keep {
                return Err(exists(&name));
            }
            target.special = !about.is_file();
            // A link stays a link: the file it leads to is replaced.
            target.path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        } else if path.file_name().is_none() {
            return Err(Failure::output(name, "is not the name of a file", "name a file"));
        }
        if !target.folder().is_dir() {
            let message = format!("there is no folder `{}`", target.folder().display());
            return Err(Failure::output(name, message, "create the folder first"));
        }
        Ok(target)
    }

    fn folder(&self) -> &Path {
        let folder = self.path.parent().filter(|folder| !folder.as_os_str().is_empty());
        folder.unwrap_or(Path::new("."))
    }

    /// Writes the whole file or nothing: to a temporary file in the same folder that takes the name when complete.
    pub fn write(&self, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
        let failed = |error: io::Error| {
            let hint = match error.kind() {
                ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
                    "check the permissions of the file and its folder"
                }
                ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
                    "make room on the disk; nothing was written"
                }
                _ => "",
            };
            // The kind alone: the error's own text may name the temporary file.
            let kind = error.kind();
            Failure::output(self.name.clone(), format!("cannot be written: {kind}"), hint)
        };
        if self.special {
            let device = OpenOptions::new().write(true).open(&self.path).map_err(failed)?;
            let mut buffer = BufWriter::new(device);
            return fill(&mut buffer).and_then(|()| buffer.flush()).map_err(failed);
        }
        // It is deleted when it is dropped on an error.
        let temporary = temporary(self.folder()).map_err(failed)?;
        {
            let mut buffer = BufWriter::new(temporary.as_file());
            fill(&mut buffer).and_then(|()| buffer.flush()).map_err(failed)?;
        }
        take_name(temporary, &self.path, self.existing == Existing::Replace).map_err(|error| {
            if error.kind() == ErrorKind::AlreadyExists {
                exists(&self.name)
            } else {
                failed(error)
            }
        })
    }
}

fn exists(name: &str) -> Failure {
    Failure::output(name, "exists already", "--force replaces it")
}
