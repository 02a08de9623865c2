//! The file: older, newer, damaged, of another program, not to be written.

mod common;

use std::fs::{self, File, OpenOptions};
use std::io::{Seek, SeekFrom, Write};
use std::path::Path;

use common::{Bench, action, larch};
use rusqlite::Connection;
use tidewall_parts::{Change, Filter, Library, LibraryError};

fn filled(bench: &Bench) {
    let mut library = bench.library();
    let mut edit = library.begin(&action("test")).unwrap();
    edit.put(&larch()).unwrap();
    edit.commit().unwrap();
}

fn number(connection: &Connection, sql: &str) -> i64 {
    connection.query_row(sql, [], |row| row.get(0)).unwrap()
}

#[test]
fn the_file_says_what_it_is() {
    let bench = Bench::new();
    filled(&bench);
    let connection = Connection::open(bench.path()).unwrap();
    assert_eq!(number(&connection, "PRAGMA application_id"), 0x5457_706c);
    assert_eq!(number(&connection, "PRAGMA user_version"), 4);
    let mode: String = connection
        .query_row("PRAGMA journal_mode", [], |row| row.get(0))
        .unwrap();
    assert_eq!(mode, "wal");
    let loose = "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND type = 'table'
                 AND name NOT LIKE 'sqlite%' AND strict = 0";
    assert_eq!(number(&connection, loose), 0);
    let all = "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND name = 'datum'";
    assert_eq!(number(&connection, all), 1);
}

#[test]
fn the_tables_refuse_what_is_not_a_datum() {
    let bench = Bench::new();
    filled(&bench);
    let connection = Connection::open(bench.path()).unwrap();
    connection.execute_batch("PRAGMA foreign_keys = ON").unwrap();
    let refused = [
        "UPDATE datum SET min = 2.0, typ = NULL, max = 1.0 WHERE key = 'breakdown'",
        "UPDATE datum SET number = NULL WHERE key = 'stand_off'",
        "UPDATE datum SET flag = 1 WHERE key = 'stand_off'",
        "UPDATE datum SET kind = 'hoped for'",
        "UPDATE datum SET document = 4711",
        "UPDATE datum SET number = 'much' WHERE key = 'stand_off'",
        "UPDATE datum SET pulses = 0",
        "UPDATE part SET family = 'spoon'",
        "UPDATE part SET name = ''",
        "UPDATE history SET event = 'changed', old = NULL, new = NULL",
    ];
    for sql in refused {
        assert!(connection.execute(sql, []).is_err(), "{sql}");
    }
}

/// A file as the first version wrote it, with a part in it.
fn first_version(path: &Path) {
    let connection = Connection::open(path).unwrap();
    connection
        .execute_batch(include_str!("first_version.sql"))
        .unwrap();
}

#[test]
fn a_file_of_the_first_version_becomes_one_of_the_last() {
    let bench = Bench::new();
    first_version(&bench.path());
    // Reading needs no change of the file.
    let before = fs::read(bench.path()).unwrap();
    let reader = Library::open_read_only(&bench.path()).unwrap();
    let read = reader.part("larch-33").unwrap().unwrap();
    assert_eq!(read.datasheet().stand_off_v, Some(33.0));
    drop(reader);
    assert_eq!(fs::read(bench.path()).unwrap(), before);

    let mut library = bench.library();
    assert_eq!(library.part("larch-33").unwrap(), Some(read.clone()));
    assert_eq!(library.history("larch-33").unwrap().len(), 1);
    assert!(
        library.part("alder-33").unwrap().is_some(),
        "the demonstration parts are put"
    );
    let mut edit = library.begin(&action("test")).unwrap();
    assert_eq!(edit.put(&read).unwrap(), Change::Unchanged);
    drop(edit);
    drop(library);
    let connection = Connection::open(bench.path()).unwrap();
    assert_eq!(number(&connection, "PRAGMA user_version"), 4);
}

#[test]
fn a_file_of_a_later_version_is_left_alone() {
    let bench = Bench::new();
    filled(&bench);
    Connection::open(bench.path())
        .unwrap()
        .execute_batch("PRAGMA user_version = 5")
        .unwrap();
    let before = fs::read(bench.path()).unwrap();
    for opened in [
        Library::open(&bench.path()),
        Library::open_read_only(&bench.path()),
    ] {
        let error = opened.unwrap_err();
        assert!(
            matches!(
                error,
                LibraryError::Newer {
                    version: 5,
                    known: 4,
                    ..
                }
            ),
            "{error}"
        );
    }
    assert_eq!(fs::read(bench.path()).unwrap(), before);
}

#[test]
fn another_file_is_left_alone() {
    let bench = Bench::new();
    fs::write(bench.path(), "title = \"not a database\"\n".repeat(100)).unwrap();
    let text = fs::read(bench.path()).unwrap();
    let error = Library::open(&bench.path()).unwrap_err();
    assert!(matches!(error, LibraryError::NotALibrary { .. }), "{error}");
    assert_eq!(fs::read(bench.path()).unwrap(), text);

    fs::remove_file(bench.path()).unwrap();
    let other = Connection::open(bench.path()).unwrap();
    other.execute_batch("CREATE TABLE spoons (id INTEGER)").unwrap();
    drop(other);
    let database = fs::read(bench.path()).unwrap();
    let error = Library::open(&bench.path()).unwrap_err();
    assert!(
        error.to_string().contains("SQLite database of another program"),
        "{error}"
    );
    assert_eq!(fs::read(bench.path()).unwrap(), database);
    assert!(!error.hint().is_empty());
}

#[test]
fn a_damaged_file_is_found_and_left_alone() {
    let bench = Bench::new();
    filled(&bench);
    let size = fs::metadata(bench.path()).unwrap().len();
    let page = 4096;
    let whole = fs::read(bench.path()).unwrap();
    let mut found = 0;
    for start in (page..size).step_by(page as usize) {
        fs::write(bench.path(), &whole).unwrap();
        let mut file = OpenOptions::new().write(true).open(bench.path()).unwrap();
        file.seek(SeekFrom::Start(start)).unwrap();
        file.write_all(&[0xa5; 64]).unwrap();
        drop(file);
        let damaged = fs::read(bench.path()).unwrap();
        for opened in [
            Library::open(&bench.path()),
            Library::open_read_only(&bench.path()),
        ] {
            match opened {
                Err(LibraryError::Damaged { .. }) => found += 1,
                other => panic!("the page at {start} is overwritten, and it says {other:?}"),
            }
        }
        assert_eq!(fs::read(bench.path()).unwrap(), damaged);
    }
    assert!(found > 20, "{found}");
    // Cut short.
    fs::write(bench.path(), &whole[..whole.len() / 2]).unwrap();
    let error = Library::open(&bench.path()).unwrap_err();
    assert!(matches!(error, LibraryError::Damaged { .. }), "{error}");
    assert!(error.hint().contains("backup"));
}

#[test]
fn reading_alone_makes_no_file() {
    let bench = Bench::new();
    let error = Library::open_read_only(&bench.path()).unwrap_err();
    assert_eq!(error, LibraryError::Missing(bench.path()));
    assert!(!bench.path().exists());
    let built_in = Library::in_memory().unwrap();
    assert!(!built_in.names(&Filter::default()).unwrap().is_empty());
}

#[test]
fn a_folder_that_is_not_there_or_a_folder_in_place_of_the_file_is_an_error() {
    let bench = Bench::new();
    let nowhere = bench.folder.path().join("no/such/folder/parts.sqlite");
    assert!(matches!(
        Library::open(&nowhere),
        Err(LibraryError::Unusable { .. })
    ));
    assert!(matches!(
        Library::open(bench.folder.path()),
        Err(LibraryError::Unusable { .. })
    ));
}

/// Permissions mean nothing to the superuser; then a file system that takes no new file stands in for the folder.
#[cfg(unix)]
#[test]
fn a_library_that_may_not_be_written_is_read_all_the_same() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    filled(&bench);
    let folder = bench.folder.path();
    let mode = |path: &Path, mode: u32| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    mode(&bench.path(), 0o444);
    mode(folder, 0o555);
    if File::create(folder.join("probe")).is_err() {
        let error = Library::open(&bench.path()).unwrap_err();
        assert!(matches!(error, LibraryError::ReadOnly(_)), "{error}");
        let library = Library::open_read_only(&bench.path()).unwrap();
        assert_eq!(library.part("larch-33").unwrap(), Some(larch()));
    } else {
        let error = Library::open(Path::new("/proc/self/parts.sqlite")).unwrap_err();
        assert!(
            matches!(error, LibraryError::Unusable { .. } | LibraryError::ReadOnly(_)),
            "{error}"
        );
    }
    mode(folder, 0o755);
}

#[test]
fn a_reader_sees_the_old_state_while_another_writes() {
    let bench = Bench::new();
    filled(&bench);
    let mut writer = bench.library();
    let mut edit = writer.begin(&action("test")).unwrap();
    edit.retire("larch-33").unwrap();
    let reader = Library::open_read_only(&bench.path()).unwrap();
    assert!(reader.part("larch-33").unwrap().is_some());
    edit.commit().unwrap();
    assert!(reader.part("larch-33").unwrap().is_none());
}

#[test]
fn a_second_writer_is_told_that_another_is_at_work() {
    let bench = Bench::new();
    filled(&bench);
    let mut first = bench.library();
    let mut second = bench.library();
    let edit = first.begin(&action("test")).unwrap();
    let error = second.begin(&action("test")).unwrap_err();
    assert_eq!(error, LibraryError::Busy(bench.path()));
    assert!(
        error.to_string().contains("another process is writing"),
        "{error}"
    );
    drop(edit);
    assert!(second.begin(&action("test")).is_ok());
}

/// Damage that leaves the form of the file whole: a value that somebody, or a failing disk, has changed.
#[test]
fn a_value_that_is_not_as_it_was_written_is_found() {
    let bench = Bench::new();
    filled(&bench);
    let connection = Connection::open(bench.path()).unwrap();
    for change in [
        "UPDATE datum SET number = number + 1 WHERE part = ?1 AND key = 'stand_off'",
        "UPDATE datum SET kind = 'typical' WHERE part = ?1 AND ordinal = 0",
        "UPDATE datum SET place = 'page 9' WHERE part = ?1 AND ordinal = 0",
        "DELETE FROM datum WHERE part = ?1 AND ordinal = 0",
        "UPDATE document SET title = title || '.' WHERE id = (SELECT document FROM datum WHERE part = ?1 LIMIT 1)",
        "UPDATE part SET family = 'fuse' WHERE id = ?1",
    ] {
        let whole = bench.library().part("larch-33").unwrap();
        let id = number(&connection, "SELECT id FROM part WHERE name = 'larch-33'");
        connection
            .execute_batch("CREATE TEMP TABLE IF NOT EXISTS kept_datum AS SELECT * FROM datum")
            .unwrap();
        assert!(connection.execute(change, [id]).unwrap() > 0, "{change}");
        let readers = [bench.library(), Library::open_read_only(&bench.path()).unwrap()];
        for library in readers {
            let error = library.part("larch-33").unwrap_err();
            assert!(matches!(error, LibraryError::Damaged { .. }), "{change}: {error}");
            assert!(
                error
                    .to_string()
                    .contains("part `larch-33` is not as it was written"),
                "{error}"
            );
            // The others are there all the same.
            assert!(library.part("alder-33").unwrap().is_some());
        }
        // Nothing is built upon it.
        let mut library = bench.library();
        let mut edit = library.begin(&action("test")).unwrap();
        assert!(
            matches!(edit.retire("larch-33"), Err(LibraryError::Damaged { .. })),
            "{change}"
        );
        drop(edit);
        drop(library);
        // Back as it was.
        connection
            .execute_batch(
                "DELETE FROM datum; INSERT INTO datum SELECT * FROM kept_datum;
                 UPDATE part SET family = 'avalanche' WHERE name = 'larch-33';
                 UPDATE document SET title = rtrim(title, '.') WHERE title LIKE '%.';",
            )
            .unwrap();
        assert_eq!(bench.library().part("larch-33").unwrap(), whole, "{change}");
    }
    // Who has changed it on purpose says so by taking the seal away.
    let id = number(&connection, "SELECT id FROM part WHERE name = 'larch-33'");
    connection
        .execute(
            "UPDATE datum SET number = 34.0 WHERE part = ?1 AND key = 'stand_off'",
            [id],
        )
        .unwrap();
    connection
        .execute("UPDATE part SET seal = NULL WHERE id = ?1", [id])
        .unwrap();
    let sheet = bench.library().part("larch-33").unwrap().unwrap().datasheet();
    assert_eq!(sheet.stand_off_v, Some(34.0));
}

#[test]
fn a_file_of_the_first_version_is_sealed_when_it_is_brought_up_to_date() {
    let bench = Bench::new();
    first_version(&bench.path());
    drop(bench.library());
    let connection = Connection::open(bench.path()).unwrap();
    assert_eq!(
        number(&connection, "SELECT count(*) FROM part WHERE seal IS NULL"),
        0
    );
    connection
        .execute("UPDATE datum SET number = 34.0 WHERE key = 'stand_off'", [])
        .unwrap();
    let error = bench.library().part("larch-33").unwrap_err();
    assert!(matches!(error, LibraryError::Damaged { .. }), "{error}");
}

/// Order is that of the deeds, whatever the clock said.
#[test]
fn a_clock_that_goes_back_does_not_mix_up_the_history() {
    let bench = Bench::new();
    let mut library = bench.library();
    for at_unix_s in [Some(2_000_000_000), Some(1_000_000_000), Some(-1), None] {
        let deed = tidewall_parts::Action {
            at_unix_s,
            ..action("test")
        };
        let mut edit = library.begin(&deed).unwrap();
        if edit.put(&larch()).unwrap() == Change::Unchanged {
            edit.retire("larch-33").unwrap();
        }
        edit.commit().unwrap();
    }
    let times: Vec<Option<i64>> = library
        .history("larch-33")
        .unwrap()
        .iter()
        .map(|entry| entry.action.at_unix_s)
        .collect();
    assert_eq!(times, [Some(2_000_000_000), Some(1_000_000_000), Some(-1), None]);
}
