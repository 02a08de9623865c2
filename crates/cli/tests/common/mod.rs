//! What the tests share: running the program, and folders to write to.
#![allow(dead_code)] // Each test file uses its own part of this.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

/// What a run left behind.
pub struct Run {
    /// Exit status; `None` if a signal ended it.
    pub status: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

impl Run {
    /// Standard output as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.stdout).unwrap_or_else(|error| panic!("{error} in {}", self.stdout))
    }

    /// Panics unless the run ended so, without a panic of its own.
    #[track_caller]
    pub fn expect(self, status: i32) -> Run {
        assert_eq!(
            self.status,
            Some(status),
            "stdout: {}\nstderr: {}",
            self.stdout,
            self.stderr
        );
        assert!(!self.stderr.contains("panicked"), "{}", self.stderr);
        self
    }
}

/// The program, without colours and without what the environment may say about them, and with a parts library that is
/// not there.
pub fn command() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tidewall"));
    command
        .env_remove("CLICOLOR_FORCE")
        .env_remove("RUST_BACKTRACE")
        .env(
            "TIDEWALL_LIBRARY",
            concat!(env!("CARGO_TARGET_TMPDIR"), "/no-library.sqlite"),
        )
        .stdin(Stdio::null());
    command
}

/// Runs the program.
pub fn tidewall<S: AsRef<OsStr>>(args: impl IntoIterator<Item = S>) -> Run {
    finish(command().args(args))
}

/// Runs a prepared command.
pub fn finish(command: &mut Command) -> Run {
    let output = command.output().expect("the program starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("the output is UTF-8");
    Run {
        status: output.status.code(),
        stdout: text(output.stdout),
        stderr: text(output.stderr),
    }
}

/// A file of `fixtures`.
pub fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/fixtures")
        .join(name)
}

/// The same as an argument.
pub fn study(name: &str) -> String {
    fixture(name).display().to_string()
}

/// A folder of its own with the parts of the fixtures.
pub struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    pub fn new() -> Bench {
        let folder = tempfile::tempdir().expect("a temporary folder");
        std::fs::copy(fixture("parts.toml"), folder.path().join("parts.toml")).expect("the parts are copied");
        Bench { folder }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The path as an argument.
    pub fn arg(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        std::fs::write(self.path(name), content).expect("the file is written");
        self.arg(name)
    }

    /// Names of everything in the folder, sorted.
    pub fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).expect("the folder is listed");
        let mut names: Vec<String> = entries
            .map(|entry| {
                entry
                    .expect("an entry")
                    .file_name()
                    .to_string_lossy()
                    .into_owned()
            })
            .collect();
        names.sort();
        names
    }
}
