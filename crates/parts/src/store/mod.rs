//! The library's file.

mod demo;
mod edit;
mod query;
mod rows;
mod schema;

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use crate::error::LibraryError;

pub use edit::{Change, Done, Edit, FieldChange};
pub use query::{Event, Filter, HistoryEntry};

/// How long another process that is writing is waited for.
const PATIENCE: Duration = Duration::from_secs(5);

/// Files up to this size in bytes are looked through when they are opened for reading: tenths of a second at most. In a larger
/// one damage shows where it is read, since each part is sealed; before a change a file of any size is looked through.
const LOOKED_THROUGH: u64 = 16 << 20;

/// What somebody does to the library, for its history.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Action {
    /// What it is, such as "import of FILE".
    pub what: String,
    /// The document or file it draws on; may be empty.
    pub document: String,
    /// When, in seconds since 1970-01-01 UTC; `None` if it is not known.
    pub at_unix_s: Option<i64>,
}

/// A parts library: one SQLite file.
#[derive(Debug)]
pub struct Library {
    connection: Connection,
    path: PathBuf,
    /// Version of the file.
    version: usize,
    notices: Vec<String>,
}

impl Library {
    /// Opens a library for reading and writing. It is created, with the built-in demonstration parts, if there is no
    /// file; an older one is brought up to date. The folder must exist.
    ///
    /// # Errors
    /// See [`LibraryError`]; the file is then as it was.
    pub fn open(path: &Path) -> Result<Library, LibraryError> {
        Library::open_at(path, None)
    }

    /// The same with the present time in seconds since 1970-01-01 UTC, for the history of the demonstration parts.
    ///
    /// # Errors
    /// See [`Library::open`].
    pub fn open_at(path: &Path, at_unix_s: Option<i64>) -> Result<Library, LibraryError> {
        match Library::open_to_write(path, at_unix_s) {
            // A file system that takes no helper files for the log says no more than that it cannot open the file.
            Err(LibraryError::Unusable { .. }) if Library::open_read_only(path).is_ok() => {
                Err(LibraryError::ReadOnly(path.to_owned()))
            }
            opened => opened,
        }
    }

    fn open_to_write(path: &Path, at_unix_s: Option<i64>) -> Result<Library, LibraryError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags);
        let mut library = Library::with(connection, path)?;
        library.look_through(u64::MAX)?;
        if library
            .connection
            .is_readonly("main")
            .map_err(|error| library.error(&error))?
        {
            return Err(LibraryError::ReadOnly(path.to_owned()));
        }
        schema::version(&library.connection, path)?;
        library.prepare()?;
        library.migrate()?;
        demo::seed(&mut library, at_unix_s)?;
        Ok(library)
    }

    /// Opens an existing library for reading only.
    ///
    /// # Errors
    /// See [`LibraryError`].
    pub fn open_read_only(path: &Path) -> Result<Library, LibraryError> {
        if !path.is_file() {
            return Err(LibraryError::Missing(path.to_owned()));
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let checked = |mut library: Library| {
            library.look_through(LOOKED_THROUGH)?;
            library.version = schema::version(&library.connection, path)?;
            Ok(library)
        };
        let usual = Library::with(Connection::open_with_flags(path, flags), path).and_then(checked);
        match (usual, unchanging(path)) {
            (Err(LibraryError::ReadOnly(_) | LibraryError::Unusable { .. }), Some(uri)) => {
                let flags = flags | OpenFlags::SQLITE_OPEN_URI;
                Library::with(Connection::open_with_flags(uri, flags), path).and_then(checked)
            }
            (usual, _) => usual,
        }
    }

    /// The library as it is when it is created, in memory.
    ///
    /// # Errors
    /// See [`LibraryError`].
    pub fn in_memory() -> Result<Library, LibraryError> {
        let path = Path::new("built-in demonstration parts");
        let mut library = Library::with(Connection::open_in_memory(), path)?;
        library.migrate()?;
        demo::seed(&mut library, None)?;
        Ok(library)
    }

    /// What was left alone when the library was opened, in words.
    pub fn notices(&self) -> &[String] {
        &self.notices
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn with(connection: rusqlite::Result<Connection>, path: &Path) -> Result<Library, LibraryError> {
        let of = |error: rusqlite::Error| LibraryError::of(path, &error);
        let connection = connection.map_err(of)?;
        connection.busy_timeout(PATIENCE).map_err(of)?;
        connection.set_prepared_statement_cache_capacity(32);
        connection
            .execute_batch(
                "PRAGMA foreign_keys = ON; PRAGMA trusted_schema = OFF; PRAGMA cache_size = -32768;",
            )
            .map_err(of)?;
        Ok(Library {
            connection,
            path: path.to_owned(),
            version: 0,
            notices: Vec::new(),
        })
    }

    fn migrate(&mut self) -> Result<(), LibraryError> {
        schema::migrate(&mut self.connection, &self.path)?;
        self.version = schema::MIGRATIONS.len();
        Ok(())
    }

    /// How the file is written: readers are never blocked, and what is committed is on the disk.
    fn prepare(&self) -> Result<(), LibraryError> {
        self.connection
            .execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;")
            .map_err(|error| self.error(&error))
    }

    /// Looks a file of up to a size in bytes through for damage.
    fn look_through(&self, up_to: u64) -> Result<(), LibraryError> {
        let size = std::fs::metadata(&self.path).map_or(0, |about| about.len());
        if size > up_to {
            return Ok(());
        }
        let found: String = self
            .connection
            .query_row("PRAGMA quick_check(1)", [], |row| row.get(0))
            .map_err(|error| self.error(&error))?;
        if found == "ok" {
            return Ok(());
        }
        Err(LibraryError::Damaged {
            path: self.path.clone(),
            why: found,
        })
    }

    fn error(&self, error: &rusqlite::Error) -> LibraryError {
        LibraryError::of(&self.path, error)
    }
}

/// How to open a file that nobody is writing without the helper files of a log, for which its folder may have no room;
/// `None` while a writer's log is there. SQLite reads such a file as if it never changed.
fn unchanging(path: &Path) -> Option<String> {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    if Path::new(&log).exists() {
        return None;
    }
    let mut uri = "file:".to_owned();
    for c in path.to_str()?.chars() {
        match c {
            '%' => uri.push_str("%25"),
            '?' => uri.push_str("%3f"),
            '#' => uri.push_str("%23"),
            c => uri.push(c),
        }
    }
    uri.push_str("?immutable=1");
    Some(uri)
}
