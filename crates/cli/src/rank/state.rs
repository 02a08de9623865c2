//! The file that lets a ranking go on after a stop: one JSON object a line, each a candidate with its outcome.

use std::collections::HashMap;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::sync::Mutex;

use serde::{Deserialize, Serialize};
use tidewall_assess::rank::Candidate;

use crate::failure::Failure;

/// Version of the file.
const SCHEMA: &str = "tidewall/ranking-state/1";
/// Largest file that is read, in bytes: some hundred thousand candidates.
const LARGEST: u64 = 1 << 30;

#[derive(Serialize, Deserialize)]
struct Head {
    schema: String,
}

/// Candidates judged before, and where new ones are written.
pub struct State {
    name: String,
    known: HashMap<String, Candidate>,
    file: Mutex<(File, Option<std::io::Error>)>,
}

impl State {
    /// Opens the file, or begins it, and keeps others from it until the end. A line that was cut off when the program was
    /// stopped is dropped.
    pub fn open(path: &Path) -> Result<State, Failure> {
        let name = path.display().to_string();
        let failed = |error: std::io::Error| {
            Failure::output(
                name.clone(),
                format!("cannot be used: {}", error.kind()),
                "name a file in a folder you may write to",
            )
        };
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
            .map_err(failed)?;
        // Two rankings that write to one file would overwrite each other. Where the file system knows no locks, nothing is said.
        if let Err(TryLockError::WouldBlock) = file.try_lock() {
            return Err(Failure::output(
                name.clone(),
                "is in use by another `tidewall rank`",
                "wait until that has ended, or name another file",
            ));
        }
        let size = file.metadata().map_err(failed)?.len();
        let foreign = || {
            Failure::output(
                name.clone(),
                "is not a state of `tidewall rank --resume`",
                "name a file of its own; it is left as it is",
            )
        };
        if size > LARGEST {
            return Err(foreign());
        }
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(failed)?;
        let head = serde_json::to_string(&Head {
            schema: SCHEMA.to_owned(),
        })
        .map_err(|_| foreign())?;
        let mut known = HashMap::new();
        let whole = bytes
            .iter()
            .rposition(|byte| *byte == b'\n')
            .map_or(0, |end| end + 1);
        // Of a new file nothing may be there yet but a part of the first line.
        if whole == 0 && head.as_bytes().starts_with(&bytes) {
            file.set_len(0).map_err(failed)?;
            file.rewind().map_err(failed)?;
            file.write_all(format!("{head}\n").as_bytes()).map_err(failed)?;
        } else {
            let mut lines = bytes[..whole].split(|byte| *byte == b'\n');
            let first: Head = lines
                .next()
                .and_then(|line| serde_json::from_slice(line).ok())
                .ok_or_else(foreign)?;
            if first.schema != SCHEMA {
                return Err(foreign());
            }
            // A candidate that cannot be read is judged again.
            let candidates = lines.filter_map(|line| serde_json::from_slice::<Candidate>(line).ok());
            known.extend(candidates.map(|candidate| (candidate.fingerprint.clone(), candidate)));
            file.set_len(whole as u64).map_err(failed)?;
            file.seek(SeekFrom::End(0)).map_err(failed)?;
        }
        Ok(State {
            name,
            known,
            file: Mutex::new((file, None)),
        })
    }

    /// A candidate judged before.
    pub fn known(&self, fingerprint: &str) -> Option<Candidate> {
        self.known.get(fingerprint).cloned()
    }

    /// Writes a candidate down. A failure is kept for [`State::end`]: the ranking itself can go on.
    pub fn keep(&self, candidate: &Candidate) {
        if self.known.contains_key(&candidate.fingerprint) {
            return;
        }
        let Ok(mut guard) = self.file.lock() else { return };
        let (file, failure) = &mut *guard;
        if failure.is_some() {
            return;
        }
        let written = serde_json::to_string(candidate)
            .map_err(std::io::Error::other)
            // One write for the line, so that a stop cuts at most the last one.
            .and_then(|line| file.write_all(format!("{line}\n").as_bytes()));
        *failure = written.err();
    }

    /// The first failure to write, if any.
    pub fn end(self) -> Result<(), Failure> {
        let failure = self.file.into_inner().ok().and_then(|(_, failure)| failure);
        match failure {
            None => Ok(()),
            Some(error) => Err(Failure::output(
                self.name,
                format!("cannot be written: {}", error.kind()),
                "the work up to there is kept; free some space and run the same command again",
            )),
        }
    }
}
