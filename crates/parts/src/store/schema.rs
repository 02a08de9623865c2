//! The tables, and how an older file becomes a newer one.

use std::path::Path;

use rusqlite::{Connection, TransactionBehavior};

use super::rows;
use crate::error::LibraryError;

/// Marks the file as a parts library: "TWpl" in ASCII.
pub(super) const APPLICATION_ID: i64 = 0x5457_706c;

/// One step for each version; the number of steps done is the file's `user_version`. Steps are never edited once a
/// version of the program has gone out with them.
pub(super) const MIGRATIONS: &[&str] = &[V1, V2, V3, V4];

const V1: &str = "
CREATE TABLE action (
  id INTEGER PRIMARY KEY,
  by TEXT NOT NULL CHECK (by IN ('user', 'program')),
  what TEXT NOT NULL CHECK (what <> ''),
  document TEXT NOT NULL,
  at_unix_s INTEGER
) STRICT;

CREATE TABLE document (
  id INTEGER PRIMARY KEY,
  title TEXT NOT NULL CHECK (title <> ''),
  revision TEXT NOT NULL,
  UNIQUE (title, revision)
) STRICT;

CREATE TABLE part (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE CHECK (name <> ''),
  family TEXT NOT NULL CHECK (family IN ('avalanche', 'flat-clamp', 'snapback', 'varistor', 'gas-tube', 'thyristor',
    'steering', 'table', 'resistor', 'inductor', 'bead', 'fuse', 'ptc', 'limiter')),
  retired INTEGER NOT NULL DEFAULT 0 CHECK (retired IN (0, 1))
) STRICT;

CREATE TABLE datum (
  part INTEGER NOT NULL REFERENCES part (id),
  ordinal INTEGER NOT NULL CHECK (ordinal >= 0),
  key TEXT NOT NULL CHECK (key <> ''),
  min REAL, typ REAL, max REAL,
  number REAL,
  flag INTEGER CHECK (flag IN (0, 1)),
  curve TEXT CHECK (json_valid(curve)),
  wave TEXT,
  current_a REAL,
  voltage_v REAL,
  temperature_c REAL,
  slope_v_per_s REAL,
  width_s REAL,
  pulses INTEGER CHECK (pulses >= 1),
  frequency_hz REAL,
  kind TEXT NOT NULL CHECK (kind IN ('guaranteed', 'typical', 'measured', 'invented')),
  document INTEGER NOT NULL REFERENCES document (id),
  place TEXT NOT NULL,
  action INTEGER NOT NULL REFERENCES action (id),
  PRIMARY KEY (part, ordinal),
  CHECK ((min IS NOT NULL OR typ IS NOT NULL OR max IS NOT NULL) + (number IS NOT NULL) + (flag IS NOT NULL)
    + (curve IS NOT NULL) = 1),
  CHECK (min IS NULL OR typ IS NULL OR min <= typ),
  CHECK (typ IS NULL OR max IS NULL OR typ <= max),
  CHECK (min IS NULL OR max IS NULL OR min <= max)
) STRICT, WITHOUT ROWID;

CREATE TABLE history (
  id INTEGER PRIMARY KEY,
  part INTEGER NOT NULL REFERENCES part (id),
  action INTEGER NOT NULL REFERENCES action (id),
  event TEXT NOT NULL CHECK (event IN ('added', 'changed', 'retired')),
  old TEXT CHECK (json_valid(old)),
  new TEXT CHECK (json_valid(new)),
  CHECK (event <> 'changed' OR old IS NOT NULL OR new IS NOT NULL)
) STRICT;
CREATE INDEX history_of_part ON history (part);

CREATE TABLE setting (
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
";

/// The digest of the record a part was last given lets an import skip what has not changed.
const V2: &str = "
ALTER TABLE part ADD COLUMN digest BLOB CHECK (length(digest) = 32);
CREATE INDEX part_of_family ON part (family);
";

/// Generic is another kind of value. A check can only be changed together with its table.
const V3: &str = "
ALTER TABLE datum RENAME TO datum_before;
CREATE TABLE datum (
  part INTEGER NOT NULL REFERENCES part (id),
  ordinal INTEGER NOT NULL CHECK (ordinal >= 0),
  key TEXT NOT NULL CHECK (key <> ''),
  min REAL, typ REAL, max REAL,
  number REAL,
  flag INTEGER CHECK (flag IN (0, 1)),
  curve TEXT CHECK (json_valid(curve)),
  wave TEXT,
  current_a REAL,
  voltage_v REAL,
  temperature_c REAL,
  slope_v_per_s REAL,
  width_s REAL,
  pulses INTEGER CHECK (pulses >= 1),
  frequency_hz REAL,
  kind TEXT NOT NULL CHECK (kind IN ('guaranteed', 'typical', 'measured', 'invented', 'generic')),
  document INTEGER NOT NULL REFERENCES document (id),
  place TEXT NOT NULL,
  action INTEGER NOT NULL REFERENCES action (id),
  PRIMARY KEY (part, ordinal),
  CHECK ((min IS NOT NULL OR typ IS NOT NULL OR max IS NOT NULL) + (number IS NOT NULL) + (flag IS NOT NULL)
    + (curve IS NOT NULL) = 1),
  CHECK (min IS NULL OR typ IS NULL OR min <= typ),
  CHECK (typ IS NULL OR max IS NULL OR typ <= max),
  CHECK (min IS NULL OR max IS NULL OR min <= max)
) STRICT, WITHOUT ROWID;
INSERT INTO datum SELECT * FROM datum_before;
DROP TABLE datum_before;
";

/// SQLite keeps no check sums of its own: a part is sealed with one of all that is stated of it.
const V4: &str = "
ALTER TABLE part ADD COLUMN seal BLOB CHECK (length(seal) = 32);
";

/// The first version of the file in which parts are sealed.
pub(super) const SEALED: usize = 4;

/// Brings the file to the last version. True if it was changed.
pub(super) fn migrate(connection: &mut Connection, path: &Path) -> Result<bool, LibraryError> {
    let known = MIGRATIONS.len();
    if version(connection, path)? == known {
        return Ok(false);
    }
    let of = |error: rusqlite::Error| LibraryError::of(path, &error);
    let transaction = connection
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(of)?;
    // Another process may have done it meanwhile.
    let from = version(&transaction, path)?;
    for step in &MIGRATIONS[from..] {
        transaction.execute_batch(step).map_err(of)?;
    }
    if from < SEALED {
        rows::seal_all(&transaction, path)?;
    }
    transaction
        .pragma_update(None, "application_id", APPLICATION_ID)
        .map_err(of)?;
    transaction
        .pragma_update(None, "user_version", known as i64)
        .map_err(of)?;
    transaction.commit().map_err(of)?;
    Ok(from < known)
}

/// Version of the file: how many steps are done, 0 for an empty file.
pub(super) fn version(connection: &Connection, path: &Path) -> Result<usize, LibraryError> {
    let of = |error: rusqlite::Error| LibraryError::of(path, &error);
    let number = |sql: &str| {
        connection
            .query_row(sql, [], |row| row.get::<_, i64>(0))
            .map_err(of)
    };
    let version = number("PRAGMA user_version")?;
    let tables = number("SELECT count(*) FROM sqlite_schema")?;
    let application = number("PRAGMA application_id")?;
    if tables == 0 && version == 0 && application == 0 {
        return Ok(0);
    }
    let known = MIGRATIONS.len();
    if application != APPLICATION_ID || version < 1 {
        return Err(LibraryError::NotALibrary {
            path: path.to_owned(),
            why: "it is an SQLite database of another program".to_owned(),
        });
    }
    match usize::try_from(version) {
        Ok(version) if version <= known => Ok(version),
        _ => Err(LibraryError::Newer {
            path: path.to_owned(),
            version,
            known: known as i64,
        }),
    }
}
